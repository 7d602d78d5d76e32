"""Papers: choose laterals and papers, see them being made, take them one by one or as a ZIP."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Response
from starlette.responses import RedirectResponse

from drainwright.errors import ConflictError, Fault, InputError, NotFoundError, PaperError
from drainwright.operations.list_laterals import LateralPage, list_laterals, planned_keys_of
from drainwright.operations.list_project import MARKS
from drainwright.operations.print_papers import OF_A_LATERAL, PAPERS, MadePaper, make_papers
from drainwright.web.desk import Desk
from drainwright.web.forms import SentForm, sent_form
from drainwright.web.paper_jobs import PaperJob, PaperJobs
from drainwright.web.project_page import PageNumber

READER = "reader of the pages"
MOST = 50
"""Laterals whose papers are made within one request."""
MOST_IN_A_JOB = 500
Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class PapersPage:
    """What the page of the papers shows."""

    template: ClassVar[str] = "papers.html"
    found: LateralPage
    papers: tuple[str, ...]
    chosen: frozenset[str]
    chosen_papers: frozenset[str]
    words: str
    segment: str
    marks: dict[str, str]
    most: int


@dataclass(frozen=True, slots=True)
class JobPage:
    """Papers being made, or ready."""

    template: ClassVar[str] = "paper_job.html"
    name: str
    job: PaperJob
    state: str
    """Read once, so that a page does not contradict itself."""


def routes(desk: Desk, jobs: PaperJobs) -> APIRouter:
    """The choice, jobs, and papers made at once."""
    router = APIRouter(include_in_schema=False)

    @router.get("/papers")
    def choice(
        q: str = "",
        segment: str = "",
        page: PageNumber = 1,
        lateral: Annotated[list[str] | None, Query()] = None,
        paper: Annotated[list[str] | None, Query()] = None,
    ) -> Response:
        words, main = q.strip(), segment.strip()
        found = list_laterals(desk.store, desk.project.key, words=words, segment=main, page=page)
        chosen = frozenset(paper or PAPERS[:1])
        return desk.page(
            PapersPage(
                found, PAPERS, frozenset(lateral or ()), chosen, words, main, MARKS, MOST_IN_A_JOB
            )
        )

    @router.post("/papers/make")
    def make(sent: Sent) -> Response:
        keys = sent.all("lateral")
        if sent.one("all"):
            keys = tuple(planned_keys(desk, sent.one("q"), sent.one("segment")))
        name = start_job(desk, jobs, keys, sent.all("paper"))
        return RedirectResponse(f"/papers/jobs/{name}", 303)

    @router.get("/papers/jobs/{name}")
    def job_page(name: str) -> Response:
        job = jobs.get(name)
        return desk.page(JobPage(name, job, job.state))

    @router.post("/papers/jobs/{name}/stop")
    def stop(name: str) -> Response:
        jobs.get(name).stop.set()
        return RedirectResponse(f"/papers/jobs/{name}", 303)

    @router.get("/papers/jobs/{name}/zip")
    def packed(name: str) -> Response:
        return job_zip(jobs.get(name))

    @router.get("/papers/jobs/{name}/pdf")
    def made(name: str, paper: str) -> Response:
        return download(jobs.get(name).paper(paper), "application/pdf", f"{paper}.pdf")

    @router.get("/papers/pdf")
    def one(lateral: str, paper: str) -> Response:
        if paper not in OF_A_LATERAL:
            raise InputError(Fault("paper", f"“{paper}” is no paper of a lateral", paper))
        made = next(_made(desk, [lateral], [paper]))
        if made.why_not:
            raise PaperError(f"{made.name}: {made.why_not}")
        return download(made.content, "application/pdf", f"{made.name}.pdf")

    @router.get("/papers/zip")
    def several(
        lateral: Annotated[list[str] | None, Query()] = None,
        paper: Annotated[list[str] | None, Query()] = None,
    ) -> Response:
        keys, papers = lateral or [], paper or []
        _check(keys, papers, MOST)
        job = PaperJob(tuple(keys), tuple(papers), _zip_name(desk))
        _fill(job, _made(desk, keys, papers))
        return job_zip(job)

    return router


def start_job(desk: Desk, jobs: PaperJobs, keys: Sequence[str], papers: Sequence[str]) -> str:
    """Start making papers; `InputError` and `NotFoundError` before anything is begun."""
    _check(keys, papers, MOST_IN_A_JOB)
    known = set(planned_keys_of(desk.store, desk.project.key, keys))
    missing = [key for key in keys if key not in known]
    if missing:
        raise NotFoundError(f"there is no plan of {', '.join(missing[:5])}")
    job = PaperJob(tuple(keys), tuple(dict.fromkeys(papers)), _zip_name(desk))
    return jobs.start(job, lambda: _made(desk, keys, job.papers))


def planned_keys(desk: Desk, words: str, segment: str) -> Iterator[str]:
    """Every lateral with a plan that fits; `InputError` where there are too many for one job."""
    page, found = 1, None
    while found is None or page <= found.pages:
        found = list_laterals(desk.store, desk.project.key, words=words, segment=segment, page=page)
        if found.total > MOST_IN_A_JOB:
            raise InputError(
                Fault("laterals", f"{found.total} fit; choose {MOST_IN_A_JOB} at most")
            )
        yield from (one.key for one in found.items if one.fitness)
        page += 1


def _check(keys: Sequence[str], papers: Sequence[str], most: int) -> None:
    if not keys or not papers:
        missing = "laterals" if not keys else "papers"
        raise InputError(Fault(missing, "choose at least one"))
    if len(keys) > most:
        raise InputError(Fault("laterals", f"choose {most} at most", len(keys)))
    unknown = [paper for paper in papers if paper not in PAPERS]
    if unknown:
        words = f"is not one of {', '.join(PAPERS)}"
        raise InputError(*(Fault("paper", f"“{one}” {words}", one) for one in unknown))


def _made(desk: Desk, keys: Sequence[str], papers: Sequence[str]) -> Iterator[MadePaper]:
    return make_papers(desk.store, desk.project.key, keys, papers, by=READER, at=desk.now())


def _fill(job: PaperJob, made: Iterable[MadePaper]) -> None:
    for paper in made:
        if paper.why_not:
            job.left_out.append(f"{paper.name}: {paper.why_not}")
        else:
            job.made.append(paper)
    job.state = "ready"


def _zip_name(desk: Desk) -> str:
    return f"{desk.project.key} papers {desk.today.isoformat()}"


def job_zip(job: PaperJob) -> Response:
    """The papers of a job that is over, as a ZIP."""
    if not job.over:
        raise ConflictError("the papers are still being made")
    if not job.made:
        raise PaperError("; ".join(job.left_out) or job.told or "nothing was made")
    return download(job.packed(), "application/zip", f"{job.name}.zip")


def download(content: bytes, media: str, name: str) -> Response:
    """A file to be kept under a name, which need not be plain letters."""
    plain = name.encode("ascii", "replace").decode().replace('"', "_")
    told = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=media, headers={"Content-Disposition": told})
