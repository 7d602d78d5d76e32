from __future__ import annotations

import itertools
from collections import Counter
from contextlib import suppress
from pathlib import Path

import pytest

from drainwright.operations.run_demo import PROJECT, run_demo
from drainwright.operations.stores import existing
from drainwright.planning.waiting import waits_on
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment
from drainwright.records.work_sheet import Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.storage import RecordStore
from drainwright.storage.protocol import Filters
from drainwright.units import UnitSystem
from tests.storage.samples import hours, lateral, project, writing


@pytest.fixture(scope="module")
def store_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run_demo(tmp_path_factory.mktemp("p"), UnitSystem.SI, by="test", papers=False).store


def test_stages_count_what_the_documents_say(store_file: Path) -> None:
    with existing(str(store_file)) as (store, _), store.read() as session:
        each = [(item.stage, item.fitness) for item in session.every(PROJECT, Lateral)]
        assert session.stages(PROJECT) == Counter(each)


def test_what_lists_show_is_what_the_documents_hold(store_file: Path) -> None:
    with existing(str(store_file)) as (store, _), store.read() as session:
        whole = session.list(PROJECT, Lateral)
        page = session.brief_page(PROJECT, Lateral)
        assert (page.total, page.pages) == (whole.total, whole.pages)
        for brief, item in zip(page.items, whole.items, strict=True):
            own = item.record
            assert (brief.key, brief.revision) == (item.key, item.revision.number)
            assert (brief.segment, brief.stage) == (own.segment, item.stage)
            assert brief.fitness == item.fitness
            assert brief.told.get("address", "") == own.address
            assert brief.told["tap_distance"] == own.tap_distance
            assert brief.told.get("tap_clock") == own.tap_clock
        keys = [one.key for one in page.items]
        sheets = dict(session.briefs(PROJECT, WorkSheet, [*keys, "none"]))
        for sheet in session.every(PROJECT, WorkSheet):
            reasons = [
                (one["outcome"], one["rule"], one["words"], one.get("distance"))
                for one in sheets.pop(sheet.key).told["reasons"]
            ]
            assert reasons == [
                (one.outcome, one.rule, one.words, one.distance) for one in sheet.record.reasons
            ]
        assert not sheets
        mains = session.briefs(PROJECT, MainSegment, ["no such one"])
        assert mains == {}


def test_counts_follow_every_change(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", lateral("L-1"), expected=0)
    for number, key in enumerate(("L-2", "L-3"), 2):
        with store.read() as session:
            before = session.brief_page("oak", Lateral)
            assert before.total == number - 1
            assert session.stages("oak") == {("listed", ""): number - 1}
            with writing(store, hours(number)) as other:
                other.put("oak", lateral(key), expected=0)
                assert other.brief_page("oak", Lateral).total == number
            assert session.brief_page("oak", Lateral) == before  # its view of the store is its own
    with writing(store, hours(5)) as session:
        session.withdraw("oak", Lateral, "L-2", expected=1)
    with store.read() as session:
        assert session.brief_page("oak", Lateral).total == 2
        assert session.briefs("oak", Lateral, ["L-1", "L-2"]).keys() == {"L-1"}
    with suppress(ZeroDivisionError), writing(store, hours(6)) as session:
        session.put("oak", lateral("L-4"), expected=0)
        assert session.stages("oak") == {("listed", ""): 3}
        raise ZeroDivisionError
    with store.read() as session:
        assert session.stages("oak") == {("listed", ""): 2}


def reason(outcome: Fitness, rule: str) -> Reason:
    return Reason(outcome, rule, "", cite("practice"))


@pytest.mark.parametrize(
    ("stage", "reasons", "who"),
    [
        ("listed", [], ("camera crew",)),
        ("surveyed", [], ("office",)),
        ("designed", [], ()),
        ("designed", [reason(Fitness.PREPARE, "right of entry")], ("resident",)),
        ("designed", [reason(Fitness.ASK, "right of entry")], ("sewer’s owner",)),
        ("designed", [reason(Fitness.ASK, "steep")], ("engineer",)),
        ("designed", [reason(Fitness.STOP, "structure")], ("sewer’s owner",)),
        (
            "designed",
            [reason(Fitness.PREPARE, "roots"), reason(Fitness.PREPARE, "tube")] * 2,
            ("cleaning crew", "maker"),
        ),
    ],
)
def test_whom_a_lateral_waits_on(stage: str, reasons: list[Reason], who: tuple[str, ...]) -> None:
    assert waits_on(stage, reasons) == who


def test_keys_and_briefs_are_those_of_the_list(store_file: Path) -> None:
    with existing(str(store_file)) as (store, _), store.read() as session:
        every = list(session.every(PROJECT, Lateral))
        assert session.keys(PROJECT, Lateral) == tuple((one.key, one.stage) for one in every)
        assert {one.key for one in session.brief_every(PROJECT, Lateral)} == {
            one.key for one in every
        }
        some = session.brief_every(PROJECT, Lateral, ["A", "none"])
        assert {one.key for one in some} == {o.key for o in every if o.record.segment == "A"}
        filters = Filters(segment="B")
        assert session.keys(PROJECT, Lateral, filters) == tuple(
            (one.key, one.stage) for one in every if one.record.segment == "B"
        )


def test_what_is_remembered_is_made_anew_after_a_change(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    numbers = itertools.count(1)

    def count() -> int:
        with store.read() as session:
            return session.remembered("oak", "count", lambda: next(numbers))

    assert (count(), count()) == (1, 1)
    with writing(store, hours(2)) as session:
        session.put("oak", lateral("L-1"), expected=0)
    assert (count(), count()) == (2, 2)
