"""Gravity flow in a round pipe by Manning's formula, full and part full, before and after lining.

Manning's n is taken as constant with depth (some handbooks let it vary). Between 1.0 and 1.0757
times the full flow two depths carry the same flow; the lower one is given, the other does not
last. A gain of capacity is never told without the two roughness values it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within

Floats = NDArray[np.float64]

_ROUGHNESS_LEAST, _ROUGHNESS_MOST = 0.005, 0.1


def wetted_angle(depth_ratio: ArrayLike) -> Floats:
    r"""Angle at the center over the wetted part of a circle.

    .. math:: \theta = 2 \arccos(1 - 2 y / D)

    Valid for depths of 0 to 1.

    Parameters
    ----------
    depth_ratio : array_like, shape (...)
        Depth over inside diameter, y/D [1].

    Returns
    -------
    ndarray, shape (...)
        Angle, 0 to 2 pi [rad].

    Raises
    ------
    OutOfRangeError
        If a depth is outside 0 to 1.

    Examples
    --------
    >>> round(float(wetted_angle(0.5)), 6)
    3.141593

    References
    ----------
    Plain geometry.
    """
    ratio = within("depth_ratio", depth_ratio, low=0, high=1)
    return np.asarray(4.0 * np.arcsin(np.sqrt(ratio)))  # the same, exact for small depths too


def area_ratio(depth_ratio: ArrayLike) -> Floats:
    r"""Wetted area of a part-full circle over its diameter squared.

    .. math:: A / D^2 = (\theta - \sin\theta) / 8

    Valid for depths of 0 to 1.

    Parameters
    ----------
    depth_ratio : array_like, shape (...)
        Depth over inside diameter, y/D [1].

    Returns
    -------
    ndarray, shape (...)
        Area over diameter squared, pi/4 when full [1].

    Raises
    ------
    OutOfRangeError
        If a depth is outside 0 to 1.

    Examples
    --------
    >>> round(float(area_ratio(0.75)), 6)
    0.631852

    References
    ----------
    Chow, Open-Channel Hydraulics, 1959, Table 2-2.
    """
    return np.asarray(_segment(wetted_angle(depth_ratio)) / 8.0)


def hydraulic_radius_ratio(depth_ratio: ArrayLike) -> Floats:
    r"""Hydraulic radius of a part-full circle over its diameter.

    .. math:: R / D = (1 - \sin\theta / \theta) / 4

    Valid for depths of 0 to 1; 0 in an empty pipe.

    Parameters
    ----------
    depth_ratio : array_like, shape (...)
        Depth over inside diameter, y/D [1].

    Returns
    -------
    ndarray, shape (...)
        Hydraulic radius over diameter, 1/4 when full [1].

    Raises
    ------
    OutOfRangeError
        If a depth is outside 0 to 1.

    Examples
    --------
    >>> round(float(hydraulic_radius_ratio(0.75)), 6)
    0.301687

    References
    ----------
    Chow, Open-Channel Hydraulics, 1959, Table 2-2.
    """
    angle = wetted_angle(depth_ratio)
    return np.asarray(_segment(angle) / np.where(angle > 0, angle, 1.0) / 4.0)


def flow_ratio(depth_ratio: ArrayLike) -> Floats:
    r"""Flow of a part-full circle over its flow when full.

    .. math:: \frac{Q}{Q_{full}} = \frac{(\theta - \sin\theta)^{5/3}}{2\pi\,\theta^{2/3}}

    Valid for depths of 0 to 1, n constant with depth.

    Parameters
    ----------
    depth_ratio : array_like, shape (...)
        Depth over inside diameter, y/D [1].

    Returns
    -------
    ndarray, shape (...)
        Flow over full flow, at most 1.0757 near y/D 0.938 [1].

    Raises
    ------
    OutOfRangeError
        If a depth is outside 0 to 1.

    Examples
    --------
    >>> round(float(flow_ratio(0.5)), 6)
    0.5

    References
    ----------
    Manning's formula; Chow, Open-Channel Hydraulics, 1959.
    """
    area = area_ratio(depth_ratio) / (math.pi / 4)
    return np.asarray(area * (4.0 * hydraulic_radius_ratio(depth_ratio)) ** (2 / 3))


def velocity_ratio(depth_ratio: ArrayLike) -> Floats:
    r"""Mean velocity in a part-full circle over that when full.

    .. math:: V / V_{full} = (1 - \sin\theta / \theta)^{2/3}

    Valid for depths of 0 to 1, n constant with depth.

    Parameters
    ----------
    depth_ratio : array_like, shape (...)
        Depth over inside diameter, y/D [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity over full velocity, at most 1.140 near y/D 0.81 [1].

    Raises
    ------
    OutOfRangeError
        If a depth is outside 0 to 1.

    Examples
    --------
    >>> round(float(velocity_ratio(0.81)), 3)
    1.14

    References
    ----------
    Manning's formula; Chow, Open-Channel Hydraulics, 1959.
    """
    return np.asarray((4.0 * hydraulic_radius_ratio(depth_ratio)) ** (2 / 3))


def full_velocity(inside_diameter: ArrayLike, roughness: ArrayLike, slope: ArrayLike) -> Floats:
    r"""Mean velocity of a pipe that just flows full.

    .. math:: V = \frac{1}{n} \left(\frac{D}{4}\right)^{2/3} S^{1/2}
              \quad (\text{m, s; } 1.486/n \text{ in ft, s})

    Valid for rough turbulent flow of water, slopes above 0 to 1.

    Parameters
    ----------
    inside_diameter : array_like, shape (...)
        Inside diameter of the bore that carries the flow [m].
    roughness : array_like, shape (...)
        Manning's n, in s/m^(1/3) as tables give it [1].
    slope : array_like, shape (...)
        Fall over length [1].

    Returns
    -------
    ndarray, shape (...)
        Velocity [m/s].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(full_velocity(0.1016, 0.013, 0.02)), 3)
    0.94

    References
    ----------
    Manning's formula; Chow, Open-Channel Hydraulics, 1959.
    """
    diameter = within("inside_diameter", inside_diameter, "m", above=0, high=20)
    n = _manning("roughness", roughness)
    fall = within("slope", slope, above=0, high=1)
    return np.asarray((diameter / 4.0) ** (2 / 3) * np.sqrt(fall) / n)


def full_flow(inside_diameter: ArrayLike, roughness: ArrayLike, slope: ArrayLike) -> Floats:
    r"""Flow of a pipe that just flows full: its capacity.

    .. math:: Q = V\,\frac{\pi D^2}{4}

    Valid as `full_velocity`.

    Parameters
    ----------
    inside_diameter : array_like, shape (...)
        Inside diameter of the bore that carries the flow [m].
    roughness : array_like, shape (...)
        Manning's n [1].
    slope : array_like, shape (...)
        Fall over length [1].

    Returns
    -------
    ndarray, shape (...)
        Flow [m^3/s].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(full_flow(0.1016, 0.013, 0.02)) * 1000, 2)  # L/s
    7.62

    References
    ----------
    Manning's formula; Chow, Open-Channel Hydraulics, 1959.
    """
    area = math.pi / 4 * np.asarray(inside_diameter, dtype=np.float64) ** 2
    return np.asarray(area * full_velocity(inside_diameter, roughness, slope))


def lined_diameter(host_diameter: ArrayLike, wall: ArrayLike) -> Floats:
    r"""Bore left by a liner.

    .. math:: D_{in} = D - 2 t

    Valid for walls below the radius.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Inside diameter of the host [m].
    wall : array_like, shape (...)
        Wall of the liner, 0 for none [m].

    Returns
    -------
    ndarray, shape (...)
        Inside diameter of the liner [m].

    Raises
    ------
    OutOfRangeError
        If the wall is negative or leaves no bore.

    Examples
    --------
    >>> round(float(lined_diameter(0.1016, 0.003)), 4)
    0.0956

    References
    ----------
    Plain geometry.
    """
    diameter = within("host_diameter", host_diameter, "m", above=0, high=20)
    thickness = within("wall", wall, "m", low=0)
    within("wall over host_diameter", thickness / diameter, low=0, below=0.5)
    return np.asarray(diameter - 2.0 * thickness)


def capacity_ratio(
    host_diameter: ArrayLike,
    wall: ArrayLike,
    roughness_host: ArrayLike,
    roughness_liner: ArrayLike,
) -> Floats:
    r"""Capacity after lining over capacity before, at the same slope.

    .. math:: \frac{Q_{after}}{Q_{before}} = \frac{n_{host}}{n_{liner}}
              \left(\frac{D - 2t}{D}\right)^{8/3}

    Valid for full pipes. Never told without both roughness values.

    Parameters
    ----------
    host_diameter : array_like, shape (...)
        Inside diameter of the host [m].
    wall : array_like, shape (...)
        Wall of the liner [m].
    roughness_host : array_like, shape (...)
        Manning's n of the host [1].
    roughness_liner : array_like, shape (...)
        Manning's n of the liner [1].

    Returns
    -------
    ndarray, shape (...)
        Ratio of capacities [1].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range.

    Examples
    --------
    >>> round(float(capacity_ratio(0.1016, 0.003, 0.013, 0.010)), 3)
    1.105

    References
    ----------
    Najafi, Trenchless Technology Piping, Table 2.14, second-hand.
    """
    before = _manning("roughness_host", roughness_host)
    after = _manning("roughness_liner", roughness_liner)
    bore = lined_diameter(host_diameter, wall) / np.asarray(host_diameter, dtype=np.float64)
    return np.asarray(before / after * bore ** (8 / 3))


def depth_of_greatest_flow() -> float:
    r"""Depth at which a circle carries most, n constant with depth.

    .. math:: 5\,(1 - \cos\theta)\,\theta = 2\,(\theta - \sin\theta)

    The zero of the derivative of `flow_ratio`, found by bisection between half full and full.

    Returns
    -------
    float
        Depth over diameter [1].

    Examples
    --------
    >>> round(depth_of_greatest_flow(), 3)
    0.938

    References
    ----------
    Chow, Open-Channel Hydraulics, 1959 (about 0.94).
    """

    def falling(angle: Floats) -> Floats:
        return 2.0 * (angle - np.sin(angle)) - 5.0 * angle * (1.0 - np.cos(angle))

    angle = _bisect(falling, np.asarray(math.pi), np.asarray(2 * math.pi))
    return float(np.sin(angle / 4) ** 2)


def normal_depth(flow_share: ArrayLike) -> Floats:
    r"""Depth over diameter at which a pipe carries a share of its full flow: the lower depth.

    .. math:: \frac{(\theta - \sin\theta)^{5/3}}{2\pi\,\theta^{2/3}} = \frac{Q}{Q_{full}},
              \quad y / D = \sin^2(\theta / 4)

    Valid for flows of 0 or more; NaN where the flow is above the greatest part-full flow
    (1.0757 of the full one), as the pipe then runs under pressure.

    Parameters
    ----------
    flow_share : array_like, shape (...)
        Flow over full flow [1].

    Returns
    -------
    ndarray, shape (...)
        Depth over diameter [1].

    Raises
    ------
    OutOfRangeError
        If a flow is negative or not finite.

    Examples
    --------
    >>> round(float(normal_depth(0.5)), 6)
    0.5
    >>> round(float(normal_depth(1.0)), 3)  # not 1: the lower of two
    0.82

    References
    ----------
    Manning's formula; Chow, Open-Channel Hydraulics, 1959.
    """
    share = within("flow_share", flow_share, low=0)
    most = depth_of_greatest_flow()
    carried = share <= flow_ratio(most)
    wanted = np.where(carried, share, 0.0)
    # bisection on the angle: even an almost empty pipe keeps its digits
    high = np.full_like(wanted, float(wetted_angle(most)))
    angle = _bisect(lambda a: _flow_of_angle(a) - wanted, np.zeros_like(wanted), high)
    return np.where(carried, np.sin(angle / 4.0) ** 2, np.nan)


def _manning(name: str, roughness: ArrayLike) -> Floats:
    return within(name, roughness, low=_ROUGHNESS_LEAST, high=_ROUGHNESS_MOST)


def _segment(angle: Floats) -> Floats:
    """Angle less its sine; by its series where the difference would lose its digits."""
    series = angle**3 / 6.0 * (1.0 - angle**2 / 20.0 * (1.0 - angle**2 / 42.0))
    return np.where(angle < 0.05, series, angle - np.sin(angle))


def _flow_of_angle(angle: Floats) -> Floats:
    above = np.where(angle > 0, angle, 1.0)
    return np.asarray(_segment(angle) ** (5 / 3) / (2.0 * math.pi * above ** (2 / 3)))


def _bisect(function: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Where a function that changes sign between `low` and `high` is 0, to the last digits."""
    rising = function(high) >= 0
    for _ in range(100):
        middle = (low + high) / 2.0
        beyond = (function(middle) >= 0) == rising
        low, high = np.where(beyond, low, middle), np.where(beyond, middle, high)
    return np.asarray((low + high) / 2.0)
