"""Wall of a liner that carries soil, water and traffic alone: ASTM F1216, X1.3 and X1.4.

The host carries nothing (fully deteriorated). Each equation comes twice: the wall it asks for,
and what a given wall can take. Two editions of X1.3 are known: before F1216-07b (June 2007) the
ovality factor stood outside the root, so that the older wall is C^(-1/3) times the newer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drainwright.engineering import _wall_terms as terms
from drainwright.engineering._ranges import within
from drainwright.engineering._wall_terms import Floats
from drainwright.engineering.wall import Liner, ovality_factor
from drainwright.errors import Fault, InputError

EDITIONS = ("ASTM F1216-09", "ASTM F1216-05")
"""Editions known: the form since 07b, and the form before it."""


@dataclass(frozen=True, slots=True)
class SoilLoad:
    """What the soil does to a liner that carries it.

    Attributes
    ----------
    external_pressure : ArrayLike
        Total external pressure, q_t [Pa].
    buoyancy_factor : ArrayLike
        Water buoyancy factor, R_w [1].
    elastic_support : ArrayLike
        Coefficient of elastic support, B' [1].
    soil_modulus : ArrayLike
        Modulus of soil reaction, E'_s [Pa].
    """

    external_pressure: ArrayLike
    buoyancy_factor: ArrayLike
    elastic_support: ArrayLike
    soil_modulus: ArrayLike


def wall_soil_buckling(
    host_diameter: ArrayLike,
    load: SoilLoad,
    ovality: ArrayLike,
    liner: Liner,
    safety_factor: ArrayLike,
    edition: str,
) -> Floats:
    r"""Wall that soil, water and traffic do not buckle, by equation X1.3.

    .. math:: t = D \left[\frac{12}{32}\,\frac{(N q_t)^2}{E_L R_w B' C E'_s}\right]^{1/3}

    Before F1216-07b with `C` squared. 0.721 in print is (12/32)^(1/3). Valid for hosts taken as
    fully deteriorated.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    load : SoilLoad
        External pressure, buoyancy, elastic support, modulus of soil reaction.
    ovality : array_like, shape (...)
        Ovality of the host, as a share [1].
    liner : Liner
        Material; the long-term modulus counts.
    safety_factor : array_like, shape (...)
        Safety factor, N [1].
    edition : str
        One of `EDITIONS`.

    Returns
    -------
    ndarray, shape (...)
        Wall asked for, t [m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.
    InputError
        If the edition is not known.

    Examples
    --------
    >>> psi, inch = 6894.757, 0.0254
    >>> from drainwright.engineering.wall import Liner
    >>> liner = Liner(250e3 * psi, 0.5, 2250 * psi, 0.3)
    >>> load = SoilLoad(14.947 * psi, 0.835, 0.41428, 1000 * psi)
    >>> t = wall_soil_buckling(48 * inch, load, 0.02, liner, 2.0, "ASTM F1216-09")
    >>> round(float(t) / inch, 3)
    1.008

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111.
    The change of 07b: Doherty, NASTT No-Dig 2008, abstract; the older form is from memory.
    """
    diameter = terms.diameter(host_diameter)
    demand = terms.safety(safety_factor) * terms.pressure(
        "external_pressure", load.external_pressure
    )
    support = _support(load, liner) * _ovality_power(ovality, edition)
    return np.asarray(diameter * np.cbrt(12.0 / 32.0 * demand**2 / support))


def pressure_soil_buckling(
    wall: ArrayLike,
    host_diameter: ArrayLike,
    load: SoilLoad,
    ovality: ArrayLike,
    liner: Liner,
    safety_factor: ArrayLike,
    *,
    edition: str,
) -> Floats:
    r"""External pressure that a wall may carry, by equation X1.3.

    .. math:: q_t = \frac{1}{N}\left[32\,R_w B' E'_s C\,\frac{E_L I}{D^3}\right]^{1/2},
              \quad I = t^3 / 12

    Before F1216-07b with `C` outside the root.

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    load : SoilLoad
        Buoyancy, elastic support and modulus of soil reaction; its pressure is not used.
    ovality : array_like, shape (...)
        Ovality of the host, as a share [1].
    liner : Liner
        Material; the long-term modulus counts.
    safety_factor : array_like, shape (...)
        Safety factor, N [1].
    edition : str
        One of `EDITIONS`.

    Returns
    -------
    ndarray, shape (...)
        Allowable external pressure, safety factor taken off [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.
    InputError
        If the edition is not known.

    Examples
    --------
    >>> psi, inch = 6894.757, 0.0254
    >>> from drainwright.engineering.wall import Liner
    >>> liner = Liner(250e3 * psi, 0.5, 2250 * psi, 0.3)
    >>> load = SoilLoad(0.0, 0.835, 0.41428, 1000 * psi)
    >>> q = pressure_soil_buckling(
    ...     1.008 * inch, 48 * inch, load, 0.02, liner, 2.0, edition="ASTM F1216-09"
    ... )
    >>> round(float(q) / psi, 2)
    14.94

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111.
    """
    ratio = terms.dimension_ratio(wall, host_diameter)
    support = _support(load, liner) * _ovality_power(ovality, edition)
    return np.asarray(np.sqrt(32.0 * support / (12.0 * ratio**3)) / terms.safety(safety_factor))


def wall_stiffness(
    host_diameter: ArrayLike, modulus: ArrayLike, stiffness_least: ArrayLike
) -> Floats:
    r"""Wall with the least stiffness that can be handled, by equation X1.4.

    .. math:: \frac{E I}{D^3} = \frac{E}{12\,DR^3} \ge s

    With the short-term modulus. Valid for hosts taken as fully deteriorated.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    modulus : array_like, shape (...)
        Initial (short-term) flexural modulus, E [Pa].
    stiffness_least : array_like, shape (...)
        Least stiffness, s; 0.093 psi in the standard [Pa].

    Returns
    -------
    ndarray, shape (...)
        Wall asked for, t [m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> psi, inch = 6894.757, 0.0254
    >>> round(float(wall_stiffness(48 * inch, 250e3 * psi, 0.093 * psi)) / inch, 4)
    0.7903

    References
    ----------
    ASTM F1216-09, equation X1.4, second-hand: Najafi, Trenchless Technology Piping, p. 111.
    """
    least = within("stiffness_least", stiffness_least, "Pa", low=0, high=1e7)
    return np.asarray(
        terms.diameter(host_diameter) * np.cbrt(12.0 * least / terms.modulus(modulus))
    )


def ring_stiffness(wall: ArrayLike, host_diameter: ArrayLike, modulus: ArrayLike) -> Floats:
    r"""Stiffness of a wall as equation X1.4 measures it.

    .. math:: \frac{E I}{D^3} = \frac{E}{12\,DR^3}

    With the short-term modulus.

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    modulus : array_like, shape (...)
        Initial (short-term) flexural modulus, E [Pa].

    Returns
    -------
    ndarray, shape (...)
        Stiffness [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(ring_stiffness(0.7903, 48.0, 250e3)), 4)  # any one unit of pressure
    0.093

    References
    ----------
    ASTM F1216-09, equation X1.4, second-hand: Najafi, Trenchless Technology Piping, p. 111.
    """
    return np.asarray(
        terms.modulus(modulus) / (12.0 * terms.dimension_ratio(wall, host_diameter) ** 3)
    )


def stretched_wall(
    tube_wall: ArrayLike, tube_diameter: ArrayLike, host_diameter: ArrayLike
) -> Floats:
    r"""Wall of a tube that is stretched into a host of another size.

    .. math:: t = t_{tube}\,D_{tube} / D

    The felt keeps its volume and its length. Valid where the host is as large as the tube or
    larger: a tube too large folds instead of thickening, and its own wall stays.

    Parameters
    ----------
    tube_wall : array_like, shape (...)
        Wall in a host of the tube's own diameter [m].
    tube_diameter : array_like, shape (...)
        Inside diameter the tube is made for [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host [m].

    Returns
    -------
    ndarray, shape (...)
        Wall in the host, never above the tube's own [m].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(stretched_wall(3e-3, 4.0, 6.0)), 6)
    0.002

    References
    ----------
    Plain geometry.
    """
    wall = within("tube_wall", tube_wall, "m", above=0, high=1)
    tube = within("tube_diameter", tube_diameter, "m", above=0, high=10)
    return np.minimum(wall, wall * tube / terms.diameter(host_diameter))


def _support(load: SoilLoad, liner: Liner) -> Floats:
    """E_L R_w B' E'_s [Pa^2]."""
    buoyancy = within("buoyancy_factor", load.buoyancy_factor, above=0, high=1)
    elastic = within("elastic_support", load.elastic_support, above=0, high=1)
    soil_modulus = within("soil_modulus", load.soil_modulus, "Pa", above=0, high=1e10)
    long_term = terms.long_term_modulus(liner.modulus, liner.retention)
    return np.asarray(long_term * buoyancy * elastic * soil_modulus)


def _ovality_power(ovality: ArrayLike, edition: str) -> Floats:
    """C, or C squared before 07b."""
    if edition not in EDITIONS:
        raise InputError(
            Fault("edition", f"“{edition}” is not one of {', '.join(EDITIONS)}", edition)
        )
    return np.asarray(ovality_factor(ovality) ** (1 if edition == EDITIONS[0] else 2))
