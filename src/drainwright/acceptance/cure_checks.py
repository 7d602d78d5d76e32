"""Checks of a cure log that need no model: schedule, pressure, exhaust, let-down."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from drainwright.acceptance.cure_rules import (
    exhaust_reached,
    exhaust_rule,
    maker_steps,
    sheet_number,
    steam_span,
)
from drainwright.acceptance.cure_series import Phases, Readings
from drainwright.checks import Check, Outcome, at_least, at_most, not_assessed
from drainwright.records.cure_log import WALLS, Channel, CureLog, LogFinding, Reads
from drainwright.records.work_sheet import WorkSheet
from drainwright.sources import cite
from drainwright.units import UnitSystem, show

MAKER = cite("maker", "cure schedule")
PRACTICE = cite("practice")
LIMIT = cite("owner")
FAST = 10.0
"""The change to air is judged only where the log has a reading this often [s]."""
CHANGE = (60.0, 300.0)
"""Looked at before and after steam is shut [s]."""
SOAK = 600.0
SHUTS_OUT = ("swapped", "units", "other", "no gas", "clock", "short on")
"""Grave findings that no check can rest on."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """A log with what belongs to it."""

    sheet: WorkSheet
    log: CureLog
    readings: Readings
    phases: Phases

    @property
    def system(self) -> UnitSystem:
        """Units of the project."""
        return self.sheet.project.units


def rule_checks(seen: Evidence) -> tuple[Check, ...]:
    """Schedule, exhaust, pressure and let-down, in this order."""
    return (
        *_schedule(seen),
        _exhaust(seen),
        *_pressures(seen),
        _change(seen),
        _let_down(seen),
        _gaps(seen),
    )


def _schedule(seen: Evidence) -> Iterator[Check]:
    schedule = seen.sheet.resin.schedule if seen.sheet.resin else ()
    if not schedule:
        yield not_assessed("maker’s schedule", "time", MAKER, "the maker's schedule is not entered")
        return
    if steam_span(seen.readings, seen.phases) is None:
        yield not_assessed("maker’s schedule", "time", MAKER, "the log shows no steam")
        return
    where = "exhaust" if seen.readings.one(Reads.EXHAUST) else "gas in; the far end is not seen"
    for number, one in enumerate(maker_steps(seen.readings, seen.phases, schedule), 1):
        at = show(one.step.temperature, "temperature", seen.system).text
        note = f"at {at} or more, counted at the {where}"
        name = f"maker’s schedule, step {number}"
        yield at_least(name, one.reached, one.step.time, "time", MAKER, note)


def _exhaust(seen: Evidence) -> Check:
    name = "steam after the exhaust stood"
    rule = exhaust_rule(seen.sheet)
    if rule is None:
        return not_assessed(name, "time", PRACTICE, "the work sheet has no rule of the exhaust")
    found = exhaust_reached(seen.readings, seen.phases, rule)
    reading = show(rule.reading, "temperature", seen.system).text
    if found is None:
        return not_assessed(name, "time", PRACTICE, "no sensor reads the exhaust")
    rise = show(rule.rise, "temperature_difference", seen.system, 0).text
    note = f"at {reading}, rising less than {rise} in 5 min"
    if found.steady_at is None:
        note += "; it never stood there"
    return at_least(name, found.reached, rule.wait, "time", PRACTICE, note)


def _pressures(seen: Evidence) -> Iterator[Check]:
    """Least and most pressure while steam flowed, after it had come up."""
    span = steam_span(seen.readings, seen.phases)
    gauge = seen.readings.one(Reads.PRESSURE)
    for key, name in (("steam_least", "least"), ("steam_most", "most")):
        limit = sheet_number(seen.sheet, f"pressure.{key}")
        title = f"{name} tube pressure while steam flowed"
        if limit is None:
            continue
        if gauge is None or span is None:
            yield not_assessed(title, "pressure", PRACTICE, "no channel reads the tube's pressure")
            continue
        inside = (seen.readings.seconds >= span[0]) & (seen.readings.seconds <= span[1])
        values = gauge.values[inside & np.isfinite(gauge.values)]
        if not values.size:
            yield not_assessed(title, "pressure", PRACTICE, "the pressure was not read")
        elif key == "steam_least":
            yield at_least(title, float(values.min()), limit, "pressure", PRACTICE)
        else:
            yield at_most(title, float(values.max()), limit, "pressure", PRACTICE)


def _change(seen: Evidence) -> Check:
    """The least pressure at the change from steam to air, if the log is fast enough to show it."""
    name = "least tube pressure at the change to air"
    limit = sheet_number(seen.sheet, "pressure.cool_least")
    gauge, off = seen.readings.one(Reads.PRESSURE), seen.phases.steam_off
    if limit is None:
        return not_assessed(name, "pressure", PRACTICE, "the work sheet has no least pressure")
    if off is None:
        return not_assessed(name, "pressure", PRACTICE, "the log ends before steam was shut")
    if gauge is None:
        return not_assessed(name, "pressure", PRACTICE, "no channel reads the tube's pressure")
    start, end = off - CHANGE[0], off + CHANGE[1]
    if seen.phases.let_down is not None:
        end = min(end, seen.phases.let_down)
    every = seen.readings.interval(start, end)
    if every is None or every > FAST + 0.5:
        told = "no reading" if every is None else f"a reading every {every:.0f} s"
        words = f"{told}: 10 s or faster is needed, the pressure falls in seconds"
        return not_assessed(name, "pressure", PRACTICE, words)
    inside = (seen.readings.seconds >= start) & (seen.readings.seconds <= end)
    values = gauge.values[inside & np.isfinite(gauge.values)]
    if not values.size:
        return not_assessed(name, "pressure", PRACTICE, "the pressure was not read")
    note = f"logged every {every:.0f} s"
    return at_least(name, float(values.min()), limit, "pressure", PRACTICE, note)


def _let_down(seen: Evidence) -> Check:
    """The warmest wall in the ten minutes before let-down, against the sheet's limit."""
    name = "warmest wall at let-down"
    limit = sheet_number(seen.sheet, "steam.letdown")
    source = LIMIT
    if limit is None:
        return not_assessed(name, "temperature", source, "the work sheet has no limit")
    figure = seen.sheet.figure("steam.letdown")
    source = figure.source if figure is not None else source
    at = seen.phases.let_down
    if at is None:
        return not_assessed(name, "temperature", source, "the log does not show the let-down")
    if not seen.readings.all_of(*WALLS):
        words = "no sensor reads the wall; air temperature is not wall temperature"
        return not_assessed(name, "temperature", source, words)
    warm = seen.readings.warmest_wall()
    inside = (seen.readings.seconds >= at - SOAK) & (seen.readings.seconds <= at)
    values = warm[inside & np.isfinite(warm)]
    if not values.size:
        return not_assessed(name, "temperature", source, "no wall was read in the last 10 min")
    note = "warmest reading of the last 10 min before pressure was let down"
    return at_most(name, float(values.max()), limit, "temperature", source, note)


