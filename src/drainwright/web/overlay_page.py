"""Two surveys of one lateral laid over each other."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response

from drainwright.operations.lateral_course import Course, course_of
from drainwright.operations.overlay_surveys import Laid, SurveyName, overlay_surveys, surveys_of
from drainwright.web.desk import Desk


@dataclass(frozen=True, slots=True)
class OverlayPage:
    """What the page of two surveys shows."""

    template: ClassVar[str] = "overlay.html"
    key: str
    surveys: tuple[SurveyName, ...]
    first: str
    second: str
    laid: Laid | None
    course: Course


def routes(desk: Desk) -> APIRouter:
    """The page; which surveys lives in its address."""
    router = APIRouter(include_in_schema=False)

    @router.get("/laterals/{key:path}/surveys")
    def page(key: str, first: str = "", second: str = "") -> Response:
        surveys = surveys_of(desk.store, desk.project, key)
        if len(surveys) > 1 and not (first and second):
            first, second = surveys[-2].key, surveys[-1].key
        laid = None
        if first and second:
            laid = overlay_surveys(desk.store, desk.project, key, first, second)
        course = course_of(desk.store, desk.project.key, key)
        return desk.page(OverlayPage(key, surveys, first, second, laid, course))

    return router
