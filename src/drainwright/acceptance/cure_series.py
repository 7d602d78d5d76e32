"""The arrays of a cure log, and when steam came on, was shut, and pressure was let down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.records.attempt import Attempt
from drainwright.records.cure_log import WALLS, Channel, CureLog, Reads

Array = NDArray[np.float64]
USABLE = 5
"""Readings a channel needs to be used at all."""
_WARMED = 25.0
"""The gas must rise by this for steam to be seen [K]."""
_AGREES = 120.0
"""Field entries and log agree on steam on within this [s]."""


@dataclass(frozen=True, slots=True)
class Sensor:
    """A channel with its values as an array; NaN where it read nothing usable."""

    channel: Channel
    values: Array

    def filled(self, seconds: Array) -> Array:
        """Straight across what is missing."""
        good = np.isfinite(self.values)
        filled: Array = np.interp(seconds, seconds[good], self.values[good])
        return filled

    @property
    def last(self) -> float | None:
        """The last usable value."""
        good = self.values[np.isfinite(self.values)]
        return float(good[-1]) if good.size else None


@dataclass(frozen=True, slots=True)
class Readings:
    """A log as arrays, without channels that read nothing usable."""

    seconds: Array
    sensors: tuple[Sensor, ...]

    def all_of(self, *reads: Reads) -> tuple[Sensor, ...]:
        """The sensors that read one of these."""
        return tuple(one for one in self.sensors if one.channel.reads in reads)

    def one(self, reads: Reads) -> Sensor | None:
        """The first sensor of its kind that works; a pressure is the tube's."""
        found = self.all_of(reads)
        if reads is Reads.PRESSURE:
            found = tuple(one for one in found if one.channel.in_tube)
        return found[0] if found else None

    def coldest_gas(self) -> Array:
        """The colder of gas in and exhaust at every time; NaN where neither is known."""
        gas = [one.values for one in self.all_of(Reads.GAS_IN, Reads.EXHAUST)]
        if not gas:
            return np.full(self.seconds.shape, np.nan)
        together = np.fmin.reduce(gas)
        return np.asarray(together, dtype=float)

    def warmest_wall(self) -> Array:
        """The warmest of the wall sensors at every time; NaN where none is known."""
        walls = [one.values for one in self.all_of(*WALLS)]
        if not walls:
            return np.full(self.seconds.shape, np.nan)
        return np.asarray(np.fmax.reduce(walls), dtype=float)

    def interval(self, start: float, end: float) -> float | None:
        """The longest time between two readings from start to end [s]; None without two."""
        inside = self.seconds[(self.seconds >= start) & (self.seconds <= end)]
        return float(np.diff(inside).max()) if inside.size > 1 else None


def readings_of(log: CureLog) -> Readings:
    """The arrays of a log."""
    seconds = np.asarray(log.seconds, dtype=float)
    return Readings(seconds, tuple(_sensors(log)))


def _sensors(log: CureLog) -> Iterator[Sensor]:
    for one in log.series:
        values = np.array([np.nan if v is None else v for v in one.values], dtype=float)
        if np.isfinite(values).sum() >= USABLE and one.channel.reads is not Reads.NOTHING:
            yield Sensor(one.channel, values)


@dataclass(frozen=True, slots=True)
class Told:
    """What the field entries say, in seconds of the log; None where they say nothing."""

    steam_on: float | None = None
    air_on: float | None = None
    steam_off: float | None = None
    air_shut: float | None = None
    let_down: float | None = None


def told_of(attempt: Attempt | None, log: CureLog) -> Told:
    """The times of the crew's steps on the log's clock."""
    if attempt is None:
        return Told()

    def of(step: str) -> float | None:
        at = attempt.time_of(step)
        return None if at is None else log.since_start(at)

    return Told(of("steam_on"), of("air_on"), of("steam_shut"), of("soak_back"), of("let_down"))


@dataclass(frozen=True, slots=True)
class Phases:
    """When what happened, in seconds of the log; None where it did not, or is not known."""

    steam_on: float | None
    steam_off: float | None
    let_down: float | None
    air_shut: float | None = None
    clock_error: float | None = None
    """The log's steam on less the field entries' [s]; None where one of them is not known."""
    hot: float | None = None
    """Gas temperature while steam flowed [K]."""


def phases_of(readings: Readings, told: Told | None = None) -> Phases:
    """The phases, as the gas and the pressure show them, else as the field entries say."""
    told = told or Told()
    gas = readings.one(Reads.GAS_IN) or readings.one(Reads.EXHAUST)
    on, off, hot = (None, None, None) if gas is None else _steam(readings.seconds, gas)
    error = None if on is None or told.steam_on is None else on - told.steam_on
    shift = error if error is not None and abs(error) > _AGREES else 0.0
    down = _let_down(readings, on, off)
    return Phases(
        on if on is not None else told.steam_on,
        off if off is not None or on is not None else told.steam_off,
        down if down is not None else _moved(told.let_down, shift, readings),
        _moved(told.air_shut, shift, readings),
        error,
        hot,
    )


def _moved(second: float | None, shift: float, readings: Readings) -> float | None:
    """A told time on the log's clock; None where the log does not reach it."""
    if second is None or not readings.seconds.size:
        return None
    moved = second + shift
    return moved if readings.seconds[0] <= moved <= readings.seconds[-1] + 60.0 else None


def _steam(seconds: Array, gas: Sensor) -> tuple[float | None, float | None, float | None]:
    """When the gas becomes hot and when it stops being so, and how hot it was."""
    values = gas.filled(seconds)
    start, most = float(np.median(values[:5])), float(np.percentile(values, 99))
    if start > 330.0:
        start = 293.15
    if most - start < _WARMED:
        return None, None, None
    warm = int(np.argmax(values >= start + 0.25 * (most - start)))
    cold = np.flatnonzero(values[:warm] <= start + 4.0)
    on = float(seconds[cold[-1]]) if cold.size else float(seconds[0])
    hot = float(np.median(values[values >= start + 0.8 * (most - start)]))
    last = int(np.flatnonzero(values >= hot - 12.0)[-1])
    ended = seconds[-1] - seconds[last] >= 120.0
    return on, float(seconds[last]) if ended else None, hot


def _let_down(readings: Readings, on: float | None, off: float | None) -> float | None:
    """The last time at which the tube's pressure left its level for good."""
    gauge = readings.one(Reads.PRESSURE)
    if gauge is None or on is None or off is None:
        return None
    seconds = readings.seconds
    values = gauge.filled(seconds)
    level = float(np.median(values[(seconds >= on) & (seconds <= off)]))
    held = np.flatnonzero(values > 0.6 * level)
    if level <= 0 or not held.size or held[-1] + 1 >= seconds.size or seconds[held[-1]] < off:
        return None
    return float(seconds[held[-1]])


def clock_text(log: CureLog, second: float | None) -> dt.datetime | None:
    """The moment of a second of the log."""
    return None if second is None else log.at(second)
