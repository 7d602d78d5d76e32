"""How SQLite goes about statements that a page of one lateral runs, in a project of any size."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa

from drainwright.records.survey import Survey
from drainwright.storage import Filters, RecordStore, open_store
from tests.storage.samples import lateral, project, survey, writing


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A file with laterals and their surveys."""
    path = tmp_path / "job.drainwright"
    store = open_store(path, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        keys = [f"L-{n}" for n in range(50)]
        session.put_many("oak", [(lateral(key), 0) for key in keys])
        session.put_many("oak", [(survey(key, day), 0) for key in keys for day in (3, 5)])
    store.close()
    return path


def surveys_of(store: RecordStore, key: str) -> list[int]:
    """The days of April of the surveys of a lateral."""
    with store.read() as session:
        return [one.record.date.day for one in session.every("oak", Survey, Filters(lateral=key))]


def test_surveys_of_a_lateral_are_found_by_its_index(place: Path) -> None:
    store = open_store(place)
    ran: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, values: Any, *_: Any) -> None:
        ran.append((statement, values))

    sa.event.listen(sa.Engine, "before_cursor_execute", note)
    try:
        assert surveys_of(store, "L-7") == [3, 5]
    finally:
        sa.event.remove(sa.Engine, "before_cursor_execute", note)
    statement, values = ran[-1]
    assert "revision.content" in statement
    with sa.create_engine(f"sqlite:///{place}").connect() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
    steps = [str(row[3]) for row in plan]
    assert any("USING INDEX document_lateral" in step for step in steps), steps
    assert not any("SCAN" in step for step in steps), steps


def test_a_withdrawn_survey_is_not_among_those_of_its_lateral(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put_many("oak", [(lateral("L-7"), 0), (survey("L-7", 3), 0), (survey("L-7", 5), 0)])
    assert surveys_of(store, "L-7") == [3, 5]
    with writing(store) as session:
        session.withdraw("oak", Survey, survey("L-7", 3).key, expected=1)
    assert surveys_of(store, "L-7") == [5]
    with store.read() as session:
        gone = session.every("oak", Survey, Filters(lateral="L-7", withdrawn=True))
        assert [one.record.date.day for one in gone] == [3]


def test_a_statement_that_was_kept_runs_with_other_values(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put_many("oak", [(lateral("L-1"), 0), (lateral("L-2"), 0)])
        session.put_many("oak", [(survey("L-1", 1), 0), (survey("L-2", 2), 0)])
    assert [surveys_of(store, key) for key in ("L-1", "L-2", "L-1", "L-3")] == [[1], [2], [1], []]
