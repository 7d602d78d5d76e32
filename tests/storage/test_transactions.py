"""All or nothing, and several at once, on SQLite and PostgreSQL alike."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import cast

import pytest
import sqlalchemy as sa

from drainwright.errors import ConflictError, NotFoundError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.storage import ReadSession, Record, RecordStore, open_store
from drainwright.storage.store import Store
from drainwright.storage.writing import Writing
from tests.storage.samples import hours, lateral, project, survey, writing


@pytest.fixture
def oak(store: RecordStore) -> RecordStore:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    return store


def dump(store: RecordStore) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    engine = cast("Store", store)._engine
    with engine.connect() as connection:
        tables = sa.MetaData()
        tables.reflect(connection)
        return {
            name: sorted(map(tuple, connection.execute(sa.select(table))), key=repr)
            for name, table in tables.tables.items()
        }


class StoppedError(Exception):
    """Something that went wrong in the caller's own code."""


def half(after: Exception) -> Iterator[tuple[Record, int | None]]:
    """Some laterals, then an error."""
    for number in range(600):
        yield lateral(f"L-{number}"), 0
    raise after


def test_an_error_inside_leaves_the_store_as_it_was(oak: RecordStore) -> None:
    before = dump(oak)
    with pytest.raises(StoppedError), writing(oak, hours(1)) as session:  # noqa: PT012
        session.put("oak", lateral("L-1"), expected=0)
        session.put("oak", survey("L-1"), expected=0)
        session.put("oak", project(elevation=2.0), expected=1)
        session.put("elm", project("elm"), expected=0)
        session.withdraw("oak", Lateral, "L-1", expected=1)
        assert session.counts("elm") == {"project": 1}
        raise StoppedError
    assert dump(oak) == before
    assert len(before["document"]) == 1


def test_an_error_from_what_is_being_read_stores_nothing(oak: RecordStore) -> None:
    before = dump(oak)
    with pytest.raises(StoppedError), writing(oak) as session:
        session.put_many("oak", half(StoppedError()))
    assert dump(oak) == before
    with writing(oak) as session:
        with pytest.raises(StoppedError):
            session.put_many("oak", half(StoppedError()))
        session.put("oak", lateral("L-700"), expected=0)
    with oak.read() as session_after:
        assert session_after.counts("oak") == {"lateral": 1, "project": 1}


def test_a_drivers_error_can_not_be_swallowed(oak: RecordStore) -> None:
    before = dump(oak)
    swallowed = "failed earlier; nothing was stored"
    with pytest.raises(StorageError, match=swallowed), writing(oak) as session:  # noqa: PT012
        session.put("oak", lateral("L-1"), expected=0)
        with pytest.raises(StorageError) as caught:
            cast("Writing", session).run(sa.text("SELECT 1 FROM nowhere"))
        assert caught.value.__cause__ is not None
    assert dump(oak) == before


def test_a_view_does_not_change_while_somebody_writes(oak: RecordStore) -> None:
    with oak.read() as session:
        assert session.counts("oak") == {"project": 1}
        with writing(oak) as other:
            other.put("oak", lateral("L-1"), expected=0)
        assert session.counts("oak") == {"project": 1}
        assert session.revision_of("oak", Lateral, "L-1") == 0
    with oak.read() as session:
        assert session.counts("oak") == {"lateral": 1, "project": 1}


def test_nobody_sees_what_is_not_committed(oak: RecordStore) -> None:
    with writing(oak) as session:
        session.put("oak", lateral("L-1"), expected=0)
        with oak.read() as other:
            assert other.revision_of("oak", Lateral, "L-1") == 0


def test_no_change_is_lost_among_concurrent_writers(oak: RecordStore) -> None:
    """Each of 6 threads adds 8 numbers of its own to what it has read."""
    with writing(oak) as session:
        session.put("oak", lateral("L-1"), expected=0)

    def add(number: float) -> None:
        while True:
            with oak.read() as view:
                now = view.get("oak", Lateral, "L-1")
            more = lateral("L-1", foreign_pipes=(*now.record.foreign_pipes, number))
            try:
                with writing(oak) as other:
                    other.put("oak", more, expected=now.revision.number)
            except ConflictError:
                continue
            return

    def work(thread: int) -> None:
        for number in range(8):
            add(thread * 100.0 + number)

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(work, range(6)))
    with oak.read() as view:
        found = view.get("oak", Lateral, "L-1").record.foreign_pipes
        numbers = [made.number for made in view.history("oak", Lateral, "L-1")]
    assert sorted(found) == [thread * 100.0 + number for thread in range(6) for number in range(8)]
    assert numbers == list(range(1, 50))


def test_only_one_of_many_makes_a_new_document(oak: RecordStore, store_place: str) -> None:
    start = threading.Barrier(5)

    def work(number: int) -> bool:
        own = open_store(store_place)
        start.wait()
        try:
            with writing(own) as session:
                session.put("oak", lateral("L-1", remark=f"by {number}"), expected=0)
        except ConflictError:
            return False
        finally:
            own.close()
        return True

    with ThreadPoolExecutor(5) as pool:
        won = list(pool.map(work, range(5)))
    assert sorted(won) == [False, False, False, False, True]
    with oak.read() as session:
        assert session.get("oak", Lateral, "L-1").record.remark == f"by {won.index(True)}"


def test_a_writer_gives_up_in_words_when_another_holds_on(
    oak: RecordStore, store_place: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drainwright.storage.driver.WAIT", 0.2)
    hasty = open_store(store_place)
    with writing(oak) as session:
        session.put("oak", lateral("L-1"), expected=0)
        with pytest.raises(StorageError, match="somebody else is writing"), writing(hasty):
            pass
        with hasty.read() as reader:  # readers wait for nobody
            assert reader.counts("oak") == {"project": 1}
    with writing(hasty) as session:
        assert session.revision_of("oak", Lateral, "L-1") == 1
    hasty.close()


def test_a_session_ends_with_its_block(oak: RecordStore) -> None:
    kept: list[ReadSession] = []
    with oak.read() as session:
        kept.append(session)
    with pytest.raises(StorageError, match="session is over"):
        kept[0].counts("oak")
    with pytest.raises(NotFoundError), oak.read() as session:
        session.get("oak", Lateral, "L-1")
