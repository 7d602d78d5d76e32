"""A project as plain lines, and back: every revision, field entry and attachment's row.

The lines hold what counts and nothing that is derived; ids are left out, so that two stores
with the same record give the same lines. Loading makes the derived columns again.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from drainwright.errors import ConflictError, StorageError
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentReading, Folder
from drainwright.storage.folding import sort_key
from drainwright.storage.journal import Connected, JournalReading, lateral_in
from drainwright.storage.kinds import KINDS
from drainwright.storage.schema import attachments, documents, entries, projects, revisions, words

if TYPE_CHECKING:
    from drainwright.storage.writing import Writing

PORTION = 500
Line = Mapping[str, Any]


def dumped(session: Connected, folder: Folder, project: str) -> Iterator[dict[str, Any]]:
    """The lines of a project: revisions by document, entries by device, attachments."""
    yield {"line": "project", "key": project}
    yield from _documents(session, project)
    journal = JournalReading(session)
    for head in journal.heads(project):
        for received in journal.entries(project, head.device):
            one = received.entry
            yield {
                "line": "entry",
                "device": one.device,
                "number": one.number,
                "id": one.id,
                "at": received.at.isoformat(),
                "by": received.by,
                "origin": received.origin,
                "sha256": one.sha256,
                "text": one.text,
            }
    for file in AttachmentReading(session, folder).all(project):
        names = ("sha256", "size", "media", "name", "taken", "latitude", "longitude")
        line = {"line": "attachment"} | {name: getattr(file, name) for name in names}
        told = {"by": file.by, "origin": file.origin, "reason": file.reason}
        yield line | {"at": file.at.isoformat()} | told


def _documents(session: Connected, project: str) -> Iterator[dict[str, Any]]:
    number = session.number_of(project)
    place = (0, 0)
    while True:
        query = (
            sa.select(documents.c.id, documents.c.kind, documents.c.key, revisions)
            .join(revisions, revisions.c.document_id == documents.c.id)
            .where(
                documents.c.project_id == number,
                sa.tuple_(revisions.c.document_id, revisions.c.number) > place,
            )
            .order_by(revisions.c.document_id, revisions.c.number)
            .limit(PORTION)
        )
        found = session.run(query)
        for row in found:
            yield {
                "line": "revision",
                "kind": row.kind,
                "key": row.key,
                "number": row.number,
                "withdrawn": row.withdrawn,
                "at": row.made_at.isoformat(),
                "by": row.made_by,
                "origin": row.origin,
                "reason": row.reason,
                "sha256": row.sha256,
                "text": row.content,
            }
        if len(found) < PORTION:
            return
        place = (found[-1].document_id, found[-1].number)


class Loading:
    """Lines on their way into a store that has nothing of their project yet."""

    def __init__(
        self, session: Writing, folder: Folder, content_of: Callable[[str], bytes]
    ) -> None:
        self._session = session
        self._folder = folder
        self._content_of = content_of
        self._number = 0
        self._project = ""
        self._document: list[Line] = []
        self._rows: dict[sa.Table, list[dict[str, Any]]] = {}

    def load(self, lines: Iterable[Line]) -> str:
        """Store every line and return the project's key; the session checks it all after."""
        for line in lines:
            try:
                self._take(line)
            except (KeyError, TypeError, ValueError) as error:
                raise StorageError(f"a line of the bundle can't be understood: {error}") from error
        self._end_document()
        self._flush()
        if not self._project:
            raise StorageError("the bundle names no project")
        return self._project

    def _take(self, line: Line) -> None:
        kind = line["line"]
        if kind == "project":
            self._begin(line["key"])
            return
        if not self._project:
            raise StorageError("the bundle does not begin with its project")
        if kind == "revision":
            if self._document and (line["kind"], line["key"]) != _name(self._document[0]):
                self._end_document()
            self._document.append(line)
        elif kind == "entry":
            self._add(entries, self._entry(line))
        elif kind == "attachment":
            self._add(attachments, self._attachment(line))
        else:
            raise StorageError(f"this program does not know lines of “{kind}”; update drainwright")

    def _begin(self, key: str) -> None:
        if self._project:
            raise StorageError("the bundle holds more than one project")
        if self._session.run(sa.select(projects.c.id).where(projects.c.key == key)):
            raise ConflictError(f"the store already holds the project {key}")
        self._project, self._number = key, self._session.next_id(projects)
        self._session.run(sa.insert(projects), [{"id": self._number, "key": key}])

    def _end_document(self) -> None:
        if not self._document:
            return
        last = self._document[-1]
        if last["kind"] not in KINDS:
            raise StorageError(f"this program knows no {last['kind']}; update drainwright")
        kind = KINDS[last["kind"]]
        index = kind.index(codec.decode(kind.record, last["text"]))
        ident = self._session.next_id(documents)
        row = {
            "id": ident,
            "project_id": self._number,
            "kind": kind.name,
            "key": last["key"],
            "sort_key": sort_key(last["key"]),
        }
        row |= self._session.derived(self._number, kind, index, last["number"], last["text"])
        self._add(documents, row | {"withdrawn": bool(last["withdrawn"])})
        for line in self._document:
            self._add(revisions, _revision(ident, line))
        place = {"project_id": self._number, "kind": kind.name, "document_id": ident}
        for word in sorted(index.words(last["key"])):
            self._add(words, place | {"word": word})
        self._document = []
        if len(self._rows.get(documents, ())) >= PORTION:
            self._flush()

    def _entry(self, line: Line) -> dict[str, Any]:
        names = ("device", "number", "id", "text", "sha256", "origin")
        row = {name: line[name] for name in names} | {"project_id": self._number}
        lateral = lateral_in(line["text"])
        if lateral:
            self._session.touch(self._number, lateral)
        stamp = {"received_at": _time(line), "received_by": line["by"]}
        return row | stamp | {"lateral_key": lateral}

    def _attachment(self, line: Line) -> dict[str, Any]:
        kept = self._folder.add(self._content_of(line["sha256"]))
        if kept != line["sha256"]:
            raise StorageError(f"attachment {line['name']}: its content was changed")
        names = ("sha256", "size", "media", "name", "taken", "latitude", "longitude")
        row = {name: line[name] for name in names} | {"project_id": self._number}
        stamp = {"made_by": line["by"], "origin": line["origin"], "reason": line["reason"]}
        return row | {"made_at": _time(line)} | stamp

    def _add(self, table: sa.Table, row: dict[str, Any]) -> None:
        rows = self._rows.setdefault(table, [])
        rows.append(row)
        if table in (entries, attachments) and len(rows) >= PORTION:
            self._flush()

    def _flush(self) -> None:
        for table in (documents, revisions, words, entries, attachments):
            self._session.run(sa.insert(table), self._rows.pop(table, []))


def _name(line: Line) -> tuple[str, str]:
    return line["kind"], line["key"]


def _time(line: Line) -> dt.datetime:
    time = dt.datetime.fromisoformat(line["at"])
    if time.tzinfo is None:
        raise ValueError(f"the time {line['at']} has no zone")
    return time


def _revision(ident: int, line: Line) -> dict[str, Any]:
    return {
        "document_id": ident,
        "number": line["number"],
        "content": line["text"],
        "sha256": line["sha256"],
        "withdrawn": bool(line["withdrawn"]),
        "made_at": _time(line),
        "made_by": line["by"],
        "origin": line["origin"],
        "reason": line["reason"],
    }
