"""The specification: every limit with value, source and mark; to read only, for now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Response

from drainwright.operations.show_specification import SpecificationView, show_specification
from drainwright.sources import MARKS
from drainwright.web.desk import Desk


@dataclass(frozen=True, slots=True)
class SpecificationPage:
    """What the page of the specification shows."""

    template: ClassVar[str] = "specification.html"
    view: SpecificationView
    marks: dict[str, str]


def routes(desk: Desk) -> APIRouter:
    """The route of the specification."""
    router = APIRouter(include_in_schema=False)

    @router.get("/specification")
    def specification() -> Response:
        view = show_specification(desk.store, desk.project)
        return desk.page(SpecificationPage(view, MARKS))

    return router
