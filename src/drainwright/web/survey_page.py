"""A survey typed row by row: drawn and checked while typed, stills dropped onto a distance."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import JSONResponse, RedirectResponse

from drainwright.errors import ConflictError, InputError
from drainwright.operations.enter_survey import (
    DIRECTIONS,
    METHODS,
    Draft,
    Sheet,
    draft_survey,
    kind_words,
    open_sheet,
    save_survey,
    with_bases,
)
from drainwright.operations.lateral_course import Course, course_of
from drainwright.operations.look_back import history
from drainwright.operations.overlay_surveys import SurveyName, surveys_of
from drainwright.operations.row_entry import COLUMNS, TypedRow
from drainwright.operations.stills import SentStill, keep_still, show_still
from drainwright.records.survey import SurveyPurpose
from drainwright.units import fault_texts, kind_unit, to_si
from drainwright.web.desk import Desk, lateral_address
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form, signed

_HEADER = ("date", "time", "camera", "method", "direction", "purpose", "length", "zero", "note")
_FIELDS = {"camera": "by", "note": "remark"}
"""Fields of the form whose name the grid or the signature has already."""
_BLANK_ROWS = 3
Form = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class DraftPart:
    """What was typed, drawn and checked; a part of the page."""

    template: ClassVar[str] = "survey_draft.html"
    draft: Draft
    header_faults: tuple[str, ...]
    zero: float
    per_unit: float
    """Units of the drawing per shown unit of distance."""


@dataclass(frozen=True, slots=True)
class GridRow:
    """One row of the grid: its cells, and the observation on record that it shows."""

    cells: Mapping[str, str]
    was: str


@dataclass(frozen=True, slots=True)
class SurveyPage:
    """The page of a survey in the making."""

    template: ClassVar[str] = "survey.html"
    sheet: Sheet
    header: Mapping[str, str]
    rows: tuple[GridRow, ...]
    part: DraftPart
    kinds: tuple[str, ...]
    methods: tuple[str, ...]
    directions: tuple[str, ...]
    purposes: tuple[str, ...]
    others: tuple[SurveyName, ...]
    by: str
    reason: str
    told: tuple[str, ...]
    course: Course


def routes(desk: Desk) -> APIRouter:
    """The page, its drawing, saving, and stills."""
    router = APIRouter(include_in_schema=False)
    pages = _Pages(desk)

    @router.get("/laterals/{key:path}/survey")
    def page(key: str, request: Request, survey: str = "") -> Response:
        sheet = open_sheet(desk.store, desk.project, key, survey, desk.today)
        was = tuple(str(n) for n in range(len(sheet.rows)))
        return pages.page(sheet, was if survey else ("",) * len(was), name_of(request))

    @router.post("/laterals/{key:path}/survey/draft")
    def draft(key: str, form: Form) -> Response:
        sheet, _ = pages.sheet(key, form)
        return desk.page(pages.part(sheet))

    @router.post("/laterals/{key:path}/survey/still")
    async def still(key: str, request: Request, name: str = "still") -> Response:
        from starlette.concurrency import run_in_threadpool

        sent = SentStill(key, name, await request.body())
        by = name_of(request) or "survey entry"
        kept = await run_in_threadpool(
            keep_still, desk.store, desk.project.key, sent, by=by, at=desk.now()
        )
        return JSONResponse({"sha256": kept.sha256, "name": kept.name})

    @router.get("/stills/{sha256}")
    def picture(sha256: str) -> Response:
        found = show_still(desk.store, desk.project.key, sha256)
        return Response(found.content, media_type=found.media)

    @router.post("/laterals/{key:path}/survey")
    def save(key: str, form: Form) -> Response:
        sheet, was = pages.sheet(key, form)
        by, reason = form.one("by"), form.one("reason")
        if form.one("draw"):
            return pages.page(sheet, was, by, reason=reason)
        try:
            who = signed(form)
            save_survey(
                desk.store, desk.project, sheet, by=who.by, at=desk.now(), reason=who.reason
            )
        except InputError as error:
            told = tuple(fault_texts(error.faults, desk.system))
            return pages.page(sheet, was, by, told, reason=reason, status=422)
        except ConflictError:
            told, sheet = pages.overtaken(sheet)
            return pages.page(sheet, was, by, told, reason=reason, status=409)
        answer = RedirectResponse(lateral_address(key), 303)
        keep_name(answer, who.by)
        return answer

    return router


@dataclass(frozen=True, slots=True)
class _Pages:
    """Makes the page and its part from what a form sent."""

    desk: Desk

    def sheet(self, key: str, form: SentForm) -> tuple[Sheet, tuple[str, ...]]:
        """The sheet as typed, and which observation on record each row shows."""
        columns = [form.all(name) for name in (*COLUMNS, "was")]
        count = min(len(values) for values in columns)
        cells = [dict(zip(COLUMNS, row, strict=False)) for row in zip(*columns, strict=False)]
        was = tuple(columns[-1][:count])
        header = {_FIELDS.get(name, name): form.one(name) for name in _HEADER}
        number = form.one("expected")
        sheet = Sheet(
            key, header, tuple(TypedRow(row) for row in cells), form.one("survey"),
            int(number) if number.isdecimal() else 0,
        )  # fmt: skip
        return with_bases(self.desk.store, self.desk.project, sheet, was), was

    def part(self, sheet: Sheet) -> DraftPart:
        """The drawing and the checks."""
        desk = self.desk
        draft = draft_survey(desk.store, desk.project, sheet, desk.today)
        layout = draft.drawing.layout
        unit = to_si(1.0, kind_unit("length", desk.system))
        scale = layout.distances if layout else None
        return DraftPart(
            draft,
            tuple(fault_texts(draft.faults, desk.system)),
            scale.zero if scale else 0.0,
            scale.per_unit * unit if scale else 1.0,
        )

    def page(
        self,
        sheet: Sheet,
        was: tuple[str, ...],
        by: str,
        told: tuple[str, ...] = (),
        *,
        reason: str = "",
        status: int = 200,
    ) -> Response:
        """The whole page, with blank rows at the end for those who have no script."""
        desk = self.desk
        rows = [
            GridRow({c: row.cell(c) for c in COLUMNS}, n)
            for row, n in zip(sheet.rows, was, strict=True)
        ]
        rows += [GridRow(dict.fromkeys(COLUMNS, ""), "")] * _BLANK_ROWS
        others = surveys_of(desk.store, desk.project, sheet.lateral)
        back = {field: name for name, field in _FIELDS.items()}
        return desk.page(
            SurveyPage(
                sheet=sheet,
                header={back.get(name, name): text for name, text in sheet.header.items()},
                rows=tuple(rows),
                part=self.part(sheet),
                kinds=kind_words(),
                methods=tuple(METHODS),
                directions=DIRECTIONS,
                purposes=tuple(SurveyPurpose),
                others=others,
                by=by,
                reason=reason,
                told=told,
                course=course_of(desk.store, desk.project.key, sheet.lateral),
            ),
            status,
        )

    def overtaken(self, sheet: Sheet) -> tuple[tuple[str, ...], Sheet]:
        """What somebody else saved meanwhile; the sheet then counts from there."""
        desk, key = self.desk, sheet.key
        if not key:
            words = "A survey of that day, time, method and direction is on record already."
            return (words, "Nothing was stored. Give the time, or open that one."), sheet
        last = history(desk.store, desk.project.key, "survey", key)[-1]
        words = f"{last.by} saved revision {last.number} meanwhile: {last.reason}."
        told = (words, "Nothing was stored. Save again to lay yours over that.")
        return told, replace(sheet, expected=last.number)
