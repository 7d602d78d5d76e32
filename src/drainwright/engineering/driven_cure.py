"""The cure that a measured gas temperature makes: the wall model driven by a log.

The same wall, resin and steam as the cure engine, on a coarser grid and fast enough to be run
many times while steam flows: gas in and pressure are given over time, what nobody measured
(soil, contact, supply, condensate, water on the collar) are arguments.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering import steam
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.kinetics import GAS_CONSTANT, Kinetics
from drainwright.errors import Fault, raise_if_any

Array = NDArray[np.float64]
COATING_CONDUCTIVITY = 0.25
"""Of the tube's coating (from memory) [W/m/K]."""
CONDENSATE_CONDUCTIVITY = 0.67
INVERT_SHARE = 0.25
"""Share of the girth under condensate."""
RUBBER_CAPACITY = 1150.0 * 1800.0
"""Heat capacity of a bladder's rubber per volume (from memory) [J/m^3/K]."""
EDGE = 0.05
"""Length of the collar that counts as its two edges [m]."""
LEAST_AIR = 0.002
"""Air that steam carries even where none is blown in, mass over mass (from memory)."""
LINER, HOST, SOIL = 8, 3, 11
"""Cells across liner, host and soil."""


@dataclass(frozen=True, slots=True)
class Drive:
    """What was measured of the gas, at rising times.

    Attributes
    ----------
    times : ndarray, shape (k,)
        Since steam on [s].
    inlet : ndarray, shape (k,)
        Gas temperature at the tap [K].
    far : ndarray, shape (k,)
        Gas temperature at the far end while air cools; the inlet's where not known [K].
    pressure : ndarray, shape (k,)
        Absolute pressure in the tube [Pa].
    steam : ndarray of bool, shape (k,)
        Whether steam flows.
    """

    times: Array
    inlet: Array
    far: Array
    pressure: Array
    steam: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Unknowns:
    """What nobody measured; factors multiply the case's value.

    Attributes
    ----------
    soil_conductivity : float
        Factor [1].
    soil_temperature : float
        Added [K].
    contact : float
        Resistance between liner and host [m^2 K/W].
    supply : float
        Steam that flows in at most [kg/s].
    resin_rate : float
        Factor on all rates [1].
    heat_of_reaction : float
        Factor [1].
    liner_conductivity : float
        Factor [1].
    host_conductivity : float
        Factor [1].
    condensate : float
        Depth of condensate on the invert [m].
    gas_error : float
        Added to the gas temperature that was read [K].
    bladder : float
        Factor on the conductivity of the carrier's bladder [1].
    collar_water : float
        Film of water on the outside of the main at the collar [W/m^2/K].
    plug : float
        Share of the length that still air keeps at a blind end [1].
    """

    soil_conductivity: float = 1.0
    soil_temperature: float = 0.0
    contact: float = 1e-3
    supply: float = 1.0
    resin_rate: float = 1.0
    heat_of_reaction: float = 1.0
    liner_conductivity: float = 1.0
    host_conductivity: float = 1.0
    condensate: float = 3e-3
    gas_error: float = 0.0
    bladder: float = 1.0
    collar_water: float = 1.0
    plug: float = 0.0


@dataclass(frozen=True, slots=True)
class Column:
    """One radial column.

    Attributes
    ----------
    part : str
        "lateral", "collar middle" or "collar edge".
    line : str
        "top", "invert" or "".
    position : float
        Distance from the tap [m].
    """

    part: str
    line: str
    position: float


@dataclass(frozen=True, slots=True)
class Driven:
    """The wall's answer to a measured gas.

    Attributes
    ----------
    times : ndarray, shape (k,)
        Since steam on [s].
    columns : tuple of Column
        What the columns are.
    gas : ndarray, shape (k, cells)
        Gas temperature of each cell along the pipe, the collar's first where there is one [K].
    face : ndarray, shape (k, columns)
        Outer face of the liner [K].
    inside : ndarray, shape (k, columns)
        Innermost liner cell [K].
    least : ndarray, shape (k, columns)
        Least conversion across the wall [1].
    warmest : ndarray, shape (k, columns)
        Warmest liner cell [K].
    """

    times: Array
    columns: tuple[Column, ...]
    gas: Array
    face: Array
    inside: Array
    least: Array
    warmest: Array


