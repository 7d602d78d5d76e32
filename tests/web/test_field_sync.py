"""`drainwright sync` brings two stores together over HTTP; nothing is overwritten."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.errors import ConflictError, InputError, StorageError
from drainwright.operations.field_journal import (
    entries_of,
    heads_of,
    photos_of,
    receive_entries,
    receive_photo,
)
from drainwright.operations.stores import OpenStore
from drainwright.operations.sync_field import Ask, Sides, Synced, asker, sync_field
from drainwright.storage.protocol import FieldEntry
from tests.field_job import AT, KEY, chain, event, field_store, lines, remarks
from tests.web.field_laptop import Laptop

STILL = b"\xff\xd8\xff\xe0 one \xff\xd9"


@pytest.fixture
def truck(tmp_path: Path) -> Iterator[Laptop]:
    path = tmp_path / "truck.drainwright"
    with field_store(path):
        pass
    made = Laptop(path).start()
    yield made
    made.kill()


@pytest.fixture
def office(tmp_path: Path) -> Iterator[OpenStore]:
    with field_store(tmp_path / "office.drainwright") as store:
        yield store


def keep(store: OpenStore | None, entries: list[FieldEntry]) -> None:
    assert store is not None
    receive_entries(store, KEY, entries, by="test", at=AT)


def sync(store: OpenStore, ask: Ask) -> Synced:
    return sync_field(Sides(store, KEY, ask, "office", AT))


def test_both_sides_have_everything_afterwards(truck: Laptop, office: OpenStore) -> None:
    assert truck.store is not None
    long = chain("tablet-1", remarks(1100))
    keep(truck.store, long)
    keep(office, long[:300])
    keep(office, chain("desk-1", remarks(5)))
    receive_photo(truck.store, KEY, STILL, "seal °1.jpg", by="t", at=AT)
    receive_photo(office, KEY, STILL + b"2", "plug.jpg", by="t", at=AT)
    assert sync(office, asker(truck.address)) == Synced(5, 800, 1, 1, ())
    assert sync(office, asker(truck.address)) == Synced(0, 0, 0, 0, ())
    assert heads_of(office, KEY) == heads_of(truck.store, KEY)
    assert photos_of(office, KEY) == photos_of(truck.store, KEY)
    assert [one.entry for one in entries_of(office, KEY)] == [
        one.entry for one in entries_of(truck.store, KEY)
    ]
    for store in (office, truck.store):
        with store.read() as session:
            assert session.verify(KEY) == ()


def test_a_broken_run_is_gone_on_with(truck: Laptop, office: OpenStore) -> None:
    keep(truck.store, chain("tablet-1", remarks(1800)))
    real, calls = asker(truck.address), [0]

    def breaking(method: str, path: str, body: bytes | None, media: str) -> bytes:
        calls[0] += 1
        if calls[0] % 4 == 0:
            raise StorageError("the line is dead")
        return real(method, path, body, media)

    runs = 0
    while True:
        runs += 1
        try:
            sync(office, breaking)
            break
        except StorageError:
            assert runs < 30
    assert runs > 1
    assert len(entries_of(office, KEY)) == 1800


def test_a_forked_device_is_told_and_left_and_the_others_go_on(
    truck: Laptop, office: OpenStore
) -> None:
    assert truck.store is not None
    shared = chain("tablet-1", remarks(3))
    keep(truck.store, [*shared, *chain("tablet-1", remarks(2, 50), (3, shared[-1].sha256))])
    keep(office, [*shared, *chain("tablet-1", remarks(1, 90), (3, shared[-1].sha256))])
    keep(truck.store, chain("tablet-2", remarks(4)))
    before = heads_of(office, KEY)["tablet-1"], heads_of(truck.store, KEY)["tablet-1"]
    done = sync(office, asker(truck.address))
    assert done.fetched == 4
    assert [words.partition(":")[0] for words in done.conflicts] == ["tablet-1"]
    assert (heads_of(office, KEY)["tablet-1"], heads_of(truck.store, KEY)["tablet-1"]) == before


def test_another_project_is_refused(truck: Laptop, office: OpenStore) -> None:
    sides = Sides(office, "oak", asker(truck.address), "office", AT)
    with pytest.raises(ConflictError, match="weaver"):
        sync_field(sides)


@pytest.mark.parametrize("address", ["truck", "ftp://truck", "http://"])
def test_an_address_that_is_none(address: str) -> None:
    with pytest.raises(InputError, match="must be like"):
        asker(address)


def test_a_laptop_that_is_off(truck: Laptop, office: OpenStore) -> None:
    truck.kill()
    with pytest.raises(StorageError, match="does not answer"):
        sync(office, asker(truck.address))


def test_the_commands(truck: Laptop, tmp_path: Path) -> None:
    office = str(tmp_path / "office.drainwright")
    with field_store(Path(office)):
        pass
    outbox = tmp_path / "tablet outbox.jsonl"
    outbox.write_bytes(lines(chain("tablet-1", [*remarks(3), event("step", 5, step="permits")])))
    run = CliRunner().invoke
    assert "4 new entries" in run(app, ["entries", "read", office, str(outbox)]).output
    assert "0 new entries" in run(app, ["entries", "read", office, str(outbox)]).output
    assert "4 sent, 0 fetched" in run(app, ["sync", office, truck.address]).output
    assert "0 sent, 0 fetched" in run(app, ["sync", office, truck.address]).output
    done = run(app, ["field-report", office, "2026-11-19", "--out", str(tmp_path)])
    assert (tmp_path / "daily report 2026-11-19.pdf").read_bytes().startswith(b"%PDF")
    assert done.exit_code == 0
    assert run(app, ["field-report", office, "yesterday"]).exit_code == 2
    outbox.write_bytes(outbox.read_bytes() + b"{}\n")
    assert run(app, ["entries", "read", office, str(outbox)]).exit_code == 2
    assert run(app, ["entries", "read", office, str(tmp_path / "none")]).exit_code == 2


def test_what_a_device_may_send(truck: Laptop) -> None:
    ask = asker(truck.address)
    for body in (b"{}", b'{"entries": [1]}', b'{"entries": [{"id": "x"}]}'):
        with pytest.raises(StorageError, match="422"):
            ask("POST", "/field/-/upload", body, "application/json")
    for body in (b'{"reached": {"a": "b"}}', b'{"reached": 3}', b'{"lateral": 3}'):
        with pytest.raises(StorageError, match="422"):
            ask("POST", "/field/-/since", body, "application/json")
    one, two = chain("tablet-1", remarks(1)), chain("tablet-1", remarks(1, 9))
    keep(truck.store, one)
    with pytest.raises(ConflictError):
        keep(truck.store, [replace(two[0], number=1)])
