"""Cure over the length from a log: the wall model driven by the measured gas, fitted to the rest.

What nobody measured is estimated by least squares with a prior (Gauss and Newton's steps on
standard deviations, finite differences of the fast model). The band holds what is left of the
unknowns, the sensors' errors and an allowance for the model; it says what it leaves out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from drainwright.acceptance.cure_priors import Prior, unknowns_at
from drainwright.acceptance.cure_series import Array, Phases, Readings, Sensor
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.driven_cure import Column, Drive, Driven, follow
from drainwright.records.cure_log import WALLS, Reads

LAG = 15.0
"""A sensor in a wall or a gas follows with this lag (from memory) [s]."""
BIAS = 1.0
"""Standard deviation of a sensor's constant error [K]."""
MODEL = {Reads.EXHAUST: 3.0, Reads.COLLAR: 0.5}
"""Model's own error at a sensor, standard deviation [K]; elsewhere `MODEL_WALL`."""
MODEL_WALL = 0.5
MODEL_CURE = 0.004
"""Model's own error of what is not cured yet, standard deviation, relative [1]."""
MOMENTS = 36
"""Times at which a sensor is compared."""
SIGMAS = 1.959964
_STEP = 0.25
CLIFFS = ("supply", "plug", "collar_water")
"""Unknowns whose effect is nothing up to a point and everything beyond it: no slope tells them."""
_LIKELY = 6.0
"""A value counts as possible while it costs less than this more than the best one."""
_FINE, _COARSE, _COOL, _AHEAD = 20.0, 60.0, 90.0, 150.0


RunAll = Callable[[Sequence[Array]], list[Driven]]


@dataclass(frozen=True, slots=True)
class Watched:
    """One sensor the model is compared with: its weights on the columns, its readings."""

    sensor: Sensor
    columns: tuple[int, ...]
    shares: tuple[float, ...]
    """Weights of the columns' outer faces; empty for the gas at the far end."""
    times: Array
    values: Array

    @property
    def sigma(self) -> float:
        """Standard deviation of one comparison [K]."""
        return MODEL.get(self.sensor.channel.reads, MODEL_WALL)

    def predicted(self, driven: Driven) -> Array:
        """What the sensor should read, with its lag."""
        if not self.columns:
            series = driven.gas[:, -1]
        else:
            series = driven.face[:, list(self.columns)] @ np.array(self.shares)
        return np.asarray(np.interp(self.times - LAG, driven.times, series), dtype=float)


@dataclass(frozen=True, slots=True)
class Question:
    """Everything an estimate is made from."""

    case: CureCase
    drive: Drive
    watched: tuple[Watched, ...]
    priors: tuple[Prior, ...]


@dataclass(frozen=True, slots=True)
class Estimate:
    """The unknowns with their covariance, in standard deviations of the priors, and the cure."""

    priors: tuple[Prior, ...]
    z: Array
    covariance: Array
    driven: Driven
    slopes: Array
    """Of log(1 − cure) by each unknown [unknown, time, column]."""
    extremes: tuple[Array, ...]
    """Least cure with an unknown of `CLIFFS` at the ends of its own band [time, column]."""
    misfit: float | None
    """Root mean square of the residuals; None without a sensor [K]."""
    residuals: tuple[float, ...]
    """Mean residual of each watched sensor: read less expected [K]."""

    def band(self, at: int, sigmas: float = SIGMAS) -> tuple[Array, Array, Array]:
        """Cure of every column at a time, with the band's lower and upper edge."""
        return self.bands(slice(at, at + 1), sigmas)[0]

    def bands(self, times: slice, sigmas: float = SIGMAS) -> list[tuple[Array, Array, Array]]:
        """Cure, low and high of every column at several times."""
        left = np.log(np.maximum(1 - self.driven.least[times], 1e-6))
        slopes = self.slopes[:, times]
        variance = np.einsum("ptc,pq,qtc->tc", slopes, self.covariance, slopes)
        reach = sigmas * np.sqrt(variance + MODEL_CURE**2)
        cure = 1 - np.exp(left)
        low = np.clip(1 - np.exp(left + reach), 0.0, 1.0)
        high = np.clip(1 - np.exp(left - reach), 0.0, 1.0)
        for least in self.extremes:
            low, high = np.minimum(low, least[times]), np.maximum(high, least[times])
        return [(cure[n], low[n], high[n]) for n in range(cure.shape[0])]


# ---------------------------------------------------------------- what was measured


