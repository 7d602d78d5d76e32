"""From a cure case to the arrays that the kernels read."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering._cure_kernel import Wall
from drainwright.engineering.cure_model import CureCase

Array = NDArray[np.float64]
COATING = (0.25, 1100.0, 1800.0)
"""Conductivity, density, heat capacity of a coating (from memory)."""
AIR_CONDUCTIVITY = 0.028
WATER = (0.67, 970.0, 4200.0)
CONDENSATE_DEPTH = 0.003
INVERT_SHARE = 0.25
EDGE_WIDTH = 0.025
RUBBER = (1150.0, 1800.0)
"""Density and heat capacity of a bladder's rubber (from memory)."""


@dataclass(frozen=True, slots=True)
class Column:
    """One radial column: where it is, its share of length and girth, and its layers."""

    part: str
    line: str
    position: float
    gas: int
    weight: float
    fluid: int = 0


@dataclass(frozen=True, slots=True)
class Mesh:
    """The arrays, and what the rows and columns mean."""

    wall: Wall
    columns: tuple[Column, ...]
    liner_row: int
    liner_cells: int
    host_cells: int
    radii: Array
    """Faces of the lateral's rows, inside out [m], shape (rows + 1,)."""
    gas_cells: int


@dataclass(frozen=True, slots=True)
class _Layers:
    """One column's radial data: capacity, conductance to the next row, gas conductances."""

    cap: Array
    con: Array
    heat: Array
    wet: float
    dry: float
    air: float


def build_mesh(case: CureCase) -> Mesh:
    """Arrays for a case."""
    columns = _columns(case)
    water_row = bool(case.bellies)
    kept: dict[tuple[str, str, float], _Layers] = {}
    layers: list[_Layers] = []
    for column in columns:
        key = (column.part, column.line, _belly(case, column))
        if key not in kept:
            kept[key] = _layers(case, column, water_row=water_row)
        layers.append(kept[key])
    cap = np.ascontiguousarray(np.stack([x.cap for x in layers], axis=1))
    gas_cells = columns[-1].gas + 1
    first = np.searchsorted([c.gas for c in columns], np.arange(gas_cells + 1)).astype(np.int64)
    lateral_gas = 1 if case.collar else 0
    grid = case.grid
    row = 1 if water_row else 0
    host_end = row + grid.liner_cells + grid.host_cells
    con = np.ascontiguousarray(np.stack([x.con for x in layers], axis=1))
    heat = np.ascontiguousarray(np.stack([x.heat for x in layers], axis=1))
    liner_end = row + grid.liner_cells
    col = np.array(
        [
            (x.wet, x.dry, x.air, c.weight, _chill(case, c))
            for x, c in zip(layers, columns, strict=True)
        ]
    ).T.copy()
    wall = Wall(
        cap=cap,
        icap=1.0 / cap,
        con=con,
        heat=heat,
        hot=(heat / cap[row:liner_end]).ravel(),
        col=col,
        parts=_parts(np.concatenate([cap[liner_end:], con[liner_end - 1 :], col[4:]])),
        first=first,
        fluid=np.array([c.fluid for c in columns], dtype=np.int64),
        chill_row=host_end - 1,
        axial=_axial(case, host_end, row),
        axial_start=int(first[lateral_gas]),
        axial_stride=(2 if grid.invert else 1) if grid.axial_conduction else 0,
        liner_row=row,
        host_end=host_end,
        soil_temperature=case.soil.temperature,
        cell_length=case.length / grid.axial_cells,
        lateral_gas=lateral_gas,
    )
    return Mesh(
        wall, tuple(columns), row, grid.liner_cells, grid.host_cells,
        _faces(case, case.host_diameter / 2, case.liner.wall, 0.0), gas_cells,
    )  # fmt: skip


def _parts(outside: Array) -> NDArray[np.int64]:
    """Bounds of the runs of columns that are alike."""
    changes = np.flatnonzero((outside[:, 1:] != outside[:, :-1]).any(axis=0)) + 1
    return np.concatenate([[0], changes, [outside.shape[1]]]).astype(np.int64)


