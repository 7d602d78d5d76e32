"""Lists, pages, filters and search, on SQLite and PostgreSQL alike."""

from __future__ import annotations

import datetime as dt

import pytest

from drainwright.errors import InputError
from drainwright.records.lateral import Lateral
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.survey import Observation, ObservationKind, Survey
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage import Filters, RecordStore
from tests.storage.samples import hours, lateral, project, survey, work_sheet, writing

STREETS = ("Élm Straße", "Oak Avenue", "O’Brien Lane")


def fill(store: RecordStore) -> RecordStore:
    """Twelve laterals on three streets and two segments."""
    laterals = [
        lateral(
            f"L-{i}",
            segment=f"S-{i % 2 + 1}",
            street=STREETS[i % 3],
            address=f"{100 + i} {STREETS[i % 3]}",
            remark="Wurzeln, grün" if i == 5 else "",
        )
        for i in range(1, 13)
    ]
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put_many("oak", [(one, 0) for one in laterals])
        session.put("oak", survey("L-3", 3), expected=0)
        session.put("oak", survey("L-3", 7), expected=0)
        session.put("oak", survey("L-4", 5), expected=0)
        session.put("oak", work_sheet(laterals[3], Fitness.ASK), expected=0)
    return store


@pytest.fixture
def town(store: RecordStore) -> RecordStore:
    """A filled store to change."""
    return fill(store)


@pytest.fixture(scope="module")
def read_town(lasting_store: RecordStore) -> RecordStore:
    """A filled store that nobody changes."""
    return fill(lasting_store)


def keys(store: RecordStore, filters: Filters) -> list[str]:
    """The keys of the laterals that pass, as a list and as an iterator."""
    with store.read() as session:
        page = session.list("oak", Lateral, filters)
        assert page.items == tuple(session.every("oak", Lateral, filters))
        assert page.total == len(page.items)
        return [one.key for one in page.items]


ALL = [f"L-{i}" for i in range(1, 13)]


@pytest.mark.parametrize(
    ("filters", "found"),
    [
        (Filters(), ALL),
        (Filters(words="elm"), ["L-3", "L-6", "L-9", "L-12"]),
        (Filters(words="ÉLM STRASSE"), ["L-3", "L-6", "L-9", "L-12"]),
        (Filters(words="stra el"), ["L-3", "L-6", "L-9", "L-12"]),
        (Filters(words="brien"), ["L-2", "L-5", "L-8", "L-11"]),
        (Filters(words="obrien"), ["L-2", "L-5", "L-8", "L-11"]),
        (Filters(words="o'bri"), ["L-2", "L-5", "L-8", "L-11"]),
        (Filters(words="grun wurz"), ["L-5"]),
        (Filters(words="10 elm"), ["L-3", "L-6", "L-9"]),
        (Filters(words="L-1"), ["L-1", "L-10", "L-11", "L-12"]),
        (Filters(words="l12"), ["L-12"]),
        (Filters(words="112"), ["L-12"]),
        (Filters(words="rm"), []),
        (Filters(words=" – _ "), ALL),
        (Filters(words="%"), ALL),
        (Filters(words="s-2 oak"), ["L-1", "L-7"]),
        (Filters(street="elm STRASSE"), ["L-3", "L-6", "L-9", "L-12"]),
        (Filters(street="elm"), []),
        (Filters(segment="S-1"), ["L-2", "L-4", "L-6", "L-8", "L-10", "L-12"]),
        (Filters(segment="S-1", street="oak avenue"), ["L-4", "L-10"]),
        (Filters(stage="listed"), [one for one in ALL if one not in ("L-3", "L-4")]),
        (Filters(stage="surveyed"), ["L-3"]),
        (Filters(stage="designed"), ["L-4"]),
        (Filters(fitness="ask the engineer"), ["L-4"]),
        (Filters(fitness="line"), []),
        (Filters(lateral="L-7"), ["L-7"]),
        (Filters(dated_from=dt.date(2026, 4, 1)), ["L-3", "L-4"]),
        (Filters(dated_from=dt.date(2026, 4, 6)), ["L-3"]),
        (Filters(dated_to=dt.date(2026, 4, 6)), ["L-4"]),
        (Filters(dated_from=dt.date(2026, 4, 7), dated_to=dt.date(2026, 4, 7)), ["L-3"]),
        (Filters(withdrawn=True), []),
    ],
    ids=lambda one: str(one)[:60] if isinstance(one, Filters) else "",
)
def test_filters_and_search(read_town: RecordStore, filters: Filters, found: list[str]) -> None:
    assert keys(read_town, filters) == found


