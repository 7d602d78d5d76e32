"""A document's history, two revisions compared, a document at a time (read); withdraw (write)."""

from __future__ import annotations

import datetime as dt
import zoneinfo
from dataclasses import dataclass
from typing import Any

from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.records.project import Project
from drainwright.storage.protocol import RecordStore, Revision, Saved


@dataclass(frozen=True, slots=True)
class Difference:
    """What changed from one revision to another, in plain words."""

    old: Revision
    new: Revision
    changes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """A document as it stood: its revision and its text."""

    revision: Revision
    text: str


def kind_named(name: str) -> type[Any]:
    """The record class of a kind named by a person, such as “work sheet”."""
    from drainwright.storage.kinds import KINDS

    plain = name.strip().lower().replace(" ", "_").replace("-", "_")
    for one in (plain, plain.removesuffix("s")):
        if one in KINDS:
            record: type[Any] = KINDS[one].record
            return record
    known = ", ".join(one.replace("_", " ") for one in KINDS)
    raise InputError(Fault("kind", f"is none of {known}", name))


def history(store: RecordStore, project: str, kind: str, key: str) -> tuple[Revision, ...]:
    """Every revision of a document, the first one first."""
    with store.read() as session:
        return session.history(project, kind_named(kind), key)


def difference(
    store: RecordStore, project: Project, kind: str, key: str, numbers: tuple[int, int] | None
) -> Difference:
    """Two revisions compared in the project's units; the last two where none are named."""
    from drainwright.storage.compare import compare_revisions

    record = kind_named(kind)
    with store.read() as session:
        if numbers is None:
            last = session.revision_of(project.key, record, key)
            if not last:
                raise NotFoundError(f"there is no {kind} {key} in {project.key}")
            numbers = (max(1, last - 1), last)
        found = compare_revisions(session, project.key, record, key, numbers, project.units)
    return Difference(found.old, found.new, tuple(str(one) for one in found.changes))


def stood_at(store: RecordStore, project: Project, kind: str, key: str, time: str) -> Standing:
    """A document as it stood at a time; a date means its end, in the project's zone."""
    from drainwright.storage import codec

    moment = _moment(time, project.zone)
    with store.read() as session:
        stored = session.at(project.key, kind_named(kind), key, moment)
    return Standing(stored.revision, codec.encode(stored.record))


def _moment(text: str, zone: str) -> dt.datetime:
    try:
        time = dt.datetime.fromisoformat(text)
        if len(text) == len("2026-01-01"):
            time += dt.timedelta(days=1, microseconds=-1)
    except ValueError as error:
        raise InputError(
            Fault("time", "is not like 2026-05-04 or 2026-05-04T13:00", text)
        ) from error
    return time if time.tzinfo else time.replace(tzinfo=zoneinfo.ZoneInfo(zone))


def withdraw(
    store: RecordStore,
    project: str,
    kind: str,
    key: str,
    *,
    by: str,
    at: dt.datetime,
    reason: str,
) -> Saved:
    """Withdraw a document; it stays in the record with who, when and why."""
    if not reason.strip():
        raise InputError(Fault("reason", "say why it is withdrawn", reason))
    with store.write(by=by, at=at, origin="withdraw", reason=reason) as session:
        return session.withdraw(project, kind_named(kind), key, expected=None)