def _columns(case: CureCase) -> list[Column]:
    out: list[Column] = []
    lines = (
        [("top", 1 - INVERT_SHARE), ("invert", INVERT_SHARE)] if case.grid.invert else [("", 1.0)]
    )
    if case.collar:
        fluid = 1 if case.collar.bladder_fill == "air" else 0
        edge = min(2 * EDGE_WIDTH, 0.5 * case.collar.length)
        for name, length in (("middle", case.collar.length - edge), ("edge", edge)):
            for line, share in lines:
                out.append(Column(f"collar {name}", line, 0.0, 0, length * share, fluid))
    start = 1 if case.collar else 0
    dz = case.length / case.grid.axial_cells
    for j in range(case.grid.axial_cells):
        for line, share in lines:
            dead = 2 if j + 0.5 > case.grid.axial_cells * (1 - _plug(case)) else 0
            out.append(Column("lateral", line, (j + 0.5) * dz, start + j, dz * share, dead))
    return out


def _plug(case: CureCase) -> float:
    """Share of the length that a blind end keeps filled with still air."""
    return case.gas.blind_air if case.gas.vent_diameter is None else 0.0


def _faces(case: CureCase, radius: float, wall: float, gap: float) -> Array:
    """Faces from the liner's inside to the soil's outer radius."""
    grid = case.grid
    liner = np.linspace(radius - wall, radius, grid.liner_cells + 1)
    host = np.linspace(radius + gap, radius + gap + case.host.wall, grid.host_cells + 1)
    outer = radius + gap + case.host.wall
    n = grid.soil_cells
    reach = case.soil.outer_radius - outer
    first = min(0.1 * outer, reach / n)
    ratio = _stretch(reach / first, n)
    steps = first * ratio ** np.arange(n)
    soil = outer + np.concatenate([[0.0], np.cumsum(steps)])
    soil[-1] = case.soil.outer_radius
    return np.concatenate([liner, host[1:], soil[1:]])


@lru_cache(maxsize=64)
def _stretch(total: float, n: int) -> float:
    """Ratio of a geometric series of n terms from 1 that sums to `total`."""
    low, high = 1.0, 4.0
    for _ in range(100):
        q = 0.5 * (low + high)
        value = n if abs(q - 1) < 1e-12 else (q**n - 1) / (q - 1)
        low, high = (q, high) if value < total else (low, q)
    return 0.5 * (low + high)


def _layers(case: CureCase, column: Column, *, water_row: bool) -> _Layers:
    """Capacities and conductances of a column per meter and full girth."""
    collar = case.collar if column.part.startswith("collar") else None
    wall = collar.wall if collar else case.liner.wall
    radius = collar.main_diameter / 2 if collar else case.host_diameter / 2
    gap = case.liner.gap
    faces = _faces(case, radius, wall, gap)
    nl = case.grid.liner_cells
    rho_c, k = _properties(case)
    inner, outer = faces[:-1].copy(), faces[1:]
    inner[nl] = radius + gap
    area = math.pi * (outer**2 - inner**2)
    cap = area * rho_c
    to_outer, to_inner = _halves(inner, outer, k)
    resistance = to_outer.copy()
    resistance[:-1] += to_inner[1:]
    if gap > 0:
        resistance[nl - 1] += math.log((radius + gap) / radius) / (2 * math.pi * AIR_CONDUCTIVITY)
    heat = area[:nl] * case.liner.density * case.liner.resin_mass_fraction * case.heat_of_reaction
    con = 1 / resistance
    return _with_inside(
        case, column, (cap, con, heat), float(to_inner[0]), radius - wall, water_row=water_row
    )


def _halves(inner: Array, outer: Array, k: Array) -> tuple[Array, Array]:
    """Resistances of each cell's outer and inner half [m K/W]."""
    middle = 0.5 * (inner + outer)
    return np.log(outer / middle) / (2 * math.pi * k), np.log(middle / inner) / (2 * math.pi * k)


def half_resistances(case: CureCase) -> tuple[Array, Array]:
    """Resistances of the lateral's cells, outer and inner half [m K/W]."""
    faces = _faces(case, case.host_diameter / 2, case.liner.wall, case.liner.gap)
    inner = faces[:-1].copy()
    inner[case.grid.liner_cells] = case.host_diameter / 2 + case.liner.gap
    return _halves(inner, faces[1:], _properties(case)[1])


