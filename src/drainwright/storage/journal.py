"""The journal: field entries as their devices wrote them, one chain of hashes per device.

An entry's text is stored verbatim. Its hash covers the hash before it, so that a changed,
missing or inserted entry breaks the chain at its place. Taking the newest entries away does
not: compare `heads` with what the device or a paper shows.
"""

from __future__ import annotations

import hashlib
import json
import re
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from typing import Any, Protocol

import sqlalchemy as sa

from drainwright.errors import ConflictError, Fault, InputError
from drainwright.records.attempt import attempts_of
from drainwright.records.field_entry import AttemptEnd, FieldEvent, read_event
from drainwright.storage.kinds import plain_text
from drainwright.storage.protocol import FieldEntry, Finding, ReceivedEntry
from drainwright.storage.schema import entries
from drainwright.storage.stamp import Stamp

PORTION = 500
_HASH = re.compile(r"[0-9a-f]{64}")


class Connected(Protocol):
    """A session, as far as its parts need it."""

    def run(self, statement: Any, rows: Sequence[dict[str, Any]] | None = None) -> Sequence[Any]:
        """Execute a statement and return its rows."""
        ...

    def number_of(self, name: str) -> int:
        """The number of a project; `NotFoundError` for an unknown one."""
        ...


class Touching(Connected, Protocol):
    """A write session, as far as the journal needs it."""

    def touch(self, number: int, lateral: str) -> None:
        """Tell that a lateral's stage may have changed."""
        ...


def lateral_in(text: str) -> str:
    """The lateral a field entry names; "" where its text names none."""
    try:
        found = json.loads(text)
    except ValueError:
        return ""
    lateral = found.get("lateral") if isinstance(found, dict) else None
    return lateral if isinstance(lateral, str) and lateral.isprintable() else ""


def chained(previous: str, text: str) -> str:
    """The hash of an entry: of the hash before it and its text."""
    return hashlib.sha256((previous + text).encode()).hexdigest()


class JournalReading:
    """The field entries of a session's view."""

    def __init__(self, session: Connected) -> None:
        self._session = session

    def heads(self, project: str) -> tuple[FieldEntry, ...]:
        """The newest entry of each device."""
        return tuple(self._heads(self._session.number_of(project)).values())

    def entries(self, project: str, device: str, after: int = 0) -> Iterator[ReceivedEntry]:
        """The entries of a device behind number `after`, read in portions."""
        number = self._session.number_of(project)
        while True:
            query = (
                sa.select(entries)
                .where(
                    entries.c.project_id == number,
                    entries.c.device == device,
                    entries.c.number > after,
                )
                .order_by(entries.c.number)
                .limit(PORTION)
            )
            found = self._session.run(query)
            for row in found:
                yield ReceivedEntry(_entry(row), row.received_at, row.received_by, row.origin)
            if len(found) < PORTION:
                return
            after = found[-1].number

    def of_lateral(self, project: str, lateral: str) -> tuple[ReceivedEntry, ...]:
        """The entries about one lateral, by device and number."""
        query = (
            sa.select(entries)
            .where(
                entries.c.project_id == self._session.number_of(project),
                entries.c.lateral_key == lateral,
            )
            .order_by(entries.c.device, entries.c.number)
        )
        return tuple(
            ReceivedEntry(_entry(row), row.received_at, row.received_by, row.origin)
            for row in self._session.run(query)
        )

    def findings(self, project: str) -> Iterator[Finding]:
        """Where a device's chain does not hold; it goes on behind the place."""
        for head in self.heads(project):
            previous, expected = "", 1
            for received in self.entries(project, head.device):
                one = received.entry
                where = f"field entry {one.number} of {one.device} ({one.id})"
                if one.number != expected:
                    missing = f"{expected} to {one.number - 1}" if one.number > expected else "none"
                    yield Finding(project, where, f"entries before it are missing: {missing}")
                elif chained(previous, one.text) != one.sha256:
                    yield Finding(
                        project, where, "its hash fits neither its text nor the entry before it"
                    )
                previous, expected = one.sha256, one.number + 1

    def _heads(self, number: int) -> dict[str, FieldEntry]:
        newest = (
            sa.select(entries.c.device, sa.func.max(entries.c.number).label("number"))
            .where(entries.c.project_id == number)
            .group_by(entries.c.device)
            .subquery()
        )
        query = (
            sa.select(entries)
            .join(
                newest,
                (entries.c.device == newest.c.device) & (entries.c.number == newest.c.number),
            )
            .where(entries.c.project_id == number)
            .order_by(entries.c.device)
        )
        return {row.device: _entry(row) for row in self._session.run(query)}


