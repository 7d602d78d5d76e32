"""Everything that runs against the clock on one lateral: resin, residents, main, steam, cooling."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi

from drainwright.planning.field_clock import (
    AT_TAP,
    STEAM_ON,
    ClockRules,
    clock_rules,
    resin_clock,
)
from drainwright.records.attempt import Attempt
from drainwright.records.field_entry import EntryKind, FieldEvent
from drainwright.records.work_sheet import WorkSheet

EXHAUST, SHUT, SOAK, LET_DOWN = "exhaust_steady", "steam_shut", "soak_back", "let_down"
WATER_OFF, RESTORED = "flow_control", "restored"


@dataclass(frozen=True, slots=True)
class Deadline:
    """Something that must, or may, happen at an instant in UTC."""

    key: str
    words: str
    at: dt.datetime
    since: dt.datetime
    """When its clock began."""


@dataclass(frozen=True, slots=True)
class StepTimes:
    """Durations that clocks beside the resin's go by [s]; None where there is none."""

    trouble: float | None
    after_exhaust: float | None
    hold: float | None
    cool: float | None
    soak_back: float
    service_out: float
    """Residents without service, at most."""
    plugged: float | None
    """How long the main's own volume holds its flow."""


def step_times(sheet: WorkSheet) -> StepTimes:
    """The durations of a work sheet: steam, cooling, residents, main."""

    def value(key: str) -> float | None:
        found = sheet.figure(key)
        return found.value if found is not None and isinstance(found.value, float) else None

    return StepTimes(
        value("steam.trouble"),
        value("steam.after_exhaust"),
        value("steam.hold"),
        value("steam.cool"),
        sheet.specification.value("soak_back"),
        sheet.specification.value("service_out_most"),
        _plugged(sheet),
    )


def _plugged(sheet: WorkSheet) -> float | None:
    """Volume of the main segment over the flow in it; nothing is counted above the pipe."""
    flow, length = sheet.specification.value("main_flow"), sheet.segment.length
    if not length or flow <= 0:
        return None
    return pi / 4 * sheet.segment.bore**2 * length / flow


def deadlines(
    sheet: WorkSheet, events: Sequence[FieldEvent], now: dt.datetime
) -> tuple[Deadline, ...]:
    """What runs for one attempt at `now`, the resin first."""
    given = [one for one in events if one.at <= now]
    if not given or any(one.kind is EntryKind.END for one in given):
        return ()
    attempt = Attempt("", 1, tuple(given))
    times = step_times(sheet)
    lives = sheet.resin is not None and bool(sheet.resin.gel_times)
    return (
        *(_resin(clock_rules(sheet), given, attempt, now) if lives else ()),
        *_steam(times, attempt),
        *_people(times, attempt),
    )


def _resin(
    rules: ClockRules, events: Sequence[FieldEvent], attempt: Attempt, now: dt.datetime
) -> Iterator[Deadline]:
    clock, mixed = resin_clock(rules, events, now), attempt.time_of("mixed")
    if clock is None or mixed is None:
        return
    for key, words, at in (
        ("off_ice", "off the ice by", clock.off_ice),
        ("at_tap", "at the tap by", clock.at_tap if attempt.time_of(AT_TAP) is None else None),
        ("seated", "seated by", clock.seated),
        ("pull_out", "pull out by", clock.pull_out),
        ("gels", "gels, where it is, at", clock.gels),
    ):
        if at is not None:
            yield Deadline(key, words, at, mixed)


def _steam(times: StepTimes, attempt: Attempt) -> Iterator[Deadline]:
    on, steady = attempt.time_of(STEAM_ON), attempt.time_of(EXHAUST)
    shut, soak = attempt.time_of(SHUT), attempt.time_of(SOAK)
    if on and not steady and not shut and times.trouble is not None:
        yield _after("steam_trouble", "exhaust at temperature by", on, times.trouble)
    if on and not shut and times.hold is not None:
        until = _after("steam_until", "steam on until", on, times.hold)
        if steady and times.after_exhaust is not None:
            later = _after("steam_until", "steam on until", steady, times.after_exhaust)
            until = max(until, later, key=lambda one: one.at)
        yield until
    if shut and not soak and times.cool is not None:
        yield _after("cool_until", "cooling air until", shut, times.cool)
    if soak and not attempt.time_of(LET_DOWN):
        yield _after("let_down", "let down not before", soak, times.soak_back)


def _people(times: StepTimes, attempt: Attempt) -> Iterator[Deadline]:
    off = attempt.time_of(WATER_OFF)
    if off is None or attempt.time_of(RESTORED) is not None:
        return
    yield _after("water_back", "water back by", off, times.service_out)
    if times.plugged is not None and attempt.word("bypass") != "yes":
        yield _after("main", "main full by", off, times.plugged)


def _after(key: str, words: str, since: dt.datetime, seconds: float) -> Deadline:
    return Deadline(key, words, since + dt.timedelta(seconds=seconds), since)


def doubled(attempt: Attempt, devices: dict[str, str]) -> dict[str, tuple[FieldEvent, ...]]:
    """Steps that more than one device entered for the same attempt: two crews on one step.

    `devices` gives the device of an entry by its id. Nothing is overwritten: a person settles it
    with an entry that corrects one of them.
    """
    found: dict[str, list[FieldEvent]] = {}
    for event in attempt.events:
        if event.kind is EntryKind.STEP and not event.corrects:
            found.setdefault(event.step, []).append(event)
    return {
        step: tuple(events)
        for step, events in found.items()
        if len({devices.get(one.id, "") for one in events}) > 1
    }
