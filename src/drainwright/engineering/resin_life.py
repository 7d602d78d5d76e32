"""How much of a resin's working life is used up, from the temperature the resin had.

Life is an integral over the resin's own temperature, which follows its surroundings with a lag.
The gel time at each temperature comes from the data sheet: from two or more points by
Arrhenius's law, from one point on the safe side with a low activation energy toward the cold
and a high one toward the warm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from drainwright.engineering._ranges import within
from drainwright.engineering.kinetics import GAS_CONSTANT
from drainwright.errors import Fault, InputError, OutOfRangeError, require

_COLDEST, _WARMEST = 233.15, 473.15
_POINTS = 65  # odd, for Simpson's rule
_SIMPSON = np.array([1.0, *[4.0, 2.0] * (_POINTS // 2 - 1), 4.0, 1.0]) / (3 * (_POINTS - 1))
_STEPS = np.arange(_POINTS, dtype=np.float64)
_SETTLED = 8.0  # lags after which the resin is as warm as its surroundings


@dataclass(frozen=True, slots=True)
class GelLaw:
    """Gel time by temperature, around one reference point.

    Attributes
    ----------
    temperature : float
        Temperature of the reference point [K].
    time : float
        Gel time there [s].
    energy_colder : float
        Activation energy used below it [J/mol].
    energy_warmer : float
        Activation energy used above it [J/mol].
    """

    temperature: float
    time: float
    energy_colder: float
    energy_warmer: float


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of time in one surrounding.

    Attributes
    ----------
    duration : float
        How long [s].
    surroundings : float
        Temperature around the resin [K].
    lag : float
        Time constant with which the resin follows [s].
    """

    duration: float
    surroundings: float
    lag: float


def gel_law(
    temperatures: Sequence[float],
    times: Sequence[float],
    energy_low: float,
    energy_high: float,
) -> GelLaw:
    r"""Gel time by temperature from a data sheet's points.

    .. math:: \ln t = \ln t_0 + \frac{E}{R}\left(\frac{1}{T} - \frac{1}{T_0}\right)

    Least squares of ln t on 1/T for two or more temperatures; one point alone takes
    `energy_low` toward the cold and `energy_high` toward the warm, so that life is never
    overstated. Valid near the data sheet's temperatures and for its mass.

    Parameters
    ----------
    temperatures : sequence of float
        Temperatures of the gel times [K].
    times : sequence of float
        Gel times [s].
    energy_low : float
        Activation energy for one point, toward the cold [J/mol].
    energy_high : float
        Activation energy for one point, toward the warm [J/mol].

    Returns
    -------
    GelLaw
        The law around the points' middle.

    Raises
    ------
    OutOfRangeError
        If a temperature, time or energy is outside its range.
    InputError
        If there is no point, or the points say that the cold makes it faster.

    Examples
    --------
    >>> law = gel_law([325.15, 286.15], [45 * 60, 7 * 3600], 44e3, 57e3)
    >>> round(law.energy_colder / 1e3, 1)
    44.3

    References
    ----------
    Arrhenius's law; two gel times from trade press, second-hand (45 min at 52 °C, 7 h at 13 °C).
    """
    if not temperatures or len(temperatures) != len(times):
        raise InputError(Fault("gel_times", "there is no gel time"))
    T = within("temperatures", temperatures, "K", low=_COLDEST, high=_WARMEST)
    t = within("times", times, "s", above=0)
    low = require("energy_low", energy_low, "J/mol", low=1e3, high=3e5)
    high = require("energy_high", energy_high, "J/mol", low=low, high=3e5)
    inverse, logs = 1.0 / T, np.log(t)
    middle = float(1.0 / inverse.mean())
    spread = inverse - inverse.mean()
    if np.abs(spread).max() < 1e-6:
        return GelLaw(middle, float(np.exp(logs.min())), low, high)
    energy = float(GAS_CONSTANT * (spread @ logs) / (spread @ spread))
    if energy <= 0:
        message = "the gel times are shorter in the cold than in the warm"
        raise InputError(Fault("gel_times", message))
    return GelLaw(middle, float(np.exp(logs.mean())), energy, energy)


def gel_time(temperature: ArrayLike, law: GelLaw) -> NDArray[np.float64]:
    r"""Gel time of a resin held at one temperature.

    .. math:: t = t_0 \exp\left[\frac{E}{R}\left(\frac{1}{T} - \frac{1}{T_0}\right)\right]

    Valid near the data sheet's temperatures.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature of the resin [K].
    law : GelLaw
        The resin's law.

    Returns
    -------
    ndarray, shape (...)
        Gel time [s].

    Raises
    ------
    OutOfRangeError
        If a temperature is outside -40 to 200 °C.

    Examples
    --------
    >>> law = GelLaw(298.15, 3600.0, 50e3, 50e3)
    >>> round(float(gel_time(288.15, law)) / 3600, 2)  # about twice as long, 10 K colder
    2.01

    References
    ----------
    Working life about halves for each 10 °C warmer: two resin makers' notes.
    """
    T = within("temperature", temperature, "K", low=_COLDEST, high=_WARMEST)
    return np.asarray(_gel_time(T, law))


def _gel_time(T: NDArray[np.float64], law: GelLaw) -> NDArray[np.float64]:
    """Gel time at temperatures that are within the range."""
    energy = np.where(law.temperature > T, law.energy_colder, law.energy_warmer)
    gel: NDArray[np.float64] = law.time * np.exp(
        energy / GAS_CONSTANT * (1.0 / T - 1.0 / law.temperature)
    )
    return gel


