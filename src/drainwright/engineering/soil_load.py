"""Soil, water and traffic on a liner that must carry them alone (fully deteriorated host).

The factors of ASTM F1216, Appendix X1: buoyancy, elastic support of the soil, total external
pressure, and the live load of one wheel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.engineering.groundwater import water_pressure
from drainwright.units import FOOT

_BUOYANCY_LEAST = 0.67
_SUPPORT_RATE = 0.065 / FOOT


@dataclass(frozen=True, slots=True)
class Ground:
    """Soil and traffic over a pipe.

    Attributes
    ----------
    cover : float
        Soil above the crown [m].
    soil_weight : float
        Weight of the soil [N/m^3].
    soil_modulus : float
        Modulus of soil reaction [Pa].
    live_load : float
        Traffic's pressure at the crown [Pa].
    """

    cover: float
    soil_weight: float
    soil_modulus: float
    live_load: float


def buoyancy_factor(cover: ArrayLike, water_above_crown: ArrayLike) -> NDArray[np.float64]:
    r"""Water buoyancy factor of the soil load.

    .. math:: R_w = \max\left(0.67,\ 1 - 0.33\,\frac{H_w}{H}\right)

    Valid for covers above 0. Water below the crown takes no weight off the soil over it
    (`R_w` = 1); water above the ground's surface leaves the least value.

    Parameters
    ----------
    cover : array_like, shape (...)
        Soil above the crown, H [m].
    water_above_crown : array_like, shape (...)
        Height of the water above the crown, H_w [m]; negative below it.

    Returns
    -------
    ndarray, shape (...)
        Buoyancy factor, 0.67 to 1 [1].

    Raises
    ------
    OutOfRangeError
        If the cover is not above 0 or a value is not finite.

    Examples
    --------
    >>> float(buoyancy_factor(16.0, 8.0))
    0.835

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111.
    """
    height = within("cover", cover, "m", above=0, high=300)
    water = within("water_above_crown", water_above_crown, "m")
    return np.clip(1.0 - 0.33 * water / height, _BUOYANCY_LEAST, 1.0)


def elastic_support(cover: ArrayLike) -> NDArray[np.float64]:
    r"""Coefficient of elastic support of the soil round the pipe.

    .. math:: B' = \frac{1}{1 + 4 e^{-0.065 H}}, \quad H\ \text{in feet}

    Valid for covers above 0.

    Parameters
    ----------
    cover : array_like, shape (...)
        Soil above the crown [m].

    Returns
    -------
    ndarray, shape (...)
        Coefficient of elastic support, 0.2 to 1 [1].

    Raises
    ------
    OutOfRangeError
        If the cover is not above 0 or not finite.

    Examples
    --------
    >>> round(float(elastic_support(16 * 0.3048)), 5)
    0.41428

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111; the
    page's text layer garbles the constants, only 0.065 and e give the printed 0.414.
    """
    height = within("cover", cover, "m", above=0, high=300)
    return np.asarray(1.0 / (1.0 + 4.0 * np.exp(-_SUPPORT_RATE * height)))


def external_pressure(
    cover: ArrayLike,
    water_above_crown: ArrayLike,
    soil_weight: ArrayLike,
    live_load: ArrayLike,
) -> NDArray[np.float64]:
    r"""Total external pressure at the crown: water, soil under buoyancy, traffic.

    .. math:: q_t = \gamma_w H_w + w H R_w + W_s

    Valid for covers above 0; water below the crown counts as none.

    Parameters
    ----------
    cover : array_like, shape (...)
        Soil above the crown, H [m].
    water_above_crown : array_like, shape (...)
        Height of the water above the crown, H_w [m]; negative below it.
    soil_weight : array_like, shape (...)
        Weight of the soil, w [N/m^3].
    live_load : array_like, shape (...)
        Traffic's pressure at the crown, W_s [Pa].

    Returns
    -------
    ndarray, shape (...)
        External pressure [Pa].

    Raises
    ------
    OutOfRangeError
        If the cover or the soil's weight is not above 0, or the live load negative.

    Examples
    --------
    >>> q = external_pressure(16 * 0.3048, 8 * 0.3048, 120 * 157.0875, 0.35 * 6894.757)
    >>> round(float(q) / 6894.757, 3)  # psi
    14.947

    References
    ----------
    ASTM F1216-09, equation X1.3, second-hand: Najafi, Trenchless Technology Piping, p. 109-111.
    """
    weight = within("soil_weight", soil_weight, "N/m^3", above=0, high=1e5)
    live = within("live_load", live_load, "Pa", low=0, high=1e8)
    water = np.maximum(within("water_above_crown", water_above_crown, "m"), 0.0)
    soil = weight * np.asarray(cover, float) * buoyancy_factor(cover, water_above_crown)
    return np.asarray(water_pressure(water) + soil + live)


def wheel_pressure(
    wheel_load: ArrayLike, load_coefficient: ArrayLike, impact: ArrayLike, host_diameter: ArrayLike
) -> NDArray[np.float64]:
    r"""Live load of one wheel as a pressure at the crown.

    .. math:: W_s = \frac{0.33\, C_s\, F_i\, P_w}{D \cdot 1\ \text{ft}}

    The wheel's load is spread over 3 ft of pipe (0.33 of it on each foot) and over the
    diameter. The coefficient comes from a chart by depth and size; it is an input here.

    Parameters
    ----------
    wheel_load : array_like, shape (...)
        Load of the wheel [N].
    load_coefficient : array_like, shape (...)
        Share of the load that reaches the pipe, C_s [1].
    impact : array_like, shape (...)
        Impact factor [1].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host [m].

    Returns
    -------
    ndarray, shape (...)
        Pressure at the crown [Pa].

    Raises
    ------
    OutOfRangeError
        If the diameter is not above 0, the load or the coefficient negative, or the impact
        factor below 1.

    Examples
    --------
    >>> round(float(wheel_pressure(16000 * 4.448222, 0.03826, 1.0, 48 * 0.0254)) / 6894.757, 4)
    0.3507

    References
    ----------
    Najafi, Trenchless Technology Piping, sec. 2.7, p. 109-114, second-hand.
    """
    load = within("wheel_load", wheel_load, "N", low=0)
    share = within("load_coefficient", load_coefficient, low=0, high=1)
    factor = within("impact", impact, low=1, high=3)
    diameter = within("host_diameter", host_diameter, "m", above=0, high=10)
    return np.asarray(0.33 * share * factor * load / (diameter * FOOT))
