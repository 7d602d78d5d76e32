"""Wet-out: how much resin a tube and its collar take, and how it is put in.

The mass a maker's chart gives always wins over the rule here. The rule's diameter is the host's
inside diameter, or the tube's own where it is known: the tube's girth sets the mass.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.errors import require

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Fill:
    """How a felt is filled with resin.

    Attributes
    ----------
    void_fraction : float
        Share of the wall that is resin, phi [1].
    excess : float
        Resin on top for shrinkage and migration, x, as a share [1].
    density : float
        Density of the mixed resin [kg/m^3].
    """

    void_fraction: float
    excess: float
    density: float


@dataclass(frozen=True, slots=True)
class Collar:
    """The sheet that wraps the main at the tap.

    Attributes
    ----------
    main_diameter : float
        True inside diameter of the main where the collar sits [m].
    length : float
        Length along the main [m].
    lap : float
        How far the sheet overlaps itself round the main [m].
    wall : float
        Wall of one layer [m].
    """

    main_diameter: float
    length: float
    lap: float
    wall: float


def tube_resin_volume(diameter: ArrayLike, wall: ArrayLike, fill: Fill) -> Floats:
    r"""Resin for each length of tube, by volume.

    .. math:: V / L = \pi (D - t)\,t\,\phi\,(1 + x)

    Valid for walls below the radius. Tapers and the collar are extra.

    Parameters
    ----------
    diameter : array_like, shape (...)
        Inside diameter of the host, or of the tube where known, D [m].
    wall : array_like, shape (...)
        Finished wall, t [m].
    fill : Fill
        Resin share and excess.

    Returns
    -------
    ndarray, shape (...)
        Volume of resin on each length [m^3/m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> v = tube_resin_volume(0.2032, 0.0045, Fill(0.87, 0.08, 1100.0))
    >>> round(float(v) * 1000, 3)  # L/m
    2.639

    References
    ----------
    Wet-out practice: volume of all voids plus an allowance (City of Ramsey MN; South Bend IN);
    void fraction from inspector training slides, second-hand.
    """
    bore = within("diameter", diameter, "m", above=0, high=20)
    thickness = within("wall", wall, "m", above=0)
    within("wall over diameter", thickness / bore, above=0, below=0.5)
    return np.asarray(math.pi * (bore - thickness) * thickness * _resin_share(fill))


def tube_resin_mass(diameter: ArrayLike, wall: ArrayLike, fill: Fill) -> Floats:
    r"""Resin for each length of tube, by mass.

    .. math:: m / L = \pi (D - t)\,t\,\phi\,\rho\,(1 + x)

    Valid for walls below the radius. A tube maker's chart, where there is one, wins over it.

    Parameters
    ----------
    diameter : array_like, shape (...)
        Inside diameter of the host, or of the tube where known, D [m].
    wall : array_like, shape (...)
        Finished wall, t [m].
    fill : Fill
        Resin share, excess, density.

    Returns
    -------
    ndarray, shape (...)
        Mass of mixed resin on each length [kg/m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> m = tube_resin_mass(8 * 0.0254, 4.5e-3, Fill(0.87, 0.08, 1100.0))
    >>> round(float(m) / 0.45359237 * 0.3048, 2)  # lb/ft
    1.95

    References
    ----------
    Wet-out practice: volume of all voids plus an allowance (City of Ramsey MN; South Bend IN);
    void fraction from inspector training slides, second-hand.
    """
    return np.asarray(tube_resin_volume(diameter, wall, fill) * _density(fill))


def collar_resin_volume(collar: Collar, fill: Fill) -> float:
    r"""Resin of a collar, by volume.

    .. math:: V = (\pi D_{main} + \ell)\,L\,t\,\phi\,(1 + x)

    The sheet is taken as it is cut: the main's girth at its bore plus the lap, one layer, the
    hole for the lateral not taken off. Valid for a full wrap.

    Parameters
    ----------
    collar : Collar
        The sheet.
    fill : Fill
        Resin share and excess.

    Returns
    -------
    float
        Volume of mixed resin [m^3].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range, or the lap longer than the girth.

    Examples
    --------
    >>> sheet = Collar(8 * 0.0254, 16 * 0.0254, 3 * 0.0254, 0.003)
    >>> round(collar_resin_volume(sheet, Fill(0.87, 0.08, 1100.0)) * 1000, 3)  # L
    0.819

    References
    ----------
    Plain geometry, filled as the tube is.
    """
    diameter = require("main_diameter", collar.main_diameter, "m", above=0, high=20)
    length = require("length", collar.length, "m", above=0, high=20)
    girth = math.pi * diameter
    lap = require("lap", collar.lap, "m", low=0, high=girth)
    wall = require("wall", collar.wall, "m", above=0, below=diameter / 2)
    return (girth + lap) * length * wall * float(_resin_share(fill))


def collar_resin_mass(collar: Collar, fill: Fill) -> float:
    r"""Resin of a collar, by mass.

    .. math:: m = (\pi D_{main} + \ell)\,L\,t\,\phi\,\rho\,(1 + x)

    Valid for a full wrap; see `collar_resin_volume`. It belongs to the same batch as the tube's.

    Parameters
    ----------
    collar : Collar
        The sheet.
    fill : Fill
        Resin share, excess, density.

    Returns
    -------
    float
        Mass of mixed resin [kg].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range, or the lap longer than the girth.

    Examples
    --------
    >>> sheet = Collar(8 * 0.0254, 16 * 0.0254, 3 * 0.0254, 0.003)
    >>> round(collar_resin_mass(sheet, Fill(0.87, 0.08, 1100.0)) / 0.45359237, 1)  # lb
    2.0

    References
    ----------
    Plain geometry, filled as the tube is.
    """
    return collar_resin_volume(collar, fill) * float(_density(fill))


def split_by_weight(mass: float, ratio_a: float, ratio_b: float) -> tuple[float, float]:
    r"""The two parts of a mix by weight.

    .. math:: m_a = m\,\frac{a}{a + b}, \quad m_b = m - m_a

    Valid for ratios by weight only; a ratio by volume needs both densities first.

    Parameters
    ----------
    mass : float
        Mass of the mix [kg].
    ratio_a : float
        Parts of A [1].
    ratio_b : float
        Parts of B [1].

    Returns
    -------
    tuple of float
        Mass of A and mass of B [kg].

    Raises
    ------
    OutOfRangeError
        If the mass is negative or a part not above 0.

    Examples
    --------
    >>> split_by_weight(40.0, 4, 1)
    (32.0, 8.0)

    References
    ----------
    Plain arithmetic.
    """
    require("mass", mass, "kg", low=0)
    require("ratio_a", ratio_a, above=0)
    require("ratio_b", ratio_b, above=0)
    part_a = mass * ratio_a / (ratio_a + ratio_b)
    return part_a, mass - part_a


def roller_gap(
    wall: ArrayLike, coating: ArrayLike, gap_factor: ArrayLike, coatings: ArrayLike
) -> Floats:
    r"""Gap of the rollers that spread the resin in a flat tube.

    .. math:: g = f\,t + n\,c

    The tube lies flat, two plies of felt and their coatings one on the other. A maker's chart
    wins over it.

    Parameters
    ----------
    wall : array_like, shape (...)
        Finished wall, t [m].
    coating : array_like, shape (...)
        Thickness of one coating, c; 0 where there is none [m].
    gap_factor : array_like, shape (...)
        Gap over finished wall, f; about 2, for both plies [1].
    coatings : array_like, shape (...)
        Coatings between the rollers, n; usually 2 [1].

    Returns
    -------
    ndarray, shape (...)
        Roller gap [m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(roller_gap(3e-3, 0.4e-3, 2, 2)) * 1000, 3)
    6.8

    References
    ----------
    Trade practice, from memory.
    """
    thickness = within("wall", wall, "m", above=0, high=1)
    layer = within("coating", coating, "m", low=0, high=0.1)
    factor = within("gap_factor", gap_factor, above=0, high=10)
    count = within("coatings", coatings, low=0, high=10)
    return np.asarray(factor * thickness + count * layer)


def suction_points(length: float, first: float, ahead: float) -> tuple[float, ...]:
    r"""Where the vacuum is drawn, from the resin's entry on.

    .. math:: s_1 = \min(L, a), \quad s_{k+1} = \min(L, s_k + b)

    The first point lies no farther than `first` from the entry; once the resin is there, the
    next lies no farther than `ahead` before it. The last point is the tube's far end.

    Parameters
    ----------
    length : float
        Length of the tube, L [m].
    first : float
        Farthest first point, a [m].
    ahead : float
        Farthest next point before the resin front, b [m].

    Returns
    -------
    tuple of float
        Distances from the resin's entry, rising, the last one L [m].

    Raises
    ------
    OutOfRangeError
        If the length is not above 0 or over 1000 m, or a step below 0.1 m.

    Examples
    --------
    >>> suction_points(110.0, 25.0, 75.0)  # in any one unit
    (25.0, 100.0, 110.0)

    References
    ----------
    City of Ramsey MN, lateral lining provisions.
    """
    require("length", length, "m", above=0, high=1000)
    require("first", first, "m", low=0.1)
    require("ahead", ahead, "m", low=0.1)
    points = [min(length, first)]
    while points[-1] < length:
        points.append(min(length, points[-1] + ahead))
    return tuple(points)


def _resin_share(fill: Fill) -> Floats:
    share = within("void_fraction", fill.void_fraction, above=0, high=1)
    return np.asarray(share * (1.0 + within("excess", fill.excess, low=0, high=1)))


def _density(fill: Fill) -> Floats:
    return within("density", fill.density, "kg/m^3", above=0, high=5000)
