"""Filters as SQL conditions that both databases answer fast.

A word that few documents have is best looked up first; one that nearly all have is best asked
of each document in the list's own order, until a page is full. Neither database knows which is
which for the beginning of a word, so that it is counted here, up to a limit.

Conditions name their values and hold none, so that a statement is built once for each `Shape`
and run with other values each time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import sqlalchemy as sa

from drainwright.storage.folding import LAST, prefixes, street_key
from drainwright.storage.kinds import Kind
from drainwright.storage.protocol import Filters
from drainwright.storage.schema import documents, projects
from drainwright.storage.schema import words as index_words

BROAD = 5000
"""From so many words on, a beginning is not worth looking up first."""
Where = tuple[sa.ColumnElement[bool], ...]
Values = dict[str, Any]
Rows = Callable[[sa.Select[Any], Values], Sequence[Any]]


@dataclass(frozen=True, slots=True)
class Shape:
    """Which conditions a query has, without their values."""

    columns: tuple[str, ...] = ()
    """Filters on columns of a document."""
    withdrawn: bool = False
    anywhere: bool = False
    """Documents that are projects, of all projects; otherwise those of one project."""
    looked_up: bool = False
    """Whether word 0 is looked up first; the others are asked of each document."""
    words: int = 0


@dataclass(frozen=True, slots=True)
class Asked:
    """The same documents, in the form that is fast for a page and for counting all."""

    page: Shape
    total: Shape
    values: Values


_COLUMNS: dict[str, sa.ColumnElement[bool]] = {
    "segment": documents.c.segment == sa.bindparam("segment"),
    "street": documents.c.street == sa.bindparam("street"),
    "stage": documents.c.stage == sa.bindparam("stage"),
    "fitness": documents.c.fitness == sa.bindparam("fitness"),
    "lateral": documents.c.lateral_key == sa.bindparam("lateral"),
    "dated_from": documents.c.dated >= sa.bindparam("dated_from"),
    "dated_to": documents.c.dated <= sa.bindparam("dated_to"),
}
_KIND: sa.BindParameter[str] = sa.bindparam("kind")
_PROJECT: sa.BindParameter[int] = sa.bindparam("project")


def asked(rows: Rows, kind: Kind, project: int | None, filters: Filters) -> Asked:
    """The conditions of `filters` on documents of a kind; `rows` runs the counting queries.

    Without the number of a `project` they are the projects' own documents, in all projects.
    """
    columns = dict(_columns(filters))
    values: dict[str, Any] = {"kind": kind.name, **columns}
    if project is not None:
        values["project"] = project
    plain = Shape(tuple(columns), filters.withdrawn, project is None)
    begins = prefixes(filters.words)
    if not begins:
        return Asked(plain, plain, values)
    counted = sorted((_count(rows, plain, values | _bounds(0, one)), one) for one in begins)
    for n, (_, one) in enumerate(counted):
        values |= _bounds(n, one)
    each = replace(plain, words=len(counted))
    looked_up = replace(each, looked_up=True)
    return Asked(looked_up if counted[0][0] <= BROAD else each, looked_up, values)


def _columns(filters: Filters) -> Iterator[tuple[str, Any]]:
    for name, wanted in (
        ("segment", filters.segment),
        ("street", street_key(filters.street)),
        ("stage", filters.stage),
        ("fitness", filters.fitness),
        ("lateral", filters.lateral),
    ):
        if wanted:
            yield name, str(wanted)
    if filters.dated_from is not None:
        yield "dated_from", filters.dated_from
    if filters.dated_to is not None:
        yield "dated_to", filters.dated_to


@lru_cache(maxsize=256)
def conditions(shape: Shape) -> Where:
    """The conditions of a shape on documents."""
    inside = documents.c.project_id == _PROJECT
    if shape.anywhere:
        inside = documents.c.project_id.is_not(None)
    home = (inside, documents.c.kind == _KIND)
    withdrawn: sa.ColumnElement[bool] = documents.c.withdrawn
    if "lateral" in shape.columns:
        # as it stands, SQLite would read all documents of the kind for the sake of their order
        withdrawn = sa.func.coalesce(withdrawn, sa.false())
    rest = (
        withdrawn.is_(sa.true() if shape.withdrawn else sa.false()),
        *(_COLUMNS[name] for name in shape.columns),
    )
    each = tuple(
        sa.select(sa.literal(1))
        .where(index_words.c.document_id == documents.c.id, *_begins(n, anywhere=shape.anywhere))
        .exists()
        for n in range(int(shape.looked_up), shape.words)
    )
    if not shape.looked_up:
        return (*home, *rest, *each)
    first = sa.select(index_words.c.document_id).where(*_begins(0, anywhere=shape.anywhere))
    # words are kept by project and kind; to ask again beside them would lead SQLite astray
    return (documents.c.id.in_(first), *rest, *each)


def _begins(n: int, *, anywhere: bool) -> Where:
    """That a word begins as the word `n` of a search."""
    inside = index_words.c.project_id == _PROJECT
    return (
        index_words.c.project_id.in_(sa.select(projects.c.id)) if anywhere else inside,
        index_words.c.kind == _KIND,
        index_words.c.word >= sa.bindparam(f"begins_{n}"),
        index_words.c.word < sa.bindparam(f"ends_{n}"),
    )


def _bounds(n: int, prefix: str) -> dict[str, str]:
    return {f"begins_{n}": prefix, f"ends_{n}": prefix + LAST}


def _count(rows: Rows, shape: Shape, values: Values) -> int:
    """Words that begin so, counted no further than needed."""
    return int(rows(_counting(anywhere=shape.anywhere), values)[0][0])


@lru_cache(maxsize=2)
def _counting(*, anywhere: bool) -> sa.Select[Any]:
    some = (
        sa.select(sa.literal(1).label("one")).where(*_begins(0, anywhere=anywhere)).limit(BROAD + 1)
    )
    return sa.select(sa.func.count()).select_from(some.subquery())
