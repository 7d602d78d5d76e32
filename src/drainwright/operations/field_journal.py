"""Field entries in and out: uploads that may be repeated, entries of a lateral, photos (write)."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import chain, islice
from typing import Any

from drainwright.errors import ConflictError, Fault, InputError
from drainwright.operations.stores import OpenStore
from drainwright.records.field_entry import FieldEvent, read_event
from drainwright.storage.protocol import FieldEntry, ReadSession

PORTION = 500
"""Most entries in one answer."""


@dataclass(frozen=True, slots=True)
class Head:
    """How far a device's chain reaches: number and hash of its newest entry."""

    number: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Received:
    """What became of an upload: how many were new, how many wait for ones before them."""

    new: int
    waiting: int
    heads: Mapping[str, Head]


@dataclass(frozen=True, slots=True)
class Noted:
    """One entry of a lateral with what it says, and the device it came from."""

    entry: FieldEntry
    event: FieldEvent | None
    """None where this program can't read the text; it is kept all the same."""


def receive_entries(
    store: OpenStore, project: str, entries: Iterable[FieldEntry], *, by: str, at: dt.datetime
) -> Received:
    """Take in entries of any devices, in any order, any number of times.

    Of each device what follows its chain without a gap is stored; the rest waits until what
    lies before it has come, and is sent again. Raises `ConflictError` where an entry differs
    from the one with its id or number, `InputError` for one whose hash does not fit; then
    nothing of the upload is stored.
    """
    given = list(entries)
    with store.write(by=by, at=at, origin="field", reason="field entries") as session:
        heads = {one.device: one for one in session.journal.heads(project)}
        ready, waiting = _in_line(given, heads)
        new = session.journal.append(project, ready)
        return Received(new, waiting, _heads(session, project))


def _in_line(
    given: Sequence[FieldEntry], heads: Mapping[str, FieldEntry]
) -> tuple[list[FieldEntry], int]:
    """Entries without a gap to what is there, and how many are left out."""
    ready: list[FieldEntry] = []
    reached = {device: head.number for device, head in heads.items()}
    unique = {(one.device, one.number, one.id, one.sha256): one for one in given}
    for one in sorted(unique.values(), key=lambda entry: (entry.device, entry.number)):
        at = reached.get(one.device, 0)
        if one.number > at + 1:
            continue
        ready.append(one)
        reached[one.device] = max(at, one.number)
    return ready, len(unique) - len(ready)


def heads_of(store: OpenStore, project: str) -> Mapping[str, Head]:
    """How far each device's chain reaches."""
    with store.read() as session:
        return _heads(session, project)


def _heads(session: ReadSession, project: str) -> dict[str, Head]:
    found = session.journal.heads(project)
    return {one.device: Head(one.number, one.sha256) for one in found}


def entries_after(
    store: OpenStore, project: str, device: str, after: int, most: int = PORTION
) -> tuple[FieldEntry, ...]:
    """The next entries of a device behind a number, in their order."""
    with store.read() as session:
        found = session.journal.entries(project, device, after)
        return tuple(one.entry for one in islice(found, most))


@dataclass(frozen=True, slots=True)
class Since:
    """What came after what a device had seen, and how far it has seen now."""

    entries: tuple[FieldEntry, ...]
    reached: Mapping[str, int]
    more: bool


def entries_since(
    store: OpenStore, project: str, reached: Mapping[str, int], lateral: str = ""
) -> Since:
    """Entries of all devices behind the numbers `reached`; of one lateral where it is named."""
    seen, found = dict(reached), list[FieldEntry]()
    with store.read() as session:
        heads = session.journal.heads(project)
        if lateral:
            found = [
                one.entry
                for one in session.journal.of_lateral(project, lateral)
                if one.entry.number > seen.get(one.entry.device, 0)
            ]
            return Since(tuple(found), {one.device: one.number for one in heads}, more=False)
        for head in heads:
            for received in session.journal.entries(project, head.device, seen.get(head.device, 0)):
                if len(found) >= PORTION:
                    return Since(tuple(found), seen, more=True)
                found.append(received.entry)
                seen[head.device] = received.entry.number
    return Since(tuple(found), seen, more=False)


