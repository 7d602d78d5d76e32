"""Read a file into a project: preview (read), and store what is clean (write).

Nothing is stored unless the file has no fault, or the clean rows were asked for. A row that
was not changed since the file was read last is not touched, whatever else changed the
document; a changed row becomes a revision whose origin is the file; a vanished row is told.
"""

from __future__ import annotations

import datetime as dt
import gc
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Any

from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.exchange.columns import TABLES
from drainwright.exchange.mapping import write_mapping
from drainwright.exchange.table_records import Contact, MeasuredLength
from drainwright.operations.file_reading import (
    FileContent,
    Progress,
    ProjectRecords,
    ReadRequest,
    all_of,
    content_of,
    known_records,
)
from drainwright.records.lateral import Lateral, LengthMeasurement, MeasuringWay
from drainwright.records.list_reading import ListMapping, ReadFile
from drainwright.records.material import Resin, Tube
from drainwright.records.project import Project
from drainwright.records.rig import Rig
from drainwright.records.survey import Survey
from drainwright.storage.protocol import ReadSession, RecordStore

__all__ = ["FilePreview", "ReadRequest", "mapping_text", "preview_file", "read_file", "records_in"]

_PORTION = 1000


@dataclass(frozen=True, slots=True)
class FilePreview:
    """What reading the file would do, or has done."""

    file: str
    kind: str
    recognized: tuple[str, ...]
    records: int
    """Records without a fault."""
    faults: tuple[Fault, ...]
    notices: tuple[Fault, ...]
    new: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    unchanged: int = 0
    vanished: tuple[str, ...] = ()
    """Keys that the file had when it was read last and has no more; they stay stored."""
    stored: bool = False
    left_out: bytes = b""
    """What has faults, as a file of the same form; to be mended and read again."""
    left_out_rows: int = 0
    ending: str = ""
    mapping: ListMapping = field(default_factory=ListMapping)
    """What was recognized, as a mapping to correct."""
    mapping_kept: bool = False
    """Whether a mapping kept for this header was used."""
    kinds: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Stamp:
    """Who reads a file, when and why."""

    by: str
    at: dt.datetime
    today: dt.date
    reason: str


@dataclass(slots=True)
class _Plan:
    """What is to be stored, by comparing the file with the project."""

    puts: list[tuple[Any, int | None]] = field(default_factory=list)
    """Records with the revision they were made from, None for a new one."""
    new: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    unchanged: int = 0
    rows: dict[str, str] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)


def preview_file(
    store: RecordStore, project: str, request: ReadRequest, *, today: dt.date
) -> FilePreview:
    """What reading the file would do; nothing is stored."""
    with store.read() as session:
        return _looked_at(session, project, request, today)[0]


def read_file(
    store: RecordStore,
    project: str,
    request: ReadRequest,
    *,
    by: str,
    at: dt.datetime,
    today: dt.date,
    reason: str = "",
    progress: Progress | None = None,
) -> FilePreview:
    """Read the file and store what is clean, all of it in one transaction.

    `reason` is why, in the reader's words; what was read is put before it.

    With faults nothing is stored, unless `accept_clean_rows` asks for the rest. Raises
    `ConflictError` where somebody changed one of the documents meanwhile.
    """
    tell = progress or _silent
    with _without_collecting():
        return _read(store, project, request, _Stamp(by, at, today, reason), tell)


