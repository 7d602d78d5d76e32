"""A write session: revisions are added, never changed; what lists need is kept beside them."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import sqlalchemy as sa

from drainwright.errors import (
    ConflictError,
    DrainwrightError,
    Fault,
    InputError,
    NotFoundError,
    StorageError,
)
from drainwright.records.project import Project
from drainwright.storage import codec
from drainwright.storage.attachments import AttachmentWriting, Folder
from drainwright.storage.driver import STOCK, Location, told
from drainwright.storage.finding import Values
from drainwright.storage.folding import sort_key
from drainwright.storage.journal import JournalWriting, cured_laterals
from drainwright.storage.kinds import Index, Kind, key_of, kind_of, plain_text
from drainwright.storage.many_rows import execute_many
from drainwright.storage.protocol import Record, Saved, Stage
from drainwright.storage.reading import PORTION, Reading
from drainwright.storage.schema import documents, projects, revisions, words
from drainwright.storage.stamp import Stamp

R = TypeVar("R", bound=Record)
_MANY = 1000
_FEW = 4
"""Rows that are not worth a statement of their own."""
_LATERAL, _SURVEY, _WORK_SHEET, _ACCEPTANCE = "lateral", "survey", "work_sheet", "acceptance"
_SHIFT_PLAN = "shift_plan"
_STATE = (documents.c.stage, documents.c.fitness, documents.c.dated)
"""Of a lateral these follow from other documents, see `_settle`."""


@dataclass(frozen=True, slots=True)
class _Draft:
    """A record on its way in."""

    kind: Kind
    key: str
    record: Any
    expected: int | None
    text: str
    sha256: str


@dataclass(frozen=True, slots=True)
class _Current:
    """What the store holds of a document now."""

    id: int
    revision: int
    withdrawn: bool
    sha256: str
    content: str
    stated: str
    """When and by whom, for a person."""


class Writing(Reading):
    """A read session that can also write; the store commits it, or nothing of it."""

    def __init__(
        self, connection: sa.Connection, location: Location, folder: Folder, stamp: Stamp
    ) -> None:
        super().__init__(connection, location, folder)
        self._stamp = stamp
        self._touched: set[tuple[int, str]] = set()
        """Laterals whose stage may have changed."""
        self._changed: set[int] = set()
        """Numbers of projects whose documents changed."""
        self._ids: dict[str, int] = {}
        self._failed = False
        self._new = 0
        """Documents added since the database last counted its rows."""
        self._many = _MANY

    @property
    def journal(self) -> JournalWriting:
        """The field entries, to be added to."""
        return JournalWriting(self, self._stamp)

    @property
    def attachments(self) -> AttachmentWriting:
        """The files beside the database, to be added to."""
        return AttachmentWriting(self, self._folder, self._stamp)

    def put(self, project: str, record: Record, *, expected: int | None) -> Saved:
        """Store a record as its document's next revision."""
        return self._put(project, [_draft(project, record, expected)])[0]

    def put_many(
        self, project: str, records: Iterable[tuple[Record, int | None]]
    ) -> tuple[Saved, ...]:
        """`put` each record with its expected revision; at a conflict none is stored."""
        saved: tuple[Saved, ...] = ()
        with told(self._location):
            point = self._connection.begin_nested()
        try:
            for portion in _portions(_draft(project, *one) for one in records):
                saved += self._put(project, portion)
        except BaseException:
            with told(self._location):
                point.rollback()
            self._ids.clear()
            raise
        with told(self._location):
            point.commit()
        return saved

    def withdraw(self, project: str, kind: type[R], key: str, *, expected: int | None) -> Saved:
        """Withdraw a document by a revision of its own."""
        sort = kind_of(kind)
        number = self.number_of(project)
        now = self._current(number, sort, [key]).get(key)
        if now is None:
            raise NotFoundError(f"there is no {sort.name} {key} in {project}")
        if now.withdrawn:
            return Saved(key, now.revision, changed=False)
        if expected is not None and expected != now.revision:
            raise ConflictError(_conflict(project, sort, key, expected, now))
        self.run(
            sa.update(documents)
            .where(documents.c.id == now.id)
            .values(revision=now.revision + 1, withdrawn=True)
        )
        row = self._revision_row(now.id, now.revision + 1, now.content, now.sha256)
        self.run(sa.insert(revisions), [row | {"withdrawn": True}])
        lateral = self.run(sa.select(documents.c.lateral_key).where(documents.c.id == now.id))
        self._touched.add((number, lateral[0].lateral_key))
        if sort.name == _SHIFT_PLAN:
            self._touch_planned(number, now.content)
        self._changed.add(number)
        return Saved(key, now.revision + 1, changed=True)

    def finish(self) -> None:
        """Bring derived columns up to date; refuse to end well after a driver's error."""
        if self._failed:
            # PostgreSQL would end such a transaction with a silent rollback
            raise StorageError(
                f"{self._location}: the transaction failed earlier; nothing was stored"
            )
        self._settle()
        for number in sorted(self._changed):
            self.run(
                sa.update(projects)
                .where(projects.c.id == number)
                .values(changes=projects.c.changes + 1)
            )
        if self._new > _MANY:
            self._take_stock()

    def load(self, lines: Iterable[Mapping[str, Any]], content_of: Callable[[str], bytes]) -> str:
        """Take in a dumped project that this store does not hold, checked; return its key."""
        from drainwright.storage.dump import Loading

        project = Loading(self, self._folder, content_of).load(lines)
        wrong = self.verify(project)
        if wrong:
            told_ = "\n".join(f"{one.where}: {one.what}" for one in wrong)
            raise StorageError(f"the bundle does not hold together; nothing was stored\n{told_}")
        return project

    def touch(self, number: int, lateral: str) -> None:
        """Tell that a lateral's stage may have changed; it is settled at the end."""
        self._touched.add((number, lateral))

    def _touch_planned(self, number: int, text: str) -> None:
        """Those a shift plan names, and those that were scheduled until now."""
        self._touched |= {(number, key) for key in planned_laterals(text)}
        before = self.run(
            sa.select(documents.c.key).where(
                documents.c.project_id == number,
                documents.c.kind == _LATERAL,
                documents.c.stage == Stage.SCHEDULED.value,
            )
        )
        self._touched |= {(number, row.key) for row in before}

    def _planned(self, number: int) -> set[str]:
        """The laterals of the newest shift plan."""
        found = self.run(
            sa.select(revisions.c.content)
            .join(documents, revisions.c.document_id == documents.c.id)
            .where(
                revisions.c.number == documents.c.revision,
                documents.c.project_id == number,
                documents.c.kind == _SHIFT_PLAN,
                documents.c.withdrawn.is_(sa.false()),
            )
        )
        return {key for row in found for key in planned_laterals(row.content)}

    def derived(self, number: int, kind: Kind, index: Index, at: int, text: str) -> dict[str, Any]:
        """The derived columns of a new document; its lateral is settled at the end."""
        self._changed.add(number)
        if index.lateral:
            self._touched.add((number, index.lateral))
        if kind.name == _SHIFT_PLAN:
            self._touch_planned(number, text)
        first = Stage.LISTED.value if kind.name == _LATERAL else ""
        row = _document_row(kind, index, at, text)
        return {"stage": first, "fitness": "", "dated": None} | row

    # ------------------------------------------------------------ inside

    def _put(self, project: str, drafts: Sequence[_Draft]) -> tuple[Saved, ...]:
        number = self._home(project)
        changes: list_[tuple[_Draft, _Current | None]] = []
        saved: list_[Saved] = []
        conflicts: list_[str] = []
        known: dict[tuple[str, str], _Current] = {}
        if number is not None:
            for kind, keys in _by_kind(drafts):
                found = self._current(number, kind, keys)
                known |= {(kind.name, key): now for key, now in found.items()}
        for draft in drafts:
            now = known.get((draft.kind.name, draft.key))
            at = now.revision if now else 0
            if now is not None and _same(draft, now):
                saved.append(Saved(draft.key, at, changed=False))
                continue
            if draft.expected is not None and draft.expected != at:
                conflicts.append(_conflict(project, draft.kind, draft.key, draft.expected, now))
            changes.append((draft, now))
            saved.append(Saved(draft.key, at + 1, changed=True))
        if conflicts:
            raise ConflictError("\n".join(conflicts))
        if changes:
            self._store(self._settled_home(project, number, drafts), changes)
        return tuple(saved)

    def _home(self, name: str) -> int | None:
        found = self.run(sa.select(projects.c.id).where(projects.c.key == name))
        return int(found[0].id) if found else None

    def _settled_home(self, name: str, number: int | None, drafts: Sequence[_Draft]) -> int:
        if number is not None:
            return number
        if not any(draft.kind.record is Project for draft in drafts):
            raise NotFoundError(f"there is no project {name} in this store")
        number = self.next_id(projects)
        self.run(sa.insert(projects), [{"id": number, "key": name}])
        return number

    def _current(self, number: int, kind: Kind, keys: Sequence[str]) -> dict[str, _Current]:
        query = (
            sa.select(
                documents.c.id,
                documents.c.key,
                documents.c.revision,
                documents.c.withdrawn,
                revisions.c.sha256,
                revisions.c.content,
                revisions.c.made_by,
                revisions.c.made_at,
            )
            .join(revisions, revisions.c.document_id == documents.c.id)
            .where(
                revisions.c.number == documents.c.revision,
                documents.c.project_id == number,
                documents.c.kind == kind.name,
                documents.c.key.in_(keys),
            )
        )
        return {
            row.key: _Current(
                row.id,
                row.revision,
                row.withdrawn,
                row.sha256,
                row.content,
                f"by {row.made_by} on {row.made_at:%Y-%m-%d %H:%M} UTC",
            )
            for row in self.run(query)
        }

    def _store(self, number: int, changes: Sequence[tuple[_Draft, _Current | None]]) -> None:
        new: list_[dict[str, Any]] = []
        changed: defaultdict[str, list_[dict[str, Any]]] = defaultdict(list_)
        revision_rows: list_[dict[str, Any]] = []
        word_rows: list_[dict[str, Any]] = []
        self._changed.add(number)
        for draft, now in changes:
            index: Index = draft.kind.index(draft.record)
            ident = now.id if now else self.next_id(documents)
            at = (now.revision if now else 0) + 1
            row = _document_row(draft.kind, index, at, draft.text)
            if now is None:
                named = {"id": ident, "project_id": number, "kind": draft.kind.name}
                named |= {"key": draft.key, "sort_key": sort_key(draft.key)}
                first = Stage.LISTED.value if draft.kind.name == _LATERAL else ""
                new.append(named | {"stage": first, "fitness": "", "dated": None} | row)
            else:
                changed[draft.kind.name].append({"of": ident} | row)
            revision_rows.append(self._revision_row(ident, at, draft.text, draft.sha256))
            word_rows += [
                {"project_id": number, "kind": draft.kind.name, "document_id": ident, "word": one}
                for one in sorted(index.words(draft.key))
            ]
            if index.lateral:
                self._touched.add((number, index.lateral))
            if draft.kind.name == _SHIFT_PLAN:
                self._touch_planned(number, draft.text)
        self.run(sa.insert(documents), new)
        for rows in changed.values():  # those of one kind have the same columns
            self.run(sa.update(documents).where(documents.c.id == sa.bindparam("of")), rows)
        self.run(sa.insert(revisions), revision_rows)
        gone = [{"of": row["of"]} for rows in changed.values() for row in rows]
        self.run(sa.delete(words).where(words.c.document_id == sa.bindparam("of")), gone)
        self.run(sa.insert(words), word_rows)
        self._new += len(new)
        if self._new > self._many:
            self._many *= 4
            self._take_stock()

    def _take_stock(self) -> None:
        self._new = 0
        if self._connection.dialect.name == "postgresql":
            self.run(sa.text(STOCK))

    def _revision_row(self, ident: int, number: int, text: str, sha256: str) -> dict[str, Any]:
        return {
            "document_id": ident,
            "number": number,
            "content": text,
            "sha256": sha256,
            "withdrawn": False,
            "made_at": self._stamp.at,
            "made_by": self._stamp.by,
            "origin": self._stamp.origin,
            "reason": self._stamp.reason,
        }

    def next_id(self, table: sa.Table) -> int:
        """The next id: safe to count here, since writers take turns."""
        if table.name not in self._ids:
            found = self.run(sa.select(sa.func.coalesce(sa.func.max(table.c.id), 0)))
            self._ids[table.name] = int(found[0][0])
        self._ids[table.name] += 1
        return self._ids[table.name]

    def _rows(self, query: sa.Select[Any], values: Values | None = None) -> Sequence[Any]:
        self._settle()
        return super()._rows(query, values)

    def run(self, statement: Any, rows: Sequence[dict[str, Any]] | None = None) -> Sequence[Any]:
        """Execute a statement; a driver's error spoils the transaction."""
        if rows is not None and not rows:
            return ()
        try:
            if rows is None or len(rows) < _FEW:
                return super().run(statement, rows)
            with told(self._location):
                execute_many(self._connection, statement, rows)
        except StorageError:
            self._failed = True
            raise
        return ()

    def _settle(self) -> None:
        """Tell touched laterals their stage, fitness and latest survey from what there is."""
        waiting = sorted(self._touched)
        self._touched.clear()
        for start in range(0, len(waiting), PORTION):
            portion = waiting[start : start + PORTION]
            for number in sorted({number for number, _ in portion}):
                self._settle_laterals(number, [key for home, key in portion if home == number])

    def _settle_laterals(self, number: int, keys: Sequence[str]) -> None:
        found = self.run(
            sa.select(
                documents.c.lateral_key,
                documents.c.kind,
                documents.c.fitness,
                sa.func.max(documents.c.dated).label("dated"),
            )
            .where(
                documents.c.project_id == number,
                documents.c.kind.in_([_SURVEY, _WORK_SHEET, _ACCEPTANCE]),
                documents.c.lateral_key.in_(keys),
                documents.c.withdrawn.is_(sa.false()),
            )
            .group_by(documents.c.lateral_key, documents.c.kind, documents.c.fitness)
        )
        dated = {row.lateral_key: row.dated for row in found if row.kind == _SURVEY}
        fitness = {row.lateral_key: row.fitness for row in found if row.kind == _WORK_SHEET}
        signed = {row.lateral_key: row.fitness for row in found if row.kind == _ACCEPTANCE}
        cured = cured_laterals(self, number, keys)
        planned = self._planned(number)
        now = self.run(
            sa.select(documents.c.id, documents.c.key, *_STATE).where(
                documents.c.project_id == number,
                documents.c.kind == _LATERAL,
                documents.c.key.in_(keys),
            )
        )
        rows = []
        for row in now:
            stage = _stage(row.key, dated, fitness)
            if row.key in planned and row.key in fitness:
                stage = Stage.SCHEDULED.value
            stage = Stage.INSTALLED.value if row.key in cured else stage
            stage = _SIGNED.get(signed.get(row.key, ""), stage)
            state = (stage, fitness.get(row.key, ""), dated.get(row.key))
            if state != (row.stage, row.fitness, row.dated):
                rows.append(
                    {"of": row.id, "stage": state[0], "fitness": state[1], "dated": state[2]}
                )
                self._changed.add(number)
        self.run(sa.update(documents).where(documents.c.id == sa.bindparam("of")), rows)


