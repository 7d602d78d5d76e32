"""Revisions of everything on record about one lateral, any two of them compared."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response

from drainwright.operations.lateral_course import Course, course_of
from drainwright.operations.lateral_history import (
    Compared,
    DocumentHistory,
    compare_document,
    lateral_history,
)
from drainwright.web.desk import Desk


@dataclass(frozen=True, slots=True)
class RevisionsPage:
    """What the page of revisions shows."""

    template: ClassVar[str] = "revisions.html"
    key: str
    documents: tuple[DocumentHistory, ...]
    chosen: str
    compared: Compared | None
    course: Course


def routes(desk: Desk) -> APIRouter:
    """The page; what is compared lives in its address."""
    router = APIRouter(include_in_schema=False)

    @router.get("/laterals/{key:path}/revisions")
    def page(key: str, document: str = "", old: int = 0, new: int = 0) -> Response:
        documents = lateral_history(desk.store, desk.project, key)
        compared = None
        if document and old and new:
            compared = compare_document(desk.store, desk.project, key, document, (old, new))
        course = course_of(desk.store, desk.project.key, key)
        return desk.page(RevisionsPage(key, documents, document, compared, course))

    return router
