"""What cooling or warming of the enclosed air does to a test with air.

Air that cools falls in pressure as if the pipe leaked, and air that warms hides a leak.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, require

STANDARD_ATMOSPHERE = 101_325.0
"""Barometer at sea level [Pa]."""


def drop_by_cooling(pressure: float, temperature: float, cooling: float, barometer: float) -> float:
    r"""Fall of the gauge pressure when enclosed air cools in a tight pipe.

    .. math:: \Delta p = (p + p_b) \frac{\Delta T}{T}

    Valid for air as an ideal gas in a constant volume; a warming is a cooling below 0.

    Parameters
    ----------
    pressure : float
        Gauge pressure at the start, p [Pa].
    temperature : float
        Temperature of the air at the start, T [K].
    cooling : float
        Fall of the temperature, ΔT [K].
    barometer : float
        Pressure of the air outside, p_b [Pa].

    Returns
    -------
    float
        Fall of the gauge pressure [Pa].

    Raises
    ------
    OutOfRangeError
        If temperature or barometer is not above 0, or the pressure lies below 0.

    Examples
    --------
    >>> psi = 6894.757
    >>> round(drop_by_cooling(3.5 * psi, 293.15, 14.5 * 5 / 9, 101325.0) / psi, 2)
    0.5

    References
    ----------
    Ideal gas in a constant volume.
    """
    require("pressure", pressure, "Pa", low=0.0)
    require("temperature", temperature, "K", above=0.0)
    require("barometer", barometer, "Pa", above=0.0)
    return (pressure + barometer) * cooling / temperature


def pressures_without_cooling(
    pressures: Sequence[float], temperatures: Sequence[float], barometer: float
) -> list[float]:
    r"""Readings of a test as they would be had the air kept its first temperature.

    .. math:: p'_i = (p_i + p_b) \frac{T_1}{T_i} - p_b

    Valid for air as an ideal gas in a constant volume, read at one place for all of it.

    Parameters
    ----------
    pressures : sequence of float, shape (n,)
        Gauge pressures, p [Pa].
    temperatures : sequence of float, shape (n,)
        Temperatures of the air at the same times, T [K].
    barometer : float
        Pressure of the air outside, p_b [Pa].

    Returns
    -------
    list of float, shape (n,)
        Gauge pressures without the effect of the temperature [Pa].

    Raises
    ------
    InputError
        If there is not one temperature for each pressure.
    OutOfRangeError
        If a temperature or the barometer is not above 0.

    Examples
    --------
    >>> [round(p) for p in pressures_without_cooling([24000.0, 22274.0], [293.15, 289.11], 101325)]
    [24000, 24001]

    References
    ----------
    Ideal gas in a constant volume.
    """
    gauge = within("pressures", pressures)
    warm = within("temperatures", temperatures, "K", above=0.0)
    require("barometer", barometer, "Pa", above=0.0)
    if gauge.shape != warm.shape or gauge.size == 0:
        raise InputError(Fault("temperatures", "needs one temperature for each pressure"))
    kept = (gauge + barometer) * (warm[0] / warm) - barometer
    return [float(one) for one in np.atleast_1d(kept)]
