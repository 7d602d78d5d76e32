"""Recompute every hash of a project: revisions, field entries, attachments."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa

from drainwright.errors import StorageError
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentReading, Folder
from drainwright.storage.journal import Connected, JournalReading
from drainwright.storage.kinds import KINDS
from drainwright.storage.protocol import Finding
from drainwright.storage.schema import documents, revisions

PORTION = 500


def findings(session: Connected, folder: Folder, project: str) -> Iterator[Finding]:
    """What does not match in a project, and where; nothing if all is well."""
    yield from _documents(session, project)
    yield from JournalReading(session).findings(project)
    yield from AttachmentReading(session, folder).findings(project)


def _documents(session: Connected, project: str) -> Iterator[Finding]:
    """Numbers without a gap, the document's own number, and each text with its hash."""
    for kind, key, current in _without_revisions(session, project):
        yield Finding(project, f"{kind} {key}", f"revisions up to {current} are missing at the end")
    ident, expected, current, name = 0, 1, 0, ""
    for row in _revisions(session, project):
        if row.id != ident:
            if ident and expected - 1 != current:
                yield Finding(project, name, f"revisions up to {current} are missing at the end")
            ident, expected, current = row.id, 1, row.revision
            name = f"{row.kind} {row.key}"
        where = f"{name}, revision {row.number}"
        if row.number != expected:
            yield Finding(project, where, f"the revision before it is missing: {row.number - 1}")
        expected = row.number + 1
        yield from _content(project, where, row)
    if ident and expected - 1 != current:
        yield Finding(project, name, f"revisions up to {current} are missing at the end")


def _without_revisions(session: Connected, project: str) -> list[tuple[str, str, int]]:
    there = sa.exists().where(revisions.c.document_id == documents.c.id)
    query = (
        sa.select(documents.c.kind, documents.c.key, documents.c.revision)
        .where(documents.c.project_id == session.number_of(project), ~there)
        .order_by(documents.c.id)
    )
    return [(row.kind, row.key, row.revision) for row in session.run(query)]


def _content(project: str, where: str, row: Any) -> Iterator[Finding]:
    if codec.sha256(row.content) != row.sha256:
        yield Finding(project, where, "the stored text is not the one that was written")
        return
    if row.kind not in KINDS:
        yield Finding(project, where, "this program does not know its kind")
        return
    try:
        codec.decode(KINDS[row.kind].record, row.content)
    except StorageError as error:
        yield Finding(project, where, str(error))
        return
    if row.number == row.revision and row.brief != KINDS[row.kind].brief_of(row.content):
        yield Finding(project, where, "lists show something else than the stored text")


def _revisions(session: Connected, project: str) -> Iterator[Any]:
    """Every revision of a project, in portions."""
    number = session.number_of(project)
    place = (0, 0)
    while True:
        query = (
            sa.select(
                documents.c.id,
                documents.c.kind,
                documents.c.key,
                documents.c.revision,
                documents.c.brief,
                revisions.c.number,
                revisions.c.content,
                revisions.c.sha256,
            )
            .join(revisions, revisions.c.document_id == documents.c.id)
            .where(
                documents.c.project_id == number,
                sa.tuple_(revisions.c.document_id, revisions.c.number) > place,
            )
            .order_by(revisions.c.document_id, revisions.c.number)
            .limit(PORTION)
        )
        found = session.run(query)
        yield from found
        if len(found) < PORTION:
            return
        place = (found[-1].id, found[-1].number)
