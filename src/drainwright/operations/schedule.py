"""The shift plan of a project: crews read in, plan made and issued (write), plan shown (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from drainwright.errors import NotFoundError
from drainwright.operations.site_of import Gatherer
from drainwright.planning.shift import ShiftOrder, plan_shifts
from drainwright.planning.shift_jobs import Candidate
from drainwright.planning.stock import CallOff, call_off, material_days
from drainwright.planning.waiting import waits_by
from drainwright.records.crew import Calendar, Crew, Stock
from drainwright.records.lateral import Lateral
from drainwright.records.rig import Rig
from drainwright.records.shift_plan import NotScheduled, ShiftPlan
from drainwright.records.specification import Specification, default_specification
from drainwright.records.work_sheet import DocumentRef, Fitness, WorkSheet
from drainwright.storage.protocol import Filters, R, ReadSession, Record, RecordStore, Saved, Stage

PLAN = "shift plan"
_OPEN = (Stage.LISTED, Stage.SURVEYED, Stage.DESIGNED, Stage.SCHEDULED)


@dataclass(frozen=True, slots=True)
class Days:
    """The days to be planned; days up to `frozen_until` stay as they were issued."""

    first: dt.date
    until: dt.date
    frozen_until: dt.date | None = None


def usual_end(first: dt.date) -> dt.date:
    """Eight weeks on, or the last day there is."""
    return first + min(dt.timedelta(weeks=8), dt.date.max - first)


@dataclass(frozen=True, slots=True)
class Issued:
    """A plan with its revision, 0 where there is none yet."""

    plan: ShiftPlan | None
    revision: int


def shift_example() -> str:
    """An explained file of crews, calendar and stock to start from."""
    from drainwright.exchange.shift_file import EXAMPLE

    return EXAMPLE


def take_crews(
    store: RecordStore, project: str, data: bytes, file: str, *, by: str, at: dt.datetime,
    reason: str = "",
) -> tuple[Saved, ...]:  # fmt: skip
    """Read crews, calendar and stock into the project; `InputError` with every fault.

    Crews that the file does not name any more are withdrawn.
    """
    from drainwright.exchange.shift_file import read_shift_file

    found = read_shift_file(data, file)
    records: list[Record] = [*found.crews]
    records += [one for one in (found.calendar, found.stock) if one is not None]
    with store.write(by=by, at=at, origin=file, reason=reason) as session:
        if found.crews:
            named = {crew.key for crew in found.crews}
            gone = [one.key for one in session.every(project, Crew) if one.key not in named]
            for key in gone:
                session.withdraw(project, Crew, key, expected=None)
        return session.put_many(project, [(record, None) for record in records])


def make_schedule(
    store: RecordStore, project: str, days: Days, *, by: str, at: dt.datetime, reason: str = ""
) -> Issued:
    """Plan the shifts and issue the plan as the next revision.

    Planning holds no transaction; `ConflictError` where somebody issued a plan meanwhile.
    """
    with store.read() as session:
        order, more, refs = _order(session, project, days, at.date())
        revision = session.revision_of(project, ShiftPlan, PLAN)
    plan = plan_shifts(order)
    named = set(laterals_of(plan))
    plan = replace(
        plan,
        left_out=tuple(sorted((*plan.left_out, *more), key=lambda one: one.lateral)),
        made_from=tuple(ref for ref in refs if ref.key in named),
        issued_at=at,
        issued_by=by,
    )
    with store.write(by=by, at=at, origin="shift plan", reason=reason or "planned") as session:
        saved = session.put(project, plan, expected=revision)
    return Issued(plan, saved.revision)


def laterals_of(plan: ShiftPlan) -> Iterator[str]:
    """The laterals that have a day."""
    yield from (turn.lateral for _, _, turn in plan.turns())


def current_plan(session: ReadSession, project: str) -> Issued:
    """The plan in force."""
    try:
        found = session.get(project, ShiftPlan, PLAN)
    except NotFoundError:
        return Issued(None, 0)
    return Issued(found.record, found.revision.number)


def show_schedule(store: RecordStore, project: str) -> Issued:
    """The plan in force, for a face."""
    with store.read() as session:
        return current_plan(session, project)


def planned_sheets(
    session: ReadSession, project: str, plan: ShiftPlan
) -> Mapping[str, tuple[WorkSheet, int]]:
    """The work sheets of the planned laterals with their revisions, as they stand."""
    found = {}
    for key in dict.fromkeys(laterals_of(plan)):
        stored = session.get(project, WorkSheet, key)
        found[key] = (stored.record, stored.revision.number)
    return found


def material_call_off(session: ReadSession, project: str, plan: ShiftPlan) -> tuple[CallOff, ...]:
    """What the planned laterals that are not lined yet take, and what is to be ordered."""
    sheets = planned_sheets(session, project, plan)
    waiting = {key for key, _ in session.keys(project, Lateral, Filters(stage=Stage.SCHEDULED))}
    days = {turn.lateral: shift.day for shift, _, turn in plan.turns()}
    planned = [(days[key], sheet) for key, (sheet, _) in sheets.items() if key in waiting]
    return call_off(planned, _only(session, project, Stock))


def show_call_off(store: RecordStore, project: str) -> tuple[CallOff, ...]:
    """The call-off of the plan in force; nothing without one."""
    with store.read() as session:
        issued = current_plan(session, project)
        return () if issued.plan is None else material_call_off(session, project, issued.plan)


def _order(
    session: ReadSession, project: str, days: Days, today: dt.date
) -> tuple[ShiftOrder, list[NotScheduled], list[DocumentRef]]:
    """What is to be planned, laterals without a work sheet, and the sheets' revisions."""
    gatherer = Gatherer(session, project, today)
    open_ = {
        key: stage
        for stage in _OPEN
        for key, _ in session.keys(project, Lateral, Filters(stage=stage.value))
    }
    stored = [one for one in session.every(project, WorkSheet) if one.key in open_]
    without = sorted(open_.keys() - {one.key for one in stored})
    more = [
        NotScheduled(key, "work sheet", "It has no work sheet yet.",
                     waits_by(open_[key].value, ()) or ("office",))
        for key in without
    ]  # fmt: skip
    calendar = _only(session, project, Calendar) or Calendar()
    wished = {one.lateral: one.priority for one in calendar.wishes}
    stored.sort(key=lambda one: wished.get(one.key, 3))
    promised = {one.lateral for one in calendar.promises}
    ready = [
        one.record for one in stored if one.record.outcome is Fitness.LINE or one.key in promised
    ]
    when = material_days(ready, _only(session, project, Stock), today)
    candidates = [
        Candidate(one.record, gatherer.gather(one.key).site, *when.get(one.key, (today, "")))
        for one in stored
    ]
    crews = [one.record for one in session.every(project, Crew)]
    specification = _only(session, project, Specification) or default_specification()
    order = ShiftOrder(
        days.first, days.until, crews,
        {one.key: one.record for one in session.every(project, Rig)}, calendar, candidates,
        specification.value("day_allowance"), current_plan(session, project).plan,
        days.frozen_until, today,
    )  # fmt: skip
    refs = [DocumentRef("WorkSheet", one.key, one.revision.number) for one in stored]
    return order, more, refs


def _only(session: ReadSession, project: str, kind: type[R]) -> R | None:
    return next((one.record for one in session.every(project, kind)), None)