@contextmanager
def _without_collecting() -> Iterator[None]:
    """No garbage collection while hundreds of thousands of records are made and kept."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _read(
    store: RecordStore,
    project: str,
    request: ReadRequest,
    stamp: _Stamp,
    tell: Progress,
) -> FilePreview:
    with store.read() as session:
        seen, content, plan = _looked_at(session, project, request, stamp.today, tell)
    if seen.faults and not request.accept_clean_rows:
        return seen
    if not plan.puts and not content.records and seen.faults:
        return seen
    why = f"read {content.kind}" + (f": {stamp.reason}" if stamp.reason else "")
    with store.write(by=stamp.by, at=stamp.at, origin=request.file, reason=why) as session:
        total = len(plan.puts)
        for start in range(0, total, _PORTION):
            session.put_many(project, plan.puts[start : start + _PORTION])
            tell("storing", min(start + _PORTION, total), total)
        session.put(project, _file_now(session, project, request, content, plan), expected=None)
        if content.mapping.columns and content.header:
            kept = replace(content.mapping, kind=content.kind, header=content.header)
            session.put(project, kept, expected=None)
    return replace(seen, stored=True)


def records_in(
    store: RecordStore, project: str, request: ReadRequest, *, today: dt.date
) -> tuple[Any, ...]:
    """The records that reading the file would store, new or changed; nothing is stored.

    Raises `InputError` with every fault of the file.
    """
    with store.read() as session:
        seen, _, plan = _looked_at(session, project, request, today)
    if seen.faults:
        raise InputError(*seen.faults)
    return tuple(record for record, _ in plan.puts)


def mapping_text(mapping: ListMapping, today: dt.date) -> bytes:
    """A mapping as a TOML file, to be corrected and given back."""
    fields = TABLES.get(mapping.kind, ())
    return write_mapping(
        mapping,
        today,
        [field.name for field in fields if field.required],
        [field.name for field in fields if not field.required],
    )


def _silent(words: str, done: int, total: int) -> None:
    """No progress is shown."""


def _looked_at(
    session: ReadSession,
    project: str,
    request: ReadRequest,
    today: dt.date,
    tell: Progress = _silent,
) -> tuple[FilePreview, FileContent, _Plan]:
    tell("reading", 0, 1)
    about = session.get(project, Project, project).record
    known = known_records(session, project)
    content = content_of(request, about, known, today)
    tell("comparing", 0, 1)
    last = _last(session, project, content.kind, request.file)
    plan = _compared(session, project, content, known, last)
    vanished = () if content.faults else tuple(key for key in last.rows if key not in plan.rows)
    seen = FilePreview(
        request.file,
        content.kind,
        content.recognized,
        len(content.records),
        (*content.faults, *plan.faults),
        content.notices,
        tuple(plan.new),
        tuple(plan.changed),
        plan.unchanged,
        vanished,
        left_out=content.left_out,
        left_out_rows=content.left_out_rows,
        ending=content.ending,
        mapping=content.suggestion,
        mapping_kept=request.mapping is None and bool(content.mapping.columns),
        kinds=content.kinds,
    )
    return seen, content, plan


def _last(session: ReadSession, project: str, kind: str, file: str) -> ReadFile:
    nothing = ReadFile(file, kind, "")
    try:
        return session.get(project, ReadFile, nothing.key).record
    except NotFoundError:
        return nothing


def _file_now(
    session: ReadSession, project: str, request: ReadRequest, content: FileContent, plan: _Plan
) -> ReadFile:
    """The rows of the file as of now; of a file with rows left out, those read before stay."""
    rows = dict(plan.rows)
    if content.faults:
        rows = _last(session, project, content.kind, request.file).rows | rows
    digest = hashlib.sha256(request.data).hexdigest()
    return ReadFile(request.file, content.kind, digest, rows)


# ---------------------------------------------------------------- comparing


def _compared(
    session: ReadSession,
    project: str,
    content: FileContent,
    known: ProjectRecords,
    last: ReadFile,
) -> _Plan:
    plan = _Plan()
    news = any(
        last.rows.get(record.key) != mark
        for record, mark in zip(content.records, content.marks, strict=True)
    )
    stored = _stored(session, project, content, known) if news else {}
    targets: dict[str, Any] = {}
    for place, record in enumerate(content.records):
        given = content.given[place] if content.given else None
        mark = content.marks[place]
        plan.rows[record.key] = mark
        if last.rows.get(record.key) == mark:
            plan.unchanged += 1
            continue
        name = _target(record, known)
        before = targets.get(name, stored.get(name))
        merged = _merged(record, given, before)
        if merged is None:
            words = f"there is nothing in the project that {record.key} belongs to"
            plan.faults.append(Fault(content.kind, words, record.key))
        elif before is not None and _equal(merged, before):
            plan.unchanged += 1
        else:
            (plan.new if before is None else plan.changed).append(record.key)
            targets[name] = merged
    plan.puts = [
        (record, known.revisions.get((type(record), name))) for name, record in targets.items()
    ]
    return plan


def _target(record: Any, known: ProjectRecords) -> str:
    """The key of the document that the row goes into."""
    if isinstance(record, MeasuredLength):
        return record.lateral
    if isinstance(record, Contact) and record.premises not in known.premises:
        return next(
            (p.key for p in known.premises.values() if _same_words(p.address, record.premises)),
            record.premises,
        )
    return str(record.key)


def _same_words(one: str, other: str) -> bool:
    return " ".join(one.casefold().split()) == " ".join(other.casefold().split())


def _stored(
    session: ReadSession, project: str, content: FileContent, known: ProjectRecords
) -> Mapping[str, Any]:
    """The documents that rows of this kind go into, by key."""
    if content.kind in ("laterals", "measurements"):
        return known.laterals
    if content.kind == "segments":
        return known.segments
    if content.kind in ("premises", "contacts"):
        return known.premises
    kinds: Mapping[str, Any] = {"tubes": Tube, "resins": Resin, "rigs": Rig}
    kind: Any = kinds.get(content.kind, Survey)
    return all_of(session, project, kind, known.revisions)


def _merged(record: Any, given: Mapping[str, Any] | None, before: Any) -> Any:
    """The document with what the row says; what the row does not say stays as it was."""
    if isinstance(record, MeasuredLength | Contact):
        return None if before is None else record.put_into(before)
    if before is None or given is None:
        return record
    said = {name: getattr(record, name) for name in given if hasattr(record, name)}
    if "standing" in said:
        said["standing"] = {**before.standing, **said["standing"]}
    if isinstance(record, Lateral) and "listed_length" in given and "lengths" not in given:
        said["lengths"] = _listed(record.lengths, before.lengths)
    return replace(before, **said)


def _listed(
    new: Sequence[LengthMeasurement], old: Sequence[LengthMeasurement]
) -> tuple[LengthMeasurement, ...]:
    """The lengths known, with the listed one replaced."""
    others = [one for one in old if one.way is not MeasuringWay.LISTED]
    return (*new, *others)


def _equal(one: Any, other: Any) -> bool:
    if isinstance(one, Survey) and isinstance(other, Survey):
        return replace(one, file="") == replace(other, file="")
    return bool(one == other)