def resin_temperature(
    start: float, phases: Sequence[Phase], times: ArrayLike
) -> NDArray[np.float64]:
    r"""Temperature of the resin along its phases.

    .. math:: T = T_s + (T_0 - T_s)\,e^{-t/\tau}

    Valid for a resin that warms or cools as one lump; after the last phase it goes on.

    Parameters
    ----------
    start : float
        Temperature at the beginning [K].
    phases : sequence of Phase
        What surrounds it, in order.
    times : array_like, shape (n,)
        Times from the beginning [s].

    Returns
    -------
    ndarray, shape (n,)
        Temperature of the resin [K].

    Raises
    ------
    InputError
        If there is no phase or a time is negative.
    OutOfRangeError
        If a phase is outside its range.

    Examples
    --------
    >>> ice = Phase(3600.0, 273.15, 1800.0)
    >>> float(resin_temperature(293.15, [ice], [1800.0])[0].round(2))
    280.51

    References
    ----------
    Newton's law of cooling.
    """
    t = within("times", times, "s", low=0)
    begin, temperature = 0.0, require("start", start, "K", low=_COLDEST, high=_WARMEST)
    out = np.full(t.shape, temperature)
    for phase in _checked(phases):
        inside = t >= begin
        decay = np.exp(-np.maximum(t - begin, 0.0) / phase.lag)
        around = phase.surroundings
        out = np.where(inside, around + (temperature - around) * decay, out)
        temperature = around + (temperature - around) * float(np.exp(-phase.duration / phase.lag))
        begin += phase.duration
    return out


def life_used(start: float, phases: Sequence[Phase], law: GelLaw) -> NDArray[np.float64]:
    r"""Share of the working life used at the end of each phase.

    .. math:: u = \int \frac{dt}{t_{gel}(T(t))}

    Valid near the data sheet's temperatures and mass; 1 is gel.

    Parameters
    ----------
    start : float
        Temperature of the resin at mixing [K].
    phases : sequence of Phase
        What surrounds it, in order.
    law : GelLaw
        The resin's law.

    Returns
    -------
    ndarray, shape (phases,)
        Life used at the end of each phase, rising [1].

    Raises
    ------
    InputError
        If there is no phase.
    OutOfRangeError
        If a phase is outside its range.

    Examples
    --------
    >>> law = GelLaw(293.15, 3600.0, 50e3, 50e3)
    >>> life_used(293.15, [Phase(1800.0, 293.15, 600.0)], law).round(6).tolist()
    [0.5]

    References
    ----------
    Common practice of the trade; the integral is plain bookkeeping of rates.
    """
    require("start", start, "K", low=_COLDEST, high=_WARMEST)
    return np.array(_spent(0.0, start, _checked(phases), law)[0])


def _spent(
    used: float, temperature: float, phases: Sequence[Phase], law: GelLaw
) -> tuple[list[float], float]:
    """Life used at the end of each of some sound phases, and the temperature after them."""
    out = []
    for phase in phases:
        lag, around = phase.lag, phase.surroundings
        settled = min(_SETTLED * lag, phase.duration)
        for begin, end in ((0.0, settled), (settled, phase.duration)):
            nodes = _STEPS * ((end - begin) / (_POINTS - 1)) + begin
            nodes[-1] = end
            rates = 1.0 / _gel_time(around + (temperature - around) * np.exp(-nodes / lag), law)
            used += float(_SIMPSON @ rates) * (end - begin)
        temperature = around + (temperature - around) * float(np.exp(-phase.duration / lag))
        out.append(used)
    return out, temperature


def longest_phase(
    start: float, phases: Sequence[Phase], law: GelLaw, share: float, index: int
) -> float | None:
    r"""How long one phase may last so that a share of the life is used at the very end.

    .. math:: u(x) = s

    The phase's own duration is not used. Valid as `life_used`; at most 7 days.

    Parameters
    ----------
    start : float
        Temperature of the resin at mixing [K].
    phases : sequence of Phase
        What surrounds it, in order.
    law : GelLaw
        The resin's law.
    share : float
        Share of the life at the end, s [1].
    index : int
        Which phase is stretched.

    Returns
    -------
    float or None
        Its longest duration [s]; None where the other phases alone use more than the share.

    Raises
    ------
    OutOfRangeError
        If the share is not within 0 to 1.
    InputError
        If there is no phase.

    Examples
    --------
    >>> law = GelLaw(293.15, 3600.0, 50e3, 50e3)
    >>> longest = longest_phase(293.15, [Phase(0.0, 293.15, 600.0)], law, 0.75, 0)
    >>> round(longest, 3)
    2700.0

    References
    ----------
    Common practice of the trade; root of the integral in `life_used`.
    """
    require("share", share, above=0, high=1)

    require("start", start, "K", low=_COLDEST, high=_WARMEST)
    phases = _checked(phases)
    before, temperature = _spent(0.0, start, phases[:index], law)
    so_far = before[-1] if before else 0.0
    after, stretched = phases[index + 1 :], phases[index]

    @cache
    def spare(duration: float) -> float:
        changed = Phase(duration, stretched.surroundings, stretched.lag)
        return _spent(so_far, temperature, (changed, *after), law)[0][-1] - share

    most = 7 * 86400.0
    if spare(0.0) > 0:
        return None
    if spare(most) <= 0:
        return most
    return float(brentq(spare, 0.0, most, xtol=1e-3))


def _checked(phases: Sequence[Phase]) -> Sequence[Phase]:
    if not phases:
        raise InputError(Fault("phases", "there is no phase"))
    for phase in phases:
        if not _COLDEST <= phase.surroundings <= _WARMEST:
            raise OutOfRangeError("surroundings", phase.surroundings, "K", _COLDEST, _WARMEST)
        require("duration", phase.duration, "s", low=0)
        require("lag", phase.lag, "s", above=0)
    return phases
