"""Everything the field page of one lateral needs, as one plain structure (read).

A device keeps it and works from it without network: SI numbers for its own checks, words for
the crew, and for each kind of quantity how a typed number becomes SI.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import asdict, dataclass
from typing import Any

from drainwright.errors import NotFoundError
from drainwright.operations.field_journal import noted
from drainwright.operations.stores import OpenStore
from drainwright.planning.field_checks import ratio_windows, windows_of
from drainwright.planning.field_clock import NO_GEL_TIMES, clock_rules
from drainwright.planning.field_deadlines import step_times
from drainwright.planning.trouble_cards import live_cards
from drainwright.records.attempt import attempts_of
from drainwright.records.field_entry import AttemptEnd, FieldEvent
from drainwright.records.field_step import START_STEPS, FieldStep, FieldSteps
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import ReadSession, Stored
from drainwright.units import KINDS, UnitSystem, kind_unit, scale, show, unit_text

FORM = 1
"""Number of the structure's form."""


@dataclass(frozen=True, slots=True)
class FieldLine:
    """A lateral on the list of the shift."""

    key: str
    address: str
    segment: str
    tap: str
    outcome: str
    attempt: int
    state: str
    """What was done last, or how it ended; “” before anything."""
    at: dt.datetime | None
    today: bool
    """Something was entered today, or nothing was ever entered and it can be lined."""


def field_list(store: OpenStore, project: Project, today: dt.date) -> tuple[FieldLine, ...]:
    """Planned laterals that are lined, or were begun: running ones first, then those to do."""
    with store.read() as session:
        events = [one.event for one in noted(session, project.key) if one.event]
        attempts = attempts_of(events)
        steps = {step.key: step.words for step in steps_of(session, project.key)}
        lines = []
        for stored in session.every(project.key, WorkSheet):
            sheet = stored.record
            tried = attempts.get(sheet.lateral.key, ())
            if not tried and sheet.outcome is not Fitness.LINE:
                continue
            last = tried[-1] if tried else None
            lines.append(_line(project, sheet, last.events if last else (), steps, today))
    return tuple(sorted(lines, key=lambda one: (_rank(one), one.key)))


def _line(
    project: Project,
    sheet: WorkSheet,
    events: tuple[FieldEvent, ...],
    steps: dict[str, str],
    today: dt.date,
) -> FieldLine:
    from zoneinfo import ZoneInfo

    lateral = sheet.lateral
    last = events[-1] if events else None
    ended = next((one for one in reversed(events) if one.answer in set(AttemptEnd)), None)
    done = [one for one in events if one.kind == "step"]
    state = ended.answer if ended else steps.get(done[-1].step, "") if done else ""
    zone = ZoneInfo(project.zone)
    return FieldLine(
        lateral.key,
        lateral.address,
        lateral.segment,
        show(lateral.tap_distance, "length", project.units).text,
        sheet.outcome.value,
        last.attempt if last else 0,
        state or ("begun" if events else ""),
        last.at if last else None,
        today=last is None or last.at.astimezone(zone).date() == today,
    )


def _rank(line: FieldLine) -> int:
    if not line.attempt:
        return 1
    return 0 if line.state not in set(AttemptEnd) else 2


def steps_of(session: ReadSession, project: str) -> tuple[FieldStep, ...]:
    """The project's own list of steps, else the usual one."""
    try:
        return session.get(project, FieldSteps, "steps").record.steps
    except NotFoundError:
        return START_STEPS


def field_plan(store: OpenStore, project: Project, key: str) -> dict[str, Any]:
    """The plan of the lateral `key`; `NotFoundError` where it or its work sheet is missing."""
    with store.read() as session:
        lateral = session.get(project.key, Lateral, key).record
        try:
            stored = session.get(project.key, WorkSheet, key)
        except NotFoundError as error:
            raise NotFoundError(f"“{key}” has no work sheet; plan it first") from error
        steps = steps_of(session, project.key)
    return plan_of(project, lateral, stored, steps)


