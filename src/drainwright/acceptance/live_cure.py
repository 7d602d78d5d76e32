"""The state of a running cure: what is still needed, what would shorten it, what is wrong."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.acceptance.cure_rules import (
    StepReached,
    exhaust_reached,
    exhaust_rule,
    maker_steps,
    sheet_number,
)
from drainwright.acceptance.cure_series import Phases, Readings, Told, phases_of, readings_of
from drainwright.acceptance.live_alarms import SILENT, PressureWindow, Seen, alarms_of
from drainwright.records.cure_log import CureLog, Reads
from drainwright.records.live_cure import LiveAlarm, LiveCure
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, show

NOT_A_SUBSTITUTE = "The estimate never shortens the maker’s schedule."


@dataclass(frozen=True, slots=True)
class LiveInputs:
    """A running cure: the work sheet as issued, the log so far, and the moment."""

    sheet: WorkSheet
    log: CureLog
    now: dt.datetime
    told: Told

    @property
    def system(self) -> UnitSystem:
        """Units of the project."""
        return self.sheet.project.units


def live_state(given: LiveInputs) -> LiveCure:
    """What the crew is told at this moment."""
    readings = readings_of(given.log)
    phases = phases_of(readings, given.told)
    running = _running(given, phases)
    maker, exhaust = _maker_left(given, readings, running), _exhaust_left(given, readings, running)
    governed, left = _longest({"maker": maker, "exhaust": exhaust})
    return LiveCure(
        lateral=given.log.lateral,
        now=given.now,
        steam_on=None if running.steam_on is None else given.log.at(running.steam_on),
        steam_off=None if running.steam_off is None else given.log.at(running.steam_off),
        maker_left=maker,
        exhaust_left=exhaust,
        left=left,
        governed_by=governed,
        done=maker == 0.0 and left == 0.0,
        alarms=tuple(_alarms(given, readings, running)),
        shorten=tuple(_shorten(given, readings, running)),
        leaves_out=(NOT_A_SUBSTITUTE,),
    )


def _running(given: LiveInputs, phases: Phases) -> Phases:
    """Steam counts as shut only when somebody said so: a cold gas is a boiler stop until then."""
    if phases.steam_off is None or given.told.steam_off is not None:
        return phases
    return Phases(phases.steam_on, None, None, phases.air_shut, phases.clock_error, phases.hot)


def _maker_left(given: LiveInputs, readings: Readings, phases: Phases) -> float | None:
    """Still needed by the maker's schedule; None where there is none."""
    schedule = given.sheet.resin.schedule if given.sheet.resin else ()
    if not schedule:
        return None
    steps: Sequence[StepReached] = maker_steps(readings, phases, schedule)
    return sum(step.left for step in steps)


def _exhaust_left(given: LiveInputs, readings: Readings, phases: Phases) -> float | None:
    """Still needed by the rule of the exhaust; None where there is no rule or no exhaust."""
    rule = exhaust_rule(given.sheet)
    found = None if rule is None else exhaust_reached(readings, phases, rule)
    if rule is None or found is None:
        return None
    return max(rule.wait - found.reached, 0.0)


def _longest(parts: dict[str, float | None]) -> tuple[str, float | None]:
    known = {name: value for name, value in parts.items() if value is not None}
    if not known:
        return "", None
    name = max(known, key=lambda one: known[one])
    return name, known[name]


def _window(sheet: WorkSheet) -> PressureWindow:
    return PressureWindow(
        sheet_number(sheet, "pressure.steam_least"), sheet_number(sheet, "pressure.steam_most")
    )


def _alarms(given: LiveInputs, readings: Readings, phases: Phases) -> Iterator[LiveAlarm]:
    silent = (given.now - given.log.end).total_seconds()
    if given.log.seconds and silent > SILENT:
        words = f"The logger has not written for {silent / 60:.0f} min: read the gauges by hand."
        yield LiveAlarm("log stopped", words, given.log.end)
    if phases.steam_off is not None:
        return
    seen: list[Seen] = list(alarms_of(readings, phases, _window(given.sheet), given.system))
    seen += _late_exhaust(given, readings, phases)
    for one in seen:
        yield LiveAlarm(one.key, one.words, given.log.at(one.since), one.position)


def _late_exhaust(given: LiveInputs, readings: Readings, phases: Phases) -> Iterator[Seen]:
    """The exhaust is not at its reading by the time of the trouble card."""
    rule, limit = exhaust_rule(given.sheet), sheet_number(given.sheet, "steam.trouble")
    if rule is None or limit is None or phases.steam_on is None:
        return
    found = exhaust_reached(readings, phases, rule)
    passed = float(readings.seconds[-1]) - phases.steam_on
    if found is not None and found.steady_at is None and passed > limit:
        reading = show(rule.reading, "temperature", given.system).text
        words = (
            f"Trouble card: {passed / 60:.0f} min after steam on the exhaust does not stand at "
            f"{reading}."
        )
        yield Seen("exhaust late", words, phases.steam_on + limit)


def _shorten(given: LiveInputs, readings: Readings, phases: Phases) -> Iterator[str]:
    """What would bring the end nearer, of what the log shows."""
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    if phases.steam_on is None or gas is None or gas.last is None:
        return
    schedule = given.sheet.resin.schedule if given.sheet.resin else ()
    coldest = gas.last if exhaust is None or exhaust.last is None else min(gas.last, exhaust.last)
    if schedule and coldest < schedule[-1].temperature:
        wanted = show(schedule[-1].temperature, "temperature", given.system).text
        yield f"The maker’s last step counts only from {wanted} at the coldest reading."
    if exhaust is not None and exhaust.last is not None and gas.last - exhaust.last > 10.0:
        yield "More steam or a wider vent: the far end is colder than what goes in."