def _properties(case: CureCase) -> tuple[Array, Array]:
    liner, host, soil, grid = case.liner, case.host, case.soil, case.grid
    counts = (grid.liner_cells, grid.host_cells, grid.soil_cells)
    rho_c = (
        liner.density * liner.heat_capacity,
        host.density * host.heat_capacity,
        soil.volumetric_heat_capacity,
    )
    k = (liner.conductivity, host.conductivity, soil.conductivity)
    return np.repeat(rho_c, counts), np.repeat(k, counts)


def _with_inside(
    case: CureCase,
    column: Column,
    arrays: tuple[Array, Array, Array],
    half: float,
    inside: float,
    *,
    water_row: bool,
) -> _Layers:
    """Add what lies between gas and liner: films, coating, bladder, condensate, belly."""
    cap, con, heat = arrays
    girth = 2 * math.pi * inside
    series = 0.0
    if case.liner.coating > 0 and not water_row:
        series += case.liner.coating / (COATING[0] * girth)
    if column.part.startswith("collar") and case.collar:
        series += case.collar.bladder_wall / (case.collar.bladder_conductivity * girth)
        cap = cap.copy()
        cap[0] += 0.5 * girth * case.collar.bladder_wall * RUBBER[0] * RUBBER[1]
    wet_series = series
    if column.line == "invert" and not column.part.startswith("collar"):
        wet_series += CONDENSATE_DEPTH / (WATER[0] * girth)
    gas = case.gas
    if water_row:
        depth = _belly(case, column)
        thick, (k, rho, c) = (
            (depth, WATER) if depth > 0 else (max(case.liner.coating, 2e-4), COATING)
        )
        layer = thick / (k * girth)
        cap = np.concatenate([[girth * thick * rho * c], cap])
        con = np.concatenate([[1 / (0.5 * layer + half)], con])
        wet_series, series, half = wet_series + 0.5 * layer, series + 0.5 * layer, 0.0
    films = [(gas.film_steam, wet_series), (gas.film_dry, series), (gas.film_air, series)]
    wet, dry, air = (1 / (1 / (film * girth) + extra + half) for film, extra in films)
    return _Layers(cap, con, heat, wet, dry, air)


def _belly(case: CureCase, column: Column) -> float:
    if column.part != "lateral" or (case.grid.invert and column.line == "top"):
        return 0.0
    depths = [s.value for s in case.bellies if s.start <= column.position <= s.end]
    return max(depths, default=0.0)


def _chill(case: CureCase, column: Column) -> float:
    """Conductance from the host's outermost row to water at the soil's temperature [W/m/K]."""
    if column.part == "collar edge" and case.collar and case.collar.water_in_main:
        return _edge_conductance(case)
    if column.part != "lateral":
        return 0.0
    girth = 2 * math.pi * (case.host_diameter / 2 + case.liner.gap + case.host.wall)
    films = [s.value for s in case.groundwater if s.start <= column.position <= s.end]
    return girth * max(films, default=0.0)


def _edge_conductance(case: CureCase) -> float:
    """Heat that the main's wall beside the collar's edge carries into the water, as a fin.

    A wall of thickness t wetted inside by water with 500 W/m²K conducts √(h k t) per meter of
    girth and kelvin (infinite fin); spread over the edge's width.
    """
    if case.collar is None:
        return 0.0
    girth = math.pi * (case.collar.main_diameter + 2 * case.host.wall)
    fin = math.sqrt(500.0 * case.host.conductivity * case.host.wall)
    return girth * fin / EDGE_WIDTH


def _axial(case: CureCase, host_end: int, row: int) -> Array:
    """Conductance along the pipe between neighbors, per meter of cell [W/m/K]."""
    out = np.zeros(host_end)
    if case.grid.axial_conduction and case.grid.axial_cells > 1:
        faces = _faces(case, case.host_diameter / 2, case.liner.wall, case.liner.gap)
        area = math.pi * (faces[1:] ** 2 - faces[:-1] ** 2)
        _, k = _properties(case)
        dz = case.length / case.grid.axial_cells
        out[row:] = (k * area)[: host_end - row] / dz**2
    return out
