"""Make the lateral file of one finished lateral as PDF/A (read)."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from drainwright.acceptance.judge import judge
from drainwright.errors import NotFoundError, StorageError
from drainwright.operations.lateral_case import Shared, case_of, shared_of
from drainwright.operations.print_papers import file_name, write_file
from drainwright.papers.lateral_file import FileFacts, lateral_file_pdf, stills_of
from drainwright.records.acceptance import Acceptance
from drainwright.storage.protocol import ReadSession, RecordStore
from drainwright.units import UnitSystem


def lateral_file(
    store: RecordStore, project: str, key: str, *, by: str, at: dt.datetime,
    system: UnitSystem | None = None,
) -> bytes:  # fmt: skip
    """The lateral file of `key`; `NotFoundError` where the lateral was never planned.

    Of a lateral that is not finished it tells what is missing.
    """
    with store.read() as session:
        facts = file_facts(session, project, key, shared_of(session, project), (at, by))
    return lateral_file_pdf(facts, system)


def write_lateral_file(
    store: RecordStore, project: str, key: str, folder: Path, *, by: str, at: dt.datetime
) -> Path:
    """Write the lateral file into a folder; `PaperError` where that can't be done."""
    path = folder / f"{file_name(key)} lateral file.pdf"
    write_file(path, lateral_file(store, project, key, by=by, at=at))
    return path


def file_facts(
    session: ReadSession, project: str, key: str, shared: Shared, made: tuple[dt.datetime, str]
) -> FileFacts:
    """What the file shows: case, verdict, signature, stills."""
    case = case_of(session, project, key, shared)
    stills = {}
    for sha256 in stills_of(case):
        try:
            stills[sha256] = session.attachments.content(project, sha256)
        except (NotFoundError, StorageError):
            continue  # the file says that there is none
    at, by = made
    return FileFacts(case, judge(case), at, by, acceptance_of(session, project, key), stills)


def acceptance_of(session: ReadSession, project: str, key: str) -> Acceptance | None:
    """The signature in force, None where nobody signed."""
    try:
        return session.get(project, Acceptance, key).record
    except NotFoundError:
        return None
