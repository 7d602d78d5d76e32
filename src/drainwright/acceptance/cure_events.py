"""What went wrong in a cure, as its whole log shows: cold tail, boiler stop, blocked vent."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from drainwright.acceptance.cure_rules import steam_span
from drainwright.acceptance.cure_series import Array, Phases, Readings, Sensor
from drainwright.records.cure_log import LogFinding, Reads
from drainwright.units import UnitSystem, show

_COLD, _STOP, _FALL = 20.0, 12.0, 15.0
"""Exhaust below gas in, gas in below its level, exhaust below its best [K]."""
_WARMING = 900.0
_SHORTEST = 180.0


def events_of(readings: Readings, phases: Phases, system: UnitSystem) -> tuple[LogFinding, ...]:
    """Findings of the cure itself."""
    span = steam_span(readings, phases)
    if span is None:
        return ()
    found = [*_stops(readings, phases, span)]
    blocked = list(_blocked(readings, phases, span, system))
    found += blocked or _cold_tail(readings, span, system)
    if phases.steam_off is None:
        words = "the log ends while steam flows: nothing of the change to air and the cooling"
        found.append(LogFinding("short", words, from_second=float(readings.seconds[-1])))
    elif phases.let_down is None:
        words = "the log does not show pressure being let down"
        found.append(LogFinding("short", words, from_second=float(readings.seconds[-1])))
    if phases.clock_error is not None and abs(phases.clock_error) > 120.0:
        late = "after" if phases.clock_error > 0 else "before"
        words = (
            f"the log shows steam on {abs(phases.clock_error) / 60:.0f} min {late} the crew wrote "
            "it down: a clock is off; times of the field entries were moved"
        )
        found.append(LogFinding("clock", words))
    return tuple(found)


def _runs(seconds: Array, bad: NDArray[np.bool_]) -> Iterator[tuple[float, float]]:
    """Start and end of each run of true values that lasts."""
    edges = np.diff(np.concatenate([[0], bad.astype(int), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    for first, last in zip(starts, ends, strict=True):
        if seconds[last] - seconds[first] >= _SHORTEST:
            yield float(seconds[first]), float(seconds[last])


def _stops(readings: Readings, phases: Phases, span: tuple[float, float]) -> Iterator[LogFinding]:
    gas = readings.one(Reads.GAS_IN)
    if gas is None or phases.hot is None:
        return
    values = gas.filled(readings.seconds)
    hot = np.flatnonzero(values >= phases.hot - 5.0)
    if not hot.size:
        return
    inside = (readings.seconds > readings.seconds[hot[0]]) & (readings.seconds < span[1])
    for start, end in _runs(readings.seconds, inside & (values < phases.hot - _STOP)):
        minutes, began = (end - start) / 60, (start - span[0]) / 60
        words = (
            f"steam stopped for {minutes:.0f} min, {began:.0f} min after steam on: gas in "
            "fell away and came back"
        )
        yield LogFinding("boiler stop", words, gas.channel.name, from_second=start, to_second=end)


def _pair(readings: Readings) -> tuple[Sensor, Sensor] | None:
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    return None if gas is None or exhaust is None else (gas, exhaust)


def _cold_tail(
    readings: Readings, span: tuple[float, float], system: UnitSystem
) -> Iterator[LogFinding]:
    pair = _pair(readings)
    if pair is None:
        return
    gas, exhaust = (one.filled(readings.seconds) for one in pair)
    inside = (readings.seconds > span[0] + _WARMING) & (readings.seconds <= span[1])
    cold = list(_runs(readings.seconds, inside & (gas - exhaust > _COLD)))
    total = sum(end - start for start, end in cold)
    if total > 600.0:
        below = float(np.max((gas - exhaust)[inside]))
        shown = show(below, "temperature_difference", system, 0).text
        words = (
            f"cold tail: for {total / 60:.0f} min of steam the exhaust stayed far below what went "
            f"in, by up to {shown}: the steam did not reach the far end"
        )
        yield LogFinding("cold tail", words, pair[1].channel.name, from_second=cold[0][0])


def _blocked(
    readings: Readings, phases: Phases, span: tuple[float, float], system: UnitSystem
) -> Iterator[LogFinding]:
    """The exhaust had been hot and falls away while hot gas still goes in."""
    pair = _pair(readings)
    if pair is None or phases.hot is None:
        return
    gas, exhaust = (one.filled(readings.seconds) for one in pair)
    best = np.maximum.accumulate(np.where(readings.seconds > span[0], exhaust, -np.inf))
    reached = best > phases.hot - _COLD
    inside = (readings.seconds > span[0]) & (readings.seconds < span[1])
    steady = gas > phases.hot - 5.0
    for start, end in _runs(readings.seconds, inside & reached & steady & (best - exhaust > _FALL)):
        if end - start < 300.0:
            continue
        shown = show(float((best - exhaust)[inside].max()), "temperature_difference", system, 0)
        words = (
            f"vent blocked: {(start - span[0]) / 60:.0f} min after steam on the exhaust fell by "
            f"{shown.text} with hot gas still going in"
        )
        yield LogFinding(
            "vent blocked", words, pair[1].channel.name, from_second=start, to_second=end
        )
