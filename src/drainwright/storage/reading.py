"""A read session: documents, their revisions, and lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeVar

import sqlalchemy as sa

from drainwright.errors import Fault, InputError, NotFoundError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentReading, Folder
from drainwright.storage.driver import Location, told
from drainwright.storage.folding import LAST, prefixes, street_key
from drainwright.storage.journal import JournalReading
from drainwright.storage.kinds import Kind, kind_of
from drainwright.storage.protocol import PAGE, Filters, Finding, Page, Record, Revision, Stored
from drainwright.storage.schema import documents, projects, revisions
from drainwright.storage.schema import words as index_words
from drainwright.storage.stamp import aware

R = TypeVar("R", bound=Record)
PORTION = 500

_STATED = (
    revisions.c.number,
    revisions.c.made_at,
    revisions.c.made_by,
    revisions.c.origin,
    revisions.c.reason,
    revisions.c.sha256,
    revisions.c.withdrawn,
)
_WHOLE = (
    projects.c.key.label("project"),
    documents.c.key,
    documents.c.sort_key,
    documents.c.stage,
    documents.c.fitness,
    revisions.c.content,
    *_STATED,
)
_JOINED = (
    sa.select(*_WHOLE)
    .join_from(documents, projects, documents.c.project_id == projects.c.id)
    .join(revisions, revisions.c.document_id == documents.c.id)
)
_CURRENT = revisions.c.number == documents.c.revision
_ORDER = (documents.c.sort_key, documents.c.key, documents.c.id)


class Reading:
    """One consistent view of the store, on one connection."""

    def __init__(self, connection: sa.Connection, location: Location, folder: Folder) -> None:
        self._connection = connection
        self._location = location
        self._folder = folder

    @property
    def journal(self) -> JournalReading:
        """The field entries."""
        return JournalReading(self)

    @property
    def attachments(self) -> AttachmentReading:
        """The files beside the database."""
        return AttachmentReading(self, self._folder)

    def verify(self, project: str) -> tuple[Finding, ...]:
        """Recompute every hash of a project and tell where and what does not match."""
        from drainwright.storage.verify import findings

        return tuple(findings(self, self._folder, project))

    def dump(self, project: str) -> Iterator[dict[str, Any]]:
        """A whole project as plain lines, the same for the same record on any store."""
        from drainwright.storage.dump import dumped

        return dumped(self, self._folder, project)

    def project_keys(self) -> tuple[str, ...]:
        """The key of every project, also of a damaged or withdrawn one."""
        found = self._rows(sa.select(projects.c.key).order_by(projects.c.id))
        return tuple(row.key for row in found)

    def get(self, project: str, kind: type[R], key: str, revision: int | None = None) -> Stored[R]:
        """A document as it stands, or one of its revisions."""
        if revision is None:
            stored = self._one(_CURRENT, project, kind, key)
            if stored is not None and stored.revision.withdrawn:
                told_by = stored.revision
                raise NotFoundError(
                    f"{kind_of(kind).name} {key} of {project} was withdrawn by {told_by.by}"
                    f" on {told_by.at:%Y-%m-%d}: {told_by.reason}"
                )
        else:
            stored = self._one(_numbered(revision), project, kind, key)
        if stored is None:
            which = f", revision {revision}," if revision is not None else ""
            raise NotFoundError(f"there is no {kind_of(kind).name} {key}{which} in {project}")
        return stored

    def at(self, project: str, kind: type[R], key: str, time: dt.datetime) -> Stored[R]:
        """The document as it stood at a time."""
        moment = aware("time", time)
        stored = self._one(_made_by(moment), project, kind, key)
        if stored is None:
            raise NotFoundError(
                f"there was no {kind_of(kind).name} {key} in {project}"
                f" at {moment:%Y-%m-%d %H:%M} UTC"
            )
        return stored

    def history(self, project: str, kind: type[R], key: str) -> tuple[Revision, ...]:
        """Every revision, the first one first."""
        found = self._rows(
            sa.select(*_STATED)
            .join(documents, revisions.c.document_id == documents.c.id)
            .where(*self._named(project, kind, key))
            .order_by(revisions.c.number)
        )
        if not found:
            raise NotFoundError(f"there is no {kind_of(kind).name} {key} in {project}")
        return tuple(_revision(row) for row in found)

    def revision_of(self, project: str, kind: type[R], key: str) -> int:
        """The number of the newest revision; 0 without one."""
        query = sa.select(documents.c.revision).where(*self._named(project, kind, key))
        found = self._rows(query)
        return int(found[0].revision) if found else 0

    def list(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> Page[R]:
        """One page of 50."""
        if page < 1:
            raise InputError(Fault("page", "the first page is 1", page))
        where = self._where(project, kind, filters or Filters())
        ids = (
            sa.select(documents.c.id)
            .where(*where)
            .order_by(*_ORDER)
            .limit(PAGE)
            .offset((page - 1) * PAGE)
        )
        total = self._rows(sa.select(sa.func.count()).select_from(documents).where(*where))[0][0]
        found = self._rows(_JOINED.where(documents.c.id.in_(ids), _CURRENT).order_by(*_ORDER))
        return Page(tuple(_stored(row, kind) for row in found), page, int(total))

    def every(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> Iterator[Stored[R]]:
        """All documents that pass, in the order of `list`, read in portions."""
        where = self._where(project, kind, filters or Filters())
        last: tuple[str, str] | None = None
        while True:
            query = _JOINED.where(*where, _CURRENT).order_by(*_ORDER).limit(PORTION)
            if last is not None:
                query = query.where(sa.tuple_(documents.c.sort_key, documents.c.key) > last)
            found = self._rows(query)
            yield from (_stored(row, kind) for row in found)
            if len(found) < PORTION:
                return
            last = (found[-1].sort_key, found[-1].key)

    def counts(self, project: str) -> Mapping[str, int]:
        """Documents that are not withdrawn, by the name of their kind."""
        query = (
            sa.select(documents.c.kind, sa.func.count().label("number"))
            .where(
                documents.c.project_id == self.number_of(project),
                documents.c.withdrawn.is_(sa.false()),
            )
            .group_by(documents.c.kind)
            .order_by(documents.c.kind)
        )
        return {row.kind: int(row.number) for row in self._rows(query)}

    def stages(self, project: str) -> Mapping[tuple[str, str], int]:
        """How many laterals stand at each stage with each outcome of planning."""
        query = (
            sa.select(documents.c.stage, documents.c.fitness, sa.func.count().label("number"))
            .where(*self._where(project, Lateral, Filters()))
            # in the order of the index, withdrawn included, so that nothing is sorted
            .group_by(documents.c.withdrawn, documents.c.stage, documents.c.fitness)
        )
        return {(row.stage, row.fitness): int(row.number) for row in self._rows(query)}

    def hashes(self, project: str, kind: type[R], keys: Sequence[str]) -> Mapping[str, str]:
        """`sha256` of the newest revision of each of `keys` that is there."""
        query = (
            sa.select(documents.c.key, revisions.c.sha256)
            .join(revisions, revisions.c.document_id == documents.c.id)
            .where(*self._where(project, kind, Filters()), documents.c.key.in_(keys), _CURRENT)
        )
        return {row.key: str(row.sha256) for row in self._rows(query)}

    def field(
        self, project: str, kind: type[R], keys: Sequence[str], name: str
    ) -> Mapping[str, Any]:
        """One field of each of `keys` that is there, without reading the rest of the records."""
        query = _JOINED.where(
            *self._where(project, kind, Filters()), documents.c.key.in_(keys), _CURRENT
        )
        return {
            row.key: codec.decode_field(kind, _whole(row, kind), name) for row in self._rows(query)
        }

    # ------------------------------------------------------------ inside

    def _one(
        self, which: sa.ColumnElement[bool], project: str, kind: type[R], key: str
    ) -> Stored[R] | None:
        query = _JOINED.where(*self._named(project, kind, key), which)
        found = self._rows(query.order_by(revisions.c.number.desc()).limit(1))
        return _stored(found[0], kind) if found else None

    def _named(self, name: str, kind: type[Any], key: str) -> tuple[sa.ColumnElement[bool], ...]:
        inside = sa.select(projects.c.id).where(projects.c.key == name).scalar_subquery()
        return (
            documents.c.project_id == inside,
            documents.c.kind == kind_of(kind).name,
            documents.c.key == key,
        )

    def number_of(self, name: str) -> int:
        """The number of a project; `NotFoundError` for an unknown one."""
        found = self._rows(sa.select(projects.c.id).where(projects.c.key == name))
        if not found:
            raise NotFoundError(f"there is no project {name} in this store")
        return int(found[0].id)

    def _where(
        self, name: str, record: type[Any], filters: Filters
    ) -> tuple[sa.ColumnElement[bool], ...]:
        kind = kind_of(record)
        if record is Project and not name:
            inside: sa.ColumnElement[bool] = documents.c.project_id.is_not(None)
            among: Any = sa.select(projects.c.id)
        else:
            number = self.number_of(name)
            inside = documents.c.project_id == number
            among = [number]
        having = tuple(_having(kind, prefix, among) for prefix in prefixes(filters.words))
        # words are kept by project and kind; to ask again here would lead SQLite astray
        return (
            *(having or (inside, documents.c.kind == kind.name)),
            documents.c.withdrawn.is_(sa.true() if filters.withdrawn else sa.false()),
            *_columns(filters),
        )

    def _rows(self, query: sa.Select[Any]) -> Sequence[Any]:
        return self.run(query)

    def run(self, statement: Any, rows: Sequence[dict[str, Any]] | None = None) -> Sequence[Any]:
        """Execute a statement and return its rows; driver errors are told in our words."""
        with told(self._location):
            result = self._connection.execute(statement, rows)
            return result.all() if result.returns_rows else ()


def _columns(filters: Filters) -> Iterator[sa.ColumnElement[bool]]:
    for column, wanted in (
        (documents.c.segment, filters.segment),
        (documents.c.street, street_key(filters.street)),
        (documents.c.stage, filters.stage),
        (documents.c.fitness, filters.fitness),
        (documents.c.lateral_key, filters.lateral),
    ):
        if wanted:
            yield column == str(wanted)
    if filters.dated_from is not None:
        yield documents.c.dated >= filters.dated_from
    if filters.dated_to is not None:
        yield documents.c.dated <= filters.dated_to


def _having(kind: Kind, prefix: str, among: Any) -> sa.ColumnElement[bool]:
    """The document has a word that begins with the prefix."""
    return documents.c.id.in_(
        sa.select(index_words.c.document_id).where(
            index_words.c.project_id.in_(among),
            index_words.c.kind == kind.name,
            index_words.c.word >= prefix,
            index_words.c.word < prefix + LAST,
        )
    )


def _numbered(number: int) -> sa.ColumnElement[bool]:
    return revisions.c.number == number


def _made_by(time: dt.datetime) -> sa.ColumnElement[bool]:
    return revisions.c.made_at <= time


def _revision(row: Any) -> Revision:
    return Revision(
        number=row.number,
        at=row.made_at,
        by=row.made_by,
        origin=row.origin,
        reason=row.reason,
        sha256=row.sha256,
        withdrawn=row.withdrawn,
    )


def _whole(row: Any, kind: type[Any]) -> str:
    """The stored text, if it is the one that was written."""
    if codec.sha256(row.content) != row.sha256:
        raise StorageError(
            f"{kind_of(kind).name} {row.key} of {row.project}, revision {row.number}: the stored"
            " text is not the one that was written; restore it from a backup"
        )
    return str(row.content)


def _stored(row: Any, kind: type[R]) -> Stored[R]:
    return Stored(
        project=row.project,
        key=row.key,
        record=codec.decode(kind, _whole(row, kind)),
        revision=_revision(row),
        stage=row.stage,
        fitness=row.fitness,
    )