def _gaps(seen: Evidence) -> Check:
    name = "longest gap in the log while steam flowed"
    span = steam_span(seen.readings, seen.phases)
    longest = None if span is None else seen.readings.interval(*span)
    if longest is None:
        return not_assessed(name, "time", PRACTICE, "the log shows no steam")
    return at_most(name, longest, 120.0, "time", PRACTICE)


# ---------------------------------------------------------------- downgrades


def downgraded(
    checks: Sequence[Check],
    channels: Sequence[Channel],
    gauges: Mapping[str, dt.date | None],
    day: dt.date,
) -> tuple[Check, ...]:
    """Nothing counts as met that rests on an instrument whose calibration had run out."""
    late = []
    for channel in channels:
        due = channel.calibration_due or gauges.get(channel.instrument)
        if due is not None and due < day:
            late.append(f"{channel.name} (due {due.isoformat()})")
    if not late:
        return tuple(checks)
    words = f"calibration had run out: {', '.join(late)}"
    return tuple(_open(one, words) if one.outcome is Outcome.MET else one for one in checks)


def shut_out(checks: Sequence[Check], findings: Sequence[LogFinding]) -> tuple[Check, ...]:
    """No check is assessed on a log that can't be believed as a whole."""
    grave = [one.words for one in findings if one.grave and one.key in SHUTS_OUT]
    if not grave:
        return tuple(checks)
    return tuple(_open(one, grave[0]) for one in checks)


def _open(check: Check, words: str) -> Check:
    note = f"{words}; {check.note}" if check.note else words
    return replace(check, outcome=Outcome.NOT_ASSESSED, note=note)
