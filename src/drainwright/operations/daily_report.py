"""The daily report of a project, as data and as a paper (read)."""

from __future__ import annotations

import datetime as dt

from drainwright.acceptance.daily_report import DailyReport, day_of
from drainwright.operations.field_journal import noted
from drainwright.operations.field_plan import steps_of
from drainwright.operations.stores import OpenStore
from drainwright.papers.daily_report import daily_report_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.records.project import Project
from drainwright.storage.protocol import ReadSession


def daily_report(store: OpenStore, project: Project, day: dt.date) -> DailyReport:
    """What was entered on a day of the project's own zone."""
    with store.read() as session:
        return _report(session, project, day)


def daily_report_paper(
    store: OpenStore, project: Project, day: dt.date, *, by: str, at: dt.datetime
) -> bytes:
    """The same as PDF, with the newest entry of each device; `PaperError` if it can't be set."""
    with store.read() as session:
        report = _report(session, project, day)
        heads = tuple((h.device, h.number, h.sha256) for h in session.journal.heads(project.key))
    return daily_report_pdf(project, report, heads, Issue(0, at, by))


def _report(session: ReadSession, project: Project, day: dt.date) -> DailyReport:
    events = [one.event for one in noted(session, project.key) if one.event]
    words = {step.key: step.words for step in steps_of(session, project.key)}
    return day_of(events, day, project.zone, words)