def planned_laterals(text: str) -> set[str]:
    """The laterals that a stored shift plan gives a day."""
    return {
        turn["lateral"]
        for shift in json.loads(text).get("shifts", ())
        for set_up in shift.get("set_ups", ())
        for turn in set_up.get("turns", ())
    }


_SIGNED = {"accepted": Stage.ACCEPTED.value, "closed": Stage.CLOSED.value}
"""Stage by what was signed; a refusal leaves the lateral where it was."""


def _stage(key: str, surveyed: Mapping[str, Any], designed: Mapping[str, Any]) -> str:
    if key in designed:
        return Stage.DESIGNED.value
    return (Stage.SURVEYED if key in surveyed else Stage.LISTED).value


list_ = list  # inside the class the name is the method's


def _draft(project: str, record: Record, expected: int | None) -> _Draft:
    kind = kind_of(type(record))
    key = key_of(record)
    plain_text("project", project, filled=True)
    if kind.record is Project and key != project:
        raise InputError(Fault("project", f"the record is of the project {key}", project))
    text = codec.encode(record)
    return _Draft(kind, key, record, expected, text, codec.sha256(text))


def _portions(drafts: Iterable[_Draft]) -> Iterator[Sequence[_Draft]]:
    """Portions of one transaction in which no document occurs twice."""
    portion: dict[tuple[str, str], _Draft] = {}
    for draft in drafts:
        name = (draft.kind.name, draft.key)
        if len(portion) == PORTION or name in portion:
            yield list(portion.values())
            portion = {}
        portion[name] = draft
    if portion:
        yield list(portion.values())


