"""The work on a project as JSON: whom it waits on, map, specification, files, papers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import APIRouter, Body, Depends, Query, Request, Response

from drainwright.errors import Fault, InputError
from drainwright.operations.change_specification import (
    TypedChanges,
    TypedSource,
    save_specification,
)
from drainwright.operations.list_project import waiting_on
from drainwright.operations.project_map import ProjectMap, project_map
from drainwright.operations.read_files import FilePreview, ReadRequest, preview_file, read_file
from drainwright.operations.show_specification import show_specification
from drainwright.units import fault_text
from drainwright.web.api_problem import ERRORS
from drainwright.web.desk import Desk
from drainwright.web.forms import LONGEST_NAME
from drainwright.web.paper_jobs import PaperJob, PaperJobs
from drainwright.web.papers_page import job_zip, start_job
from drainwright.web.project_page import AskedFilters


@dataclass(frozen=True, slots=True)
class LimitBody:
    """A limit; `typed` is its value in `unit`, "" where it is not applied."""

    name: str
    words: str
    typed: str
    unit: str
    source: str
    place: str
    mark: str


@dataclass(frozen=True, slots=True)
class SpecificationBody:
    """The specification in force."""

    name: str
    revision: int
    wall_method: str
    condition: str
    limits: list[LimitBody]


@dataclass(frozen=True, slots=True)
class ChangeBody:
    """A new value as a person types it, with its source."""

    value: str | None = None
    """None leaves it; "" has it not applied."""
    source: str = "owner"
    place: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class ChangesBody:
    """Changes of limits by name, made from the revision `expected`."""

    expected: int
    by: str
    reason: str
    limits: dict[str, ChangeBody] = field(default_factory=dict)
    wall_method: str = ""
    condition: str = ""


@dataclass(frozen=True, slots=True)
class RevisionBody:
    """What a save came to."""

    revision: int


@dataclass(frozen=True, slots=True)
class FaultBody:
    """A fault of a file, where it stands."""

    row: int | None
    sheet: str
    column: str
    key: str
    message: str


@dataclass(frozen=True, slots=True)
class FileBody:
    """What reading a file would do, or has done."""

    file: str
    kind: str
    stored: bool
    recognized: list[str]
    records: int
    new: list[str]
    changed: list[str]
    unchanged: int
    vanished: list[str]
    faults: list[FaultBody]
    notices: list[FaultBody]


@dataclass(frozen=True, slots=True)
class PapersBody:
    """Papers to be made of laterals."""

    laterals: list[str]
    papers: list[str]


@dataclass(frozen=True, slots=True)
class JobBody:
    """How far papers are; `state` is waiting, making, ready, stopped or failed."""

    job: str
    state: str
    done: int
    total: int
    papers: list[str]
    left_out: list[str]
    told: str


async def _content(request: Request) -> bytes:
    return await request.body()


_FILE = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


def routes(desk: Desk, jobs: PaperJobs) -> APIRouter:
    """The routes of the work."""
    router = APIRouter(prefix="/api", responses=ERRORS)

    @router.get("/waiting", summary="How many laterals wait on whom")
    def waiting() -> Mapping[str, int]:
        return waiting_on(desk.store, desk.project.key)

    @router.get("/map", summary="Segments and laterals in a box, in m from the project's corner")
    def map_(
        filters: AskedFilters,
        box: Annotated[str, Query(description="west,south,east,north", max_length=200)],
    ) -> ProjectMap:
        return project_map(desk.store, desk.project, filters, _box(box))

    _specification(router, desk)
    _files(router, desk)
    _papers(router, desk, jobs)
    return router


def _box(text: str) -> tuple[float, float, float, float]:
    try:
        west, south, east, north = (float(part) for part in text.split(","))
    except ValueError:
        raise InputError(Fault("box", "is west,south,east,north in meters", text[:80])) from None
    return west, south, east, north


def _specification(router: APIRouter, desk: Desk) -> None:
    @router.get("/specification", summary="Every limit with value, source and mark")
    def specification() -> SpecificationBody:
        view = show_specification(desk.store, desk.project)
        own = view.specification
        limits = [
            LimitBody(one.name, one.words, one.typed, one.unit, limit.source.key,
                      limit.source.locator, limit.source.effective_mark)
            for one in view.limits
            for limit in (own.limit(one.name),)
        ]  # fmt: skip
        return SpecificationBody(own.name, view.revision, own.wall_method, own.condition, limits)

    @router.post("/specification", summary="Save changed limits as a revision")
    def save(changes: ChangesBody) -> RevisionBody:
        by, reason = _signed(changes.by, changes.reason)
        limits = changes.limits.items()
        typed = TypedChanges(
            {name: one.value for name, one in limits if one.value is not None},
            {name: TypedSource(one.source, one.place, one.mark) for name, one in limits},
            changes.wall_method,
            changes.condition,
        )
        return RevisionBody(
            save_specification(
                desk.store, desk.project, typed, expected=changes.expected,
                by=by, at=desk.now(), reason=reason,
            )
        )  # fmt: skip


def _files(router: APIRouter, desk: Desk) -> None:
    @router.post("/read", summary="Look at a file, or store what it says", openapi_extra=_FILE)
    def read(
        content: Annotated[bytes, Depends(_content)],
        *,
        file: Annotated[str, Query(description="Its name", min_length=1, max_length=200)],
        kind: str = "",
        mapping: Annotated[str, Query(description="TOML or JSON; empty recognizes")] = "",
        store: Annotated[bool, Query(description="False only looks")] = False,
        clean: Annotated[bool, Query(description="Store the rows without faults")] = False,
        by: str = "",
        reason: str = "",
    ) -> FileBody:
        asked = ReadRequest(
            content, file.replace("\\", "/").rpartition("/")[2], kind=kind,
            mapping=mapping.encode() if mapping else None, accept_clean_rows=clean,
        )  # fmt: skip
        if not store:
            return _file(preview_file(desk.store, desk.project.key, asked, today=desk.today), desk)
        by, reason = _signed(by, reason)
        found = read_file(
            desk.store, desk.project.key, asked, by=by, at=desk.now(), today=desk.today,
            reason=reason,
        )  # fmt: skip
        return _file(found, desk)


def _papers(router: APIRouter, desk: Desk, jobs: PaperJobs) -> None:
    @router.post("/papers", summary="Start making papers")
    def make(asked: Annotated[PapersBody, Body()]) -> JobBody:
        name = start_job(desk, jobs, tuple(asked.laterals), tuple(asked.papers))
        return _job(name, jobs.get(name))

    @router.get("/papers/{job}", summary="How far papers are")
    def papers(job: str) -> JobBody:
        return _job(job, jobs.get(job))

    @router.get("/papers/{job}/zip", summary="Papers that are ready", response_class=Response)
    def packed(job: str) -> Response:
        return job_zip(jobs.get(job))


def _signed(by: str, reason: str) -> tuple[str, str]:
    given = (("by", by.strip()), ("reason", reason.strip()))
    faults = [Fault(name, "must not be empty") for name, value in given if not value]
    if len(by) > LONGEST_NAME:
        faults.append(Fault("by", f"is longer than {LONGEST_NAME} letters"))
    if faults:
        raise InputError(*faults)
    return given[0][1], given[1][1]


def _file(found: FilePreview, desk: Desk) -> FileBody:
    def line(fault: Fault) -> FaultBody:
        words = fault_text(fault, desk.system, found.kinds)
        return FaultBody(
            fault.row, fault.sheet or "", fault.column or "", fault.name,
            words.rpartition(f"{fault.name}: ")[2],
        )  # fmt: skip

    return FileBody(
        file=found.file,
        kind=found.kind,
        stored=found.stored,
        recognized=list(found.recognized),
        records=found.records,
        new=list(found.new),
        changed=list(found.changed),
        unchanged=found.unchanged,
        vanished=list(found.vanished),
        faults=[line(one) for one in found.faults],
        notices=[line(one) for one in found.notices],
    )


def _job(name: str, job: PaperJob) -> JobBody:
    made: list[str] = [one.name for one in list(job.made)]
    left: list[str] = list(job.left_out)
    return JobBody(name, job.state, job.done, job.total, made, left, job.told)
