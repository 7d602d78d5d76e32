"""Temperatures and conversions at asked-for places, and the front at asked-for times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering.cure import Fields, Log
from drainwright.engineering.cure_model import CureCase, Place

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Probe:
    """A place at which the fields are asked for.

    Attributes
    ----------
    position : float
        Distance from the tap [m].
    depth : str
        "liner inner", "liner outer", "host outer" (faces) or "liner middle" (center).
    line : str
        "top" or "invert"; without an invert line both are the same.
    times : tuple of float
        Since steam on [s].
    """

    position: float
    depth: str
    line: str
    times: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class FieldView:
    """What the rows and columns of a case's fields mean, for one line of the lateral.

    Attributes
    ----------
    positions : ndarray, shape (places,)
        Distances from the tap [m].
    columns : ndarray of int, shape (places,)
        Columns of the fields that belong to them.
    radii : ndarray, shape (rows,)
        Radii of the rows' centers [m].
    first_row : int
        First row of the liner.
    liner_rows : int
        Rows of the liner.
    host_rows : int
        Rows of the host.
    """

    positions: Array
    columns: NDArray[np.int64]
    radii: Array
    first_row: int
    liner_rows: int
    host_rows: int


def field_view(case: CureCase, line: str = "top") -> FieldView:
    """What the rows and columns of a case's fields mean.

    Centers of the cells that `simulate` uses.

    Parameters
    ----------
    case : CureCase
        The case.
    line : str
        "top" or "invert".

    Returns
    -------
    FieldView
        Places, radii and counts.

    Examples
    --------
    >>> field_view.__name__
    'field_view'

    References
    ----------
    docs/theory/cure.md.
    """
    from drainwright.engineering._cure_grid import build_mesh

    mesh = build_mesh(case)
    chosen = [n for n, c in enumerate(mesh.columns) if c.part == "lateral" and c.line in ("", line)]
    centers = 0.5 * (mesh.radii[1:] + mesh.radii[:-1])
    if mesh.liner_row:
        centers = np.concatenate([[mesh.radii[0] - 1e-3], centers])
    return FieldView(
        np.array([mesh.columns[n].position for n in chosen]),
        np.array(chosen, dtype=np.int64),
        centers,
        mesh.liner_row,
        mesh.liner_cells,
        mesh.host_cells,
    )


def column_of(case: CureCase, place: Place) -> int:
    """Column of a case's fields in which a place lies.

    The nearest center of the same part and line; the collar's columns have rows of their own.

    Parameters
    ----------
    case : CureCase
        The case.
    place : Place
        A place as `simulate` names it.

    Returns
    -------
    int
        The column [1].

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Grid, Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3),
    ...                 grid=Grid(axial_cells=4))
    >>> column_of(case, Place("lateral", "", 6.0, 0.001))
    2

    References
    ----------
    docs/theory/cure.md.
    """
    from drainwright.engineering._cure_grid import build_mesh

    columns = build_mesh(case).columns
    same = [n for n, one in enumerate(columns) if (one.part, one.line) == (place.part, place.line)]
    return min(same, key=lambda n: abs(columns[n].position - place.position))


def _along(case: CureCase, values: Array, probe: Probe) -> Array:
    """Values of the lateral's columns, straight between cell centers along the pipe."""
    from drainwright.engineering._cure_grid import build_mesh

    columns = build_mesh(case).columns
    chosen = [
        n for n, c in enumerate(columns) if c.part == "lateral" and c.line in ("", probe.line)
    ]
    where = np.array([columns[n].position for n in chosen])
    return np.array([np.interp(probe.position, where, row[chosen]) for row in values])


def _outer_face(T: Array, row: int, shares: tuple[float, float]) -> Array:
    """Face between two rows, by the conductances on both sides."""
    a, b = shares
    out: Array = (a * T[:, row] + b * T[:, row + 1]) / (a + b)
    return out


def probe_rows(
    case: CureCase, fields: Fields, probe: Probe
) -> tuple[list[float | None], list[float | None]]:
    """Temperature and conversion at a probe, at its times.

    Faces between cells lie at the temperature that makes both half cells carry the same heat;
    the inner face and conversions at faces are extended straight from the two nearest cells.

    Parameters
    ----------
    case : CureCase
        The case.
    fields : Fields
        The fields, kept at least at the probe's times.
    probe : Probe
        The place.

    Returns
    -------
    tuple of two lists
        Temperature [K] and conversion [1] at each time; None at times that were not kept, and
        no conversion in the host.

    Examples
    --------
    >>> probe_rows.__name__
    'probe_rows'

    References
    ----------
    docs/theory/cure.md.
    """
    from drainwright.engineering._cure_grid import build_mesh

    mesh = build_mesh(case)
    n, row = mesh.liner_cells, mesh.liner_row
    index = np.searchsorted(fields.times, probe.times)
    T, a = fields.temperature[index], fields.conversion[index]
    if probe.depth == "host outer":
        shares = _half_conductances(case, row + n + mesh.host_cells - 1)
        field = _outer_face(T, row + n + mesh.host_cells - 1, shares)
        return _plain(_along(case, field, probe)), [None] * len(probe.times)
    if probe.depth == "liner outer":
        gapped = case.liner.gap > 0
        shares = _half_conductances(case, row + n - 1)
        edge = 1.5 * T[:, row + n - 1] - 0.5 * T[:, row + n - 2]
        field = edge if gapped else _outer_face(T, row + n - 1, shares)
        cure = 1.5 * a[:, n - 1] - 0.5 * a[:, n - 2]
    elif probe.depth == "liner inner":
        field = 1.5 * T[:, row] - 0.5 * T[:, row + 1]
        cure = 1.5 * a[:, 0] - 0.5 * a[:, 1]
    else:
        low, high = (n - 1) // 2, n // 2
        field = 0.5 * (T[:, row + low] + T[:, row + high])
        cure = 0.5 * (a[:, low] + a[:, high])
    cured = np.clip(_along(case, cure, probe), 0.0, 1.0)
    return _plain(_along(case, field, probe)), _plain(cured)


def _half_conductances(case: CureCase, row: int) -> tuple[float, float]:
    """Conductances of the half cells inside and outside the face after a row."""
    from drainwright.engineering._cure_grid import half_resistances

    outward, inward = half_resistances(case)
    liner_row = 1 if case.bellies else 0
    return 1 / float(outward[row - liner_row]), 1 / float(inward[row - liner_row + 1])


def _plain(values: Array) -> list[float | None]:
    return [float(value) if np.isfinite(value) else None for value in values]


def front_at(log: Log, times: Sequence[float]) -> list[float]:
    """How far steam reaches at given times.

    Straight between the steps of the computation.

    Parameters
    ----------
    log : Log
        The steps.
    times : sequence of float
        Since steam on [s].

    Returns
    -------
    list of float
        Distance from the tap [m].

    Examples
    --------
    >>> front_at.__name__
    'front_at'

    References
    ----------
    docs/theory/cure.md.
    """
    on = log.steam_on
    return [float(value) for value in np.interp(times, log.time[on], log.front[on])]
