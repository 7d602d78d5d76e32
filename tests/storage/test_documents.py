"""The contract of documents and revisions, on SQLite and PostgreSQL alike."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from drainwright.errors import ConflictError, InputError, NotFoundError
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.specification import Specification, default_specification
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage import Record, RecordStore, Saved
from drainwright.storage.kinds import KINDS, key_of
from tests.storage.samples import (
    NOON,
    ODD,
    ONE_OF_EACH,
    hours,
    lateral,
    project,
    survey,
    work_sheet,
    writing,
)


@pytest.fixture
def oak(store: RecordStore) -> RecordStore:
    """A store with one empty project."""
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    return store


def put(store: RecordStore, record: Record, expected: int | None, hour: float = 0) -> Saved:
    """One record in a transaction of its own."""
    with writing(store, hours(hour)) as session:
        return session.put("oak", record, expected=expected)


def test_the_samples_are_one_of_each_kind() -> None:
    assert [type(record) for record in ONE_OF_EACH] == [kind.record for kind in KINDS.values()]


@pytest.mark.parametrize("record", ONE_OF_EACH, ids=lambda record: type(record).__name__)
def test_each_kind_comes_back_as_it_went_in(oak: RecordStore, record: Record) -> None:
    put(oak, record, None)
    with oak.read() as session:
        stored = session.get("oak", type(record), key_of(record))
        assert stored.record == record
        assert type(stored.record) is type(record)
        assert stored.project == "oak"


def test_a_change_is_a_revision_and_the_old_one_stays(oak: RecordStore) -> None:
    first, second = lateral("L-1", remark=ODD), lateral("L-1", tap_distance=0.1 + 0.2)
    assert put(oak, first, 0) == Saved("L-1", 1, changed=True)
    assert put(oak, second, 1) == Saved("L-1", 2, changed=True)
    with oak.read() as session:
        assert session.get("oak", Lateral, "L-1").record == second
        assert session.get("oak", Lateral, "L-1").revision.number == 2
        assert session.get("oak", Lateral, "L-1", revision=1).record == first
        assert session.revision_of("oak", Lateral, "L-1") == 2
        with pytest.raises(NotFoundError, match="lateral L-1, revision 3"):
            session.get("oak", Lateral, "L-1", revision=3)


def test_a_revision_tells_who_when_from_what_and_why(oak: RecordStore) -> None:
    chicago = dt.timezone(dt.timedelta(hours=-5))
    at = dt.datetime(2026, 5, 4, 7, 30, 1, 250_000, tzinfo=chicago)
    stamp = {"by": "Ann", "origin": "tablet 2", "reason": "house moved"}
    with oak.write(at=at, **stamp) as session:
        session.put("oak", lateral("L-1"), expected=0)
    with oak.read() as session:
        (made,) = session.history("oak", Lateral, "L-1")
    assert (made.by, made.origin, made.reason) == ("Ann", "tablet 2", "house moved")
    assert made.at == at
    assert made.at.tzinfo is dt.UTC
    assert len(made.sha256) == 64
    assert not made.withdrawn


def test_the_same_content_is_not_stored_again(oak: RecordStore) -> None:
    records: list[tuple[Record, None]] = [(survey("L-1"), None), (lateral("L-1"), None)]
    for hour, changed in ((0, True), (1, False)):
        with writing(oak, hours(hour)) as session:
            assert {one.changed for one in session.put_many("oak", records)} == {changed}
    # whole numbers and floats are the same numbers; and no conflict, whatever was expected
    assert put(oak, lateral("L-1", tap_depth=2), 1) == Saved("L-1", 2, changed=True)
    assert put(oak, lateral("L-1", tap_depth=2.0), 0) == Saved("L-1", 2, changed=False)
    with oak.read() as session:
        assert len(session.history("oak", Lateral, "L-1")) == 2
        assert len(session.history("oak", Survey, survey("L-1").key)) == 1


@pytest.mark.parametrize("expected", [0, 1, 3])
def test_a_change_of_an_older_revision_is_a_conflict(oak: RecordStore, expected: int) -> None:
    put(oak, lateral("L-1"), 0)
    put(oak, lateral("L-1", remark="first"), 1)
    with pytest.raises(ConflictError, match=r"L-1 of oak is at revision 2 \(by Ann on 2026"):
        put(oak, lateral("L-1", remark="second"), expected)
    with oak.read() as session:
        assert session.get("oak", Lateral, "L-1").record.remark == "first"


def test_a_change_of_nothing_is_a_conflict(oak: RecordStore) -> None:
    with pytest.raises(ConflictError, match="L-1 of oak does not exist"):
        put(oak, lateral("L-1"), 1)


def test_put_many_stores_all_or_none_and_names_every_conflict(oak: RecordStore) -> None:
    put(oak, lateral("L-2"), 0)
    put(oak, lateral("L-3"), 0)
    changes = [(lateral(f"L-{i}", remark="new"), 0) for i in (1, 2, 3)]
    with writing(oak) as session:
        with pytest.raises(ConflictError) as caught:
            session.put_many("oak", changes)
        assert session.revision_of("oak", Lateral, "L-1") == 0
        session.put("oak", lateral("L-4"), expected=0)
    assert [line.split()[1] for line in str(caught.value).splitlines()] == ["L-2", "L-3"]
    with oak.read() as session:
        keys = [one.key for one in session.list("oak", Lateral).items]
    assert keys == ["L-2", "L-3", "L-4"]


def test_put_many_takes_a_document_twice_in_its_order(oak: RecordStore) -> None:
    with writing(oak) as session:
        saved = session.put_many(
            "oak", [(lateral("L-1"), 0), (lateral("L-1", remark="b"), 1), (lateral("L-1"), None)]
        )
    assert [one.revision for one in saved] == [1, 2, 3]


def test_a_conflict_in_a_later_portion_takes_the_first_ones_along(oak: RecordStore) -> None:
    put(oak, lateral("L-1199"), 0)
    changes = [(lateral(f"L-{i}", remark="new"), 0) for i in range(1200)]
    with writing(oak) as session, pytest.raises(ConflictError, match="L-1199"):
        session.put_many("oak", changes)
    with oak.read() as session:
        assert session.counts("oak") == {"lateral": 1, "project": 1}


def test_withdrawing_is_a_revision_and_can_be_taken_back(oak: RecordStore) -> None:
    put(oak, lateral("L-1"), 0)
    with writing(oak, hours(1), reason="listed twice") as session:
        with pytest.raises(ConflictError, match="revision 1"):
            session.withdraw("oak", Lateral, "L-1", expected=2)
        assert session.withdraw("oak", Lateral, "L-1", expected=1) == Saved("L-1", 2, True)
        assert session.withdraw("oak", Lateral, "L-1", expected=1) == Saved("L-1", 2, False)
        with pytest.raises(NotFoundError, match="no lateral L-9"):
            session.withdraw("oak", Lateral, "L-9", expected=None)
    with oak.read() as session:
        with pytest.raises(NotFoundError, match="withdrawn by Ann on 2026-05-04: listed twice"):
            session.get("oak", Lateral, "L-1")
        assert session.get("oak", Lateral, "L-1", revision=2).record == lateral("L-1")
        assert [made.withdrawn for made in session.history("oak", Lateral, "L-1")] == [False, True]
        assert session.list("oak", Lateral).total == 0
        assert "lateral" not in session.counts("oak")
    # the same content again is not "the same": it brings the document back
    assert put(oak, lateral("L-1"), 2, hour=2) == Saved("L-1", 3, changed=True)
    with oak.read() as session:
        assert session.get("oak", Lateral, "L-1").revision.number == 3
        assert session.at("oak", Lateral, "L-1", hours(1.5)).revision.withdrawn


def test_a_document_as_it_stood_at_a_time(oak: RecordStore) -> None:
    for hour, remark in ((0.0, "noon"), (1.0, "one"), (2.0, "two")):
        put(oak, lateral("L-1", remark=remark), None, hour)
    with oak.read() as session:
        for hour, remark in ((0, "noon"), (0.99, "noon"), (1, "one"), (1.5, "one"), (48, "two")):
            assert session.at("oak", Lateral, "L-1", hours(hour)).record.remark == remark
        with pytest.raises(NotFoundError, match="at 2026-05-04 11:00 UTC"):
            session.at("oak", Lateral, "L-1", hours(-1))
        with pytest.raises(InputError, match="zone"):
            session.at("oak", Lateral, "L-1", NOON.replace(tzinfo=None))


def test_times_without_zone_are_refused(oak: RecordStore) -> None:
    naive = NOON.replace(tzinfo=None)
    with pytest.raises(InputError, match="at: needs its zone"), writing(oak, naive):
        pass
    sheet = replace(work_sheet(lateral("L-1")), issued_at=NOON.replace(tzinfo=None))
    with writing(oak) as session, pytest.raises(InputError, match="no zone"):
        session.put("oak", sheet, expected=0)


@pytest.mark.parametrize("key", ["", "  ", "L\x001", "L\n1", "L\ud8001"])
def test_a_key_that_a_database_could_not_hold_is_refused(oak: RecordStore, key: str) -> None:
    with writing(oak) as session, pytest.raises(InputError):
        session.put("oak", lateral(key), expected=0)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), [1.0], "x", object()])
def test_what_would_not_come_back_is_refused(oak: RecordStore, value: object) -> None:
    with writing(oak) as session, pytest.raises(InputError, match="Lateral: can't be stored"):
        session.put("oak", lateral("L-1", foreign_pipes=value), expected=0)


def test_projects_do_not_see_each_other(oak: RecordStore) -> None:
    with writing(oak) as session:
        session.put("elm", project("elm"), expected=0)
        session.put("elm", lateral("L-1", remark="of elm"), expected=0)
        session.put("oak", lateral("L-1", remark="of oak"), expected=0)
        session.put("elm", default_specification(), expected=0)
        session.put("elm", survey("L-1"), expected=0)
    with oak.read() as session:
        assert session.get("elm", Lateral, "L-1").record.remark == "of elm"
        assert session.get("oak", Lateral, "L-1").record.remark == "of oak"
        assert session.get("oak", Lateral, "L-1").stage == "listed"
        assert session.get("elm", Lateral, "L-1").stage == "surveyed"
        assert session.counts("oak") == {"lateral": 1, "project": 1}
        assert session.counts("elm") == {
            "lateral": 1, "project": 1, "specification": 1, "survey": 1,
        }  # fmt: skip
        with pytest.raises(NotFoundError, match="no specification specification in oak"):
            session.get("oak", Specification, "specification")
        assert [one.key for one in session.list("", Project).items] == ["elm", "oak"]
        assert [one.key for one in session.list("oak", Project).items] == ["oak"]


def test_an_unknown_project_is_told(oak: RecordStore) -> None:
    with writing(oak) as session:
        with pytest.raises(NotFoundError, match="no project elm"):
            session.put("elm", lateral("L-1"), expected=0)
        with pytest.raises(InputError, match="of the project elm"):
            session.put("oak", project("elm"), expected=0)
        with pytest.raises(NotFoundError):
            session.withdraw("elm", Lateral, "L-1", expected=None)
    with oak.read() as session:
        assert session.revision_of("elm", Lateral, "L-1") == 0
        with pytest.raises(NotFoundError, match="no project elm"):
            session.list("elm", Lateral)
        with pytest.raises(NotFoundError, match="no project elm"):
            next(session.every("elm", Lateral))
        with pytest.raises(NotFoundError, match="no project elm"):
            session.counts("elm")
        with pytest.raises(NotFoundError, match="no lateral L-1 in elm"):
            session.get("elm", Lateral, "L-1")
        with pytest.raises(NotFoundError, match="no lateral L-1 in elm"):
            session.history("elm", Lateral, "L-1")


def test_a_conflicting_new_project_leaves_nothing(store: RecordStore) -> None:
    with writing(store) as session:
        with pytest.raises(ConflictError):
            session.put("elm", project("elm"), expected=4)
        with pytest.raises(NotFoundError):
            session.put("elm", lateral("L-1"), expected=0)


def test_only_records_of_the_store_are_stored(oak: RecordStore) -> None:
    with writing(oak) as session, pytest.raises(InputError, match="holds no int"):
        session.put("oak", 3, expected=0)  # type: ignore[arg-type]


def test_a_work_sheet_is_found_by_its_lateral(oak: RecordStore) -> None:
    put(oak, work_sheet(lateral("L-1")), 0)
    with oak.read() as session:
        sheet = session.get("oak", WorkSheet, "L-1").record
    assert sheet.issued_at == dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC)
