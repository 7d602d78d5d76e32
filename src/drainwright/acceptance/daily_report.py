"""The day as the journal tells it: each attempt that was worked on, step by step, as typed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.field_entry import EntryKind, EntryOrigin, FieldEvent
from drainwright.records.field_step import START_STEPS

LOTS = ("lot_a", "lot_b", "tube_lot", "collar_lot", "seal_lot")
"""Words that name a lot."""
_CALLED = {reading.name: reading.words for step in START_STEPS for reading in step.readings}


@dataclass(frozen=True, slots=True)
class DayLine:
    """One thing that was done, read or said; `at` in UTC."""

    at: dt.datetime
    words: str
    typed: str
    by: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class LateralDay:
    """One attempt on one day."""

    lateral: str
    attempt: int
    crew: tuple[str, ...]
    steps: tuple[DayLine, ...]
    skipped: tuple[DayLine, ...]
    refused: tuple[DayLine, ...]
    """Go/no-go lines answered with no, and a release against them."""
    kept: tuple[DayLine, ...]
    """Readings outside their window that a person kept, with initials and reason."""
    remarks: tuple[DayLine, ...]
    """Alarms acknowledged and remarks."""
    readings: int
    pressure: tuple[float, float] | None
    """Least and greatest tube pressure read under a window of inversion, steam or cooling."""
    lots: tuple[tuple[str, str], ...]
    photos: int
    corrected: int
    from_paper: int
    ending: FieldEvent | None


@dataclass(frozen=True, slots=True)
class DailyReport:
    """A day's work of a project."""

    day: dt.date
    laterals: tuple[LateralDay, ...]


def day_of(
    events: Iterable[FieldEvent], day: dt.date, zone: str, steps: Mapping[str, str]
) -> DailyReport:
    """What was entered on a day of the project's zone; `steps` are the steps' words by key.

    An attempt past midnight stands in the report of both days, each with its own entries.
    """
    local = ZoneInfo(zone)
    found = []
    for attempts in attempts_of(events).values():
        for attempt in attempts:
            today = [one for one in attempt.events if one.at.astimezone(local).date() == day]
            if today:
                found.append(_lateral(attempt, today, steps, day, local))
    return DailyReport(day, tuple(sorted(found, key=lambda one: (one.lateral, one.attempt))))


def _lateral(
    attempt: Attempt,
    today: Sequence[FieldEvent],
    steps: Mapping[str, str],
    day: dt.date,
    local: ZoneInfo,
) -> LateralDay:
    def of(*kinds: EntryKind) -> list[FieldEvent]:
        return [one for one in today if one.kind in kinds]

    said = of(EntryKind.ALARM, EntryKind.REMARK)
    pressures = [value for one in today if (value := one.value("tube_pressure")) is not None]
    crew = dict.fromkeys(name for one in today for name in (one.entered_by, one.read_by) if name)
    return LateralDay(
        attempt.lateral,
        attempt.number,
        tuple(crew),
        tuple(_line(one, steps.get(one.step, one.step)) for one in of(EntryKind.STEP)),
        tuple(_line(one, steps.get(one.step, one.step)) for one in of(EntryKind.SKIP)),
        tuple(_refused(of(EntryKind.CHECK, EntryKind.RELEASE))),
        tuple(_line(one, one.question) for one in of(EntryKind.KEPT)),
        tuple(_line(one, one.question or "remark") for one in said),
        len(of(EntryKind.READING)),
        (min(pressures), max(pressures)) if pressures else None,
        tuple((name, attempt.word(name)) for name in LOTS if attempt.word(name)),
        len(of(EntryKind.PHOTO)),
        sum(one.at.astimezone(local).date() == day for one in attempt.corrected),
        sum(one.origin is EntryOrigin.PAPER for one in today),
        next(iter(reversed(of(EntryKind.END))), None),
    )


def _refused(events: Sequence[FieldEvent]) -> Iterator[DayLine]:
    """The last answer to each line where it is no, and releases that gave a reason."""
    last = {one.question: one for one in events if one.kind is EntryKind.CHECK}
    yield from (_line(one, one.question) for one in last.values() if one.answer == "no")
    for one in events:
        if one.kind is EntryKind.RELEASE and one.reason:
            yield _line(one, "mixing released all the same")


def _line(event: FieldEvent, words: str) -> DayLine:
    typed = [f"{_called(value.name, words)}{value.typed}" for value in event.values]
    typed += [
        f"{_called(name, words)}{text}"
        for name, text in event.words
        if name not in {*LOTS, "alarm", "clock_off"}
    ]
    by = " / ".join(dict.fromkeys(name for name in (event.entered_by, event.read_by) if name))
    note = " ".join(part for part in (event.reason, event.initials) if part)
    if event.origin is EntryOrigin.PAPER:
        note = f"{note} (from paper)".strip()
    return DayLine(event.at, words, "; ".join(typed), by, note)


def _called(name: str, line: str) -> str:
    """What a reading is called, unless its line says so: nobody guesses which pressure it is."""
    words = _CALLED.get(name, name.replace("_", " "))
    return "" if words.lower() in line.lower() else f"{words[:1].lower()}{words[1:]} "
