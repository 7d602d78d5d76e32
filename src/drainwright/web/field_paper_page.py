"""The hand form typed in from paper, and the daily report."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar
from urllib.parse import quote

from fastapi import APIRouter, Depends, Response
from starlette.responses import RedirectResponse

from drainwright.errors import Fault, InputError
from drainwright.operations.daily_report import daily_report_paper
from drainwright.operations.enter_from_paper import (
    PaperEnd,
    PaperForm,
    PaperLine,
    enter_from_paper,
)
from drainwright.operations.field_plan import field_plan
from drainwright.units import fault_texts
from drainwright.web.desk import Desk
from drainwright.web.field_page import new_id
from drainwright.web.forms import SentForm, sent_form

ROWS = 14
"""Lines of readings on the form, as on paper."""
READINGS = (
    ("cable", "cable"),
    ("tube_pressure", "tube"),
    ("bladder_pressure", "bladder"),
    ("gas_temperature", "gas in"),
    ("exhaust_temperature", "exhaust"),
    ("wall_top", "wall top"),
    ("wall_bottom", "wall bottom"),
)


@dataclass(frozen=True, slots=True)
class PaperPage:
    """The form to type in what stands on paper; `given` is what was typed before a fault."""

    template: ClassVar[str] = "field_paper.html"
    key: str
    plan: Mapping[str, Any]
    given: Mapping[str, str]
    faults: tuple[str, ...]
    stored: int
    units: Mapping[str, str]
    readings: tuple[tuple[str, str], ...] = READINGS
    rows: int = ROWS


def routes(desk: Desk) -> APIRouter:
    """The routes; they stand before the page of any lateral."""
    router = APIRouter(prefix="/field", include_in_schema=False)

    @router.get("/-/day")
    def day(date: str = "") -> Response:
        wanted = _day(date, "date") if date else desk.today
        content = daily_report_paper(desk.store, desk.project, wanted, by="", at=desk.now())
        name = quote(f"daily report {wanted.isoformat()}.pdf")
        headers = {"Content-Disposition": f"inline; filename*=UTF-8''{name}"}
        return Response(content, media_type="application/pdf", headers=headers)

    @router.get("/{key:path}/paper")
    def blank(key: str, stored: int = 0) -> Response:
        given = {"day": desk.today.isoformat(), "attempt": "1"}
        plan = field_plan(desk.store, desk.project, key)
        return desk.page(_page(key, plan, given, (), stored))

    @router.post("/{key:path}/paper")
    def typed(key: str, sent: Annotated[SentForm, Depends(sent_form)]) -> Response:
        given = {name: sent.one(name) for name in sent.fields}
        plan = field_plan(desk.store, desk.project, key)
        try:
            form = read_form(key, given, [step["key"] for step in plan["steps"]])
            stored = enter_from_paper(
                desk.store, desk.project, form, by=form.entered_by, at=desk.now(), make_id=new_id
            )
        except InputError as error:
            told = tuple(fault_texts(error.faults, desk.system))
            return desk.page(_page(key, plan, given, told), 422)
        return RedirectResponse(f"/field/{quote(key, safe='')}/paper?stored={stored}", 303)

    return router


def _page(
    key: str,
    plan: Mapping[str, Any],
    given: Mapping[str, str],
    faults: tuple[str, ...],
    stored: int = 0,
) -> PaperPage:
    asked = [one for step in plan["steps"] for one in step["readings"] if one["kind"]]
    units = {one["name"]: plan["kinds"][one["kind"]]["shown"] for one in asked}
    return PaperPage(key, plan, given, faults, stored, units)


def read_form(key: str, given: Mapping[str, str], steps: list[str]) -> PaperForm:
    """The form's fields as typed; `InputError` for a day or an attempt that is none."""
    lines = [line for step in steps if (line := _step(step, given))]
    lines += [line for row in range(ROWS) if (line := _reading(row, given))]
    attempt = given.get("attempt", "")
    if not attempt.isdecimal():
        raise InputError(Fault("attempt", f"“{attempt}” is not a number", attempt))
    end = PaperEnd(
        *(given.get(f"end {name}", "") for name in (
            "answer", "clock", "cause", "material_lost", "left", "payer", "hours",
        ))
    )  # fmt: skip
    return PaperForm(
        key, int(attempt), _day(given.get("day", ""), "day"), given.get("read_by", "").strip(),
        given.get("entered_by", "").strip(), tuple(lines), end,
    )  # fmt: skip


def _step(step: str, given: Mapping[str, str]) -> PaperLine | None:
    clock = given.get(f"time {step}", "").strip()
    start = f"value {step} "
    typed = {name[len(start) :]: text for name, text in given.items() if name.startswith(start)}
    if not clock and not any(text.strip() for text in typed.values()):
        return None
    return PaperLine(step, clock, given.get(f"initials {step}", "").strip(), typed)


def _reading(row: int, given: Mapping[str, str]) -> PaperLine | None:
    typed = {name: given.get(f"row {row} {name}", "") for name, _ in READINGS}
    clock, remark = (given.get(f"row {row} {name}", "").strip() for name in ("time", "remark"))
    if not clock and not remark and not any(text.strip() for text in typed.values()):
        return None
    return PaperLine("", clock, "", typed, remark, reading=True)


def _day(text: str, name: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise InputError(Fault(name, f"“{text}” is not a day such as 2026-11-19", text)) from error