def _by_kind(drafts: Sequence[_Draft]) -> Iterator[tuple[Kind, Sequence[str]]]:
    for name in sorted({draft.kind.name for draft in drafts}):
        some = [draft for draft in drafts if draft.kind.name == name]
        yield some[0].kind, [draft.key for draft in some]


def _same(draft: _Draft, now: _Current) -> bool:
    """Nothing new: equal text, or equal content in other words (1 and 1.0)."""
    if now.withdrawn:
        return False
    if draft.sha256 == now.sha256:
        return True
    try:
        return bool(codec.decode(draft.kind.record, now.content) == draft.record)
    except DrainwrightError:
        return False


def _conflict(project: str, kind: Kind, key: str, expected: int, now: _Current | None) -> str:
    made_from = f"revision {expected}" if expected else "a new document"
    if now is None:
        return (
            f"{kind.name} {key} of {project} does not exist; the change was made from {made_from}"
        )
    return (
        f"{kind.name} {key} of {project} is at revision {now.revision} ({now.stated});"
        f" the change was made from {made_from}"
    )


def _document_row(kind: Kind, index: Index, at: int, text: str) -> dict[str, Any]:
    """The derived columns, and the revision they were derived from."""
    row = {
        "revision": at,
        "withdrawn": False,
        "lateral_key": index.lateral,
        "segment": index.segment,
        "street": index.street,
        "brief": kind.brief_of(text),
    }
    if kind.name == _LATERAL:
        return row
    return row | {"fitness": str(index.fitness), "dated": index.dated}
