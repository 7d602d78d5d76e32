"""The cure of one lateral: temperature and cure over the profile, at any time of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response
from starlette.responses import JSONResponse

from drainwright.operations.cure_against_log import AgainstLog, cure_against_log
from drainwright.operations.cure_view import CureView, cure_view
from drainwright.operations.lateral_course import Course, course_of
from drainwright.web.desk import Desk


@dataclass(frozen=True, slots=True)
class CurePage:
    """What the page of a cure shows."""

    template: ClassVar[str] = "cure.html"
    key: str
    view: CureView
    against: tuple[AgainstLog, ...]
    course: Course


def routes(desk: Desk) -> APIRouter:
    """The page, and the frames that its slider goes through."""
    router = APIRouter(include_in_schema=False)

    @router.get("/laterals/{key:path}/cure")
    def page(key: str) -> Response:
        view = cure_view(desk.store, desk.project, key)
        against = cure_against_log(desk.store, desk.project, key)
        course = course_of(desk.store, desk.project.key, key)
        return desk.page(CurePage(key, view, against, course))

    @router.get("/laterals/{key:path}/cure/frames")
    def frames(key: str) -> JSONResponse:
        view = cure_view(desk.store, desk.project, key)
        return JSONResponse(
            [
                {"label": f.label, "words": f.words, "strips": f.strips, "section": f.section}
                for f in view.frames
            ]
        )

    return router
