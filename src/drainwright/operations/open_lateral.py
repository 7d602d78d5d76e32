"""One lateral as its page shows it: drawing, what was seen, plan, revisions (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.drawing.lateral_drawing import seen_text, site_of_sheet
from drainwright.errors import NotFoundError
from drainwright.operations.draw_lateral import LateralDrawing, draw_sheet, draw_site
from drainwright.operations.show_columns import ShownSheet, show_stored
from drainwright.operations.site_of import Gatherer, newest_survey
from drainwright.papers.sheet_head import subject_of, tap_text
from drainwright.papers.shown import clock_text, date_text, distance_text, time_text
from drainwright.planning.site import Site
from drainwright.planning.waiting import waits_on
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import Lateral
from drainwright.records.material import Resin, Tube
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.specification import Specification
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.compare import compare, compare_revisions
from drainwright.storage.protocol import Filters, ReadSession, RecordStore, Revision, Stored
from drainwright.units import UnitSystem

COMPARED = 6
"""Newest revisions that are compared with the one before them."""
_KINDS = {
    kind.__name__: kind
    for kind in (
        Project,
        Specification,
        MainSegment,
        Lateral,
        Survey,
        Rig,
        Tube,
        Resin,
        DesignChoice,
    )
}


@dataclass(frozen=True, slots=True)
class SeenRow:
    """One observation of the survey; `index` is its place, as the drawing's flags name it."""

    index: int
    distance: str
    words: str
    clock: str
    code: str
    remark: str
    still: str = ""
    """Name of its still, or the hash under which it is kept."""


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """A revision of the lateral's record or of its work sheet."""

    document: str
    number: int
    at: dt.datetime
    when: str
    by: str
    reason: str
    origin: str
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenLateral:
    """Everything the page of one lateral shows."""

    lateral: Lateral
    segment: MainSegment | None
    premises: tuple[Premises, ...]
    stage: str
    outcome: str
    waits: tuple[str, ...]
    sheet: WorkSheet | None
    sheet_revision: int
    shown: ShownSheet | None
    """The sheet's figures and checks in words."""
    drawing: LateralDrawing
    seen: tuple[SeenRow, ...]
    survey: str
    """The survey the page shows, in words; empty without one."""
    surveys: int
    tap: str
    revisions: tuple[RevisionLine, ...]
    changed_since: tuple[str, ...]
    """Documents that have moved on since the plan was made."""
    chosen: str = ""
    """What was chosen for the design over the records, in words; empty for nothing."""


def open_lateral(store: RecordStore, project: Project, key: str, today: dt.date) -> OpenLateral:
    """The lateral `key` of `project`; `NotFoundError` where there is none."""
    name, system = project.key, project.units
    with store.read() as session:
        stored = session.get(name, Lateral, key)
        planned = _maybe(session, name, WorkSheet, key)
        surveys = tuple(session.every(name, Survey, Filters(lateral=key)))
        site = _site(session, name, key, planned, today)
        revisions = tuple(_revisions(session, project, key, surveys, planned=planned is not None))
        changed = (
            tuple(_changed_since(session, project, planned.record, surveys, today))
            if planned
            else ()
        )
        premises = tuple(_premises(session, name, stored.record))
        chosen = _chosen_words(session, project, key)
    if planned is not None:
        drawing = draw_sheet(planned.record, planned.revision.sha256, system)
        tap = tap_text(subject_of(planned.record, planned.revision.number), system)
    else:
        drawing = draw_site(site, system) if site else LateralDrawing("", (), _no_segment(stored))
        tap = f"{distance_text(stored.record.tap_distance, system)} on {stored.record.segment}"
    sheet = planned.record if planned else None
    return OpenLateral(
        lateral=stored.record,
        segment=site.segment if site else None,
        premises=premises,
        stage=stored.stage,
        outcome=stored.fitness,
        waits=waits_on(stored.stage, sheet.reasons if sheet else ()),
        sheet=sheet,
        sheet_revision=planned.revision.number if planned else 0,
        shown=show_stored(sheet, planned.revision.sha256, system) if planned and sheet else None,
        drawing=drawing,
        seen=tuple(_seen(site, system)) if site else (),
        survey=_survey_words(site.survey, system) if site and site.survey else "",
        surveys=len(surveys),
        tap=tap,
        revisions=revisions,
        changed_since=changed,
        chosen=chosen,
    )


def _no_segment(stored: Stored[Lateral]) -> str:
    return f"main segment “{stored.record.segment}” is not listed"


