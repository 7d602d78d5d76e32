"""Shift sheets and the call-off list as PDF (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from drainwright.errors import NotFoundError
from drainwright.operations.schedule import current_plan, material_call_off, planned_sheets
from drainwright.papers.call_off import call_off_pdf, call_off_texts
from drainwright.papers.sheet_head import Issue
from drainwright.papers.shift_sheet import ShiftFacts, shift_sheet_pdf
from drainwright.records.crew import Crew
from drainwright.records.premises import Premises
from drainwright.records.project import Project
from drainwright.records.shift_plan import Shift, ShiftPlan
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession, RecordStore


@dataclass(frozen=True, slots=True)
class CallOffLine:
    """One material of the call-off, as texts in the project's units."""

    texts: tuple[str, ...]
    laterals: tuple[str, ...]
    order: bool
    late: bool


def shift_sheets(
    store: RecordStore, project: str, *, by: str, at: dt.datetime,
    day: dt.date | None = None, crew: str = "",
) -> Iterator[tuple[str, bytes]]:  # fmt: skip
    """Name and PDF of each shift sheet, of one day or crew where named.

    `NotFoundError` where there is no plan, or no such shift in it.
    """
    with store.read() as session:
        plan, revision = _plan(session, project)
        about = session.get(project, Project, project).record
        shifts = [
            one for one in plan.shifts if (day is None or one.day == day) and crew in ("", one.crew)
        ]
        if not shifts:
            raise NotFoundError("the shift plan has no such shift")
        sheets = planned_sheets(session, project, plan)
        crews = {one.key: one.record for one in session.every(project, Crew)}
        facts = [
            ShiftFacts(one, crews.get(one.crew), sheets, _premises(session, project, one, sheets))
            for one in shifts
        ]
    issue = Issue(revision, plan.issued_at or at, plan.issued_by or by)
    yield from (
        (f"shift sheet {one.shift.day} {one.shift.crew}", shift_sheet_pdf(about, one, issue))
        for one in facts
    )


def _plan(session: ReadSession, project: str) -> tuple[ShiftPlan, int]:
    issued = current_plan(session, project)
    if issued.plan is None:
        raise NotFoundError("there is no shift plan yet")
    return issued.plan, issued.revision


def _premises(
    session: ReadSession, project: str, shift: Shift, sheets: Mapping[str, tuple[WorkSheet, int]]
) -> Mapping[str, tuple[Premises, ...]]:
    found = {}
    for key in shift.laterals:
        named = sheets[key][0].lateral.premises
        found[key] = tuple(session.get(project, Premises, one).record for one in named)
    return found


def call_off_lines(store: RecordStore, project: str) -> tuple[CallOffLine, ...]:
    """The call-off of the plan in force, as texts; nothing without a plan."""
    with store.read() as session:
        issued = current_plan(session, project)
        if issued.plan is None:
            return ()
        lines = material_call_off(session, project, issued.plan)
        system = session.get(project, Project, project).record.units
    made = issued.plan.issued_at
    today = made.date() if made else None
    return tuple(
        CallOffLine(
            call_off_texts(one, system), one.laterals, one.to_order > 0,
            today is not None and one.order_by is not None and one.order_by < today,
        )
        for one in lines
    )  # fmt: skip


def call_off_sheet(store: RecordStore, project: str, *, by: str, at: dt.datetime) -> bytes:
    """The call-off list as PDF; `NotFoundError` where there is no plan."""
    with store.read() as session:
        plan, revision = _plan(session, project)
        lines = material_call_off(session, project, plan)
        about = session.get(project, Project, project).record
    return call_off_pdf(about, lines, Issue(revision, at, by), at.date())