def plan_of(
    project: Project, lateral: Lateral, stored: Stored[WorkSheet], steps: tuple[FieldStep, ...]
) -> dict[str, Any]:
    """The plan from a stored work sheet and the project's steps."""
    sheet, system = stored.record, project.units
    tap = show(lateral.tap_distance, "length", system).text
    clock = f", {lateral.tap_clock:g} o’clock" if lateral.tap_clock else ""
    return {
        "form": FORM,
        "project": {
            "key": project.key, "name": project.name, "zone": project.zone,
            "units": system.value,
        },
        "lateral": {"key": lateral.key, "address": lateral.address, "tap": f"tap {tap}{clock}"},
        "sheet": {
            "revision": stored.revision.number, "outcome": sheet.outcome.value,
            "issued_at": sheet.issued_at.isoformat() if sheet.issued_at else "",
            "issued_by": sheet.issued_by,
            "reasons": [f"{one.words} {one.work}".strip() for one in sheet.reasons],
        },
        "go_no_go": list(sheet.go_no_go),
        "cautions": list(sheet.cautions),
        "steps": _steps(sheet, steps, system),
        "kinds": _kinds(steps, system),
        "clock": _clock(sheet),
        "times": asdict(step_times(sheet)),
        "cable": _cable(sheet),
        "cards": [
            {"card": asdict(live.card), "numbers": [list(one) for one in live.numbers]}
            for live in live_cards(sheet, system)
        ],
        "ends": [end.value for end in AttemptEnd],
    }  # fmt: skip


def _steps(
    sheet: WorkSheet, steps: tuple[FieldStep, ...], system: UnitSystem
) -> list[dict[str, Any]]:
    windows = {(one.step, one.name): asdict(one) for one in windows_of(sheet, steps, system)}
    ratios = {one.step: asdict(one) for one in ratio_windows(sheet, steps)}
    return [
        {
            "key": step.key, "words": step.words, "caution": step.caution,
            "deadline": step.deadline.removeprefix("deadline."), "required": step.required,
            "ratio": ratios.get(step.key),
            "readings": [
                {
                    "name": asked.name, "words": asked.words, "kind": asked.kind,
                    "required": asked.required, "choices": list(asked.choices),
                    "window": windows.get((step.key, asked.name)),
                }
                for asked in step.readings
            ],
        }
        for step in steps
    ]  # fmt: skip


def _kinds(steps: tuple[FieldStep, ...], system: UnitSystem) -> dict[str, Any]:
    """How a number typed without unit becomes SI: SI = typed × factor + offset."""
    asked = {reading.kind for step in steps for reading in step.readings if reading.kind}
    return {kind: _kind(kind, system) for kind in sorted(asked | {"time", "length"})}


def _kind(kind: str, system: UnitSystem) -> dict[str, Any]:
    unit = kind_unit(kind, system)
    factor, offset = scale(unit)
    us = system is UnitSystem.US
    return {
        "unit": unit, "shown": unit_text(unit), "factor": factor, "offset": offset,
        "digits": KINDS[kind].us_digits if us else KINDS[kind].si_digits,
    }  # fmt: skip


def _clock(sheet: WorkSheet) -> dict[str, Any]:
    """The resin clock's rules, or why there is none."""
    if sheet.resin is None or not sheet.resin.gel_times:
        return {"rules": None, "why": NO_GEL_TIMES}
    return {"rules": asdict(clock_rules(sheet)), "why": ""}


def _cable(sheet: WorkSheet) -> dict[str, Any]:
    """Lined length and marks; without the half mark the front is not told from the cable."""
    figures = {key: sheet.figure(f"launch.cable_{key}") for key in ("half", "seated")}
    values = {key: one.value if one else None for key, one in figures.items()}
    told = [one.how for one in figures.values() if one is not None]
    return {**values, "how": told[0] if told else ""}