def _maybe(
    session: ReadSession, project: str, kind: type[WorkSheet], key: str
) -> Stored[WorkSheet] | None:
    try:
        return session.get(project, kind, key)
    except NotFoundError:
        return None


def _site(
    session: ReadSession, project: str, key: str, planned: Stored[WorkSheet] | None, today: dt.date
) -> Site | None:
    """What the plan was made from, else what is on record; None without the segment."""
    if planned is not None:
        return site_of_sheet(planned.record)
    try:
        return Gatherer(session, project, today).gather(key).site
    except NotFoundError:
        return None


def _chosen_words(session: ReadSession, project: Project, key: str) -> str:
    """What was chosen for the design, and why."""
    try:
        stored = session.get(project.key, DesignChoice, key)
    except NotFoundError:
        return ""
    changes = compare(DesignChoice(key), stored.record, project.units)
    parts = "; ".join(f"{change.where} {change.now}" for change in changes)
    return f"{parts} ({stored.revision.reason}, {stored.revision.by})" if parts else ""


def _premises(session: ReadSession, project: str, lateral: Lateral) -> Iterator[Premises]:
    for key in lateral.premises:
        try:
            yield session.get(project, Premises, key).record
        except NotFoundError:
            continue


def _seen(site: Site, system: UnitSystem) -> Iterator[SeenRow]:
    rows = sorted(site.seen(), key=lambda row: (row[2], row[0]))
    for index, seen, distance in rows:
        place = distance_text(distance, system)
        if seen.running_to is not None:
            low, high = sorted((distance, site.from_tap(seen.running_to)))
            place = f"{distance_text(low, system)} to {distance_text(high, system)}"
        words = seen_text(seen, system)
        yield SeenRow(
            index, place, words, clock_text(seen.clock_from), seen.code, seen.remark, seen.still
        )


def _survey_words(survey: Survey, system: UnitSystem) -> str:
    by = f", by {survey.by}" if survey.by else ""
    return f"{date_text(survey.date, system)}, {survey.method}{by}"


def _changed_since(
    session: ReadSession,
    project: Project,
    sheet: WorkSheet,
    surveys: Sequence[Stored[Survey]],
    today: dt.date,
) -> Iterator[str]:
    """What the plan was made from and is otherwise now, and what would be used in its place."""
    for reference in sheet.made_from:
        kind = _KINDS.get(reference.document)
        if kind is None:
            continue
        now = session.revision_of(project.key, kind, reference.key)
        if now > reference.revision:
            words = "".join(f" {c.lower()}" if c.isupper() else c for c in reference.document)
            yield f"{words.strip()} {reference.key}: revision {reference.revision}, now {now}"
    used = {reference.key for reference in sheet.made_from}
    newest = newest_survey(surveys)
    if newest is not None and newest.key not in used and newest.date <= today:
        yield f"a newer survey, of {date_text(newest.date, project.units)}"
    chosen = session.revision_of(project.key, DesignChoice, sheet.lateral.key)
    if chosen and "DesignChoice" not in {reference.document for reference in sheet.made_from}:
        yield "a design was chosen meanwhile"


def _revisions(
    session: ReadSession,
    project: Project,
    key: str,
    surveys: Sequence[Stored[Survey]],
    *,
    planned: bool,
) -> Iterator[RevisionLine]:
    """The newest first, of the lateral's record, surveys, design choice and work sheet."""
    lines = [_of(project, "record", one) for one in session.history(project.key, Lateral, key)]
    for number in range(max(2, len(lines) - COMPARED + 1), len(lines) + 1):
        found = compare_revisions(
            session, project.key, Lateral, key, (number - 1, number), project.units
        )
        changes = tuple(str(change) for change in found.changes)
        lines[number - 1] = _of(project, "record", found.new, changes)
    if planned:
        lines += [
            _of(project, "work sheet", one) for one in session.history(project.key, WorkSheet, key)
        ]
    if session.revision_of(project.key, DesignChoice, key):
        lines += [
            _of(project, "design choice", one)
            for one in session.history(project.key, DesignChoice, key)
        ]
    for stored in surveys:
        made = session.history(project.key, Survey, stored.key)
        words = f"survey of {stored.record.date.isoformat()}"
        lines += [_of(project, words, one) for one in made]
    yield from sorted(lines, key=lambda line: (line.at, line.document, line.number), reverse=True)


def _of(
    project: Project, document: str, one: Revision, changes: tuple[str, ...] = ()
) -> RevisionLine:
    when = time_text(one.at, project.zone, project.units)
    return RevisionLine(document, one.number, one.at, when, one.by, one.reason, one.origin, changes)
