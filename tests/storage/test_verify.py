"""Verifying documents: what was changed behind the store's back is found at its place."""

from __future__ import annotations

from typing import cast

import pytest
import sqlalchemy as sa

from drainwright.storage import RecordStore, schema
from drainwright.storage.codec import sha256
from drainwright.storage.store import Store
from tests.storage.samples import ONE_OF_EACH, hours, lateral, project, writing

CONTENT = schema.revisions.c.content


@pytest.fixture
def oak(store: RecordStore) -> RecordStore:
    """One of each kind, and a lateral with three revisions, in a project among others."""
    with writing(store) as session:
        session.put("elm", project("elm"), expected=0)
        session.put_many("oak", [(record, None) for record in ONE_OF_EACH])
        for remark in "abc":
            session.put("oak", lateral("L-7", remark=remark), expected=None)
    return store


def tamper(store: RecordStore, statement: sa.Delete | sa.Update) -> None:
    with cast("Store", store)._engine.begin() as connection:
        assert connection.execute(statement).rowcount == 1


def found(store: RecordStore, name: str = "oak") -> list[tuple[str, str]]:
    with store.read() as session:
        return [(one.where, one.what) for one in session.verify(name)]


def revision_of_seven(number: int) -> sa.ColumnElement[bool]:
    ident = sa.select(schema.documents.c.id).where(schema.documents.c.key == "L-7")
    row = schema.revisions.c
    return (row.document_id == ident.scalar_subquery()) & (row.number == number)


def test_a_sound_store_has_no_findings(oak: RecordStore) -> None:
    assert found(oak) == []
    with writing(oak, hours(1)) as session:
        session.put_many("oak", ((lateral(f"M-{n}"), 0) for n in range(1100)))
    assert found(oak) == []


def test_a_changed_text(oak: RecordStore) -> None:
    tamper(oak, sa.update(schema.revisions).where(revision_of_seven(2)).values(content="{}"))
    assert found(oak) == [
        ("lateral L-7, revision 2", "the stored text is not the one that was written")
    ]
    assert found(oak, "elm") == []


def test_a_text_that_fits_its_hash_but_no_record(oak: RecordStore) -> None:
    values = {"content": "{}", "sha256": sha256("{}")}
    tamper(oak, sa.update(schema.revisions).where(revision_of_seven(3)).values(values))
    ((where, what),) = found(oak)
    assert where == "lateral L-7, revision 3"
    assert "does not fit" in what


@pytest.mark.parametrize(
    ("number", "finding"),
    [
        (1, ("lateral L-7, revision 2", "the revision before it is missing: 1")),
        (2, ("lateral L-7, revision 3", "the revision before it is missing: 2")),
        (3, ("lateral L-7", "revisions up to 3 are missing at the end")),
    ],
)
def test_a_missing_revision(oak: RecordStore, number: int, finding: tuple[str, str]) -> None:
    tamper(oak, sa.delete(schema.revisions).where(revision_of_seven(number)))
    assert found(oak) == [finding]


def test_a_document_without_any_revision(oak: RecordStore) -> None:
    for number in (1, 2, 3):
        tamper(oak, sa.delete(schema.revisions).where(revision_of_seven(number)))
    assert found(oak) == [("lateral L-7", "revisions up to 3 are missing at the end")]
