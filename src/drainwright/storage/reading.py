"""A read session: documents, their revisions, and lists."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, TypeVar

import sqlalchemy as sa

from drainwright.errors import Fault, InputError, NotFoundError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentReading, Folder
from drainwright.storage.counts import Counts
from drainwright.storage.driver import Location, told
from drainwright.storage.finding import Asked, Shape, Values, asked, conditions
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
_NAMED = (
    documents.c.project_id
    == sa.select(projects.c.id).where(projects.c.key == sa.bindparam("name")).scalar_subquery(),
    documents.c.kind == sa.bindparam("kind"),
    documents.c.key == sa.bindparam("key"),
)
# built once: to put a statement together takes longer than to run it
_HOME = sa.select(projects.c.id, projects.c.changes).where(projects.c.key == sa.bindparam("name"))
_NEWEST_FIRST = _JOINED.where(*_NAMED).order_by(revisions.c.number.desc()).limit(1)
_NOW = _NEWEST_FIRST.where(_CURRENT)
_NUMBERED = _NEWEST_FIRST.where(revisions.c.number == sa.bindparam("number"))
_MADE_BY = _NEWEST_FIRST.where(revisions.c.made_at <= sa.bindparam("time"))
_HISTORY = (
    sa.select(*_STATED)
    .join(documents, revisions.c.document_id == documents.c.id)
    .where(*_NAMED)
    .order_by(revisions.c.number)
)
_REVISION_OF = sa.select(documents.c.revision).where(*_NAMED)
# withdrawn ones are left out later: asked for, they would lead SQLite to a wrong index
_BRIEFS = _BRIEF.add_columns(documents.c.withdrawn).where(
    documents.c.project_id == sa.bindparam("project"),
    documents.c.kind == sa.bindparam("kind"),
    documents.c.key.in_(sa.bindparam("keys", expanding=True)),
)


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
            stored = self._one(_NOW, project, kind, key)
            if stored is not None and stored.revision.withdrawn:
                told_by = stored.revision
                raise NotFoundError(
                    f"{kind_of(kind).name} {key} of {project} was withdrawn by {told_by.by}"
                    f" on {told_by.at:%Y-%m-%d}: {told_by.reason}"
                )
        else:
            stored = self._one(_NUMBERED, project, kind, key, number=revision)
        if stored is None:
            which = f", revision {revision}," if revision is not None else ""
            raise NotFoundError(f"there is no {kind_of(kind).name} {key}{which} in {project}")
        return stored

    def at(self, project: str, kind: type[R], key: str, time: dt.datetime) -> Stored[R]:
        """The document as it stood at a time."""
        moment = aware("time", time)
        stored = self._one(_MADE_BY, project, kind, key, time=moment)
        if stored is None:
            raise NotFoundError(
                f"there was no {kind_of(kind).name} {key} in {project}"
                f" at {moment:%Y-%m-%d %H:%M} UTC"
            )
        return stored

    def history(self, project: str, kind: type[R], key: str) -> tuple[Revision, ...]:
        """Every revision, the first one first."""
        found = self._rows(_HISTORY, _named(project, kind, key))
        if not found:
            raise NotFoundError(f"there is no {kind_of(kind).name} {key} in {project}")
        return tuple(_revision(row) for row in found)

    def revision_of(self, project: str, kind: type[R], key: str) -> int:
        """The number of the newest revision; 0 without one."""
        found = self._rows(_REVISION_OF, _named(project, kind, key))
        return int(found[0].revision) if found else 0

    def list(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> Page[R]:
        """One page of 50."""
        wanted = self._asked(project, kind, filters)
        values = wanted.values | _offset(page)
        total = self._total(project, kind, filters, wanted)
        found = self._rows(_page_of(wanted.page), values)
        return Page(tuple(_stored(row, kind) for row in found), page, total)

    def brief_page(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> BriefPage:
        """The page that `list` gives, in brief: no whole record is read."""
        wanted = self._asked(project, kind, filters)
        values = wanted.values | _offset(page)
        found = self._rows(_brief_page_of(wanted.page), values)
        total = self._total(project, kind, filters, wanted)
        return BriefPage(tuple(_told(found)), page, total)

    def briefs(self, project: str, kind: type[R], keys: Sequence[str]) -> Mapping[str, Brief]:
        """The documents of `keys` that are there and not withdrawn, in brief, by key."""
        values = {
            "project": self.number_of(project), "kind": kind_of(kind).name, "keys": list(keys)
        }  # fmt: skip
        found = [row for row in self._rows(_BRIEFS, values) if not row.withdrawn]
        return {one.key: one for one in _told(found)}

    def brief_every(
        self, project: str, kind: type[R], segments: Sequence[str] | None = None
    ) -> Iterator[Brief]:
        """All documents of a kind in brief, in no order; of `segments` alone if given."""
        wanted = self._asked(project, kind, None)
        if segments is None:
            yield from _told(self._rows(_briefs_of(wanted.page), wanted.values))
            return
        for start in range(0, len(segments), PORTION):
            values = wanted.values | {"segments": list(segments[start : start + PORTION])}
            yield from _told(self._rows(_briefs_along(wanted.page), values))

    def keys(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> tuple[tuple[str, str], ...]:
        """Key and stage of every document that passes, in the order of `list`."""
        wanted = self._asked(project, kind, filters)
        found = self._rows(_keys_of(wanted.total), wanted.values)
        return tuple((row.key, row.stage) for row in found)

    def remembered(self, project: str, what: Any, make: Callable[[], T]) -> T:
        """`make()`, not made anew before the project changes; `what` names it."""
        return self._counted(project, what, make)

    def _total(self, project: str, kind: type[Any], filters: Filters | None, wanted: Asked) -> int:
        query, what = _count_of(wanted.total), (kind, filters or Filters())
        return self._counted(project, what, lambda: int(self._rows(query, wanted.values)[0][0]))

    def every(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> Iterator[Stored[R]]:
        """All documents that pass, in the order of `list`, read in portions."""
        wanted = self._asked(project, kind, filters)
        query, values = _first_of(wanted.total), wanted.values
        while True:
            found = self._rows(query, values)
            yield from (_stored(row, kind) for row in found)
            if len(found) < PORTION:
                return
            last = {"last_sort_key": found[-1].sort_key, "last_key": found[-1].key}
            query, values = _after_of(wanted.total), wanted.values | last

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
        wanted = self._asked(project, Lateral, None)
        query = (
            sa.select(documents.c.stage, documents.c.fitness, sa.func.count().label("number"))
            .where(*conditions(wanted.page))
            # in the order of the index, withdrawn included, so that nothing is sorted
            .group_by(documents.c.withdrawn, documents.c.stage, documents.c.fitness)
        )
        found = self._rows(query, wanted.values)
        return {(row.stage, row.fitness): int(row.number) for row in found}

    # ------------------------------------------------------------ inside

    def _one(
        self, query: sa.Select[Any], project: str, kind: type[R], key: str, **more: object
    ) -> Stored[R] | None:
        found = self._rows(query, _named(project, kind, key) | more)
        return _stored(found[0], kind) if found else None

    def number_of(self, name: str) -> int:
        """The number of a project; `NotFoundError` for an unknown one."""
        return self._home_of(name)[0]

    def _asked(self, name: str, record: type[Any], filters: Filters | None) -> Asked:
        anywhere = record is Project and not name
        number = None if anywhere else self.number_of(name)
        return asked(self._rows, kind_of(record), number, filters or Filters())

    def _counted(self, project: str, what: Any, count: Callable[[], T]) -> T:
        """What was counted since the project last changed, or counted now."""
        if self._counts is None or not project:
            return count()
        return self._counts.of(self._home_of(project), what, count)

    def _home_of(self, name: str) -> tuple[int, int]:
        """Number of a project and of its last change; `NotFoundError` for an unknown one."""
        home = self._homes.get(name)
        if home is None:
            found = self._rows(_HOME, {"name": name})
            if not found:
                raise NotFoundError(f"there is no project {name} in this store")
            home = int(found[0].id), int(found[0].changes)
            if self._counts is not None:  # a writer's own project may still be taken back
                self._homes[name] = home
        return home

    def _rows(self, query: sa.Select[Any], values: Values | None = None) -> Sequence[Any]:
        return self.run(query, None if values is None else [values])

    def run(self, statement: Any, rows: Sequence[dict[str, Any]] | None = None) -> Sequence[Any]:
        """Execute a statement and return its rows; driver errors are told in our words."""
        with told(self._location):
            result = self._connection.execute(statement, rows)
            return result.all() if result.returns_rows else ()


def _named(project: str, kind: type[Any], key: str) -> dict[str, Any]:
    return {"name": project, "kind": kind_of(kind).name, "key": key}


def _offset(page: int) -> dict[str, int]:
    if page < 1:
        raise InputError(Fault("page", "the first page is 1", page))
    return {"offset": (page - 1) * PAGE}


# ---------------------------------------------------------------- statements of a shape


def _ids(shape: Shape) -> sa.Select[Any]:
    """The documents of one page."""
    query = sa.select(documents.c.id).where(*conditions(shape)).order_by(*_ORDER)
    return query.limit(PAGE).offset(sa.bindparam("offset"))


@lru_cache(maxsize=256)
def _page_of(shape: Shape) -> sa.Select[Any]:
    return _JOINED.where(documents.c.id.in_(_ids(shape)), _CURRENT).order_by(*_ORDER)


@lru_cache(maxsize=256)
def _brief_page_of(shape: Shape) -> sa.Select[Any]:
    return _BRIEF.where(documents.c.id.in_(_ids(shape))).order_by(*_ORDER)


@lru_cache(maxsize=256)
def _briefs_of(shape: Shape) -> sa.Select[Any]:
    return _BRIEF.where(*conditions(shape))


@lru_cache(maxsize=256)
def _briefs_along(shape: Shape) -> sa.Select[Any]:
    return _briefs_of(shape).where(
        documents.c.segment.in_(sa.bindparam("segments", expanding=True))
    )


@lru_cache(maxsize=256)
def _keys_of(shape: Shape) -> sa.Select[Any]:
    query = sa.select(documents.c.key, documents.c.stage).where(*conditions(shape))
    return query.order_by(*_ORDER)


@lru_cache(maxsize=256)
def _count_of(shape: Shape) -> sa.Select[Any]:
    return sa.select(sa.func.count()).select_from(documents).where(*conditions(shape))


@lru_cache(maxsize=256)
def _first_of(shape: Shape) -> sa.Select[Any]:
    return _JOINED.where(*conditions(shape), _CURRENT).order_by(*_ORDER).limit(PORTION)


@lru_cache(maxsize=256)
def _after_of(shape: Shape) -> sa.Select[Any]:
    last = sa.tuple_(sa.bindparam("last_sort_key"), sa.bindparam("last_key"))
    return _first_of(shape).where(sa.tuple_(documents.c.sort_key, documents.c.key) > last)


def _told(rows: Sequence[Any]) -> Iterator[Brief]:
    """Rows in brief; their JSON is read in one go, since reading piece by piece takes longer."""
    told_ = json.loads(f"[{','.join(row[5] or '{}' for row in rows)}]")
    for (key, revision, segment, stage, fitness, *_), one in zip(rows, told_, strict=True):
        yield Brief(key, revision, segment, stage, fitness, one)


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
