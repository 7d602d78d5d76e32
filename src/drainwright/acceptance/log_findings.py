"""What is wrong with the readings of a log: gaps, stuck, broken, swapped sensors, wrong units.

What can't be believed is taken out of the series; the file itself stays as it came.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from drainwright.acceptance.cure_series import Array, Readings, Sensor, readings_of
from drainwright.engineering import steam
from drainwright.records.cure_log import TEMPERATURES, WALLS, CureLog, LogFinding, Reads, Series

COLDEST, HOTTEST = 238.15, 453.15
"""Readings outside this range are no temperatures of a cure [K]: −35 to 180 °C."""
_STUCK = 900.0
"""The same value for this long, while the others move, is a stuck sensor [s]."""
_MOVED = 15.0
"""By this others must move meanwhile [K]."""
_LAG = 60.0
_FAHRENHEIT = (5 / 9, 459.67 * 5 / 9)


@dataclass(frozen=True, slots=True)
class Rows:
    """Which row of which file each reading of the log came from."""

    files: tuple[str, ...]
    rows: tuple[int, ...]

    def of(self, first: int, last: int) -> tuple[int, ...]:
        """First and last row of a run of readings; none where it runs from file to file."""
        if self.files[first] != self.files[last]:
            return ()
        return self.rows[first], self.rows[last]


def looked_through(log: CureLog, barometer: float, rows: Rows | None = None) -> CureLog:
    """The log with everything found, and without what can't be believed."""
    findings = [*log.findings, *_gaps(log, rows)]
    findings += _wrong_units(readings_of(log), barometer)
    log, broken = _without_broken(log, rows)
    log, stuck = _without_stuck(log, rows)
    readings = readings_of(log)
    findings += [*broken, *stuck, *_silent(log), *_swapped(readings), *_ends(log)]
    return replace(log, findings=tuple(findings))


def _gaps(log: CureLog, rows: Rows | None) -> Iterator[LogFinding]:
    seconds = np.asarray(log.seconds)
    if seconds.size < 3:
        return
    steps = np.diff(seconds)
    usual = float(np.median(steps))
    for at in np.flatnonzero(steps > max(4 * usual, 60.0)):
        length = float(steps[at])
        where = rows.of(int(at), int(at) + 1) if rows else ()
        place = f" between rows {where[0]} and {where[1]}" if where else ""
        words = f"no reading for {length / 60:.1f} min{place}"
        if abs(length - round(length / 3600) * 3600) < 2 * usual + 1 and length > 3000:
            words += "; or the clock was set forward"
        yield LogFinding(
            "gap", words, file=rows.files[at] if rows else "", rows=where,
            from_second=float(seconds[at]), to_second=float(seconds[at + 1]),
            grave=length > 600.0,
        )  # fmt: skip


def _without_broken(log: CureLog, rows: Rows | None) -> tuple[CureLog, list[LogFinding]]:
    """Readings that no sensor in order gives are taken out."""
    found: list[LogFinding] = []
    kept = []
    for series in log.series:
        values = _array(series)
        if series.kind == "temperature":
            bad = (values < COLDEST) | (values > HOTTEST)
        else:
            bad = (values < -90e3) | (values > 1e6)
        spans = list(_spans(bad))
        for first, last in spans:
            found.append(_finding("broken", "reads what no sensor in order gives", series,
                                  (first, last), (log, rows)))  # fmt: skip
        kept.append(_with(series, np.where(bad, np.nan, values)) if spans else series)
    return replace(log, series=tuple(kept)), found


