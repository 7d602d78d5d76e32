"""Entries come in any order, any number of times; nothing is lost, doubled or overwritten."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drainwright.errors import ConflictError, InputError
from drainwright.operations.field_journal import (
    entries_of,
    entries_since,
    heads_of,
    read_outbox,
    receive_entries,
    receive_photo,
)
from drainwright.operations.stores import OpenStore
from drainwright.storage.protocol import FieldEntry
from tests.field_job import AT, KEY, chain, event, field_store, lines, remarks

SENT = chain("tablet-1", remarks(30))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[OpenStore]:
    with field_store(tmp_path / "job.drainwright") as made:
        yield made


def receive(store: OpenStore, entries: list[FieldEntry]) -> tuple[int, int]:
    done = receive_entries(store, KEY, entries, by="test", at=AT)
    return done.new, done.waiting


def test_a_repeated_upload_changes_nothing(store: OpenStore) -> None:
    assert receive(store, SENT) == (30, 0)
    assert receive(store, SENT) == (0, 0)
    assert receive(store, SENT[10:20]) == (0, 0)
    assert heads_of(store, KEY)["tablet-1"].sha256 == SENT[-1].sha256


def test_shuffled_batches_come_together(store: OpenStore) -> None:
    chance = random.Random(7)
    batches = [SENT[at : at + 4] for at in range(0, 30, 4)]
    new = 0
    while new < 30:
        chance.shuffle(batches)
        for batch in batches:
            new += receive(store, chance.sample(batch, len(batch)))[0]
    assert [one.entry for one in entries_of(store, KEY)] == SENT


def test_what_lies_behind_a_gap_waits(store: OpenStore) -> None:
    assert receive(store, SENT[5:]) == (0, 25)
    assert receive(store, [*SENT[:3], *SENT[5:]]) == (3, 25)
    assert receive(store, SENT) == (27, 0)


def test_another_entry_under_the_same_number_is_refused_and_nothing_is_stored(
    store: OpenStore,
) -> None:
    receive(store, SENT[:10])
    fork = chain("tablet-1", [event("remark", 1, reason="other")], (9, SENT[8].sha256))
    with pytest.raises(ConflictError, match="number 10 of tablet-1 is taken"):
        receive(store, [*fork, *chain("tablet-2", remarks(3))])
    assert set(heads_of(store, KEY)) == {"tablet-1"}


def test_a_changed_text_is_refused(store: OpenStore) -> None:
    with pytest.raises(InputError, match="hash does not fit"):
        receive(store, [replace(SENT[0], text=SENT[0].text.replace("remark 0", "remark 9"))])


def test_text_that_this_program_cannot_read_is_kept_all_the_same(store: OpenStore) -> None:
    newer = chain("tablet-3", ['{"form":2,"lateral":"A-07","news":true}'])
    assert receive(store, newer) == (1, 0)
    (one,) = entries_of(store, KEY)
    assert (one.entry, one.event) == (newer[0], None)


def test_a_device_hears_only_what_is_new_on_its_lateral(store: OpenStore) -> None:
    other = chain("tablet-2", [event("remark", 0, lateral="A-08", reason="x"), *remarks(2)])
    receive(store, [*SENT[:5], *other])
    first = entries_since(store, KEY, {}, "A-07")
    assert {one.id for one in first.entries} == {one.id for one in [*SENT[:5], *other[1:]]}
    receive(store, SENT)
    then = entries_since(store, KEY, first.reached, "A-07")
    assert list(then.entries) == SENT[5:]
    assert entries_since(store, KEY, then.reached, "A-07").entries == ()
    assert len(entries_since(store, KEY, {}).entries) == 33


def test_an_outbox_file_is_read_in_elsewhere(store: OpenStore) -> None:
    assert read_outbox(store, KEY, lines(SENT), by="test", at=AT).new == 30
    assert read_outbox(store, KEY, lines(SENT), by="test", at=AT).new == 0


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'{"id": 1}\n', "row 1: id: is missing or is not text"),
        (b"\nwords\n", "row 2: entry: is not JSON"),
        (b"\xff\xfe", "is not UTF-8"),
        (b"[]\n", "must be a JSON object"),
    ],
)
def test_a_file_that_is_none_names_its_line(store: OpenStore, content: bytes, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_outbox(store, KEY, content, by="test", at=AT)


def test_an_outbox_whose_beginning_is_missing_is_told(store: OpenStore) -> None:
    with pytest.raises(ConflictError, match="20 entries were left out"):
        read_outbox(store, KEY, lines(SENT[10:]), by="test", at=AT)


def test_a_photo_is_kept_once(store: OpenStore) -> None:
    content = b"\xff\xd8\xff\xe0 a still \xff\xd9"
    kept = [receive_photo(store, KEY, content, "seal.jpg", by="t", at=AT) for _ in range(2)]
    assert len(set(kept)) == 1
