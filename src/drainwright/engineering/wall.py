"""Wall against groundwater by ASTM F1216, Appendix X1: equations X1.1 and X1.2.

The host still carries the soil (partially deteriorated). Each equation comes twice: the wall it
asks for, and the pressure a given wall may carry. `wall_soil` has X1.3 and X1.4 for a host that
carries nothing, `wall_design` puts them together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from drainwright.engineering import _wall_terms as terms
from drainwright.engineering._ranges import within
from drainwright.engineering._wall_terms import Floats

OVALITY_MOST = 0.15
"""Largest ovality the rules are used for."""


@dataclass(frozen=True, slots=True)
class Liner:
    """What the liner is made of, as the wall rules see it.

    Attributes
    ----------
    modulus : float
        Initial (short-term) flexural modulus, E [Pa].
    retention : float
        Long-term over initial modulus, E_L / E [1].
    strength : float
        Long-term flexural strength, S [Pa].
    poisson_ratio : float
        Poisson's ratio [1].
    """

    modulus: float
    retention: float
    strength: float
    poisson_ratio: float

    @property
    def long_term_modulus(self) -> float:
        """Long-term flexural modulus, E_L [Pa]."""
        return self.modulus * self.retention


@dataclass(frozen=True, slots=True)
class Factors:
    """Factors of the design.

    Attributes
    ----------
    safety_factor : float
        Safety factor, N [1].
    enhancement : float
        Enhancement by the host round the liner, K [1].
    """

    safety_factor: float
    enhancement: float


def ovality_factor(ovality: ArrayLike) -> Floats:
    r"""Reduction of buckling pressure in an oval host.

    .. math:: C = \left[\frac{1 - q}{(1 + q)^2}\right]^3

    Valid for ovality 0 to 15 %.

    Parameters
    ----------
    ovality : array_like, shape (...)
        Ovality of the host, q, as a share [1].

    Returns
    -------
    ndarray, shape (...)
        Ovality factor, 1 for a circle [1].

    Raises
    ------
    OutOfRangeError
        If the ovality is outside 0 to 0.15.

    Examples
    --------
    >>> round(float(ovality_factor(0.02)), 5)
    0.83575

    References
    ----------
    ASTM F1216-09, equation X1.1, second-hand: Najafi, Trenchless Technology Piping, Table 2.9.
    """
    q = within("ovality", ovality, low=0, high=OVALITY_MOST)
    return np.asarray(((1.0 - q) / (1.0 + q) ** 2) ** 3)


def wall_water_buckling(
    host_diameter: ArrayLike,
    water_pressure: ArrayLike,
    ovality: ArrayLike,
    liner: Liner,
    factors: Factors,
) -> Floats:
    r"""Wall that groundwater does not buckle, by equation X1.1.

    .. math:: P = \frac{2 K E_L}{1 - \nu^2}\,\frac{1}{(DR - 1)^3}\,\frac{C}{N}, \quad t = D / DR

    Valid for thin rings. Without pressure the wall comes out 0: the rule for dry pipes is
    another one, see `wall_design`.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    water_pressure : array_like, shape (...)
        Pressure of the water above the invert, P [Pa].
    ovality : array_like, shape (...)
        Ovality of the host, as a share [1].
    liner : Liner
        Material; the long-term modulus counts.
    factors : Factors
        Safety and enhancement.

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
    >>> psi = 6894.757
    >>> liner = Liner(250e3 * psi, 0.5, 2250 * psi, 0.3)
    >>> t = wall_water_buckling(8 * 0.0254, 2.4537 * psi, 0.02, liner, Factors(2, 7))
    >>> round(float(t) / 0.0254, 4)
    0.1144

    References
    ----------
    ASTM F1216-09, equation X1.1, second-hand: Najafi, Trenchless Technology Piping, p. 116.
    """
    diameter = terms.diameter(host_diameter)
    pressure = terms.pressure("water_pressure", water_pressure)
    ring = _ring(liner, factors) * ovality_factor(ovality)
    # t = D / (1 + (ring / P)^(1/3)), written so that P = 0 is no special case
    root = np.cbrt(pressure)
    return np.asarray(diameter * root / (root + np.cbrt(ring)))


def pressure_water_buckling(
    wall: ArrayLike, host_diameter: ArrayLike, ovality: ArrayLike, liner: Liner, factors: Factors
) -> Floats:
    r"""Groundwater pressure that a wall may carry, by equation X1.1.

    .. math:: P = \frac{2 K E_L}{1 - \nu^2}\,\frac{1}{(DR - 1)^3}\,\frac{C}{N}

    Valid for walls thinner than the radius.

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    ovality : array_like, shape (...)
        Ovality of the host, as a share [1].
    liner : Liner
        Material; the long-term modulus counts.
    factors : Factors
        Safety and enhancement.

    Returns
    -------
    ndarray, shape (...)
        Allowable pressure, safety factor taken off [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> psi = 6894.757
    >>> liner = Liner(250e3 * psi, 0.5, 2250 * psi, 0.3)
    >>> p = pressure_water_buckling(3e-3, 8 * 0.0254, 0.02, liner, Factors(2, 7))
    >>> round(float(p) / psi, 3)
    2.704

    References
    ----------
    ASTM F1216-09, equation X1.1, second-hand: Najafi, Trenchless Technology Piping, p. 116.
    """
    ratio = terms.dimension_ratio(wall, host_diameter)
    return np.asarray(_ring(liner, factors) * ovality_factor(ovality) / (ratio - 1.0) ** 3)


def wall_ovality_bending(
    host_diameter: ArrayLike,
    water_pressure: ArrayLike,
    ovality: ArrayLike,
    strength: ArrayLike,
    safety_factor: ArrayLike,
) -> Floats:
    r"""Wall that does not break in bending in an oval host, by equation X1.2.

    .. math:: 1.5\,q (1 + q)\,DR^2 - 0.5\,(1 + q)\,DR = \frac{S}{P N}

    The larger root is taken; in a circle, and without pressure, the wall comes out 0. `S` is
    the long-term flexural strength.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    water_pressure : array_like, shape (...)
        Pressure of the water above the invert, P [Pa].
    ovality : array_like, shape (...)
        Ovality of the host, q, as a share [1].
    strength : array_like, shape (...)
        Long-term flexural strength, S [Pa].
    safety_factor : array_like, shape (...)
        Safety factor, N [1].

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
    >>> psi = 6894.757
    >>> t = wall_ovality_bending(8 * 0.0254, 2.4537 * psi, 0.02, 2250 * psi, 2.0)
    >>> round(float(t) / 0.0254, 4)
    0.0611

    References
    ----------
    ASTM F1216-09, equation X1.2, second-hand: Najafi, Trenchless Technology Piping, p. 114, 117;
    the book enters a short-term strength, the standard means the long-term one (from memory).
    """
    diameter = terms.diameter(host_diameter)
    q = within("ovality", ovality, low=0, high=OVALITY_MOST)
    demand = terms.safety(safety_factor) * terms.pressure("water_pressure", water_pressure)
    # a DR^2 - b DR - S/(N P) = 0; multiplied by N P and solved for t / D = 1 / DR
    squared = 1.5 * q * (1.0 + q) * demand
    linear = 0.5 * (1.0 + q) * demand
    root = np.sqrt(linear**2 + 4.0 * squared * terms.strength(strength))
    return np.asarray(diameter * 2.0 * squared / terms.not_zero(linear + root))


def pressure_ovality_bending(
    wall: ArrayLike,
    host_diameter: ArrayLike,
    ovality: ArrayLike,
    strength: ArrayLike,
    safety_factor: ArrayLike,
) -> Floats:
    r"""Groundwater pressure that a wall may carry in bending, by equation X1.2.

    .. math:: P = \frac{S}{N\,[1.5\,q (1 + q)\,DR^2 - 0.5\,(1 + q)\,DR]}

    Where the bracket is not above 0 there is no tension, and X1.2 sets no limit (infinite).

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host, D [m].
    ovality : array_like, shape (...)
        Ovality of the host, q, as a share [1].
    strength : array_like, shape (...)
        Long-term flexural strength, S [Pa].
    safety_factor : array_like, shape (...)
        Safety factor, N [1].

    Returns
    -------
    ndarray, shape (...)
        Allowable pressure; infinite where X1.2 sets no limit [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> psi = 6894.757
    >>> p = pressure_ovality_bending(3e-3, 8 * 0.0254, 0.02, 2250 * psi, 2.0)
    >>> round(float(p) / psi, 2)
    10.63

    References
    ----------
    ASTM F1216-09, equation X1.2, second-hand: Najafi, Trenchless Technology Piping, p. 114, 117.
    """
    ratio = terms.dimension_ratio(wall, host_diameter)
    q = within("ovality", ovality, low=0, high=OVALITY_MOST)
    stress = 1.5 * q * (1.0 + q) * ratio**2 - 0.5 * (1.0 + q) * ratio
    capacity = terms.strength(strength) / terms.safety(safety_factor)
    limited = stress > 0
    return np.where(limited, capacity / np.where(limited, stress, 1.0), np.inf)


def _ring(liner: Liner, factors: Factors) -> Floats:
    """2 K E_L / (1 - nu^2) / N [Pa]."""
    poisson = within("poisson_ratio", liner.poisson_ratio, low=0, below=0.5)
    enhancement = within("enhancement", factors.enhancement, low=1, high=20)
    long_term = terms.long_term_modulus(liner.modulus, liner.retention)
    free_ring = 2.0 * long_term / (1.0 - poisson**2)
    return np.asarray(enhancement * free_ring / terms.safety(factors.safety_factor))