def _without_stuck(log: CureLog, rows: Rows | None) -> tuple[CureLog, list[LogFinding]]:
    """A sensor that shows one value while the others move is taken out from there on."""
    found: list[LogFinding] = []
    seconds = np.asarray(log.seconds)
    temperatures = [_array(s) for s in log.series if s.channel.reads in TEMPERATURES]
    kept = []
    for series in log.series:
        values = _array(series)
        stuck = np.zeros(values.shape, dtype=bool)
        for first, last in _same(values):
            others = [v for v in temperatures if v is not values]
            if series.channel.reads is Reads.PRESSURE:
                continue
            if seconds[last] - seconds[first] >= _STUCK and _moves(values, others, first, last):
                stuck[first : last + 1] = True
                shown = "stands still while the others move"
                found.append(_finding("stuck", shown, series, (first, last), (log, rows)))
        kept.append(_with(series, np.where(stuck, np.nan, values)) if stuck.any() else series)
    return replace(log, series=tuple(kept)), found


def _same(values: Array) -> Iterator[tuple[int, int]]:
    """Runs of equal values."""
    if not values.size:
        return
    changes = np.flatnonzero(np.abs(np.diff(values)) > 1e-9)
    edges = np.concatenate([[-1], changes, [values.size - 1]])
    for a, b in pairwise(edges):
        if b - a > 5 and np.isfinite(values[a + 1 : b + 1]).all():
            yield int(a) + 1, int(b)


def _moves(values: Array, others: Sequence[Array], first: int, last: int) -> bool:
    """Whether most of the others move during a run, as they do when steam comes or goes."""
    spans = []
    for other in others:
        part = other[first : last + 1]
        part = part[np.isfinite(part)]
        if part.size > 5 and not np.array_equal(other, values, equal_nan=True):
            spans.append(float(np.ptp(part)))
    return bool(spans) and float(np.median(spans)) > _MOVED


def _silent(log: CureLog) -> Iterator[LogFinding]:
    """Channels that read nothing usable, or stop for good before the log ends."""
    seconds = np.asarray(log.seconds)
    for series in log.series:
        good = np.flatnonzero(np.isfinite(_array(series)))
        name = f"{series.channel.name} ({series.channel.reads})"
        if good.size < 5:
            yield LogFinding("dead", f"{name} reads nothing usable", series.channel.name)
        elif seconds[-1] - seconds[good[-1]] > 300.0:
            minute = (seconds[-1] - seconds[good[-1]]) / 60
            words = f"{name} reads nothing usable in the last {minute:.0f} min of the log"
            yield LogFinding(
                "dead", words, series.channel.name, from_second=float(seconds[good[-1]])
            )


def _swapped(readings: Readings) -> Iterator[LogFinding]:
    """Gas in must lead the exhaust, and the gas must lead the walls."""
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    rises = {id(s): _half_rise(readings, s) for s in readings.all_of(*TEMPERATURES)}
    if gas is None:
        return
    own = rises[id(gas)]
    if exhaust is not None:
        far = rises[id(exhaust)]
        warming = readings.seconds <= (own or 0.0) + 600.0
        hotter = float(np.nanmean((exhaust.values - gas.values)[warming]))
        if own is not None and far is not None and own - far > _LAG and hotter > 0.0:
            words = (
                f"{exhaust.channel.name} (exhaust) warms {(own - far) / 60:.1f} min before "
                f"{gas.channel.name} (gas in) and is hotter: the two are swapped"
            )
            yield LogFinding("swapped", words, gas.channel.name, grave=True)
            return
    for wall in readings.all_of(*WALLS, Reads.COLLAR):
        at = rises[id(wall)]
        if own is not None and at is not None and own - at > _LAG:
            words = (
                f"{wall.channel.name} ({wall.channel.reads}) warms before "
                f"{gas.channel.name} (gas in): the two are swapped"
            )
            yield LogFinding("swapped", words, wall.channel.name, grave=True)


def _half_rise(readings: Readings, sensor: Sensor) -> float | None:
    """When a sensor passes the middle between its coldest start and its most [s]."""
    values = sensor.filled(readings.seconds)
    low, high = float(np.median(values[:5])), float(np.percentile(values, 99))
    if high - low < 25.0:
        return None
    return float(readings.seconds[int(np.argmax(values >= 0.5 * (low + high)))])


