"""What if: another tube, wall, resin, water, vent, supply or soil for one lateral."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import RedirectResponse

from drainwright.errors import ConflictError, InputError
from drainwright.operations.lateral_course import Course, course_of
from drainwright.operations.what_if import (
    DRAWS,
    NUMBERS,
    Bench,
    Kept,
    Row,
    Variant,
    keep_choice,
    open_bench,
    planned_variant,
    read_choice,
    side_by_side,
    try_choice,
    typed,
)
from drainwright.units import fault_texts
from drainwright.web.desk import Desk, lateral_address
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form, signed

_NAMES = ("tube", "resin", *NUMBERS)
Form = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class Tried:
    """What a trial came to; a part of the page."""

    template: ClassVar[str] = "what_if_tried.html"
    address: str
    query: str
    """The trial as an address has it."""
    before_name: str
    now: Variant | None
    rows: tuple[Row, ...]
    faults: tuple[str, ...]
    sure: str = ""


@dataclass(frozen=True, slots=True)
class Sure:
    """The steam time at the confidence; a part of the page."""

    template: ClassVar[str] = "what_if_sure.html"
    sure: str
    level: str


@dataclass(frozen=True, slots=True)
class WhatIfPage:
    """The page: what can be chosen, what it comes to, and how to keep it."""

    template: ClassVar[str] = "what_if.html"
    bench: Bench
    given: Mapping[str, str]
    held: str
    tried: Tried
    by: str
    reason: str
    told: tuple[str, ...]
    """Why it could not be kept."""
    course: Course


def routes(desk: Desk) -> APIRouter:
    """The page, its two later parts, and the way to keep a choice."""
    router = APIRouter(include_in_schema=False)
    trial = _Trials(desk)

    @router.get("/laterals/{key:path}/what-if")
    def page(key: str, request: Request) -> Response:
        given = dict(request.query_params)
        if "hold" in given:
            kept = urlencode({n: given[n] for n in _NAMES if given.get(n)})
            return RedirectResponse(f"?{urlencode({**_chosen(given), 'held': kept})}", 303)
        return trial.page(key, given, name_of(request))

    @router.get("/laterals/{key:path}/what-if/tried")
    def tried(key: str, request: Request) -> Response:
        return desk.page(trial.tried(key, dict(request.query_params)))

    @router.get("/laterals/{key:path}/what-if/sure")
    def sure(key: str, request: Request) -> Response:
        return desk.page(trial.sure(key, dict(request.query_params)))

    @router.post("/laterals/{key:path}/what-if")
    def keep(key: str, form: Form) -> Response:
        given = {name: form.one(name) for name in (*_NAMES, "held", "expected")}
        try:
            who = signed(form)
            choice = read_choice(key, given, desk.system)
            number = given["expected"]
            expected = int(number) if number.isdecimal() else 0
            kept = Kept(who.by, desk.now(), who.reason, expected)
            keep_choice(desk.store, desk.project, choice, kept)
        except InputError as error:
            told = tuple(fault_texts(error.faults, desk.system))
            return trial.page(key, given, form.one("by"), told, 422)
        except ConflictError:
            now = open_bench(desk.store, desk.project, key, desk.today)
            words = f"Somebody else chose meanwhile: revision {now.revision}, {now.reason}."
            told = (words, "Nothing was stored. Keep yours again to lay it over that.")
            return trial.page(key, given, form.one("by"), told, 409)
        answer = RedirectResponse(lateral_address(key), 303)
        keep_name(answer, who.by)
        return answer

    return router


def _chosen(given: Mapping[str, str]) -> dict[str, str]:
    return {name: given[name] for name in _NAMES if given.get(name)}


@dataclass(frozen=True, slots=True)
class _Trials:
    """Works out what an address asks for."""

    desk: Desk

    def page(
        self,
        key: str,
        given: dict[str, str],
        by: str,
        told: tuple[str, ...] = (),
        status: int = 200,
    ) -> Response:
        """The whole page; without anything typed it shows what is chosen so far."""
        desk = self.desk
        bench = open_bench(desk.store, desk.project, key, desk.today)
        if not any(name in given for name in _NAMES):
            given = {**typed(bench.chosen, desk.system), **given}
        return desk.page(
            WhatIfPage(
                bench=bench,
                given={name: given.get(name, "") for name in _NAMES},
                held=given.get("held", ""),
                tried=self.tried(key, given),
                by=by,
                reason=given.get("reason", ""),
                told=told,
                course=course_of(desk.store, desk.project.key, key),
            ),
            status,
        )

    def tried(self, key: str, given: Mapping[str, str]) -> Tried:
        """What the choice comes to, beside the one that is held, else the one on record."""
        desk, held = self.desk, given.get("held", "")
        address = f"{lateral_address(key)}/what-if"
        query = urlencode(_chosen(given))
        name = "held" if held else "on record"
        try:
            choice = read_choice(key, given, desk.system)
            now = try_choice(desk.store, desk.project, choice, desk.today)
            before = self._before(key, held)
        except InputError as error:
            told = tuple(fault_texts(error.faults, desk.system))
            return Tried(address, query, name, None, (), told)
        sure = self.sure(key, given).sure if given.get("sure") else ""
        return Tried(address, query, name, now, side_by_side(before, now), (), sure)

    def _before(self, key: str, held: str) -> Variant | None:
        """The variant that is held, else the design on record."""
        desk = self.desk
        if not held:
            return planned_variant(desk.store, desk.project, key)
        choice = read_choice(key, dict(parse_qsl(held)), desk.system)
        return try_choice(desk.store, desk.project, choice, desk.today)

    def sure(self, key: str, given: Mapping[str, str]) -> Sure:
        """The steam time at the confidence."""
        desk = self.desk
        choice = read_choice(key, given, desk.system)
        found = try_choice(desk.store, desk.project, choice, desk.today, draws=DRAWS)
        return Sure(found.sure, f"{DRAWS} draws")
