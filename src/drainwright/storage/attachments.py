"""Attachments: files beside the database, named by the hash of their content.

A file is written before its row is committed and never altered or deleted, so that a row
always has its file; a transaction that failed leaves at most a file that nothing names.
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from drainwright.errors import NotFoundError, StorageError
from drainwright.storage.journal import Connected
from drainwright.storage.kinds import plain_text
from drainwright.storage.media import media_of, still_of
from drainwright.storage.protocol import Attachment, Finding
from drainwright.storage.schema import attachments
from drainwright.storage.stamp import Stamp

_HASH = re.compile(r"[0-9a-f]{64}")


class Folder:
    """The folder of a store's attachments; `path` is None for a store that has none."""

    def __init__(self, path: Path | None) -> None:
        self._path = path

    def place(self, sha256: str) -> Path:
        """Where the content of this hash is."""
        if self._path is None:
            raise StorageError("this store has no folder for attachments; name one to open it with")
        if not _HASH.fullmatch(sha256):
            raise StorageError(f"{sha256} is no hash of an attachment")
        return self._path / sha256[:2] / sha256

    def add(self, content: bytes) -> str:
        """Keep a content once and return its hash; it is on the disk when this returns."""
        sha256 = hashlib.sha256(content).hexdigest()
        place = self.place(sha256)
        try:
            if place.exists() and hashlib.sha256(place.read_bytes()).hexdigest() == sha256:
                return sha256
            place.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=place.parent, prefix="incoming-")
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                    file.flush()
                    os.fsync(file.fileno())
                Path(name).replace(place)
            finally:
                Path(name).unlink(missing_ok=True)
        except OSError as error:
            raise StorageError(f"{place}: the attachment can't be written: {error}") from error
        return sha256

    def read(self, sha256: str) -> bytes:
        """The content of this hash; `StorageError` where it is missing or was changed."""
        place = self.place(sha256)
        try:
            content = place.read_bytes()
        except OSError as error:
            raise StorageError(f"{place}: the attachment can't be read: {error}") from error
        if hashlib.sha256(content).hexdigest() != sha256:
            raise StorageError(f"{place}: the attachment was changed; restore it from a backup")
        return content


class AttachmentReading:
    """The attachments of a session's view."""

    def __init__(self, session: Connected, folder: Folder) -> None:
        self._session = session
        self._folder = folder

    def get(self, project: str, sha256: str) -> Attachment:
        """What is known about an attachment."""
        found = self._rows(self._session.number_of(project), attachments.c.sha256 == sha256)
        if not found:
            raise NotFoundError(f"there is no attachment {sha256} in {project}")
        return found[0]

    def content(self, project: str, sha256: str) -> bytes:
        """Its content, checked against its hash."""
        return self._folder.read(self.get(project, sha256).sha256)

    def all(self, project: str) -> tuple[Attachment, ...]:
        """Every attachment of a project, the first one first."""
        return tuple(self._rows(self._session.number_of(project)))

    def findings(self, project: str) -> Iterator[Finding]:
        """Attachments whose file is missing or was changed."""
        for one in self.all(project):
            try:
                self._folder.read(one.sha256)
            except StorageError as error:
                yield Finding(project, f"attachment {one.name} ({one.sha256})", str(error))

    def _rows(self, number: int, *which: sa.ColumnElement[bool]) -> list[Attachment]:
        query = (
            sa.select(attachments)
            .where(attachments.c.project_id == number, *which)
            .order_by(attachments.c.made_at, attachments.c.name, attachments.c.sha256)
        )
        return [_attachment(row) for row in self._session.run(query)]


class AttachmentWriting(AttachmentReading):
    """The attachments of a transaction."""

    def __init__(self, session: Connected, folder: Folder, stamp: Stamp) -> None:
        super().__init__(session, folder)
        self._stamp = stamp

    def add(self, project: str, content: bytes, name: str) -> Attachment:
        """Keep a file; one with the same content in this project is returned as it is."""
        number = self._session.number_of(project)
        media = media_of(content, plain_text("name", name, filled=True))
        still = still_of(content)
        sha256 = self._folder.add(content)
        if not self._rows(number, attachments.c.sha256 == sha256):
            row = {
                "project_id": number,
                "sha256": sha256,
                "size": len(content),
                "media": media,
                "name": name,
                "taken": still.taken,
                "latitude": still.latitude,
                "longitude": still.longitude,
                "made_at": self._stamp.at,
                "made_by": self._stamp.by,
                "origin": self._stamp.origin,
                "reason": self._stamp.reason,
            }
            self._session.run(sa.insert(attachments), [row])
        return self.get(project, sha256)


def _attachment(row: Any) -> Attachment:
    return Attachment(
        sha256=row.sha256,
        size=row.size,
        media=row.media,
        name=row.name,
        taken=row.taken,
        latitude=row.latitude,
        longitude=row.longitude,
        at=row.made_at,
        by=row.made_by,
        origin=row.origin,
        reason=row.reason,
    )