def _wrong_units(readings: Readings, barometer: float) -> Iterator[LogFinding]:
    """Temperatures or a pressure that make sense only in another unit."""
    gauge = readings.one(Reads.PRESSURE)
    level = None if gauge is None else float(np.nanpercentile(gauge.values, 75))
    for sensor in readings.all_of(*TEMPERATURES):
        most = float(np.nanpercentile(sensor.values, 95))
        least = float(np.nanpercentile(sensor.values, 1))
        factor, offset = _FAHRENHEIT
        as_read = (most - 273.15) * factor + offset
        name = f"{sensor.channel.name} ({sensor.channel.reads})"
        if most > HOTTEST - 20.0 and COLDEST < as_read < HOTTEST - 20.0:
            words = f"{name} is read as °C up to {most - 273.15:.0f}: it is in °F"
            yield LogFinding("units", words, sensor.channel.name, grave=True)
        back = (most - offset) / factor + 273.15
        if least < 274.0 and most < 325.0 and 330.0 < back < HOTTEST - 20.0:
            low = (least - offset) / factor
            words = f"{name} is read as °F from {low:.0f} to {back - 273.15:.0f}: it is in °C"
            yield LogFinding("units", words, sensor.channel.name, grave=True)
    gas = readings.one(Reads.GAS_IN) or readings.one(Reads.EXHAUST)
    if gauge is None or level is None or gas is None:
        return
    hot = float(np.nanpercentile(gas.values, 90))
    yield from _odd_pressure(gauge.channel.name, level, hot, barometer)


def _odd_pressure(name: str, level: float, hot: float, barometer: float) -> Iterator[LogFinding]:
    """Steam can't be hotter than it boils at the pressure in the tube."""
    if level > 200e3:
        words = f"{name} reads {level / 6894.76:.0f} psi: it is in kPa, not psi"
        yield LogFinding("units", words, name, grave=True)
    elif 372.0 < hot < HOTTEST - 20.0 and level > -50e3:
        boils = steam.saturated_by_fit(max(barometer + level, 60e3)).temperature
        if hot > boils + 6.0 and level < 14e3:
            words = (
                f"{name} reads {level / 1e3:.1f} kPa, but the gas is {hot - boils:.0f} K hotter "
                "than steam at that pressure: it is in psi, or it is not the tube's pressure"
            )
            yield LogFinding("units", words, name, grave=True)


def _ends(log: CureLog) -> Iterator[LogFinding]:
    if not any(s.channel.reads in (Reads.GAS_IN, Reads.EXHAUST) for s in log.series):
        words = "no channel reads the gas: neither gas in nor exhaust is mapped"
        yield LogFinding("no gas", words, grave=True)


# ---------------------------------------------------------------- small parts


def _array(series: Series) -> Array:
    return np.array([np.nan if v is None else v for v in series.values], dtype=float)


def _with(series: Series, values: Array) -> Series:
    kept = tuple(None if not np.isfinite(v) else float(v) for v in values)
    return replace(series, values=kept)


def _spans(bad: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> Iterator[tuple[int, int]]:
    """First and last index of each run of true values."""
    edges = np.diff(np.concatenate([[0], bad.astype(int), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    for first, last in zip(starts, ends, strict=True):
        yield int(first), int(last)


def _finding(
    key: str,
    words: str,
    series: Series,
    span: tuple[int, int],
    where: tuple[CureLog, Rows | None],
) -> LogFinding:
    """A finding on a run of readings, with its rows where they are known."""
    log, rows = where
    first, last = span
    numbers = rows.of(first, last) if rows else ()
    place = f" in rows {numbers[0]} to {numbers[1]}" if numbers else ""
    name = f"{series.channel.name} ({series.channel.reads})"
    return LogFinding(
        key, f"{name} {words}{place}", series.channel.name,
        rows.files[first] if rows else "", numbers,
        log.seconds[first], log.seconds[last],
    )  # fmt: skip
