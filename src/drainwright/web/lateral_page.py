"""The page of one lateral: the profile, and everything that was worked out below it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response

from drainwright.operations.list_project import MARKS, STAGES
from drainwright.operations.open_lateral import OpenLateral, open_lateral
from drainwright.operations.print_papers import OF_A_LATERAL
from drainwright.operations.show_columns import (
    ShownSheet,
    ShownSource,
    shown_source,
)
from drainwright.records.work_sheet import Reason
from drainwright.units import show
from drainwright.web.desk import Desk


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


def routes(desk: Desk) -> APIRouter:
    """The route of a lateral's page."""
    router = APIRouter(include_in_schema=False)

    @router.get("/laterals/{key:path}")
    def lateral(key: str) -> Response:
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
                papers=OF_A_LATERAL if sheet else (),
            )
        )

    return router


def _line(reason: Reason, desk: Desk) -> ReasonLine:
    at = "" if reason.distance is None else show(reason.distance, "length", desk.system).text
    return ReasonLine(
        reason.outcome.value, MARKS[reason.outcome.value], at, reason.words, reason.work,
        reason.rule, reason.observation, shown_source(reason.source),
    )  # fmt: skip
