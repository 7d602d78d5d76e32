"""Launch: air pressure that inverts a tube, its thrust, and the cable that tells the front's place.

Convention of the cable. The tube is stored straight behind the point where it turns inside out;
the cable is tied to its tail. While the front goes forward by x the tail goes forward by 2 x, so
the cable paid out past the reference point counts twice the front. Marks are in cable paid out
since the front left the start: half of the travel when it reads L (front at L/2, the tail just
passes the turning point), seated when it reads 2 L (front at L, no tube left behind it).
Folded storage breaks the ratio: then only the seated mark counts.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.engineering.groundwater import pressure_head, water_pressure
from drainwright.errors import require

Floats = NDArray[np.float64]

_PRESSURE_MOST = 2e6
_LENGTH_MOST = 1000.0


@dataclass(frozen=True, slots=True)
class CableMarks:
    """Cable paid out at the three moments a crew looks for.

    Attributes
    ----------
    start : float
        At the start, front at the tap [m].
    half : float
        At half the travel, front half way [m].
    seated : float
        With the front at the end [m].
    """

    start: float
    half: float
    seated: float


def minimum_pressure(
    water_above_pipe: ArrayLike, margin: ArrayLike, starting_pressure: ArrayLike
) -> Floats:
    r"""Least air pressure that inverts the tube and holds groundwater back.

    .. math:: p_{min} = \max(\gamma_w h + m,\ p_{start})

    The head counts at the lowest lined point. Valid for heads of 0 to 300 m.

    Parameters
    ----------
    water_above_pipe : array_like, shape (...)
        Height of the groundwater above the pipe at its lowest lined point, h [m].
    margin : array_like, shape (...)
        Pressure wanted above the water's, m [Pa].
    starting_pressure : array_like, shape (...)
        What the tube needs to start turning, by its maker; 0 where not known [Pa].

    Returns
    -------
    ndarray, shape (...)
        Least pressure [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is negative or too large.

    Examples
    --------
    >>> psi, foot = 6894.757, 0.3048
    >>> round(float(minimum_pressure(6 * foot, 2 * psi, 0.0)) / psi, 3)
    4.598

    References
    ----------
    Trade practice; the margin is a setting from memory.
    """
    extra = within("margin", margin, "Pa", low=0, high=_PRESSURE_MOST)
    starting = within("starting_pressure", starting_pressure, "Pa", low=0, high=_PRESSURE_MOST)
    return np.maximum(water_pressure(water_above_pipe) + extra, starting)


def head_limit(pressure: ArrayLike, margin: ArrayLike) -> Floats:
    r"""Deepest groundwater that a pressure holds back with its margin.

    .. math:: h_{max} = \max(0, p - m) / \gamma_w

    Valid up to 300 m of head.

    Parameters
    ----------
    pressure : array_like, shape (...)
        Air pressure in the tube, p [Pa].
    margin : array_like, shape (...)
        Pressure wanted above the water's, m [Pa].

    Returns
    -------
    ndarray, shape (...)
        Height of the water above the pipe [m].

    Raises
    ------
    OutOfRangeError
        If an input is negative or too large.

    Examples
    --------
    >>> psi, foot = 6894.757, 0.3048
    >>> round(float(head_limit(7 * psi, 2 * psi)) / foot, 1)
    11.5

    References
    ----------
    Trade practice; the margin is a setting from memory.
    """
    gauge = within("pressure", pressure, "Pa", low=0, high=_PRESSURE_MOST)
    extra = within("margin", margin, "Pa", low=0, high=_PRESSURE_MOST)
    return pressure_head(np.maximum(gauge - extra, 0.0))


def end_thrust(pressure: ArrayLike, diameter: ArrayLike) -> Floats:
    r"""Force of the air on a closed end of the pipe: on cap, front and carrier.

    .. math:: F = p\,\frac{\pi D^2}{4}

    Parameters
    ----------
    pressure : array_like, shape (...)
        Air pressure, p [Pa].
    diameter : array_like, shape (...)
        Inside diameter of the host, D [m].

    Returns
    -------
    ndarray, shape (...)
        Force along the pipe [N].

    Raises
    ------
    OutOfRangeError
        If an input is negative or too large.

    Examples
    --------
    >>> psi, inch, lbf = 6894.757, 0.0254, 4.448222
    >>> round(float(end_thrust(7 * psi, 4 * inch)) / lbf)
    88

    References
    ----------
    Plain statics.
    """
    gauge = within("pressure", pressure, "Pa", low=0, high=_PRESSURE_MOST)
    bore = within("diameter", diameter, "m", above=0, high=20)
    return np.asarray(gauge * math.pi * bore**2 / 4.0)


def tail_position(front: ArrayLike, length: float) -> Floats:
    r"""Where the tube's tail is while its front goes up the pipe.

    .. math:: x_{tail} = 2\,x_{front} - L

    Measured from the start of the lining up the lateral, negative while the tail is still in
    the carrier. Valid for a tube stored straight.

    Parameters
    ----------
    front : array_like, shape (...)
        Position of the front, 0 to L [m].
    length : float
        Length of the tube that turns inside out, L [m].

    Returns
    -------
    ndarray, shape (...)
        Position of the tail, -L to L [m].

    Raises
    ------
    OutOfRangeError
        If the length is not above 0, or the front not within 0 to L.

    Examples
    --------
    >>> tail_position([0.0, 5.0, 10.0], 10.0)
    array([-10.,   0.,  10.])

    References
    ----------
    Plain geometry.
    """
    whole = require("length", length, "m", above=0, high=_LENGTH_MOST)
    return np.asarray(2.0 * within("front", front, "m", low=0, high=whole) - whole)


def cable_paid_out(front: ArrayLike, length: float) -> Floats:
    r"""Cable past the reference point for a position of the front.

    .. math:: c = x_{tail} + L = 2\,x_{front}

    Counted from 0 at the start. Valid for a cable tied to the tail of a tube stored straight,
    without slack and stretch. A cable short by s means a front short by s/2.

    Parameters
    ----------
    front : array_like, shape (...)
        Position of the front, 0 to L [m].
    length : float
        Length of the tube that turns inside out, L [m].

    Returns
    -------
    ndarray, shape (...)
        Cable paid out [m].

    Raises
    ------
    OutOfRangeError
        If the length is not above 0, or the front not within 0 to L.

    Examples
    --------
    >>> float(cable_paid_out(11.0, 39.8))
    22.0

    References
    ----------
    Plain geometry.
    """
    return np.asarray(tail_position(front, length) + length)


def front_position(cable: ArrayLike, length: float) -> Floats:
    r"""Where the front is, from the cable paid out.

    .. math:: x_{front} = c / 2

    The inverse of `cable_paid_out`, with the same conditions.

    Parameters
    ----------
    cable : array_like, shape (...)
        Cable paid out since the start, 0 to 2 L [m].
    length : float
        Length of the tube that turns inside out, L [m].

    Returns
    -------
    ndarray, shape (...)
        Position of the front [m].

    Raises
    ------
    OutOfRangeError
        If the length is not above 0, or the cable not within 0 to 2 L.

    Examples
    --------
    >>> float(front_position(22.0, 39.8))
    11.0

    References
    ----------
    Plain geometry.
    """
    whole = require("length", length, "m", above=0, high=_LENGTH_MOST)
    return np.asarray(within("cable", cable, "m", low=0, high=2.0 * whole) / 2.0)


def cable_marks(length: float) -> CableMarks:
    r"""The marks on the cable: start, half and seated.

    .. math:: c_{start} = 0, \quad c_{half} = L, \quad c_{seated} = 2 L

    Valid for a tube stored straight; of a folded one only the seated mark counts.

    Parameters
    ----------
    length : float
        Length of the tube that turns inside out, L [m].

    Returns
    -------
    CableMarks
        Cable paid out at the three moments.

    Raises
    ------
    OutOfRangeError
        If the length is not above 0 or over 1000 m.

    Examples
    --------
    >>> cable_marks(39.8)
    CableMarks(start=0.0, half=39.8, seated=79.6)

    References
    ----------
    Plain geometry.
    """
    start, half, seated = cable_paid_out([0.0, length / 2.0, length], length)
    return CableMarks(float(start), float(half), float(seated))
