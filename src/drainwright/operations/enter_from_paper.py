"""Type in the hand form of a lateral: entries marked “from paper” (write)."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.operations.field_plan import steps_of
from drainwright.operations.own_entries import MakeId, append_own, own_device
from drainwright.operations.stores import OpenStore
from drainwright.records.field_entry import (
    AttemptEnd,
    EntryKind,
    EntryOrigin,
    FieldEvent,
    FieldValue,
)
from drainwright.records.field_step import FieldStep
from drainwright.records.project import Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import kind_unit, parse_in, unit_text

_CLOCK = re.compile(r"^(\d{1,2})[:.h ]?(\d{2})$")
_HALF_DAY = dt.timedelta(hours=12)
END_KINDS = {"crew_time": "time"}


@dataclass(frozen=True, slots=True)
class PaperLine:
    """A line of the form: a step, or a reading at a time; everything as written."""

    step: str
    """Key of the step; “” for a reading."""
    clock: str
    initials: str = ""
    typed: Mapping[str, str] | None = None
    remark: str = ""
    reading: bool = False
    """A line of the table of readings, not the step itself; its step is the one done last."""


@dataclass(frozen=True, slots=True)
class PaperEnd:
    """How the attempt ended, as ticked and written."""

    answer: str = ""
    clock: str = ""
    cause: str = ""
    material_lost: str = ""
    left: str = ""
    payer: str = ""
    hours: str = ""


@dataclass(frozen=True, slots=True)
class PaperForm:
    """A form for hand entry, as filled in."""

    lateral: str
    attempt: int
    day: dt.date
    read_by: str
    entered_by: str
    lines: tuple[PaperLine, ...]
    end: PaperEnd = PaperEnd()


def enter_from_paper(
    store: OpenStore,
    project: Project,
    form: PaperForm,
    *,
    by: str,
    at: dt.datetime,
    make_id: MakeId,
) -> int:
    """Store what a hand form says as entries of this store's own; return how many.

    A clock time more than 12 h before the one above it is of the next day. Raises `InputError`
    with every line that can't be read; then nothing is stored.
    """
    with store.write(by=by, at=at, origin="paper", reason="typed in from paper") as session:
        revision = session.revision_of(project.key, WorkSheet, form.lateral)
        steps = {step.key: step for step in steps_of(session, project.key)}
        events = list(_events(project, form, steps))
        if not events:
            raise InputError(Fault("form", "nothing is filled in"))
        marked = [replace(one, sheet_revision=revision) for one in events]
        device = own_device(store.location)
        return len(append_own(session, project.key, device, marked, (at, make_id)))


def _events(
    project: Project, form: PaperForm, steps: Mapping[str, FieldStep]
) -> Iterator[FieldEvent]:
    faults = [
        Fault(name, "is missing")
        for name, text in (("entered_by", form.entered_by), ("read_by", form.read_by))
        if not text.strip()
    ]
    if form.attempt < 1:
        faults.append(Fault("attempt", "counts from 1", form.attempt))
    done = [line for line in form.lines if not line.reading]
    made = _in_order(project, form, steps, done, faults)
    made += _in_order(
        project, form, steps, [line for line in form.lines if line.reading], faults, tuple(made)
    )
    made += _ending(project, form, made, faults)
    raise_if_any(faults)
    yield from sorted(made, key=lambda one: one.at)


def _in_order(
    project: Project,
    form: PaperForm,
    steps: Mapping[str, FieldStep],
    lines: Sequence[PaperLine],
    faults: list[Fault],
    before: Sequence[FieldEvent] = (),
) -> list[FieldEvent]:
    made: list[FieldEvent] = []
    last = before[0].at if before else None
    for line in lines:
        step = steps.get(line.step)
        name = step.words if step else line.step or f"reading at {line.clock}"
        if step is None and not line.reading:
            faults.append(Fault("step", f"“{line.step}” is not a step of this project"))
            continue
        at = _instant(project, form.day, line.clock, last, name, faults)
        values, words = _read(project, steps, step, line, name, faults)
        if at is None:
            continue
        last = at
        key = line.step or next((one.step for one in reversed(before) if one.at <= at), "")
        made.append(
            FieldEvent(
                EntryKind.READING if line.reading else EntryKind.STEP, form.lateral, at,
                form.entered_by, form.attempt, key, form.read_by, values, words,
                reason=line.remark, initials=line.initials, origin=EntryOrigin.PAPER,
            )
        )  # fmt: skip
    return made


def _instant(
    project: Project,
    day: dt.date,
    clock: str,
    last: dt.datetime | None,
    name: str,
    faults: list[Fault],
) -> dt.datetime | None:
    """A clock time of the form's day, or of the next one past midnight, in UTC."""
    match = _CLOCK.match(clock.strip())
    hour, minute = (int(part) for part in match.groups()) if match else (24, 0)
    if hour > 23 or minute > 59:
        faults.append(Fault(name, f"“{clock}” is not a clock time such as 09:42"))
        return None
    local = dt.datetime.combine(day, dt.time(hour, minute), ZoneInfo(project.zone))
    at = local.astimezone(dt.UTC)
    while last is not None and last - at > _HALF_DAY:
        local += dt.timedelta(days=1)  # the same clock time of the next day
        at = local.astimezone(dt.UTC)
    return at


