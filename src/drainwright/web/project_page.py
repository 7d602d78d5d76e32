"""The project sheet: every lateral along the stages, whom it waits on, and a sketch map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Response

from drainwright.operations.list_project import (
    MARKS,
    OUTCOMES,
    STAGES,
    ProjectFilters,
    ProjectList,
    list_project,
)
from drainwright.operations.who_waits import PARTIES
from drainwright.web.desk import Desk, lateral_address

PageNumber = Annotated[int, Query(ge=1, le=1_000_000)]


def asked_filters(
    q: str = "",
    segment: str = "",
    street: str = "",
    stage: str = "",
    outcome: str = "",
    waits: str = "",
) -> ProjectFilters:
    """The filters of a list, as the address has them."""
    return ProjectFilters(*(s.strip() for s in (q, segment, street, stage, outcome, waits)))


AskedFilters = Annotated[ProjectFilters, Depends(asked_filters)]


@dataclass(frozen=True, slots=True)
class ProjectPage:
    """What the project sheet shows."""

    template: ClassVar[str] = "project.html"
    found: ProjectList
    filters: ProjectFilters
    filtered: bool
    stages: tuple[str, ...]
    outcomes: tuple[str, ...]
    parties: tuple[str, ...]
    marks: Mapping[str, str]
    first: int
    last: int
    stage_links: Mapping[str, str]
    outcome_links: Mapping[str, str]
    waits_links: Mapping[str, str]
    previous: str
    following: str
    map_query: str


def routes(desk: Desk) -> APIRouter:
    """The route of the project sheet."""
    router = APIRouter(include_in_schema=False)

    @router.get("/")
    def project_sheet(filters: AskedFilters, page: PageNumber = 1) -> Response:
        found = list_project(desk.store, desk.project, filters, page=page, href=lateral_address)
        return desk.page(_page(found, filters, page))

    return router


def _page(found: ProjectList, filters: ProjectFilters, page: int) -> ProjectPage:
    first = (found.page - 1) * 50 + 1
    return ProjectPage(
        found=found,
        filters=filters,
        filtered=filters != ProjectFilters(),
        stages=STAGES,
        outcomes=OUTCOMES,
        parties=PARTIES,
        marks=MARKS,
        first=first,
        last=first + sum(len(group.lines) for group in found.groups) - 1,
        stage_links={name: _toggled(filters, "stage", name) for name in STAGES},
        outcome_links={name: _toggled(filters, "outcome", name) for name in OUTCOMES},
        waits_links={name: _toggled(filters, "waits", name) for name in PARTIES},
        previous=_address(filters, page - 1) if page > 1 else "",
        following=_address(filters, page + 1) if page < found.pages else "",
        map_query=_query(filters, 1),
    )


def _toggled(filters: ProjectFilters, field: str, value: str) -> str:
    """The address with one more filter; one that is chosen already is let go."""
    chosen = "" if getattr(filters, field) == value else value
    return _address(replace(filters, **{field: chosen}), 1)


def _address(filters: ProjectFilters, page: int) -> str:
    query = _query(filters, page)
    return f"/?{query}" if query else "/"


def _query(filters: ProjectFilters, page: int) -> str:
    fields = {
        "q": filters.words,
        "segment": filters.segment,
        "street": filters.street,
        "stage": filters.stage,
        "outcome": filters.outcome,
        "waits": filters.waits,
        "page": str(page) if page > 1 else "",
    }
    return urlencode({name: value for name, value in fields.items() if value})
