"""Make papers as PDF, and write them as files (read; the second writes the files)."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from drainwright.errors import Fault, InputError, PaperError
from drainwright.operations.field_plan import steps_of
from drainwright.operations.schedule import current_plan
from drainwright.operations.site_of import Gathered, Gatherer
from drainwright.operations.typesetting import set_papers
from drainwright.papers.design_note import design_note_pdf
from drainwright.papers.hand_form import hand_form_pdf
from drainwright.papers.mix_ticket import mix_ticket_pdf
from drainwright.papers.notice import NoticeFacts, notice_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.papers.survey_sheet import survey_sheet_pdf
from drainwright.papers.tube_order import Ordered, tube_order_pdf
from drainwright.papers.work_sheet import work_sheet_pdf
from drainwright.records.field_step import FieldStep
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.shift_plan import SetUp, Shift, Turn
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import RecordStore, Stored

WORK_SHEET, MIX_TICKET = "work sheet", "mix ticket"
OF_A_LATERAL = (
    WORK_SHEET,
    MIX_TICKET,
    "design note",
    "survey sheet",
    "field form",
    "door notice",
)
TUBE_ORDER = "tube order"
PAPERS = (*OF_A_LATERAL, TUBE_ORDER)
# stages at which a liner is in
_LINED = ("installed", "accepted", "closed")


@dataclass(frozen=True, slots=True)
class Printed:
    """The files made, and what could not be printed, with the reason."""

    files: tuple[Path, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MadePaper:
    """One paper: its PDF, or why there is none."""

    name: str
    """File name without ending."""
    lateral: str
    """Empty for a paper about several."""
    content: bytes = b""
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class _Job:
    stored: Stored[WorkSheet]
    gathered: Gathered
    at: dt.datetime
    by: str
    steps: tuple[FieldStep, ...]
    lined: bool = False
    turn: tuple[Shift, SetUp, Turn] | None = None
    """When the shift plan lines it."""

    @property
    def sheet(self) -> WorkSheet:
        return self.stored.record

    @property
    def revision(self) -> int:
        return self.stored.revision.number


def print_papers(
    store: RecordStore,
    project: str,
    keys: Sequence[str] = (),
    papers: Sequence[str] = (WORK_SHEET,),
    *,
    folder: Path,
    by: str,
    at: dt.datetime,
    progress: Callable[[str], None] | None = None,
) -> Printed:
    """Print `papers` of each lateral in `keys`, or of all that are planned.

    A paper that a lateral can't have (a mix ticket without address proof, a survey sheet
    without survey) is left out and told. Raises `InputError` for an unknown paper,
    `NotFoundError` for a lateral that is not planned, `PaperError` where a file can't be
    written.
    """
    made: list[Path] = []
    left_out: list[str] = []
    last = ""
    for paper in make_papers(store, project, keys, papers, by=by, at=at):
        if progress and last not in ("", paper.lateral):
            progress(last)
        last = paper.lateral
        if paper.why_not:
            left_out.append(f"{paper.name}: {paper.why_not}")
            continue
        path = folder / f"{paper.name}.pdf"
        write_file(path, paper.content)
        made.append(path)
    if progress and last:
        progress(last)
    return Printed(tuple(made), tuple(left_out))


def make_papers(
    store: RecordStore,
    project: str,
    keys: Sequence[str] = (),
    papers: Sequence[str] = (WORK_SHEET,),
    *,
    by: str,
    at: dt.datetime,
) -> Iterator[MadePaper]:
    """Make `papers` of each lateral in `keys`, or of all that are planned, one after another.

    What a lateral can't have comes with the reason. Raises `InputError` for an unknown paper
    and `NotFoundError` for a lateral that is not planned, before anything is made.
    """
    _known(papers)
    with store.read() as session:
        gatherer = Gatherer(session, project, at.date())
        about = session.get(project, Project, project).record
        if keys:
            stored = [session.get(project, WorkSheet, key) for key in keys]
        else:
            stored = list(session.every(project, WorkSheet))
        steps = steps_of(session, project)
        briefs = session.briefs(project, Lateral, [item.record.lateral.key for item in stored])
        lined = {key for key, brief in briefs.items() if brief.stage in _LINED}
        plan = current_plan(session, project).plan
        jobs = [
            _Job(
                item,
                gatherer.gather(key),
                at,
                by,
                steps,
                key in lined,
                plan.of_lateral(key) if plan else None,
            )
            for item in stored
            for key in (item.record.lateral.key,)
        ]
    return _each(about, jobs, papers, Issue(0, at, by))


def _each(
    about: Project, jobs: Sequence[_Job], papers: Sequence[str], issue: Issue
) -> Iterator[MadePaper]:
    names: list[tuple[str, str]] = []
    makers: list[Callable[[], bytes]] = []
    for job in jobs:
        key = job.sheet.lateral.key
        for paper in (paper for paper in papers if paper in OF_A_LATERAL):
            names.append((f"{file_name(key)} {paper}", key))
            makers.append(partial(_pdf, job, paper))
    if TUBE_ORDER in papers and jobs:
        orders = [Ordered(job.sheet, job.revision, job.lined) for job in jobs]
        names.append((TUBE_ORDER, ""))
        makers.append(partial(tube_order_pdf, about, orders, issue))
    for (name, lateral), done in zip(names, set_papers(makers), strict=True):
        why = done if isinstance(done, str) else ""
        content = b"" if isinstance(done, str) else done
        yield MadePaper(name, lateral, content, why)


def _known(papers: Sequence[str]) -> None:
    unknown = [paper for paper in papers if paper not in PAPERS]
    if unknown:
        allowed = ", ".join(PAPERS)
        raise InputError(
            *(Fault("paper", f"“{paper}” is not one of {allowed}", paper) for paper in unknown)
        )


def _pdf(job: _Job, paper: str) -> bytes:
    sheet, revision = job.sheet, job.revision
    premises = job.gathered.site.premises
    match paper:
        case "work sheet":
            return work_sheet_pdf(sheet, revision=revision)
        case "mix ticket":
            return mix_ticket_pdf(sheet, revision=revision)
        case "design note":
            return design_note_pdf(sheet, revision=revision)
        case "field form":
            return hand_form_pdf(sheet, revision=revision, steps=job.steps)
        case "survey sheet":
            return survey_sheet_pdf(job.gathered.site, _survey_issue(job))
        case _:
            if sheet.outcome is Fitness.STOP:
                raise PaperError(f"“{sheet.lateral.key}” is not lined, so nobody is told of work")
            facts = _notice_facts(job)
            issue = Issue(revision, job.at, job.by)
            return notice_pdf(sheet.project, sheet.lateral, premises, facts, issue)


def _notice_facts(job: _Job) -> NoticeFacts:
    """Day and hours by the shift plan; blanks for a lateral without a turn still to come."""
    specification = job.sheet.specification
    if job.turn is None or job.turn[0].day < job.at.date():
        return NoticeFacts(specification=specification)
    shift, _, turn = job.turn
    return NoticeFacts(shift.day, turn.load, turn.restored, specification=specification)


def _survey_issue(job: _Job) -> Issue:
    refs = (ref.revision for ref in job.gathered.revisions if ref.document == "Survey")
    return Issue(next(refs, 0), job.at, job.by)


def file_name(key: str) -> str:
    """An owner's id as a file name on any system."""
    return re.sub(r'[<>:"/\\|?*\x00-\x1f]', "_", key).strip(" .") or "_"


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; `PaperError` where that can't be done."""
    draft = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.write_bytes(content)
        draft.replace(path)
    except OSError as error:
        raise PaperError(f"{path} can't be written: {error.strerror or error}") from error