def drive_of(readings: Readings, phases: Phases, case: CureCase, until: float) -> Drive | None:
    """The measured gas from steam on to `until` [s of the log]; None without gas or steam.

    Without a sensor at the tap the exhaust drives, the coldest the gas can have been; after
    the last reading the gas stays as it was.
    """
    gas = readings.one(Reads.GAS_IN) or readings.one(Reads.EXHAUST)
    if gas is None or phases.steam_on is None or until <= phases.steam_on + 60.0:
        return None
    times = _grid(phases, until, float(readings.seconds[-1]))
    seconds = times + phases.steam_on
    exhaust = readings.one(Reads.EXHAUST)
    inlet = _at(readings, gas, seconds + LAG)
    off = np.inf if phases.steam_off is None else phases.steam_off
    gauge = readings.one(Reads.PRESSURE)
    pressure = np.full(times.size, case.gas.pressure)
    if gauge is not None:
        pressure = np.maximum(_at(readings, gauge, seconds), 0.0) + case.gas.barometer
    return Drive(
        times,
        inlet,
        inlet if exhaust is None else _at(readings, exhaust, seconds + LAG),
        pressure,
        seconds <= off,
    )


def _at(readings: Readings, sensor: Sensor, seconds: Array) -> Array:
    """A sensor at given times; after its end the mean of its last minute."""
    values = np.interp(seconds, readings.seconds, sensor.filled(readings.seconds))
    beyond = seconds > readings.seconds[-1]
    if beyond.any():
        last = readings.seconds >= readings.seconds[-1] - 60.0
        values[beyond] = float(np.nanmean(sensor.filled(readings.seconds)[last]))
    return np.asarray(values, dtype=float)


def _grid(phases: Phases, until: float, known: float) -> Array:
    """Times since steam on: fine while it warms, coarser later, coarsest beyond the log."""
    on = phases.steam_on or 0.0
    off = min(until if phases.steam_off is None else phases.steam_off, until) - on
    end, last = until - on, min(known, until) - on
    read = min(off, last)
    fine = np.arange(0.0, min(2400.0, read), _FINE)
    later = np.arange(2400.0, read, _COARSE)
    ahead = np.arange(read, off, _AHEAD)
    cool = np.arange(off, end, _COOL)
    times = np.unique(np.concatenate([[0.0], fine, later, [read], ahead, [off], cool, [end]]))
    keep = np.concatenate([[True], np.diff(times) > 2.0])
    return np.asarray(times[keep], dtype=float)


def watched_of(
    readings: Readings, phases: Phases, columns: Sequence[Column]
) -> tuple[Watched, ...]:
    """The sensors to compare with, each at a number of moments."""
    if phases.steam_on is None:
        return ()
    end = float(readings.seconds[-1])
    if phases.steam_off is not None:
        end = min(end, phases.steam_off)
    found = []
    for sensor in readings.all_of(*WALLS, Reads.COLLAR, Reads.EXHAUST):
        places = _places(sensor, columns)
        if places is None:
            continue
        times, values = _moments(readings, sensor, (phases.steam_on, end))
        if times.size >= 3:
            found.append(Watched(sensor, *places, times - phases.steam_on, values))
    if readings.one(Reads.GAS_IN) is None:
        found = [one for one in found if one.columns]
    return tuple(found)


def _places(
    sensor: Sensor, columns: Sequence[Column]
) -> tuple[tuple[int, ...], tuple[float, ...]] | None:
    """Columns and weights of a sensor; None where the model has no such place."""
    channel = sensor.channel
    if channel.reads is Reads.EXHAUST:
        return (), ()
    if channel.reads is Reads.COLLAR:
        part = "collar edge" if "edge" in channel.place.casefold() else "collar middle"
        found = [n for n, column in enumerate(columns) if column.part == part]
        return (tuple(found[:1]), (1.0,)) if found else None
    if channel.position is None:
        return None
    line = "top" if channel.reads is Reads.WALL_TOP else "invert"
    own = [n for n, one in enumerate(columns) if one.part == "lateral" and one.line == line]
    where = np.array([columns[n].position for n in own])
    at = float(np.clip(channel.position, where[0], where[-1]))
    k = int(np.clip(np.searchsorted(where, at), 1, where.size - 1))
    share = float((at - where[k - 1]) / (where[k] - where[k - 1]))
    return (own[k - 1], own[k]), (1 - share, share)


def _moments(readings: Readings, sensor: Sensor, span: tuple[float, float]) -> tuple[Array, Array]:
    """Means of half a minute at moments that lie denser while it warms."""
    start, end = span
    wanted = start + (end - start) * np.linspace(0.15, 1.0, MOMENTS) ** 1.5
    good = np.isfinite(sensor.values)
    seconds, values = readings.seconds[good], sensor.values[good]
    times, means = [], []
    for moment in wanted:
        near = (np.abs(seconds - moment) <= 15.0) & (seconds <= end)
        if near.any():
            times.append(float(seconds[near].mean()))
            means.append(float(values[near].mean()))
    return np.array(times), np.array(means)


# ---------------------------------------------------------------- the fit


