"""The state of a running cure, from the log so far (read)."""

from __future__ import annotations

import datetime as dt

from drainwright.acceptance.cure_series import told_of
from drainwright.acceptance.live_cure import LiveInputs, live_state
from drainwright.errors import InputError
from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.cure_log import CureLog
from drainwright.records.field_entry import FieldEvent, read_event
from drainwright.records.live_cure import LiveCure
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession


def live_cure(
    session: ReadSession, project: str, lateral: str, log_so_far: CureLog, now: dt.datetime
) -> LiveCure:
    """What is still needed by maker, exhaust and estimate, and what is wrong, at `now`.

    `log_so_far` is what the logger wrote until now, or what the crew read. Raises
    `NotFoundError` for a lateral without a work sheet.
    """
    sheet = session.get(project, WorkSheet, lateral).record
    attempt = attempt_of(session, project, lateral, log_so_far.attempt)
    return live_state(LiveInputs(sheet, log_so_far, now, told_of(attempt, log_so_far)))


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
