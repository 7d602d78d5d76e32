"""The schedule: a day strip for each crew, who waits on whom, call-off; as a page and as JSON."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Body, Depends, Request, Response
from starlette.responses import RedirectResponse

from drainwright.errors import Fault, InputError
from drainwright.operations import schedule
from drainwright.operations.shift_papers import (
    CallOffLine,
    call_off_lines,
    call_off_sheet,
    shift_sheets,
)
from drainwright.operations.shift_words import ShiftStrip, proof_words, shift_strips
from drainwright.records.shift_plan import SetUp, Shift, ShiftPlan, Turn
from drainwright.web.api_problem import ERRORS
from drainwright.web.desk import Desk, lateral_address
from drainwright.web.forms import LONGEST_NAME, SentForm, keep_name, name_of, sent_form, signed
from drainwright.web.papers_page import download

Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class SchedulePage:
    """What the schedule shows."""

    template: ClassVar[str] = "schedule.html"
    plan: ShiftPlan | None
    revision: int
    proof: str
    strips: tuple[ShiftStrip, ...]
    calloff: tuple[CallOffLine, ...]
    first: dt.date
    until: dt.date
    by: str


@dataclass(frozen=True, slots=True)
class TurnBody:
    """One lateral on one day; times of day on the project's clock, as 07:45."""

    lateral: str
    crew: str
    day: dt.date
    segment: str
    rig: str
    set_up: str
    ready: str
    look: str
    mix: str
    load: str
    steam_on: str
    steam_off: str
    restored: str
    off_by: str
    bypass: bool
    batch: int
    condition: str


@dataclass(frozen=True, slots=True)
class LeftOutBody:
    """A lateral without a day: the rule, and whom it waits on."""

    lateral: str
    rule: str
    words: str
    waits: list[str]


@dataclass(frozen=True, slots=True)
class ScheduleBody:
    """The shift plan in force; revision 0 where there is none."""

    revision: int
    proof: str
    optimal: bool
    turns: list[TurnBody]
    left_out: list[LeftOutBody]


@dataclass(frozen=True, slots=True)
class DaysBody:
    """Which days to plan, who does it and why."""

    first: dt.date
    by: str
    reason: str
    until: dt.date | None = None
    frozen_until: dt.date | None = None


def routes(desk: Desk) -> APIRouter:
    """The page, its forms and files."""
    router = APIRouter(include_in_schema=False)
    key = desk.project.key

    @router.get("/schedule")
    def page(request: Request) -> Response:
        return desk.page(_page(desk, name_of(request)))

    @router.post("/schedule/crews")
    def crews(sent: Sent) -> Response:
        file = sent.file("file")
        if file is None:
            raise InputError(Fault("file", "choose the file of crews"))
        who = signed(sent)
        schedule.take_crews(
            desk.store, key, file.content, file.name, by=who.by, at=desk.now(), reason=who.reason
        )
        return _back(who.by)

    @router.get("/schedule/crews.toml")
    def example() -> Response:
        return download(schedule.shift_example().encode(), "text/plain", "crews.toml")

    @router.post("/schedule/plan")
    def plan(sent: Sent) -> Response:
        who = signed(sent)
        first, until = _day(sent, "first"), _day(sent, "until")
        frozen = _day(sent, "frozen") if sent.one("frozen") else None
        days = schedule.Days(first, until, frozen)
        schedule.make_schedule(desk.store, key, days, by=who.by, at=desk.now(), reason=who.reason)
        return _back(who.by)

    @router.get("/schedule/sheets/{day}/{crew}.pdf")
    def sheet(day: dt.date, crew: str) -> Response:
        made = shift_sheets(desk.store, key, day=day, crew=crew, by="", at=desk.now())
        name, content = next(iter(made))
        return download(content, "application/pdf", f"{name}.pdf")

    @router.get("/schedule/call-off.pdf")
    def calloff() -> Response:
        content = call_off_sheet(desk.store, key, by="", at=desk.now())
        return download(content, "application/pdf", "material call-off.pdf")

    return router


def api_routes(desk: Desk) -> APIRouter:
    """The same as JSON."""
    router = APIRouter(prefix="/api", tags=["schedule"], responses=ERRORS)

    @router.get("/schedule", summary="The shift plan in force")
    def show() -> ScheduleBody:
        return _body(schedule.show_schedule(desk.store, desk.project.key))

    @router.post("/schedule", summary="Plan the shifts and issue the plan")
    def plan(asked: Annotated[DaysBody, Body()]) -> ScheduleBody:
        given = (("by", asked.by.strip()), ("reason", asked.reason.strip()))
        faults = [Fault(name, "must not be empty") for name, value in given if not value]
        if len(asked.by) > LONGEST_NAME:
            faults.append(Fault("by", f"is longer than {LONGEST_NAME} letters"))
        if faults:
            raise InputError(*faults)
        days = schedule.Days(
            asked.first, asked.until or schedule.usual_end(asked.first), asked.frozen_until
        )
        issued = schedule.make_schedule(
            desk.store, desk.project.key, days, by=asked.by, at=desk.now(), reason=asked.reason
        )
        return _body(issued)

    return router


def _body(issued: schedule.Issued) -> ScheduleBody:
    plan = issued.plan
    if plan is None:
        return ScheduleBody(0, "", optimal=False, turns=[], left_out=[])
    left = [LeftOutBody(o.lateral, o.rule, o.words, list(o.waits)) for o in plan.left_out]
    turns = [_turn(*found) for found in plan.turns()]
    return ScheduleBody(issued.revision, proof_words(plan.proof), plan.proof.optimal, turns, left)


def _turn(shift: Shift, stay: SetUp, turn: Turn) -> TurnBody:
    return TurnBody(
        turn.lateral, shift.crew, shift.day, stay.segment, stay.rig, _clock(stay.start),
        _clock(stay.ready), _clock(turn.look), _clock(turn.mix), _clock(turn.load),
        _clock(turn.steam_on), _clock(turn.steam_off), _clock(turn.restored),
        _clock(stay.end), stay.bypass, turn.batch, turn.condition,
    )  # fmt: skip


def _clock(at: dt.time) -> str:
    return f"{at:%H:%M}"


def _page(desk: Desk, by: str) -> SchedulePage:
    issued = schedule.show_schedule(desk.store, desk.project.key)
    first = desk.today + dt.timedelta(days=1)
    if issued.plan is None:
        return SchedulePage(None, 0, "", (), (), first, schedule.usual_end(first), by)
    return SchedulePage(
        issued.plan, issued.revision, proof_words(issued.plan.proof),
        shift_strips(issued.plan, desk.today, lateral_address),
        call_off_lines(desk.store, desk.project.key), first, schedule.usual_end(first), by,
    )  # fmt: skip


def _back(by: str) -> Response:
    answer = RedirectResponse("/schedule", 303)
    keep_name(answer, by)
    return answer


def _day(sent: SentForm, name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(sent.one(name))
    except ValueError as error:
        raise InputError(Fault(name, "is not a day such as 2026-11-30", sent.one(name))) from error
