"""The page of one lateral: the profile, and everything that was worked out below it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import JSONResponse, RedirectResponse

from drainwright.errors import Fault, InputError
from drainwright.operations.list_project import MARKS, STAGES
from drainwright.operations.open_lateral import OpenLateral, open_lateral
from drainwright.operations.plan_laterals import plan_laterals
from drainwright.operations.print_papers import OF_A_LATERAL
from drainwright.operations.read_along import read_along
from drainwright.operations.show_columns import (
    ShownSheet,
    ShownSource,
    shown_source,
)
from drainwright.operations.what_if import DRAWS
from drainwright.records.work_sheet import Reason
from drainwright.units import show
from drainwright.web import cure_page, overlay_page, revisions_page, survey_page, what_if_page
from drainwright.web.desk import Desk, lateral_address
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form


@dataclass(frozen=True, slots=True)
class ReasonLine:
    """Why a lateral is not simply lined."""

    outcome: str
    mark: str
    at: str
    words: str
    work: str
    rule: str
    row: int | None
    source: ShownSource


@dataclass(frozen=True, slots=True)
class LateralPage:
    """What the page of one lateral shows."""

    template: ClassVar[str] = "lateral.html"
    opened: OpenLateral
    shown: ShownSheet | None
    reasons: tuple[ReasonLine, ...]
    flagged: frozenset[int]
    stages: tuple[str, ...]
    outcome_mark: str
    papers: tuple[str, ...]
    by: str
    """Who wrote last from this browser."""


def routes(desk: Desk) -> APIRouter:
    """The routes of a lateral's page, and of the sheets that belong to it."""
    router = APIRouter(include_in_schema=False)
    parts = (what_if_page, cure_page, revisions_page, survey_page, overlay_page)
    for part in parts:  # before the lateral's own route, which takes any key
        router.include_router(part.routes(desk))

    @router.get("/laterals/{key:path}/along")
    def along(key: str) -> JSONResponse:
        told = read_along(desk.store, desk.project, key, desk.today)
        return JSONResponse(
            {"names": told.names, "x": told.x, "rows": told.rows, "top": told.top,
             "bottom": told.bottom}
        )  # fmt: skip

    @router.post("/laterals/{key:path}/plan")
    def plan(key: str, form: Annotated[SentForm, Depends(sent_form)]) -> Response:
        by = form.one("by")
        if not by:
            raise InputError(Fault("your name", "say who plans"))
        plan_laterals(desk.store, desk.project.key, [key], by=by, at=desk.now(), draws=DRAWS)
        answer = RedirectResponse(lateral_address(key), 303)
        keep_name(answer, by)
        return answer

    @router.get("/laterals/{key:path}")
    def lateral(key: str, request: Request) -> Response:
        opened = open_lateral(desk.store, desk.project, key, desk.today)
        sheet = opened.sheet
        reasons = tuple(_line(reason, desk) for reason in (sheet.reasons if sheet else ()))
        return desk.page(
            LateralPage(
                opened=opened,
                shown=opened.shown,
                reasons=reasons,
                flagged=frozenset(line.row for line in reasons if line.row is not None),
                stages=STAGES,
                outcome_mark=MARKS.get(opened.outcome, "open"),
                papers=tuple(_papers(opened)),
                by=name_of(request),
            )
        )

    return router


def _papers(opened: OpenLateral) -> Iterator[str]:
    """The papers that this lateral can have."""
    if opened.shown is None:
        return
    lined = len(opened.shown.columns) > 1
    told = bool(opened.premises)
    allowed = {"mix ticket": lined, "field form": lined, "door notice": lined and told}
    allowed["survey sheet"] = bool(opened.survey)
    yield from (paper for paper in OF_A_LATERAL if allowed.get(paper, True))


def _line(reason: Reason, desk: Desk) -> ReasonLine:
    at = "" if reason.distance is None else show(reason.distance, "length", desk.system).text
    return ReasonLine(
        reason.outcome.value, MARKS[reason.outcome.value], at, reason.words, reason.work,
        reason.rule, reason.observation, shown_source(reason.source),
    )  # fmt: skip