def estimate(
    question: Question, *, start: Array | None = None, most: int = 5, cells: int = 10
) -> Estimate:
    """The unknowns that explain the log best, given their priors, and the cure that follows.

    `start` is where an earlier estimate ended; `most` bounds the steps.
    """
    count = len(question.priors)
    z = np.zeros(count) if start is None or start.size != count else start.copy()
    with ThreadPoolExecutor(max_workers=2) as pool:

        def run_all(points: Sequence[Array]) -> list[Driven]:
            return list(pool.map(lambda x: _run(question, x, cells), points))

        z, base = _start(question, z, run_all, search=start is None)
        runs = run_all(_moved(z))
        step, covariance = _solve(question, z, base, runs)
        for _ in range(most - 1):
            if float(np.abs(step).max()) < 0.1:
                break
            lower = _descend(question, z, step, base, cells)
            if lower is None:
                break
            z, base = lower
            runs = run_all(_moved(z))
            step, covariance = _solve(question, z, base, runs)
        extremes = tuple(_extremes(question, (z, covariance), base, run_all))
    left = np.log(np.maximum(1 - base.least, 1e-6))
    slopes = np.stack([(np.log(np.maximum(1 - r.least, 1e-6)) - left) / _STEP for r in runs])
    residuals = [one.values - one.predicted(base) for one in question.watched]
    every = np.concatenate(residuals) if residuals else np.array([])
    return Estimate(
        question.priors,
        z,
        covariance,
        base,
        slopes,
        extremes,
        float(np.sqrt(np.mean(every**2))) if every.size else None,
        tuple(float(r.mean()) for r in residuals),
    )


def _start(question: Question, z: Array, run_all: RunAll, *, search: bool) -> tuple[Array, Driven]:
    """Where to begin: for a first estimate the best of several supplies, which have no slope."""
    points = [z]
    names = [one.name for one in question.priors]
    if search and question.watched:
        for name, places in (("supply", (-1.5, -2.5, -3.5, -4.5, -5.5)), ("collar_water", (2.5,))):
            if name in names:
                points += [z + at * (np.arange(z.size) == names.index(name)) for at in places]
    runs = run_all(points)
    costs = [_cost(question, x, run) for x, run in zip(points, runs, strict=True)]
    best = int(np.argmin(costs))
    return points[best], runs[best]


def _extremes(
    question: Question, at: tuple[Array, Array], base: Driven, run_all: RunAll
) -> Iterator[Array]:
    """Cure with each unknown of `CLIFFS` as far off as its band and the log allow."""
    z, covariance = at
    allowed = _cost(question, z, base) + _LIKELY
    for n, prior in enumerate(question.priors):
        if prior.name not in CLIFFS:
            continue
        spread = float(np.sqrt(covariance[n, n]))
        reach = [sign * k * spread for sign in (-1, 1) for k in (SIGMAS, 1.0)]
        points = [z + far * (np.arange(z.size) == n) for far in reach]
        runs = run_all(points)
        for far in (0, 2):
            pairs = zip(points[far : far + 2], runs[far : far + 2], strict=True)
            likely = [run for x, run in pairs if _cost(question, x, run) <= allowed]
            if likely:
                yield likely[0].least


def _moved(z: Array) -> list[Array]:
    """The unknowns, one of them moved at a time."""
    return [z + _STEP * (np.arange(z.size) == n) for n in range(z.size)]


def _run(question: Question, z: Array, cells: int) -> Driven:
    return follow(question.case, question.drive, unknowns_at(question.priors, z), cells=cells)


def _whitened(question: Question, driven: Driven) -> Array:
    """Predictions over their error, the sensors' constant errors taken into account."""
    return _scaled(question, [one.predicted(driven) for one in question.watched])


def _scaled(question: Question, series: Sequence[Array]) -> Array:
    """Series of all sensors, divided by the root of their covariance σ² I + b² 1 1ᵀ."""
    parts = [np.array([])]
    for one, values in zip(question.watched, series, strict=True):
        n = values.size
        share = 1 - 1 / np.sqrt(1 + n * BIAS**2 / one.sigma**2)
        parts.append((values - share * values.mean()) / one.sigma)
    return np.concatenate(parts)


def _cost(question: Question, z: Array, driven: Driven) -> float:
    read = _scaled(question, [one.values for one in question.watched])
    misses = read - _whitened(question, driven)
    return float(misses @ misses + z @ z)


def _solve(
    question: Question, z: Array, base: Driven, runs: Sequence[Driven]
) -> tuple[Array, Array]:
    """The next step and the covariance of the unknowns."""
    expected = _whitened(question, base)
    slopes = np.stack([(_whitened(question, run) - expected) / _STEP for run in runs], axis=1)
    read = _scaled(question, [one.values for one in question.watched])
    normal = slopes.T @ slopes + np.eye(z.size)
    covariance: Array = np.asarray(np.linalg.inv(normal), dtype=float)
    step = covariance @ (slopes.T @ (read - expected) - z)
    return np.asarray(np.clip(step, -1.5, 1.5), dtype=float), covariance


def _descend(
    question: Question, z: Array, step: Array, base: Driven, cells: int
) -> tuple[Array, Driven] | None:
    """A step that lowers the cost, halved where needed; None where none does."""
    cost = _cost(question, z, base)
    for _ in range(4):
        there = np.clip(z + step, -7.0, 7.0)
        run = _run(question, there, cells)
        if _cost(question, there, run) < cost:
            return there, run
        step = 0.5 * step
    return None
