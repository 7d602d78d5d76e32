"""A read session: documents, their revisions, and lists."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, TypeVar

import sqlalchemy as sa

from drainwright.errors import Fault, InputError, NotFoundError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentReading, Folder
from drainwright.storage.counts import Counts
from drainwright.storage.driver import Location, told
from drainwright.storage.finding import Asked, Home, Where, asked
from drainwright.storage.journal import JournalReading
from drainwright.storage.kinds import kind_of
from drainwright.storage.protocol import (
    PAGE,
    Brief,
    BriefPage,
    Filters,
    Finding,
    Page,
    Record,
    Revision,
    Stored,
)
from drainwright.storage.schema import documents, projects, revisions
from drainwright.storage.stamp import aware

R = TypeVar("R", bound=Record)
T = TypeVar("T")
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
_BRIEF = sa.select(
    documents.c.key,
    documents.c.revision,
    documents.c.segment,
    documents.c.stage,
    documents.c.fitness,
    documents.c.brief,
)
_CURRENT = revisions.c.number == documents.c.revision
_ORDER = (documents.c.sort_key, documents.c.key, documents.c.id)


class Reading:
    """One consistent view of the store, on one connection."""

    def __init__(
        self,
        connection: sa.Connection,
        location: Location,
        folder: Folder,
        counts: Counts | None = None,
    ) -> None:
        self._connection = connection
        self._location = location
        self._folder = folder
        self._counts = counts
        """What the store counted before; None for a writer, who changes what is counted."""
        self._homes: dict[str, tuple[int, int]] = {}

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
        wanted = self._asked(project, kind, filters)
        ids = _paged(sa.select(documents.c.id).where(*wanted.page), page)
        total = self._total(project, kind, filters, wanted)
        found = self._rows(_JOINED.where(documents.c.id.in_(ids), _CURRENT).order_by(*_ORDER))
        return Page(tuple(_stored(row, kind) for row in found), page, total)

    def brief_page(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> BriefPage:
        """The page that `list` gives, in brief: no whole record is read."""
        wanted = self._asked(project, kind, filters)
        ids = _paged(sa.select(documents.c.id).where(*wanted.page), page)
        found = self._rows(_BRIEF.where(documents.c.id.in_(ids)).order_by(*_ORDER))
        total = self._total(project, kind, filters, wanted)
        return BriefPage(tuple(map(_brief, found)), page, total)

    def briefs(self, project: str, kind: type[R], keys: Sequence[str]) -> Mapping[str, Brief]:
        """The documents of `keys` that are there and not withdrawn, in brief, by key."""
        # withdrawn ones are left out here: asked for, they would lead SQLite to a wrong index
        query = _BRIEF.add_columns(documents.c.withdrawn).where(
            documents.c.project_id == self.number_of(project),
            documents.c.kind == kind_of(kind).name,
            documents.c.key.in_(keys),
        )
        return {row.key: _brief(row) for row in self._rows(query) if not row.withdrawn}

    def brief_every(
        self, project: str, kind: type[R], segments: Sequence[str] | None = None
    ) -> Iterator[Brief]:
        """All documents of a kind in brief, in no order; of `segments` alone if given."""
        query = _BRIEF.where(*self._where(project, kind))
        if segments is None:
            yield from map(_brief, self._rows(query))
            return
        for start in range(0, len(segments), PORTION):
            among = documents.c.segment.in_(segments[start : start + PORTION])
            yield from map(_brief, self._rows(query.where(among)))

    def keys(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> tuple[tuple[str, str], ...]:
        """Key and stage of every document that passes, in the order of `list`."""
        where = self._asked(project, kind, filters).total
        query = sa.select(documents.c.key, documents.c.stage).where(*where).order_by(*_ORDER)
        return tuple((row.key, row.stage) for row in self._rows(query))

    def remembered(self, project: str, what: Any, make: Callable[[], T]) -> T:
        """`make()`, not made anew before the project changes; `what` names it."""
        return self._counted(project, what, make)

    def _total(self, project: str, kind: type[Any], filters: Filters | None, wanted: Asked) -> int:
        query = sa.select(sa.func.count()).select_from(documents).where(*wanted.total)
        what = (kind, filters or Filters())
        return self._counted(project, what, lambda: int(self._rows(query)[0][0]))

    def every(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> Iterator[Stored[R]]:
        """All documents that pass, in the order of `list`, read in portions."""
        where = self._asked(project, kind, filters).total
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
        return self._counted(project, "stages", lambda: self._stages(project))

    def _stages(self, project: str) -> Mapping[tuple[str, str], int]:
        query = (
            sa.select(documents.c.stage, documents.c.fitness, sa.func.count().label("number"))
            .where(*self._where(project, Lateral))
            # in the order of the index, withdrawn included, so that nothing is sorted
            .group_by(documents.c.withdrawn, documents.c.stage, documents.c.fitness)
        )
        return {(row.stage, row.fitness): int(row.number) for row in self._rows(query)}

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
        return self._home_of(name)[0]

    def _asked(self, name: str, record: type[Any], filters: Filters | None) -> Asked:
        if record is Project and not name:
            home = Home(documents.c.project_id.is_not(None), sa.select(projects.c.id))
        else:
            number = self.number_of(name)
            home = Home(documents.c.project_id == number, [number])
        return asked(self._rows, kind_of(record), home, filters or Filters())

    def _where(self, name: str, record: type[Any]) -> Where:
        """All documents of a kind that are not withdrawn."""
        return self._asked(name, record, None).page

    def _counted(self, project: str, what: Any, count: Callable[[], T]) -> T:
        """What was counted since the project last changed, or counted now."""
        if self._counts is None or not project:
            return count()
        return self._counts.of(self._home_of(project), what, count)

    def _home_of(self, name: str) -> tuple[int, int]:
        """Number of a project and of its last change; `NotFoundError` for an unknown one."""
        home = self._homes.get(name)
        if home is None:
            query = sa.select(projects.c.id, projects.c.changes).where(projects.c.key == name)
            found = self._rows(query)
            if not found:
                raise NotFoundError(f"there is no project {name} in this store")
            home = int(found[0].id), int(found[0].changes)
            if self._counts is not None:  # a writer's own project may still be taken back
                self._homes[name] = home
        return home

    def _rows(self, query: sa.Select[Any]) -> Sequence[Any]:
        return self.run(query)

    def run(self, statement: Any, rows: Sequence[dict[str, Any]] | None = None) -> Sequence[Any]:
        """Execute a statement and return its rows; driver errors are told in our words."""
        with told(self._location):
            result = self._connection.execute(statement, rows)
            return result.all() if result.returns_rows else ()


def _paged(query: sa.Select[Any], page: int) -> sa.Select[Any]:
    if page < 1:
        raise InputError(Fault("page", "the first page is 1", page))
    return query.order_by(*_ORDER).limit(PAGE).offset((page - 1) * PAGE)


def _brief(row: Any) -> Brief:
    told_ = json.loads(row.brief) if row.brief else {}
    return Brief(row.key, row.revision, row.segment, row.stage, row.fitness, told_)


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
