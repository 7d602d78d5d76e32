"""Entries that the program itself makes: a chain of its own for each store, beside the tablets'."""

from __future__ import annotations

import datetime as dt
import hashlib
import platform
from collections.abc import Callable, Sequence

from drainwright.records.field_entry import FieldEvent, event_text
from drainwright.storage.protocol import FieldEntry, WriteSession

MakeId = Callable[[dt.datetime], str]
"""Makes the id of an entry that is written at an instant; faces bring the randomness."""


def own_device(location: str) -> str:
    """The name of a store's own chain: of this computer and place, so that copies don't fork it."""
    mark = hashlib.sha256(f"{platform.node()} {location}".encode()).hexdigest()[:8]
    return f"desk-{mark}"


def append_own(
    session: WriteSession,
    project: str,
    device: str,
    events: Sequence[FieldEvent],
    written: tuple[dt.datetime, MakeId],
) -> tuple[FieldEntry, ...]:
    """Chain `events` to the store's own entries in the order given; return them as stored."""
    at, make_id = written
    heads = {one.device: one for one in session.journal.heads(project)}
    head = heads.get(device)
    number, previous = (head.number, head.sha256) if head else (0, "")
    made = []
    for event in events:
        text = event_text(event)
        number += 1
        previous = hashlib.sha256((previous + text).encode()).hexdigest()
        made.append(FieldEntry(make_id(at), device, number, text, previous))
    session.journal.append(project, made)
    return tuple(made)