def _read(
    project: Project,
    steps: Mapping[str, FieldStep],
    step: FieldStep | None,
    line: PaperLine,
    name: str,
    faults: list[Fault],
) -> tuple[tuple[FieldValue, ...], tuple[tuple[str, str], ...]]:
    every = {one.name: one for other in steps.values() for one in other.readings}
    asked = every | {one.name: one for one in (step.readings if step else ())}
    values: list[FieldValue] = []
    words: list[tuple[str, str]] = []
    for key, text in (line.typed or {}).items():
        if not text.strip():
            continue
        if key not in asked:
            faults.append(Fault(key, f"is not a reading of “{name}”"))
            continue
        kind = asked[key].kind
        if not kind:
            words.append((key, text.strip()))
            continue
        try:
            values.append(_value(project, key, kind, text))
        except InputError as error:
            faults += [replace(one, name=f"{name}, {asked[key].words}") for one in error.faults]
    return tuple(values), tuple(words)


def _value(project: Project, name: str, kind: str, text: str) -> FieldValue:
    unit = kind_unit(kind, project.units)
    value = parse_in(text, kind, unit, name)
    bare = re.fullmatch(r"[-+−]?[\d.,]+", text.strip()) is not None
    typed = f"{text.strip()} {unit_text(unit)}" if bare else text.strip()
    return FieldValue(name, value, kind, typed)


def _ending(
    project: Project, form: PaperForm, made: Sequence[FieldEvent], faults: list[Fault]
) -> Iterator[FieldEvent]:
    end = form.end
    if not end.answer:
        return
    if end.answer not in {one.value for one in AttemptEnd}:
        faults.append(Fault("end", f"“{end.answer}” is not an end of an attempt"))
        return
    last = max((one.at for one in made), default=None)
    at = _instant(project, form.day, end.clock, last, "end", faults)
    values: tuple[FieldValue, ...] = ()
    if end.hours.strip():
        try:
            value = parse_in(end.hours, "time", "h", "hours")
            values = (FieldValue("crew_time", value, "time", end.hours.strip()),)
        except InputError as error:
            faults += error.faults
    if end.answer != AttemptEnd.CURED and not end.cause.strip():
        faults.append(Fault("cause", "an attempt that did not cure needs its cause"))
    words = (("material_lost", end.material_lost), ("left", end.left), ("payer", end.payer))
    if at is not None:
        yield FieldEvent(
            EntryKind.END, form.lateral, at, form.entered_by, form.attempt,
            read_by=form.read_by, values=values, answer=end.answer, reason=end.cause.strip(),
            words=tuple((key, text.strip()) for key, text in words if text.strip()),
            origin=EntryOrigin.PAPER,
        )  # fmt: skip
