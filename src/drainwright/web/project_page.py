"""The project sheet: every lateral along the stages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Annotated, ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Response

from drainwright.operations.list_project import (
    MARKS,
    OUTCOMES,
    STAGES,
    ProjectFilters,
    ProjectList,
    list_project,
)
from drainwright.web.desk import Desk, lateral_address

PageNumber = Annotated[int, Query(ge=1, le=1_000_000)]


@dataclass(frozen=True, slots=True)
class ProjectPage:
    """What the project sheet shows."""

    template: ClassVar[str] = "project.html"
    found: ProjectList
    filters: ProjectFilters
    filtered: bool
    stages: tuple[str, ...]
    outcomes: tuple[str, ...]
    marks: Mapping[str, str]
    first: int
    stage_links: Mapping[str, str]
    previous: str
    following: str


def routes(desk: Desk) -> APIRouter:
    """The route of the project sheet."""
    router = APIRouter(include_in_schema=False)

    @router.get("/")
    def project_sheet(
        q: str = "",
        segment: str = "",
        street: str = "",
        stage: str = "",
        outcome: str = "",
        page: PageNumber = 1,
    ) -> Response:
        filters = ProjectFilters(*(s.strip() for s in (q, segment, street, stage, outcome)))
        found = list_project(
            desk.store,
            desk.project.key,
            filters,
            page=page,
            system=desk.system,
            href=lateral_address,
        )
        return desk.page(
            ProjectPage(
                found=found,
                filters=filters,
                filtered=any(asdict(filters).values()),
                stages=STAGES,
                outcomes=OUTCOMES,
                marks=MARKS,
                first=(found.page - 1) * 50 + 1,
                stage_links={s: _address(filters, 1, s) for s in STAGES},
                previous=_address(filters, page - 1) if page > 1 else "",
                following=_address(filters, page + 1) if page < found.pages else "",
            )
        )

    return router


def _address(filters: ProjectFilters, page: int, stage: str | None = None) -> str:
    """The sheet's address with these filters; a stage that is chosen already is let go."""
    chosen = filters.stage
    if stage is not None:
        chosen = "" if stage == filters.stage else stage
    fields = {
        "q": filters.words,
        "segment": filters.segment,
        "street": filters.street,
        "stage": chosen,
        "outcome": filters.outcome,
        "page": str(page) if page > 1 else "",
    }
    query = urlencode({name: value for name, value in fields.items() if value})
    return f"/?{query}" if query else "/"