@dataclass(frozen=True, slots=True)
class Layout:
    """Columns of a case, and the gas cell each of them belongs to.

    Attributes
    ----------
    columns : tuple of Column
        What the columns are.
    first : ndarray of int, shape (cells + 1,)
        First column of each gas cell.
    weight : ndarray, shape (columns,)
        Length times share of the girth [m].
    ends : ndarray, shape (cells,)
        Far end of each cell from the tap; zero for the collar's [m].
    """

    columns: tuple[Column, ...]
    first: NDArray[np.int64]
    weight: Array
    ends: Array


def layout_of(case: CureCase, cells: int = 10) -> Layout:
    """Columns along a case: the collar's middle and edge first, then top and invert of each cell.

    Cells of one length; the invert is a quarter of the girth.

    Parameters
    ----------
    case : CureCase
        The case.
    cells : int
        Cells along the lateral.

    Returns
    -------
    Layout
        The columns.

    Examples
    --------
    >>> layout_of.__name__
    'layout_of'

    References
    ----------
    docs/theory/cure.md.
    """
    columns: list[Column] = []
    weight: list[float] = []
    first, ends = [0], []
    if case.collar is not None:
        edge = min(EDGE, 0.5 * case.collar.length)
        columns += [Column("collar middle", "", 0.0), Column("collar edge", "", 0.0)]
        weight += [case.collar.length - edge, edge]
        first.append(2)
        ends.append(0.0)
    step = case.length / cells
    for j in range(cells):
        at = (j + 0.5) * step
        columns += [Column("lateral", "top", at), Column("lateral", "invert", at)]
        weight += [step * (1 - INVERT_SHARE), step * INVERT_SHARE]
        first.append(len(columns))
        ends.append((j + 1) * step)
    return Layout(tuple(columns), np.array(first, dtype=np.int64), np.array(weight), np.array(ends))


def follow(case: CureCase, drive: Drive, unknowns: Unknowns, *, cells: int = 10) -> Driven:
    r"""Temperatures and cure of the wall under a gas that was measured.

    In every cell :math:`\rho c\,\partial_t T = \nabla\cdot(k\nabla T) + \rho w H\,\partial_t
    \alpha`, :math:`\partial_t\alpha = f(\alpha, T)`; while steam flows the gas is the colder of
    what is read at the tap and what the steam left in the cell allows, as in the cure engine
    without the gas's own heat; while air cools it runs straight from tap to far end. Second
    order in time (BDF2). Valid within the assumptions of docs/theory/cure.md.

    Parameters
    ----------
    case : CureCase
        Pipe, liner, resin, soil, collar; its schedule and vent are not used.
    drive : Drive
        The measured gas.
    unknowns : Unknowns
        What was not measured.
    cells : int
        Cells along the lateral.

    Returns
    -------
    Driven
        The answer at the drive's times.

    Raises
    ------
    InputError
        For fewer than two times, or times that don't rise.

    Examples
    --------
    >>> import numpy as np
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> t = np.arange(0.0, 3601.0, 30.0)
    >>> gas = np.interp(t, [0.0, 600.0], [288.15, 384.0])
    >>> hot = Drive(t, gas, gas, np.full(t.size, 149588.0), t >= 0.0)
    >>> found = follow(case, hot, Unknowns())
    >>> 0.8 < float(found.least[-1].min()) < 1.0
    True

    References
    ----------
    docs/theory/cure.md; Hairer and Wanner, Solving Ordinary Differential Equations II (BDF2
    with variable steps).
    """
    from drainwright.engineering import _driven_kernel as code

    raise_if_any(_faults(drive))
    layout = layout_of(case, cells)
    columns, half = _arrays(case, unknowns, layout)
    k, nc = drive.times.size, len(layout.columns)
    air = max(case.gas.air_supply, LEAST_AIR * unknowns.supply)
    gas = code.GasIn(
        np.ascontiguousarray(drive.times, dtype=float), drive.inlet + unknowns.gas_error,
        drive.far + unknowns.gas_error, np.ascontiguousarray(drive.pressure, dtype=float),
        np.ascontiguousarray(drive.steam, dtype=np.bool_), float(unknowns.supply), float(air),
        float(steam.latent_heat_fit(380.0)), _pressures(),
    )  # fmt: skip
    T = np.full((LINER + HOST + SOIL, nc), columns.ground)
    if case.start_temperature is not None:
        T[:LINER] = case.start_temperature
    a = np.full((LINER, nc), case.start_conversion)
    kept = code.Kept(np.empty((k, layout.ends.size)), *(np.empty((k, nc)) for _ in range(4)))
    code.follow_gas(columns, _rate_of(case.kinetics, unknowns.resin_rate), gas, T, a, half, kept)
    return Driven(drive.times, layout.columns, *kept)


