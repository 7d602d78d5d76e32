"""Tightness tests of pipes with air and water: how long, from what pressure, what may be lost.

Time, start pressure and allowed drop belong together: the same time stands in one table for a
drop of 0.5 psi and comes out of another formula for 1.0 psi.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, require

_INCH, _FOOT, _PSI, _MBAR = 0.0254, 0.3048, 6894.757293168361, 100.0
_C828_LOSS = {4: 2.0, 6: 2.0, 8: 2.0, 10: 2.5, 12: 3.0, 15: 4.0}
_EN1610 = {"la": (10.0, 2.5), "lb": (50.0, 10.0), "lc": (100.0, 15.0), "ld": (200.0, 15.0)}
_WATER_LOSS = 0.15e-3

METHODS: tuple[str, ...] = (
    "ncpi", "astm-c828", "astm-f1417", "en1610-la", "en1610-lb", "en1610-lc", "en1610-ld",
    "en1610-w",
)  # fmt: skip
"""Methods with a rule for the time."""
PRESSURE_MOST = 10.0 * _PSI
"""Highest air pressure of a test, groundwater included [Pa]."""


@dataclass(frozen=True, slots=True)
class TightnessTest:
    """What a method asks for.

    Attributes
    ----------
    test_time : float
        Least time of the test [s].
    start_pressure : float
        Gauge pressure at the start, without groundwater [Pa].
    allowed_drop : float
        Loss of pressure that is still allowed in that time [Pa].
    """

    test_time: float
    start_pressure: float
    allowed_drop: float


@dataclass(frozen=True, slots=True)
class Fall:
    """How the pressure fell over a test.

    Attributes
    ----------
    first_pressure : float
        Gauge pressure of the first reading [Pa].
    drop : float
        Largest fall below the first reading within the test time [Pa].
    complete : bool
        Whether the readings last as long as the test.
    """

    first_pressure: float
    drop: float
    complete: bool


def air_or_water_test(
    method: str, diameters: Sequence[float], lengths: Sequence[float]
) -> TightnessTest:
    r"""Time, start pressure and allowed drop of a test by a named method.

    .. math:: t_{NCPI} = \sum 0.011 D^2 L \; (\text{s, in, ft}), \quad
              t_{C828} = \sum \tfrac{0.371 \cdot 10^{-3} D^2 L}{Q} \; (\text{min}), \quad
              t_{F1417} = 0.085 \frac{\sum D^2 L}{\sum D L}\frac{K}{2 Q}, \quad
              t_{EN1610} = \frac{1}{K_p}\ln\frac{p_0}{p_0 - \Delta p}

    Times of several sections are added by NCPI and C828. F1417 takes the mean diameter weighted
    with the surface, K = max(0.000419 sum(D L), 1) and Q = 0.0015; EN 1610 the largest diameter,
    K_p = 12/DN, at most 0.058, to the nearest half minute up to 5 min and whole minute above.
    EN 1610 with water takes 30 min. Valid for C828 at 4, 6, 8, 10, 12 and 15 in only.

    Parameters
    ----------
    method : str
        One of `METHODS`.
    diameters : sequence of float, shape (n,)
        Inside diameter of each section, D [m].
    lengths : sequence of float, shape (n,)
        Length of each section, L [m].

    Returns
    -------
    TightnessTest
        Time [s], start pressure [Pa] and allowed drop [Pa].

    Raises
    ------
    InputError
        If there is no such method, or no allowed loss for a diameter.
    OutOfRangeError
        If a diameter or length is not above 0.

    Examples
    --------
    >>> test = air_or_water_test("astm-f1417", [8 * 0.0254], [400 * 0.3048])
    >>> round(test.test_time)
    304

    References
    ----------
    NCPI (Ramseier) as in the code table of Cortland OH, 1978; ASTM C828-06 X1, X2 and
    ASTM F1417 Table 2, second-hand; EN 1610, formula from memory.
    """
    d = within("diameter", diameters, "m", above=0.0)
    run = within("length", lengths, "m", above=0.0)
    if d.size == 0 or d.shape != run.shape:
        raise InputError(Fault("sections", "needs a diameter and a length for each section"))
    inches, feet = d / _INCH, run / _FOOT
    if method == "ncpi":
        return TightnessTest(0.011 * float(np.sum(inches**2 * feet)), 3.5 * _PSI, 1.0 * _PSI)
    if method == "astm-c828":
        loss = np.array([_clay_loss(float(value)) for value in inches])
        minutes = float(np.sum(0.371e-3 * inches**2 * feet / loss))
        return TightnessTest(60.0 * minutes, 3.5 * _PSI, 1.0 * _PSI)
    if method == "astm-f1417":
        surface = float(np.sum(inches * feet))
        mean = float(np.sum(inches**2 * feet)) / surface
        time = 0.5 * 0.085 * mean * max(0.000419 * surface, 1.0) / 0.0015
        return TightnessTest(time, 3.5 * _PSI, 0.5 * _PSI)
    if method == "en1610-w":
        return TightnessTest(1800.0, 10e3, 1e3)
    letter = method.removeprefix("en1610-")
    if letter not in _EN1610:
        raise InputError(Fault("method", f"“{method}” is none of {', '.join(METHODS)}", method))
    start, drop = _EN1610[letter]
    rate = min(12.0 / (1e3 * float(d.max())), 0.058)
    minutes = rounded_minutes(math.log(start / (start - drop)) / rate)
    return TightnessTest(60.0 * minutes, start * _MBAR, drop * _MBAR)


def rounded_minutes(minutes: float) -> float:
    """Minutes as EN 1610 rounds them: to the half up to 5 min, to the whole above.

    The nearest is t = floor(2 t + 1/2)/2 up to 5 min, floor(t + 1/2) above. Valid from 0.

    Parameters
    ----------
    minutes : float
        Time, not rounded [min].

    Returns
    -------
    float
        Rounded time [min].

    Raises
    ------
    OutOfRangeError
        If the time is below 0.

    Examples
    --------
    >>> rounded_minutes(1.34), rounded_minutes(7.6)
    (1.5, 8.0)

    References
    ----------
    EN 1610, test with air, from memory.
    """
    require("minutes", minutes, "min", low=0.0)
    if minutes <= 5.0:
        return math.floor(2.0 * minutes + 0.5) / 2.0
    return float(math.floor(minutes + 0.5))


def groundwater_raise(water_above_pipe: float) -> float:
    r"""How much a test pressure is raised for groundwater.

    .. math:: \Delta p = 0.43\,\text{psi/ft} \cdot h

    Valid for water above the center of the pipe.

    Parameters
    ----------
    water_above_pipe : float
        Groundwater above the center of the pipe, h [m].

    Returns
    -------
    float
        Raise of the test pressure [Pa].

    Raises
    ------
    OutOfRangeError
        If the height is below 0.

    Examples
    --------
    >>> round(groundwater_raise(6 * 0.3048) / 6894.757, 2)
    2.58

    References
    ----------
    City code of Eldridge IA.
    """
    require("water_above_pipe", water_above_pipe, "m", low=0.0)
    return 0.43 * _PSI / _FOOT * water_above_pipe


def allowed_water(diameters: Sequence[float], lengths: Sequence[float]) -> float:
    r"""Water that may be added in a test of 30 min with water.

    .. math:: V = 0.15\,\text{L/m}^2 \cdot \pi \sum D L

    Valid for pipes without manholes.

    Parameters
    ----------
    diameters : sequence of float, shape (n,)
        Inside diameter of each section, D [m].
    lengths : sequence of float, shape (n,)
        Length of each section, L [m].

    Returns
    -------
    float
        Volume of water [m^3].

    Raises
    ------
    OutOfRangeError
        If a diameter or length is not above 0.

    Examples
    --------
    >>> round(1000 * allowed_water([0.15], [1.0]), 2)
    0.07

    References
    ----------
    EN 1610, test with water, second-hand.
    """
    d = within("diameter", diameters, "m", above=0.0)
    run = within("length", lengths, "m", above=0.0)
    return _WATER_LOSS * math.pi * float(np.sum(d * run))


def exfiltration_limit(diameter: float, length: float) -> float:
    r"""Loss of water that is allowed from a lined pipe.

    .. math:: Q = 50\,\text{gal/(in mile day)} \cdot D L

    Valid for gravity pipes under a low head.

    Parameters
    ----------
    diameter : float
        Inside diameter, D [m].
    length : float
        Length of pipe, L [m].

    Returns
    -------
    float
        Allowed loss [m^3/s].

    Raises
    ------
    OutOfRangeError
        If diameter or length is not above 0.

    Examples
    --------
    >>> round(exfiltration_limit(0.1016, 12.192) * 86400 / 3.785411784e-3, 3)
    1.515

    References
    ----------
    ASTM F1216, exfiltration, from memory.
    """
    require("diameter", diameter, "m", above=0.0)
    require("length", length, "m", above=0.0)
    gallons = 50.0 * diameter / _INCH * length / (5280 * _FOOT)
    return gallons * 231 * _INCH**3 / 86400


def fall_of(readings: Sequence[tuple[float, float]], test_time: float) -> Fall:
    """Largest fall of the pressure below the first reading within the test time.

    The drop is max(p_1 - p(t)), t from t_1 to t_1 + test time, linear between readings. Valid for
    times that rise; counted from the first reading.

    Parameters
    ----------
    readings : sequence of (float, float), shape (n, 2)
        Time [s] and gauge pressure [Pa].
    test_time : float
        Time of the test [s].

    Returns
    -------
    Fall
        First pressure and drop [Pa], and whether the readings last long enough.

    Raises
    ------
    InputError
        If there are fewer than two readings, or their times do not rise.

    Examples
    --------
    >>> fall_of([(0.0, 4.0), (300.0, 3.6)], 150.0).drop
    0.2

    References
    ----------
    Linear interpolation; counting from the first reading is the program's own rule.
    """
    table = within("readings", readings)
    if len(table) < 2 or bool(np.any(np.diff(table[:, 0]) <= 0)):
        raise InputError(Fault("readings", "needs two readings or more, their times rising"))
    times, pressures = table[:, 0] - table[0, 0], table[:, 1]
    inside = pressures[times <= test_time]
    least = min(float(inside.min()), float(np.interp(test_time, times, pressures)))
    # 1e-9 of slack: times such as 113 s in minutes do not come back exactly
    complete = bool(times[-1] >= test_time * (1 - 1e-9))
    drop = round(max(float(pressures[0]) - least, 0.0), 9)
    return Fall(float(pressures[0]), drop, complete)


def _clay_loss(inches: float) -> float:
    """Allowed loss of air by C828 [ft^3/min]; nominal sizes are met within 2 %."""
    for size, loss in _C828_LOSS.items():
        if abs(inches - size) <= 0.02 * size:
            return loss
    sizes = ", ".join(str(size) for size in _C828_LOSS)
    message = f"{inches:.4g} in has no allowed loss of air at hand (sizes: {sizes} in)"
    raise InputError(Fault("diameter", message, inches * _INCH))
