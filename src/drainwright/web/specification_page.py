"""The specification: every limit with value, source and mark; changed, looked over, saved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from starlette.responses import RedirectResponse

from drainwright.errors import Fault, InputError
from drainwright.operations.change_specification import (
    CONDITIONS,
    METHODS,
    LimitChange,
    TypedChanges,
    TypedSource,
    changed_limits,
    changed_specification,
    save_specification,
    source_titles,
)
from drainwright.operations.list_laterals import lateral_count
from drainwright.operations.show_specification import SpecificationView, show_specification
from drainwright.sources import MARKS
from drainwright.units import fault_text
from drainwright.web.desk import Desk
from drainwright.web.effect_jobs import MOST_AT_ONCE, Effect, EffectJob, EffectJobs
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form, signed

_VALUE, _KEY, _PLACE, _MARK = "value.", "source.", "place.", "mark."
Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class SpecificationPage:
    """What the page of the specification shows; `typed` is what a refused form had."""

    template: ClassVar[str] = "specification.html"
    view: SpecificationView
    marks: dict[str, str]
    methods: tuple[str, ...]
    conditions: tuple[str, ...]
    typed: dict[str, str]
    told: tuple[str, ...]
    saved: int


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """Changes before they are saved."""

    template: ClassVar[str] = "specification_review.html"
    view: SpecificationView
    changes: tuple[LimitChange, ...]
    wall_method: str
    """The new one; "" where it stays."""
    condition: str
    sources: dict[str, str]
    marks: dict[str, str]
    told: tuple[str, ...]
    by: str
    reason: str
    at_once: bool
    """Whether the project is small enough to be planned again as a whole."""


@dataclass(frozen=True, slots=True)
class EffectsPage:
    """Which outcomes would change: a part of a page."""

    template: ClassVar[str] = "specification_effects.html"
    name: str
    state: str
    done: int
    total: int
    told: str
    looked_at: int
    effects: tuple[Effect, ...]


def routes(desk: Desk) -> APIRouter:
    """The table, the changes to look over, what they would do, and saving them."""
    router = APIRouter(include_in_schema=False)
    jobs = EffectJobs()

    @router.post("/specification/effects")
    def effects(sent: Sent) -> Response:
        now = show_specification(desk.store, desk.project).specification
        then = changed_specification(now, _typed(sent), desk.system)
        name = jobs.start(desk, then, sent.one("segment"))
        return desk.page(_effects(name, jobs.get(name)))

    @router.get("/specification/effects/{name}")
    def effects_so_far(name: str) -> Response:
        return desk.page(_effects(name, jobs.get(name)))

    @router.get("/specification")
    def specification(saved: int = 0) -> Response:
        return desk.page(_table(desk, saved=saved))

    @router.post("/specification/review")
    def review(request: Request, sent: Sent) -> Response:
        view = show_specification(desk.store, desk.project)
        try:
            page = _review(desk, view, sent, name_of(request))
        except InputError as error:
            told = tuple(fault_text(fault, desk.system) for fault in error.faults)
            return desk.page(_table(desk, _values(sent), told), 422)
        return desk.page(page)

    @router.post("/specification/save")
    def save(request: Request, sent: Sent) -> Response:
        try:
            writer = signed(sent)
            revision = save_specification(
                desk.store, desk.project, _typed(sent), expected=_revision(sent),
                by=writer.by, at=desk.now(), reason=writer.reason,
            )  # fmt: skip
        except InputError as error:
            view = show_specification(desk.store, desk.project)
            told = tuple(fault_text(fault, desk.system) for fault in error.faults)
            page = _review(desk, view, sent, name_of(request), told)
            return desk.page(page, 422)
        response = RedirectResponse(f"/specification?saved={revision}", 303)
        keep_name(response, writer.by)
        return response

    return router


def _table(
    desk: Desk,
    typed: dict[str, str] | None = None,
    told: tuple[str, ...] = (),
    saved: int = 0,
) -> SpecificationPage:
    view = show_specification(desk.store, desk.project)
    saved = saved if saved == view.revision else 0
    return SpecificationPage(view, MARKS, METHODS, CONDITIONS, typed or {}, told, saved)


def _review(
    desk: Desk,
    view: SpecificationView,
    sent: SentForm,
    name: str,
    told: tuple[str, ...] = (),
) -> ReviewPage:
    now, typed = view.specification, _typed(sent)
    then = changed_specification(now, typed, desk.system)
    changes = changed_limits(now, typed, desk.system)
    method = typed.wall_method if then.wall_method != now.wall_method else ""
    condition = typed.condition if then.condition != now.condition else ""
    if not changes and not method and not condition and not told:
        raise InputError(Fault("limits", "nothing was changed"))
    return ReviewPage(
        view=view,
        changes=changes,
        wall_method=method,
        condition=condition,
        sources=dict(source_titles()),
        marks=MARKS,
        told=told,
        by=sent.one("by") or name,
        reason=sent.one("reason"),
        at_once=lateral_count(desk.store, desk.project.key) <= MOST_AT_ONCE,
    )


def _effects(name: str, job: EffectJob) -> EffectsPage:
    state = job.state  # read first: what follows is there once it says ready
    return EffectsPage(name, state, job.done, job.total, job.told, job.looked_at, job.effects)


# ---------------------------------------------------------------- what the form said


def _values(sent: SentForm) -> dict[str, str]:
    """Typed values by limit."""
    return {
        name.removeprefix(_VALUE): sent.one(name) for name in sent.fields if name.startswith(_VALUE)
    }


def _typed(sent: SentForm) -> TypedChanges:
    """Values, and the sources of limits whose source was typed or is to be changed."""
    sources = {
        name.removeprefix(_KEY): name.removeprefix(_KEY)
        for name in sent.fields
        if name.startswith(_KEY)
    }
    return TypedChanges(
        _values(sent),
        {
            name: TypedSource(
                sent.one(_KEY + name), sent.one(_PLACE + name), sent.one(_MARK + name)
            )
            for name in sources
        },
        sent.one("wall_method"),
        sent.one("condition"),
    )


def _revision(sent: SentForm) -> int:
    text = sent.one("revision")
    if not text.isdecimal() or len(text) > 9:
        raise InputError(Fault("revision", "is not the one that was shown", text[:20]))
    return int(text)
