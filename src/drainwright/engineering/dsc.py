"""Calorimeter runs: noise, heat of reaction, conversion, and energies by conversion alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering.kinetics import GAS_CONSTANT
from drainwright.errors import Fault, InputError, OutOfRangeError, raise_if_any

Array = NDArray[np.float64]
FEWEST = 20
"""Fewest samples of a run."""
ISOTHERMAL = 1.5
"""A run whose middle half stays within this many kelvin is isothermal."""


@dataclass(frozen=True, slots=True)
class Run:
    """One calorimeter run of a resin.

    Parameters
    ----------
    name : str
        What it is called, such as its file.
    time : ndarray, shape (k,)
        Times, rising [s].
    temperature : ndarray, shape (k,)
        Temperature of the sample [K].
    heat_flow : ndarray, shape (k,)
        Heat flow, positive for heat given off [W].
    mass : float
        Mass of the resin in the pan [kg].
    """

    name: str
    time: Array
    temperature: Array
    heat_flow: Array
    mass: float

    @property
    def isothermal(self) -> bool:
        """Whether the middle half of the run stays at one temperature."""
        quarter = self.time.size // 4
        middle = self.temperature[quarter : self.time.size - quarter]
        return bool(np.ptp(middle) < ISOTHERMAL)


def checked_run(
    name: str, time: ArrayLike, temperature: ArrayLike, heat_flow: ArrayLike, mass: float
) -> Run:
    """A run whose columns fit together and whose heat is given off.

    The sign of the heat flow is turned where the run takes heat up on balance, as some
    machines write it.

    Parameters
    ----------
    name : str
        What it is called, such as its file.
    time, temperature, heat_flow : array_like, shape (k,)
        Times [s], temperatures [K], heat flow [W].
    mass : float
        Mass of the resin in the pan [kg].

    Returns
    -------
    Run
        The run.

    Raises
    ------
    InputError
        For columns of different length, too few samples, times that do not rise, values that
        are no numbers, temperatures outside 150 to 700 K, or a mass outside 0.1 mg to 1 g.

    Examples
    --------
    >>> t = np.linspace(0.0, 100.0, 50)
    >>> checked_run("a", t, 300.0 + t, 1e-3 * np.exp(-((t - 50) / 20) ** 2), 5e-6).isothermal
    False

    References
    ----------
    ASTM E2070 (runs at one temperature and at constant heating rate).
    """
    columns = [np.asarray(one, dtype=float) for one in (time, temperature, heat_flow)]
    t, T, q = columns
    faults: list[Fault] = []
    if not t.size == T.size == q.size or t.size < FEWEST:
        raise InputError(Fault("run", f"{name} needs {FEWEST} samples of each column", t.size))
    if not all(np.isfinite(one).all() for one in columns):
        faults.append(Fault("run", f"{name} holds values that are no numbers"))
    elif np.any(np.diff(t) <= 0):
        row = int(np.argmax(np.diff(t) <= 0)) + 2
        faults.append(Fault("time", f"{name}: the times must rise", float(t[row - 1]), row=row))
    elif T.min() < 150 or T.max() > 700:
        faults.append(Fault("temperature", f"{name} leaves 150 to 700 K", float(T.max()), "K"))
    if not 1e-7 <= mass <= 1e-3:
        faults.append(Fault("mass", f"{name}: outside 0.1 mg to 1 g", mass, "kg", 1e-7, 1e-3))
    raise_if_any(faults)
    run = Run(name, t, T, q, mass)
    tail = float(np.median(q[-max(3, q.size // 10) :]))
    base = tail if run.isothermal else np.interp(t, t[[0, -1]], q[[0, -1]])
    taken_up = float(np.trapezoid(q - base, t)) < 0
    return Run(name, t, T, -q, mass) if taken_up else run


def noise(values: ArrayLike) -> float:
    r"""Standard deviation of the noise of a smooth series, from its second differences.

    .. math:: \sigma = 1.4826\,\mathrm{median}\,|y_{i-1} - 2 y_i + y_{i+1}| / \sqrt{6}

    Parameters
    ----------
    values : array_like, shape (k,)
        Samples at even steps [any unit].

    Returns
    -------
    float
        Standard deviation [same unit].

    Raises
    ------
    OutOfRangeError
        With fewer than three samples.

    Examples
    --------
    >>> noise([1.0, 2.0, 3.0, 4.0])
    0.0

    References
    ----------
    Differences of independent normal errors; the median resists outliers.
    """
    y = np.asarray(values, dtype=float)
    if y.size < 3:
        raise OutOfRangeError("values", y.size, "samples", 3)
    return float(1.4826 * np.median(np.abs(np.diff(y, 2))) / np.sqrt(6.0))


@dataclass(frozen=True, slots=True)
class Reacted:
    """A run after its baseline is taken off.

    Parameters
    ----------
    run : Run
        The run.
    baseline : ndarray, shape (k,)
        Heat flow without reaction [W].
    heat : float
        Heat given off from first to last sample [J/kg].
    conversion : ndarray, shape (k,)
        Share of the whole heat of reaction given off so far [1].
    rate : ndarray, shape (k,)
        Rate of the same [1/s].
    """

    run: Run
    baseline: Array
    heat: float
    conversion: Array
    rate: Array


def reacted(run: Run, baseline: ArrayLike, heat_of_reaction: float) -> Reacted:
    r"""Conversion and its rate from a run's heat flow above a baseline.

    .. math:: \dot\alpha = (q - q_0) / (m H), \quad \alpha = \int \dot\alpha\,dt

    Parameters
    ----------
    run : Run
        The run.
    baseline : array_like, shape (k,)
        Heat flow without reaction [W].
    heat_of_reaction : float
        Whole heat of reaction [J/kg].

    Returns
    -------
    Reacted
        Heat, conversion and rate.

    Raises
    ------
    OutOfRangeError
        For a heat of reaction that is not above zero.

    Examples
    --------
    >>> t = np.linspace(0.0, 100.0, 101)
    >>> run = checked_run("a", t, 300.0 + t, np.full(101, 1e-3), 1e-5)
    >>> round(float(reacted(run, np.zeros(101), 2e4).conversion[-1]), 6)
    0.5

    References
    ----------
    ASTM E2070; heat balance of the pan.
    """
    if not heat_of_reaction > 0:
        raise OutOfRangeError("heat_of_reaction", heat_of_reaction, "J/kg", 0.0)
    base = np.asarray(baseline, dtype=float)
    flow = (run.heat_flow - base) / run.mass
    steps = np.diff(run.time) * (flow[1:] + flow[:-1]) / 2
    given = np.concatenate([[0.0], np.cumsum(steps)])
    return Reacted(run, base, float(given[-1]), given / heat_of_reaction, flow / heat_of_reaction)


def isoconversional_energy(runs: Sequence[Reacted], levels: ArrayLike) -> tuple[Array, Array]:
    r"""Activation energy at levels of conversion, without any rate law.

    At each level the slope of :math:`\ln\dot\alpha` over :math:`1/T` across the runs, times
    −R (differential method of Friedman). A run counts where it passes the level and its rate
    there is at least 2 % of its greatest.

    Parameters
    ----------
    runs : sequence of Reacted
        Runs at different temperatures or heating rates.
    levels : array_like, shape (j,)
        Conversions [1].

    Returns
    -------
    energy : ndarray, shape (j,)
        Activation energy [J/mol]; nan where fewer than two runs pass the level.
    error : ndarray, shape (j,)
        Its standard error [J/mol]; nan with fewer than three.

    Raises
    ------
    OutOfRangeError
        With fewer than two runs.

    Examples
    --------
    >>> E, A = 50e3, 1e5
    >>> def hold(T):
    ...     k = A * np.exp(-E / (GAS_CONSTANT * T))
    ...     t = np.linspace(0.0, 6.0 / k, 400)
    ...     flow = 4e5 * 1e-5 * k * np.exp(-k * t)
    ...     return reacted(checked_run(str(T), t, np.full(400, T), flow, 1e-5), 0 * t, 4e5)
    >>> energy, _ = isoconversional_energy([hold(320.0), hold(340.0), hold(360.0)], [0.5])
    >>> round(float(energy[0]) / 1e3, 1)
    50.0

    References
    ----------
    Friedman, J. Polym. Sci. C 6:183 (1964).
    """
    if len(runs) < 2:
        raise OutOfRangeError("runs", len(runs), "runs", 2)
    wanted = np.atleast_1d(np.asarray(levels, dtype=float))
    energies = np.full(wanted.size, np.nan)
    errors = np.full(wanted.size, np.nan)
    for place, level in enumerate(wanted):
        points = [point for one in runs if (point := _at_level(one, float(level))) is not None]
        inverse = np.array([1 / T for T, _ in points])
        if len(points) < 2 or np.ptp(inverse) < 1e-6:
            continue
        logs = np.log([rate for _, rate in points])
        slope, shift = np.polyfit(inverse, logs, 1)
        energies[place] = -GAS_CONSTANT * slope
        if len(points) > 2:
            left = logs - (slope * inverse + shift)
            spread = np.sum((inverse - inverse.mean()) ** 2)
            scatter = np.sum(left**2) / (len(points) - 2)
            errors[place] = GAS_CONSTANT * float(np.sqrt(scatter / spread))
    return energies, errors


def _at_level(one: Reacted, level: float) -> tuple[float, float] | None:
    """Temperature [K] and rate [1/s] where a run passes a conversion."""
    passed = np.flatnonzero(one.conversion >= level)
    if not passed.size or passed[0] == 0:
        return None
    at = int(passed[0])
    window = slice(max(0, at - 3), at + 4)  # a few samples, against noise
    rate = float(np.mean(one.rate[window]))
    if rate < 0.02 * float(one.rate.max()):
        return None
    return float(np.mean(one.run.temperature[window])), rate