class JournalWriting(JournalReading):
    """The field entries of a transaction."""

    def __init__(self, session: Touching, stamp: Stamp) -> None:
        super().__init__(session)
        self._touching = session
        self._stamp = stamp

    def append(self, project: str, entries: Iterable[FieldEntry]) -> int:
        """Add entries in the order of each device; return how many were new."""
        number = self._session.number_of(project)
        given = {one.id: one for one in map(_checked, entries)}
        known = self._known(list(given))
        for ident, (home, there) in known.items():
            if (home, there) != (number, given[ident]):
                raise ConflictError(f"field entry {ident} is in the store with other content")
        new = [one for ident, one in given.items() if ident not in known]
        _follow(self._heads(number), new)
        self._insert(number, new)
        return len(new)

    def _known(self, idents: Sequence[str]) -> dict[str, tuple[int, FieldEntry]]:
        found: dict[str, tuple[int, FieldEntry]] = {}
        for start in range(0, len(idents), PORTION):
            query = sa.select(entries).where(entries.c.id.in_(idents[start : start + PORTION]))
            found |= {row.id: (row.project_id, _entry(row)) for row in self._session.run(query)}
        return found

    def _insert(self, number: int, new: Iterable[FieldEntry]) -> None:
        rows = [
            {
                "project_id": number,
                "device": one.device,
                "number": one.number,
                "id": one.id,
                "text": one.text,
                "sha256": one.sha256,
                "received_at": self._stamp.at,
                "received_by": self._stamp.by,
                "origin": self._stamp.origin,
                "lateral_key": lateral_in(one.text),
            }
            for one in new
        ]
        self._session.run(sa.insert(entries), rows)
        for lateral in {str(row["lateral_key"]) for row in rows} - {""}:
            self._touching.touch(number, lateral)


def cured_laterals(session: Connected, number: int, keys: Sequence[str]) -> set[str]:
    """Those of the laterals on which an attempt ended cured, corrections counted.

    Of the entries only those are read that may end an attempt or correct another.
    """
    text = entries.c.text
    query = sa.select(text, entries.c.id).where(
        entries.c.project_id == number,
        entries.c.lateral_key.in_(keys),
        sa.or_(text.like('%"end"%'), text.like('%"corrects"%')),
    )
    events: list[FieldEvent] = []
    for row in session.run(query):
        with suppress(InputError):  # what is no entry of a crew ends nothing
            events.append(read_event(row.text, row.id))
    return {
        lateral
        for lateral, attempts in attempts_of(events).items()
        if any(one.end is AttemptEnd.CURED for one in attempts)
    }


def _entry(row: Any) -> FieldEntry:
    return FieldEntry(row.id, row.device, row.number, row.text, row.sha256)


def _checked(one: FieldEntry) -> FieldEntry:
    """The entry itself, if its parts can be stored verbatim."""
    try:
        right = str(uuid.UUID(one.id)) == one.id and uuid.UUID(one.id).version == 7
    except ValueError:
        right = False
    if not right:
        raise InputError(Fault("id", "is not a UUIDv7 in lower case", one.id))
    plain_text("device", one.device, filled=True)
    if one.number < 1:
        raise InputError(Fault("number", "the first entry of a device is 1", one.number))
    if not _HASH.fullmatch(one.sha256):
        raise InputError(Fault("sha256", "is not a SHA-256 in hexadecimal", one.sha256))
    if "\x00" in one.text:
        raise InputError(Fault("text", "must not hold the character NUL", one.id))
    try:
        one.text.encode()
    except UnicodeEncodeError as error:
        raise InputError(Fault("text", "is not Unicode text", one.id)) from error
    return one


def _follow(heads: Mapping[str, FieldEntry], new: Iterable[FieldEntry]) -> None:
    """See that each entry follows the one before it, in number and in hash."""
    last = dict(heads)
    for one in sorted(new, key=lambda entry: (entry.device, entry.number)):
        before = last.get(one.device)
        at = before.number if before else 0
        if one.number <= at:
            raise ConflictError(f"number {one.number} of {one.device} is taken by another entry")
        if one.number != at + 1:
            raise ConflictError(
                f"entry {one.number} of {one.device} leaves a gap: the store has it up to {at}"
            )
        if chained(before.sha256 if before else "", one.text) != one.sha256:
            message = f"entry {one.number} of {one.device}: its hash does not fit"
            raise InputError(Fault("sha256", message, one.sha256))
        last[one.device] = one