def entries_of(store: OpenStore, project: str, lateral: str = "") -> tuple[Noted, ...]:
    """Every entry of a lateral, or of the project, by time."""
    with store.read() as session:
        return noted(session, project, lateral)


def noted(session: ReadSession, project: str, lateral: str = "") -> tuple[Noted, ...]:
    """`entries_of` within a session."""
    if lateral:
        received = session.journal.of_lateral(project, lateral)
    else:
        heads = session.journal.heads(project)
        every = (session.journal.entries(project, head.device) for head in heads)
        received = tuple(chain.from_iterable(every))
    found = (Noted(one.entry, _event(one.entry)) for one in received)
    return tuple(sorted(found, key=_when))


def _when(one: Noted) -> tuple[dt.datetime, str]:
    at = one.event.at if one.event else dt.datetime.min.replace(tzinfo=dt.UTC)
    return at, one.entry.id


def _event(entry: FieldEntry) -> FieldEvent | None:
    try:
        return read_event(entry.text, entry.id)
    except InputError:
        return None


# ---------------------------------------------------------------- photos


def receive_photo(
    store: OpenStore, project: str, content: bytes, name: str, *, by: str, at: dt.datetime
) -> str:
    """Keep a photo or file of the field; return its hash. The same content is kept once."""
    with store.write(by=by, at=at, origin="field", reason="field photo") as session:
        return session.attachments.add(project, content, name).sha256


def photos_of(store: OpenStore, project: str) -> Mapping[str, str]:
    """Name of every attachment by its hash."""
    with store.read() as session:
        return {one.sha256: one.name for one in session.attachments.all(project)}


def photo(store: OpenStore, project: str, sha256: str) -> tuple[bytes, str, str]:
    """Content, name and media type; `NotFoundError` where it is not there."""
    with store.read() as session:
        known = session.attachments.get(project, sha256)
        return session.attachments.content(project, sha256), known.name, known.media


# ---------------------------------------------------------------- text form


def entry_json(entry: FieldEntry) -> dict[str, Any]:
    """An entry as it travels: the text verbatim."""
    return asdict(entry)


def read_entry(found: Any) -> FieldEntry:
    """An entry from its JSON form; `InputError` where parts are missing or of another kind."""
    if not isinstance(found, dict):
        raise InputError(Fault("entry", "must be a JSON object", str(found)[:80]))
    wrong = [
        Fault(name, "is missing or is not " + ("a number" if kind is int else "text"))
        for name, kind in (
            ("id", str), ("device", str), ("number", int), ("text", str), ("sha256", str),
        )
        if not isinstance(found.get(name), kind) or isinstance(found.get(name), bool)
    ]  # fmt: skip
    if wrong:
        raise InputError(*wrong)
    return FieldEntry(found["id"], found["device"], found["number"], found["text"], found["sha256"])


def read_lines(text: str) -> Iterator[FieldEntry]:
    """Entries of an outbox file, one JSON object a line; `InputError` names the line."""
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip():
            continue
        try:
            yield read_entry(json.loads(line))
        except InputError as error:
            raise InputError(*(fault.placed(row=number) for fault in error.faults)) from error
        except ValueError as error:
            message = f"is not JSON: {error}"
            raise InputError(Fault("entry", message, line[:80], row=number)) from error


def read_outbox(
    store: OpenStore, project: str, content: bytes, *, by: str, at: dt.datetime
) -> Received:
    """Take in an outbox saved to a file on a device, as if it had been uploaded.

    Raises `InputError` for a file that is not one, and `ConflictError` where it contradicts the
    journal or entries before it are missing; what could be taken in is kept then.
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(Fault("file", "is not UTF-8 text")) from error
    done = receive_entries(store, project, list(read_lines(text)), by=by, at=at)
    if done.waiting:
        message = f"{done.waiting} entries were left out: the ones before them are missing"
        raise ConflictError(f"{message}; {done.new} were taken in")
    return done
