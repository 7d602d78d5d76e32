"""The state of a running cure, from the log so far (read)."""

from __future__ import annotations

import datetime as dt
from collections import OrderedDict

from drainwright.acceptance.cure_priors import learn
from drainwright.acceptance.cure_series import told_of
from drainwright.acceptance.cure_site import SiteCase
from drainwright.acceptance.live_cure import LiveInputs, live_step
from drainwright.errors import InputError, NotFoundError
from drainwright.operations.sheet_case import case_of
from drainwright.operations.site_of import Gatherer
from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.cure_log import CureLog
from drainwright.records.cure_verdict import CureVerdict, Estimated
from drainwright.records.field_entry import FieldEvent, read_event
from drainwright.records.lateral import Lateral
from drainwright.records.live_cure import LiveCure
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession

_KEPT = 32
_LAST: OrderedDict[tuple[str, str, dt.datetime, bool], tuple[float, ...]] = OrderedDict()
"""Where the estimate of a running cure ended last, so that the next step is short."""


def live_cure(
    session: ReadSession,
    project: str,
    lateral: str,
    log_so_far: CureLog,
    now: dt.datetime,
    *,
    learned: bool = True,
) -> LiveCure:
    """What is still needed by maker, exhaust and estimate, and what is wrong, at `now`.

    `log_so_far` is what the logger wrote until now, or what the crew read. With `learned` the
    finished cures of the street are the estimate's starting point. Raises `NotFoundError` for
    a lateral without a work sheet.
    """
    sheet = session.get(project, WorkSheet, lateral).record
    attempt = attempt_of(session, project, lateral, log_so_far.attempt)
    neighbors = street_logs(session, project, lateral) if learned else ()
    key = (project, lateral, log_so_far.start, learned)
    step = live_step(
        LiveInputs(
            sheet,
            log_so_far,
            now,
            told_of(attempt, log_so_far),
            _site_case(session, project, lateral, sheet, now),
            learn(neighbors),
            len(neighbors),
            _LAST.get(key, ()),
        )
    )
    _LAST[key] = step.end
    while len(_LAST) > _KEPT:
        _LAST.popitem(last=False)
    return step.state


def _site_case(
    session: ReadSession, project: str, lateral: str, sheet: WorkSheet, now: dt.datetime
) -> SiteCase:
    try:
        gathered = Gatherer(session, project, now.date()).gather(lateral)
    except NotFoundError as error:
        return SiteCase(None, str(error))
    return case_of(gathered.site, sheet, gathered.collars)


def street_logs(
    session: ReadSession, project: str, lateral: str
) -> tuple[tuple[Estimated, ...], ...]:
    """What the finished cures of the same street say of the ground, one entry a log."""
    try:
        street = session.get(project, Lateral, lateral).record.street
    except NotFoundError:
        return ()
    found = []
    for stored in session.every(project, CureVerdict):
        verdict = stored.record
        if verdict.lateral == lateral or not verdict.estimated:
            continue
        try:
            other = session.get(project, Lateral, verdict.lateral).record.street
        except NotFoundError:
            continue
        if street and other == street and not any(one.grave for one in verdict.findings):
            found.append(verdict.estimated)
    return tuple(found)


def attempt_of(session: ReadSession, project: str, lateral: str, number: int) -> Attempt | None:
    """An attempt as the field entries tell it; None without entries."""
    events: list[FieldEvent] = []
    for head in session.journal.heads(project):
        for received in session.journal.entries(project, head.device):
            try:
                event = read_event(received.entry.text, received.entry.id)
            except InputError:
                continue  # an entry of another form stays in the journal
            if event.lateral == lateral:
                events.append(event)
    found = attempts_of(events).get(lateral, ())
    return next((one for one in found if one.number == number), None)