def _faults(drive: Drive) -> list[Fault]:
    found = []
    sizes = {getattr(drive, one.name).size for one in fields(Drive)}
    if len(sizes) != 1 or drive.times.size < 2:
        found.append(Fault("drive", "needs as many values as times, two at least"))
    elif not np.all(np.diff(drive.times) > 0):
        found.append(Fault("drive.times", "must rise"))
    return found


@lru_cache(maxsize=1)
def _pressures() -> Array:
    from drainwright.engineering import _driven_kernel as code

    T = code.TABLE_FROM + code.TABLE_STEP * np.arange(code.TABLE_SIZE)
    return np.log(steam.saturation_fit(T))


def _rate_of(law: Kinetics, factor: float) -> Any:
    from drainwright.engineering._driven_kernel import Rate

    A = [value * factor for value in (*law.A, 0.0)[:3]]
    B = [value / GAS_CONSTANT for value in (*law.E, 0.0)[:3]]
    g = law.glass
    return Rate(
        0 if law.model == "kamal" else 1, 0 if g is None else 1, A[0], A[1], A[2],
        B[0], B[1], B[2], law.m, law.n, law.r, g.Tg0 if g else 0.0,
        g.Tg_full - g.Tg0 if g else 0.0, g.Tg_lambda if g else 1.0,
        g.vitrification_width if g else 1.0,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Ring:
    """Cells of one kind of column: capacities, conductances, heat of reaction, half cells."""

    cap: Array
    con: Array
    heat: Array
    inner_half: float
    outer_half: float


def _ring(case: CureCase, unknowns: Unknowns, radius: float, wall: float) -> _Ring:
    """Radial cells of a pipe of inside radius `radius` with a liner of thickness `wall`."""
    outer = radius + case.host.wall
    liner = np.linspace(radius - wall, radius, LINER + 1)
    host = np.linspace(radius, outer, HOST + 1)
    reach = np.geomspace(0.006, max(case.soil.outer_radius - outer, 0.05), SOIL)
    faces = np.concatenate([liner, host[1:], outer + reach])
    counts = (LINER, HOST, SOIL)
    k = np.repeat(
        (
            case.liner.conductivity * unknowns.liner_conductivity,
            case.host.conductivity * unknowns.host_conductivity,
            case.soil.conductivity * unknowns.soil_conductivity,
        ),
        counts,
    )
    rho_c = np.repeat(
        (
            case.liner.density * case.liner.heat_capacity,
            case.host.density * case.host.heat_capacity,
            case.soil.volumetric_heat_capacity,
        ),
        counts,
    )
    a, b = faces[:-1], faces[1:]
    middle, area = 0.5 * (a + b), math.pi * (b**2 - a**2)
    out = np.log(b / middle) / (2 * math.pi * k)
    into = np.log(middle / a) / (2 * math.pi * k)
    resistance = out.copy()
    resistance[:-1] += into[1:]
    gap = case.liner.gap / 0.028 + unknowns.contact
    resistance[LINER - 1] += gap / (2 * math.pi * radius)
    heat = area[:LINER] * case.liner.density * case.liner.resin_mass_fraction
    heat = heat * case.heat_of_reaction * unknowns.heat_of_reaction
    return _Ring(area * rho_c, 1 / resistance, heat, float(into[0]), float(out[LINER - 1]))


def _arrays(case: CureCase, unknowns: Unknowns, layout: Layout) -> tuple[Any, Array]:
    """The columns as the kernel reads them, and the outer half of each column's last cell."""
    from drainwright.engineering._driven_kernel import Columns

    rings = {"lateral": _ring(case, unknowns, case.host_diameter / 2, case.liner.wall)}
    if case.collar is not None:
        rings["collar"] = _ring(case, unknowns, case.collar.main_diameter / 2, case.collar.wall)
    used = [rings[column.part.split()[0]] for column in layout.columns]
    gas = np.array(
        [_to_gas(case, unknowns, one, ring) for one, ring in zip(layout.columns, used, strict=True)]
    ).T
    gas[3] = layout.weight
    cap = np.stack([ring.cap for ring in used], axis=1)
    for n, column in enumerate(layout.columns):
        if case.collar is not None and column.part != "lateral":
            girth = math.pi * (case.collar.main_diameter - 2 * case.collar.wall)
            cap[0, n] += 0.5 * girth * case.collar.bladder_wall * RUBBER_CAPACITY
    ground = case.soil.temperature + unknowns.soil_temperature
    made = Columns(
        np.ascontiguousarray(cap),
        np.ascontiguousarray(np.stack([ring.con for ring in used], axis=1)),
        np.ascontiguousarray(np.stack([ring.heat for ring in used], axis=1)),
        np.ascontiguousarray(gas), layout.first, _fill(case, unknowns, layout),
        LINER + HOST - 1, float(ground),
    )  # fmt: skip
    return made, np.array([ring.outer_half for ring in used])


def _to_gas(case: CureCase, unknowns: Unknowns, column: Column, ring: _Ring) -> list[float]:
    """Conductances from the gas to the first cell: steam, dry, air; weight; water outside."""
    collar = case.collar if column.part != "lateral" else None
    wall = collar.wall if collar else case.liner.wall
    radius = (collar.main_diameter if collar else case.host_diameter) / 2
    girth = 2 * math.pi * (radius - wall)
    series = case.liner.coating / (COATING_CONDUCTIVITY * girth)
    if collar is not None:
        conductivity = collar.bladder_conductivity * unknowns.bladder
        series += collar.bladder_wall / (conductivity * girth)
    wet = series
    if column.line == "invert":
        wet += unknowns.condensate / (CONDENSATE_CONDUCTIVITY * girth)
    films = ((case.gas.film_steam, wet), (case.gas.film_dry, series), (case.gas.film_air, series))
    found = [1 / (1 / (film * girth) + extra + ring.inner_half) for film, extra in films]
    water = 0.0
    if collar is not None:
        water = unknowns.collar_water * 2 * math.pi * (radius + case.host.wall)
    return [*found, 0.0, water]


def _fill(case: CureCase, unknowns: Unknowns, layout: Layout) -> Array:
    """Share of each gas cell in front of the still air at a blind end."""
    front = case.length * (1 - unknowns.plug)
    start = np.concatenate([[0.0], layout.ends[:-1]])
    length = np.maximum(layout.ends - start, 1e-9)
    share = np.clip((front - start) / length, 0.02, 1.0)
    share[layout.ends == 0.0] = 1.0
    return np.asarray(share, dtype=float)
