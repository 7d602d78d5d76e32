"""Every document of one lateral with its revisions, and two of them compared (read)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.papers.shown import time_text
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.compare import compare_revisions
from drainwright.storage.protocol import Filters, ReadSession, RecordStore, Revision

MOST = 400
"""Changes told at most; a work sheet may differ in all of its figures."""


@dataclass(frozen=True, slots=True)
class RevisionOption:
    """One revision of a document in words."""

    number: int
    when: str
    by: str
    reason: str
    origin: str
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class DocumentHistory:
    """One document of a lateral: its name in an address, in words, and its revisions."""

    name: str
    words: str
    revisions: tuple[RevisionOption, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Two revisions of one document, and what changed, in plain words."""

    document: str
    old: int
    new: int
    changes: tuple[tuple[str, str, str], ...]
    """Where, what it was, what it is."""
    left_out: int = 0


def lateral_history(store: RecordStore, project: Project, key: str) -> tuple[DocumentHistory, ...]:
    """Record, surveys, design choice and work sheet of lateral `key`."""
    with store.read() as session:
        return tuple(
            DocumentHistory(name, words, _options(session, project, kind, document))
            for name, words, kind, document in _documents(session, project, key)
        )


def compare_document(
    store: RecordStore, project: Project, key: str, name: str, numbers: tuple[int, int]
) -> Compared:
    """What changed in a document of the lateral; `InputError` for one that it does not have."""
    with store.read() as session:
        for known, words, kind, document in _documents(session, project, key):
            if known == name:
                found = compare_revisions(
                    session, project.key, kind, document, numbers, project.units
                )
                told = tuple((one.where, one.was, one.now) for one in found.changes)
                return Compared(words, *numbers, told[:MOST], max(0, len(told) - MOST))
    raise InputError(Fault("document", f"{key} has none of that name", name))


def _documents(
    session: ReadSession, project: Project, key: str
) -> list[tuple[str, str, type[Any], str]]:
    """Name, words, kind and key of each document there is."""
    found: list[tuple[str, str, type[Any], str]] = [("record", "record", Lateral, key)]
    if not session.revision_of(project.key, Lateral, key):
        raise NotFoundError(f"there is no lateral {key} in {project.key}")
    for stored in session.every(project.key, Survey, Filters(lateral=key)):
        survey = stored.record
        words = f"survey of {survey.date.isoformat()}, {survey.method}"
        found.append((f"survey {stored.key}", words, Survey, stored.key))
    for name, kind in (("design choice", DesignChoice), ("work sheet", WorkSheet)):
        if session.revision_of(project.key, kind, key):
            found.append((name, name, kind, key))
    return found


def _options(
    session: ReadSession, project: Project, kind: type[Any], document: str
) -> tuple[RevisionOption, ...]:
    def option(one: Revision) -> RevisionOption:
        when = time_text(one.at, project.zone, project.units)
        return RevisionOption(one.number, when, one.by, one.reason, one.origin, one.withdrawn)

    return tuple(option(one) for one in session.history(project.key, kind, document))
