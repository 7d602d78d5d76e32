"""The attempts that a project's field entries tell (read)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.field_entry import FieldEvent, read_event
from drainwright.storage.protocol import ReadSession


def field_events(session: ReadSession, project: str) -> Iterator[FieldEvent]:
    """What every field entry of a project says, device by device."""
    for head in session.journal.heads(project):
        for received in session.journal.entries(project, head.device):
            yield read_event(received.entry.text, received.entry.id)


def field_attempts(session: ReadSession, project: str) -> Mapping[str, tuple[Attempt, ...]]:
    """The attempts on each lateral of a project."""
    return attempts_of(field_events(session, project))


def lateral_attempts(session: ReadSession, project: str, lateral: str) -> tuple[Attempt, ...]:
    """The attempts on one lateral, without reading the entries of the others."""
    received = session.journal.of_lateral(project, lateral)
    events = (read_event(one.entry.text, one.entry.id) for one in received)
    return attempts_of(events).get(lateral, ())
