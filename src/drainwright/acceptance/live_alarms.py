"""Conditions of a running cure that somebody must act on now, seen on the log so far."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drainwright.acceptance.cure_series import Array, Phases, Readings, Sensor
from drainwright.records.cure_log import Channel, Reads
from drainwright.units import UnitSystem, show

SILENT = 120.0
"""A log without a reading for this long has stopped [s]."""
_COLD_TAIL = 20.0
"""The exhaust this far below the gas that goes in is a cold tail [K]."""
_BOILER = 12.0
"""Gas in that falls this far below its level means no steam [K]."""
_WAIT = 900.0
"""A cold tail is one only after this long with hot gas going in [s]."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A condition: its key, what to say, since when in the log, and where."""

    key: str
    words: str
    since: float
    position: float | None = None


@dataclass(frozen=True, slots=True)
class PressureWindow:
    """Gauge pressure allowed while steam flows [Pa]; None where the sheet says nothing."""

    least: float | None = None
    most: float | None = None


def alarms_of(
    readings: Readings, phases: Phases, window: PressureWindow, system: UnitSystem
) -> tuple[Seen, ...]:
    """What is wrong at the end of the log so far, while steam should flow."""
    if not readings.seconds.size:
        return ()
    found = [
        *_dead(readings),
        *_pressure(readings, window, system),
    ]
    if phases.steam_on is not None:
        found += [
            *_boiler(readings, phases, system),
            *_vent_blocked(readings, phases, system),
        ]
        if not any(one.key == "boiler stop" for one in found):
            found += _cold_tail(readings, phases, system)
    return tuple(found)


def _recent(readings: Readings, sensor: Sensor, back: float) -> tuple[Array, Array]:
    """Times and usable values of the last so many seconds."""
    inside = (readings.seconds >= readings.seconds[-1] - back) & np.isfinite(sensor.values)
    return readings.seconds[inside], sensor.values[inside]


def name_of(channel: Channel, system: UnitSystem) -> str:
    """A channel in words: what it reads, and where."""
    words = channel.reads.value if not channel.place else f"{channel.reads.value}, {channel.place}"
    if channel.position is None:
        return words
    return f"{words} at {show(channel.position, 'length', system).text}"


def _dead(readings: Readings) -> Iterator[Seen]:
    now = float(readings.seconds[-1])
    for sensor in readings.sensors:
        good = np.flatnonzero(np.isfinite(sensor.values))
        last = float(readings.seconds[good[-1]])
        if now - last >= SILENT:
            words = f"Channel {sensor.channel.name} ({sensor.channel.reads}) reads nothing."
            yield Seen("sensor dead", words, last, sensor.channel.position)


def _pressure(readings: Readings, window: PressureWindow, system: UnitSystem) -> Iterator[Seen]:
    gauge = readings.one(Reads.PRESSURE)
    if gauge is None or gauge.last is None:
        return
    _, values = _recent(readings, gauge, 30.0)
    now = float(readings.seconds[-1])
    if window.least is not None and values.size and values.min() < window.least:
        shown = show(float(values.min()), "pressure", system).text
        least = show(window.least, "pressure", system).text
        yield Seen(
            "pressure low", f"Tube pressure fell to {shown}; at least {least} holds it.", now
        )
    if window.most is not None and values.size and values.max() > window.most:
        shown = show(float(values.max()), "pressure", system).text
        most = show(window.most, "pressure", system).text
        yield Seen("pressure high", f"Tube pressure is {shown}; at most {most} is allowed.", now)


def _boiler(readings: Readings, phases: Phases, system: UnitSystem) -> Iterator[Seen]:
    gas = readings.one(Reads.GAS_IN)
    if gas is None or phases.hot is None:
        return
    values = gas.filled(readings.seconds)
    hot = np.flatnonzero(values >= phases.hot - 5.0)
    if hot.size and values[-1] < phases.hot - _BOILER:
        was, now = (show(v, "temperature", system).text for v in (phases.hot, float(values[-1])))
        words = (
            f"Gas in fell from {was} to {now}: no steam. Boiler, fuel, valve, hose; air stays on."
        )
        yield Seen("boiler stop", words, float(readings.seconds[hot[-1]]))


def _cold_tail(readings: Readings, phases: Phases, system: UnitSystem) -> Iterator[Seen]:
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    if gas is None or exhaust is None or phases.steam_on is None or gas.last is None:
        return
    seconds = readings.seconds
    tail = exhaust.filled(seconds)
    if seconds[-1] - phases.steam_on < _WAIT or gas.last - tail[-1] < _COLD_TAIL:
        return
    rise = float(tail[-1] - np.interp(seconds[-1] - 300.0, seconds, tail))
    if rise > 5.0:
        return
    cold, warm = (show(v, "temperature", system).text for v in (float(tail[-1]), gas.last))
    words = f"Cold tail: exhaust {cold} with {warm} going in. More steam, or open the vent."
    yield Seen("cold tail", words, float(seconds[-1]), exhaust.channel.position)


def _vent_blocked(readings: Readings, phases: Phases, system: UnitSystem) -> Iterator[Seen]:
    """The exhaust falls away from where it was while hot gas still goes in."""
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    if gas is None or exhaust is None or phases.hot is None or gas.last is None:
        return
    tail = exhaust.filled(readings.seconds)
    best = int(np.argmax(tail))
    fallen = float(tail[best] - tail[-1])
    if gas.last > phases.hot - 5.0 and fallen > 15.0 and tail[best] > gas.last - _COLD_TAIL:
        shown = show(fallen, "temperature_difference", system, 0).text
        words = f"The exhaust fell by {shown} with hot gas going in: vent or hose blocked?"
        yield Seen("vent blocked", words, float(readings.seconds[best]), exhaust.channel.position)
