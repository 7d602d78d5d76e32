"""Judge the cure of a lateral from its log and keep the verdict (write)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.acceptance.cure_log import LogCase, judge
from drainwright.acceptance.cure_series import told_of
from drainwright.acceptance.cure_site import SiteCase
from drainwright.operations.live_cure import attempt_of
from drainwright.operations.sheet_case import case_of
from drainwright.operations.site_of import Gatherer
from drainwright.records.cure_log import CureLog, log_key
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.work_sheet import DocumentRef, WorkSheet
from drainwright.storage.protocol import ReadSession, RecordStore


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict with its revision in the store."""

    verdict: CureVerdict
    revision: int
    changed: bool


def judge_cure(
    store: RecordStore, project: str, lateral: str, attempt: int = 1, *, by: str, at: dt.datetime
) -> Judged:
    """Judge a log against the work sheet as issued; an equal verdict keeps its revision.

    Raises `NotFoundError` without a log or a work sheet.
    """
    with store.read() as session:
        given = log_case(session, project, lateral, attempt, at=at)
    verdict = judge(given)
    with store.write(by=by, at=at, origin="", reason="cure judged") as session:
        saved = session.put(project, verdict, expected=None)
    return Judged(verdict, saved.revision, saved.changed)


def log_case(
    session: ReadSession, project: str, lateral: str, attempt: int, *, at: dt.datetime
) -> LogCase:
    """Everything a verdict rests on: log, sheet, crew's entries, calibrations, revisions."""
    log = session.get(project, CureLog, log_key(lateral, attempt))
    sheet = session.get(project, WorkSheet, lateral)
    gatherer = Gatherer(session, project, at.date())
    gathered = gatherer.gather(lateral)
    rig = gathered.site.rig
    return LogCase(
        sheet=sheet.record,
        log=log.record,
        site=case_of(gathered.site, sheet.record, gathered.collars),
        told=told_of(attempt_of(session, project, lateral, attempt), log.record),
        gauges={one.key: one.calibration_due for one in rig.gauges} if rig else {},
        made_from=(
            DocumentRef("WorkSheet", sheet.key, sheet.revision.number),
            DocumentRef("CureLog", log.key, log.revision.number),
        ),
    )


def site_case(session: ReadSession, project: str, lateral: str, at: dt.datetime) -> SiteCase:
    """The case of the model for a lateral as its work sheet was issued."""
    sheet = session.get(project, WorkSheet, lateral).record
    gathered = Gatherer(session, project, at.date()).gather(lateral)
    return case_of(gathered.site, sheet, gathered.collars)
