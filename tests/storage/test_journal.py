"""Field entries: verbatim, once each, in an unbroken chain; on both databases."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import pytest
import sqlalchemy as sa

from drainwright.errors import ConflictError, InputError, NotFoundError
from drainwright.storage import FieldEntry, RecordStore, schema
from drainwright.storage.store import Store
from tests.storage.samples import hours, project, writing

NASTY = '{"front": 12.30, "by":"Zoë \\u0000",\n\t"x":1e-7} \u2028𝛑'


def chain(
    device: str, count: int, start: int = 1, previous: str = "", mark: int = 0
) -> list[FieldEntry]:
    """Entries as a device makes them; the hash is computed here by its definition."""
    made = []
    for number in range(start, start + count):
        text = f"{number} {NASTY}"
        digest = hashlib.sha256()
        digest.update(previous.encode("ascii"))
        digest.update(text.encode("utf-8"))
        tail = hashlib.sha256(f"{device} {number} {mark}".encode()).hexdigest()[:12]
        ident = f"0190b2a0-7c1e-7abc-8def-{tail}"
        previous = digest.hexdigest()
        made.append(FieldEntry(ident, device, number, text, previous))
    return made


@pytest.fixture
def oak(store: RecordStore) -> RecordStore:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("elm", project("elm"), expected=0)
    return store


def upload(
    store: RecordStore, entries: Sequence[FieldEntry], hour: float = 0, to: str = "oak"
) -> int:
    with writing(store, hours(hour)) as session:
        return session.journal.append(to, entries)


def stored(store: RecordStore, device: str) -> list[FieldEntry]:
    with store.read() as session:
        return [received.entry for received in session.journal.entries("oak", device)]


def test_entries_come_back_verbatim_with_their_receipt(oak: RecordStore) -> None:
    made = chain("tablet 2", 3)
    assert upload(oak, made, 1) == 3
    assert stored(oak, "tablet 2") == made
    with oak.read() as session:
        (last,) = session.journal.entries("oak", "tablet 2", after=2)
        assert (last.at, last.by, last.origin) == (hours(1), "Ann", "list.csv")
        assert session.journal.heads("oak") == (made[2],)
        assert session.journal.heads("elm") == ()
        assert session.verify("oak") == ()


def test_a_repeated_upload_changes_nothing(oak: RecordStore) -> None:
    made = chain("t", 5)
    assert upload(oak, made[:3]) == 3
    assert upload(oak, made[:3], 1) == 0
    assert upload(oak, made, 2) == 2
    assert upload(oak, [made[4], made[3], made[4]], 3) == 0
    with oak.read() as session:
        at = [received.at for received in session.journal.entries("oak", "t")]
    assert at == [hours(0)] * 3 + [hours(2)] * 2


def test_devices_have_chains_of_their_own_and_any_order_will_do(oak: RecordStore) -> None:
    one, other = chain("a", 700), chain("b", 3)
    assert upload(oak, [*other[::-1], *one[::-1]]) == 703
    assert upload(oak, chain("a", 2, mark=1), to="elm") == 2
    assert stored(oak, "a") == one
    with oak.read() as session:
        assert session.journal.heads("oak") == (one[-1], other[-1])


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"text": "other"}, "other content"),
        ({"number": 4}, "other content"),
        ({"device": "u"}, "other content"),
    ],
)
def test_a_known_id_with_other_content_is_a_conflict(
    oak: RecordStore, change: dict[str, object], told: str
) -> None:
    made = chain("t", 3)
    upload(oak, made)
    with pytest.raises(ConflictError, match=told):
        upload(oak, [replace(made[1], **change)])  # type: ignore[arg-type]
    with pytest.raises(ConflictError, match=told):
        upload(oak, made[:1], to="elm")
    assert stored(oak, "t") == made


def test_a_gap_and_a_taken_number_are_conflicts_and_nothing_is_added(oak: RecordStore) -> None:
    made = chain("t", 5)
    upload(oak, made[:2])
    with pytest.raises(ConflictError, match="entry 4 of t leaves a gap: the store has it up to 2"):
        upload(oak, [*chain("b", 2), *made[3:]])
    with pytest.raises(ConflictError, match="number 1 of t is taken"):
        upload(oak, chain("t", 2, mark=1))
    with pytest.raises(ConflictError, match="entry 2 of new leaves a gap"):
        upload(oak, chain("new", 2)[1:])
    assert stored(oak, "t") == made[:2]
    assert stored(oak, "b") == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"text": "other"}, "hash does not fit"),
        ({"sha256": "0" * 64}, "hash does not fit"),
        ({"sha256": "A" * 64}, "SHA-256"),
        ({"sha256": "0"}, "SHA-256"),
        ({"number": 0}, "the first entry"),
        ({"id": "x"}, "UUIDv7"),
        ({"id": "0190b2a0-7c1e-4abc-8def-0123456789ab"}, "UUIDv7"),
        ({"id": "0190B2A0-7C1E-7ABC-8DEF-0123456789AB"}, "UUIDv7"),
        ({"device": ""}, "empty"),
        ({"device": "a\x00"}, "control"),
        ({"text": "a\x00"}, "NUL"),
        ({"text": "a\ud800"}, "Unicode"),
    ],
)
def test_an_entry_that_can_not_be_right_is_refused(
    oak: RecordStore, change: dict[str, object], told: str
) -> None:
    made = chain("t", 1)[0]
    with pytest.raises(InputError, match=told):
        upload(oak, [replace(made, **change)])  # type: ignore[arg-type]
    assert stored(oak, "t") == []


def test_a_chain_begun_with_another_hash_is_refused(oak: RecordStore) -> None:
    with pytest.raises(InputError, match="hash does not fit"):
        upload(oak, chain("t", 2, previous="0" * 64))


def test_an_unknown_project_is_told(oak: RecordStore) -> None:
    with pytest.raises(NotFoundError, match="no project ash"):
        upload(oak, chain("t", 1), to="ash")


def tamper(store: RecordStore, statement: sa.Delete | sa.Update) -> None:
    with cast("Store", store)._engine.begin() as connection:
        connection.execute(statement)


def found(store: RecordStore) -> list[tuple[str, str]]:
    with store.read() as session:
        return [(one.where.partition(" (")[0], one.what) for one in session.verify("oak")]


def number(of: int) -> sa.ColumnElement[bool]:
    return (schema.entries.c.number == of) & (schema.entries.c.device == "t")


def test_verify_finds_a_changed_text_at_its_place(oak: RecordStore) -> None:
    upload(oak, [*chain("t", 6), *chain("a", 3)])
    tamper(oak, sa.update(schema.entries).where(number(3)).values(text="x"))
    ((where, what),) = found(oak)
    assert where == "field entry 3 of t"
    assert "neither its text nor the entry before it" in what


def test_verify_finds_a_changed_text_with_a_hash_made_for_it(oak: RecordStore) -> None:
    made = chain("t", 6)
    upload(oak, made)
    right = hashlib.sha256(f"{made[1].sha256}x".encode()).hexdigest()
    tamper(oak, sa.update(schema.entries).where(number(3)).values(text="x", sha256=right))
    assert [where for where, _ in found(oak)] == ["field entry 4 of t"]


def test_verify_finds_what_is_missing(oak: RecordStore) -> None:
    upload(oak, chain("t", 6))
    tamper(oak, sa.delete(schema.entries).where(number(2) | number(3)))
    assert found(oak) == [("field entry 4 of t", "entries before it are missing: 2 to 3")]
    tamper(oak, sa.delete(schema.entries).where(number(1)))
    assert found(oak) == [("field entry 4 of t", "entries before it are missing: 1 to 3")]
