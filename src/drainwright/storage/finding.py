"""Filters as SQL conditions that both databases answer fast.

A word that few documents have is best looked up first; one that nearly all have is best asked
of each document in the list's own order, until a page is full. Neither database knows which is
which for the beginning of a word, so that it is counted here, up to a limit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from drainwright.storage.folding import LAST, prefixes, street_key
from drainwright.storage.kinds import Kind
from drainwright.storage.protocol import Filters
from drainwright.storage.schema import documents
from drainwright.storage.schema import words as index_words

BROAD = 5000
"""From so many words on, a beginning is not worth looking up first."""
Where = tuple[sa.ColumnElement[bool], ...]
Rows = Callable[[sa.Select[Any]], Sequence[Any]]


@dataclass(frozen=True, slots=True)
class Home:
    """Where documents are looked for: one project, or the projects' own documents in all."""

    inside: sa.ColumnElement[bool]
    among: Any
    """Its number in a list, or a query of numbers."""


@dataclass(frozen=True, slots=True)
class Asked:
    """The same documents, in the form that is fast for a page and for counting all."""

    page: Where
    total: Where


def asked(rows: Rows, kind: Kind, home: Home, filters: Filters) -> Asked:
    """The conditions of `filters` on documents of a kind; `rows` runs the counting queries."""
    plain = (
        home.inside,
        documents.c.kind == kind.name,
        documents.c.withdrawn.is_(sa.true() if filters.withdrawn else sa.false()),
        *_columns(filters),
    )
    begins = prefixes(filters.words)
    if not begins:
        return Asked(plain, plain)
    counted = sorted((_count(rows, kind, one, home), one) for one in begins)
    fewest, first = counted[0]
    rest = tuple(_asked_of_each(kind, one, home) for _, one in counted[1:])
    # words are kept by project and kind; to ask again beside them would lead SQLite astray
    looked_up = (_looked_up(kind, first, home), *plain[2:], *rest)
    if fewest <= BROAD:
        return Asked(looked_up, looked_up)
    return Asked((*plain, _asked_of_each(kind, first, home), *rest), looked_up)


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


def _begins(kind: Kind, prefix: str, home: Home) -> Where:
    return (
        index_words.c.project_id.in_(home.among),
        index_words.c.kind == kind.name,
        index_words.c.word >= prefix,
        index_words.c.word < prefix + LAST,
    )


def _count(rows: Rows, kind: Kind, prefix: str, home: Home) -> int:
    """Words that begin so, counted no further than needed."""
    some = sa.select(sa.literal(1).label("one")).where(*_begins(kind, prefix, home))
    limited = some.limit(BROAD + 1).subquery()
    return int(rows(sa.select(sa.func.count()).select_from(limited))[0][0])


def _looked_up(kind: Kind, prefix: str, home: Home) -> sa.ColumnElement[bool]:
    return documents.c.id.in_(
        sa.select(index_words.c.document_id).where(*_begins(kind, prefix, home))
    )


def _asked_of_each(kind: Kind, prefix: str, home: Home) -> sa.ColumnElement[bool]:
    return (
        sa.select(sa.literal(1))
        .where(index_words.c.document_id == documents.c.id, *_begins(kind, prefix, home))
        .exists()
    )