def test_words_follow_the_current_revision(town: RecordStore) -> None:
    with writing(town, hours(1)) as session:
        session.put("oak", lateral("L-5", street="Walnut Way"), expected=1)
        session.withdraw("oak", Lateral, "L-8", expected=1)
    assert keys(town, Filters(words="wurzeln")) == []
    assert keys(town, Filters(words="walnut")) == ["L-5"]
    assert keys(town, Filters(words="brien")) == ["L-2", "L-11"]
    assert keys(town, Filters(words="brien", withdrawn=True)) == ["L-8"]


def test_the_stage_follows_surveys_and_work_sheets(town: RecordStore) -> None:
    with writing(town, hours(1)) as session:
        session.withdraw("oak", WorkSheet, "L-4", expected=1)
        assert session.get("oak", Lateral, "L-4").stage == "surveyed"
        assert session.get("oak", Lateral, "L-4").fitness == ""
        session.withdraw("oak", Survey, survey("L-3", 7).key, expected=1)
        session.put("oak", survey("L-20"), expected=0)
        session.put("oak", lateral("L-20"), expected=0)
        session.put("oak", lateral("L-3", remark="seen"), expected=1)
    with town.read() as session:
        stages = {one.key: one.stage for one in session.list("oak", Lateral).items}
    assert {key for key, stage in stages.items() if stage == "surveyed"} == {"L-3", "L-4", "L-20"}
    assert keys(town, Filters(dated_to=dt.date(2026, 4, 3))) == ["L-3", "L-20"]
    with writing(town, hours(2)) as session:
        session.withdraw("oak", Survey, survey("L-3", 3).key, expected=1)
    assert "L-3" in keys(town, Filters(stage="listed"))


def test_surveys_of_a_lateral_and_what_they_saw(town: RecordStore) -> None:
    seen = Observation(ObservationKind.ROOTS, 3.0, remark="Wurzel am Übergang")
    with writing(town, hours(1)) as session:
        session.put("oak", survey("L-9", 9, observations=(seen,), by="Ben"), expected=0)
    with town.read() as session:
        of_three = session.list("oak", Survey, Filters(lateral="L-3")).items
        assert [one.record.date.day for one in of_three] == [3, 7]
        for words in ("ubergang", "ben", "wurzel l-9"):
            (found,) = session.list("oak", Survey, Filters(words=words)).items
            assert found.record.observations == (seen,)
        (sheet,) = session.list("oak", WorkSheet, Filters(fitness=Fitness.ASK)).items
        assert (sheet.key, sheet.fitness) == ("L-4", "ask the engineer")


def test_other_kinds_are_found_too(town: RecordStore) -> None:
    with writing(town) as session:
        session.put("oak", Premises("P-1", "7 Élm Straße", contact="Zoë Øst"), expected=0)
        segment = MainSegment("S-1", "MH 17", "MH 18", 0.2, 90.0, street="Élm Straße")
        session.put("oak", segment, expected=0)
        session.put("elm", project("elm", town="Ørby"), expected=0)
    with town.read() as session:
        assert session.list("oak", Premises, Filters(words="zoe ost")).total == 1
        assert session.list("oak", MainSegment, Filters(words="mh 17")).total == 1
        assert session.list("oak", MainSegment, Filters(street="elm strasse")).total == 1
        (found,) = session.list("", Project, Filters(words="orby")).items
        assert found.key == "elm"
        assert session.list("oak", Lateral, Filters(words="zoe")).total == 0


def test_pages_of_50_hold_each_document_once(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put_many("oak", ((lateral(f"{n}"), 0) for n in range(1203, 0, -1)))
    with store.read() as session:
        pages = [session.list("oak", Lateral, page=number) for number in range(1, 26)]
        assert {(page.total, page.pages) for page in pages} == {(1203, 25)}
        assert [len(page.items) for page in pages] == [50] * 24 + [3]
        order = [one.key for page in pages for one in page.items]
        assert order == [str(n) for n in range(1, 1204)]
        assert [one.key for one in session.every("oak", Lateral)] == order
        beyond = session.list("oak", Lateral, page=26)
        assert (beyond.items, beyond.total) == ((), 1203)
        assert session.list("oak", Lateral, Filters(words="120")).total == 5
        with pytest.raises(InputError, match="first page"):
            session.list("oak", Lateral, page=0)


def test_an_empty_project_has_one_empty_page(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    with store.read() as session:
        page = session.list("oak", Lateral)
    assert (page.items, page.total, page.pages) == ((), 0, 1)


def test_keys_are_in_the_order_of_people(store: RecordStore) -> None:
    ordered = ["A-2", "a-3", "A-10", "A-10b", "B-001", "B-1", "B-02", "É-1", "F-1", "Ω-1"]
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put_many("oak", [(lateral(key), 0) for key in reversed(ordered)])
    assert keys(store, Filters()) == ordered
