"""Groundwater over a pipe: heights above crown and invert, and the pressure they make.

Two heights are in use and are easily mixed up: above the crown (soil load, buoyancy) and above
the invert (pressure on the liner). They differ by the host's inside diameter.

The weight of water is the trade's round figure, 0.433 psi per foot, which the wall rules print
and crews use; 62.4 lb/ft³ would give 0.4333, that is 0.08 % more.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.units import FOOT, PSI

WATER_WEIGHT = 0.433 * PSI / FOOT
"""Weight of water [N/m^3]: 0.433 psi per foot of head."""

_HEAD_MOST = 300.0
_DIAMETER_MOST = 10.0


def water_pressure(head: ArrayLike) -> NDArray[np.float64]:
    r"""Pressure of standing water under a head.

    .. math:: P = \gamma_w h, \quad \gamma_w = 0.433\ \text{psi/ft}

    Valid for heads of 0 to 300 m; a level below the point in question is head 0.

    Parameters
    ----------
    head : array_like, shape (...)
        Height of the water above the point in question [m].

    Returns
    -------
    ndarray, shape (...)
        Pressure above the atmosphere's [Pa].

    Raises
    ------
    OutOfRangeError
        If a head is negative, above 300 m or not finite.

    Examples
    --------
    >>> round(float(water_pressure(12 * 0.3048)) / 6894.757, 3)  # 12 ft, in psi
    5.196

    References
    ----------
    ASTM F1216-09, equation X1.3 (the factor 0.433), second-hand.
    """
    return np.asarray(WATER_WEIGHT * within("head", head, "m", low=0, high=_HEAD_MOST))


def pressure_head(pressure: ArrayLike) -> NDArray[np.float64]:
    r"""Head of water that a pressure holds back.

    .. math:: h = P / \gamma_w

    The inverse of `water_pressure`; valid up to 300 m.

    Parameters
    ----------
    pressure : array_like, shape (...)
        Pressure above the atmosphere's [Pa].

    Returns
    -------
    ndarray, shape (...)
        Head [m].

    Raises
    ------
    OutOfRangeError
        If a pressure is negative or stands for more than 300 m.

    Examples
    --------
    >>> round(float(pressure_head(5 * 6894.757)) / 0.3048, 2)  # 5 psi, in ft
    11.55

    References
    ----------
    ASTM F1216-09, equation X1.3 (the factor 0.433), second-hand.
    """
    most = WATER_WEIGHT * _HEAD_MOST
    return np.asarray(within("pressure", pressure, "Pa", low=0, high=most) / WATER_WEIGHT)


def height_above_invert(
    water_above_crown: ArrayLike, host_diameter: ArrayLike
) -> NDArray[np.float64]:
    r"""Water above the invert from water above the crown.

    .. math:: h_i = H_w + D

    `D` is the host's inside diameter: crown and invert are inside surfaces. Valid for pipes
    that are full circles; a level below the crown is a negative height above it.

    Parameters
    ----------
    water_above_crown : array_like, shape (...)
        Height of the water above the inside of the crown [m]; negative below it.
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host [m].

    Returns
    -------
    ndarray, shape (...)
        Height of the water above the invert [m]; 0 where it stands below the invert.

    Raises
    ------
    OutOfRangeError
        If the diameter is not above 0, or the water more than 300 m off.

    Examples
    --------
    >>> round(float(height_above_invert(8 * 0.3048, 48 * 0.0254)) / 0.3048, 6)
    12.0

    References
    ----------
    Plain geometry.
    """
    above = within("water_above_crown", water_above_crown, "m", low=-_HEAD_MOST, high=_HEAD_MOST)
    diameter = within("host_diameter", host_diameter, "m", above=0, high=_DIAMETER_MOST)
    return np.maximum(above + diameter, 0.0)


def height_above_crown(
    water_above_invert: ArrayLike, host_diameter: ArrayLike
) -> NDArray[np.float64]:
    r"""Water above the crown from water above the invert.

    .. math:: H_w = h_i - D

    The inverse of `height_above_invert`; negative where the water stands below the crown.

    Parameters
    ----------
    water_above_invert : array_like, shape (...)
        Height of the water above the invert [m].
    host_diameter : array_like, shape (...)
        Mean inside diameter of the host [m].

    Returns
    -------
    ndarray, shape (...)
        Height of the water above the crown [m]; negative below it.

    Raises
    ------
    OutOfRangeError
        If the diameter is not above 0, or the height negative or above 300 m.

    Examples
    --------
    >>> round(float(height_above_crown(0.61, 0.1016)), 4)
    0.5084

    References
    ----------
    Plain geometry.
    """
    above = within("water_above_invert", water_above_invert, "m", low=0, high=_HEAD_MOST)
    diameter = within("host_diameter", host_diameter, "m", above=0, high=_DIAMETER_MOST)
    return np.asarray(above - diameter)
