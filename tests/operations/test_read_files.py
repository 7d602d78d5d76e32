"""Reading files into a project: nothing by halves, changes by row, mappings kept."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drainwright.errors import InputError, StorageError
from drainwright.operations import read_files
from drainwright.operations.read_files import (
    FilePreview,
    ReadRequest,
    mapping_text,
    preview_file,
    read_file,
)
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.operations.template import template
from drainwright.operations.write_files import write_file
from drainwright.records.lateral import Lateral, MeasuringWay
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.survey import Survey, SurveyMethod
from drainwright.storage.protocol import RecordStore
from drainwright.units import FOOT, UnitSystem
from tests.exchange.test_fuzz import mangled

AT = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
TODAY = dt.date(2026, 6, 1)
MAINS = b"Segment,From MH,To MH,Dia (in),Length (ft)\nM1,MH1,MH2,8,300\n"
LIST = (
    b"Lateral ID,Main,Tap (ft),Length (ft),Address\n"
    b"L-1,M1,10,40,1 Oak\nL-2,M1,20,41,2 Oak\nL-3,M1,30,42,3 Oak\n"
)
SURVEY = b"""#A1=UTF-8
#A3=,
#A4=.
#A5="
#B01=AAA,ABF,AAK
l 1,2026-04-02,B
#C=I,A,B,D
0,BCD,,
2.5,BBA,A,20
12,BCE,,
#Z
#B01=AAA,AAD,AAF,ABF,AAK
M1,MH1,MH2,2026-04-02,A
#C=I,A
0,BCD
91,BCE
#Z
"""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[RecordStore]:
    with create(str(tmp_path / "s.drainwright")) as opened:
        start_project(opened, Project("p", "P"), by="Ann", at=AT)
        yield opened


def put(store: RecordStore, data: bytes, file: str, **more: object) -> FilePreview:
    asked = replace(ReadRequest(data, file), **more)  # type: ignore[arg-type]
    return read_file(store, "p", asked, by="Ann", at=AT, today=TODAY)


def counts(store: RecordStore) -> dict[str, int]:
    with store.read() as session:
        return dict(session.counts("p"))


def lateral(store: RecordStore, key: str) -> Lateral:
    with store.read() as session:
        return session.get("p", Lateral, key).record


def revisions(store: RecordStore, key: str) -> list[tuple[int, str]]:
    with store.read() as session:
        return [(one.number, one.origin) for one in session.history("p", Lateral, key)]


@pytest.fixture
def filled(store: RecordStore) -> RecordStore:
    assert put(store, MAINS, "mains.csv").stored
    assert put(store, LIST, "list.csv").new == ("L-1", "L-2", "L-3")
    return store


def test_a_preview_tells_what_would_be_stored_and_stores_nothing(store: RecordStore) -> None:
    before = counts(store)
    seen = preview_file(store, "p", ReadRequest(MAINS, "mains.csv"), today=TODAY)
    assert (seen.kind, seen.records, seen.new, seen.stored) == ("segments", 1, ("M1",), False)
    assert "“From MH”: from manhole (a synonym)" in seen.recognized
    assert counts(store) == before


def test_with_a_fault_nothing_at_all_is_stored(filled: RecordStore) -> None:
    before = counts(filled)
    bad = LIST.replace(b"L-2,M1,20", b"L-9,M1,2O").replace(b"L-3,", b"L-8,")
    seen = put(filled, bad, "other.csv")
    # L-8 would join where L-3 of the project does, and 2O is no number
    assert (seen.stored, [fault.row for fault in seen.faults]) == (False, [3, 4])
    assert counts(filled) == before


def test_clean_rows_are_stored_and_the_rest_comes_as_a_file_to_mend(store: RecordStore) -> None:
    put(store, MAINS, "mains.csv")
    bad = LIST.replace(b"L-2,M1,20", b"L-2,M1,2O")
    seen = put(store, bad, "list.csv", accept_clean_rows=True)
    assert (seen.stored, seen.new, seen.left_out_rows) == (True, ("L-1", "L-3"), 1)
    mended = seen.left_out.replace(b"2O", b"20")
    assert put(store, mended, "list.left-out.csv").new == ("L-2",)
    assert lateral(store, "L-2").tap_distance == pytest.approx(20 * FOOT)


def test_the_same_file_twice_changes_nothing(filled: RecordStore) -> None:
    before = counts(filled)
    seen = put(filled, LIST, "list.csv")
    assert (seen.new, seen.changed, seen.unchanged) == ((), (), 3)
    assert counts(filled) == before
    assert revisions(filled, "L-1") == [(1, "list.csv")]


def test_a_changed_row_is_a_revision_of_the_file_and_a_vanished_one_is_told(
    filled: RecordStore,
) -> None:
    new = LIST.replace(b"20,41", b"20,44").replace(b"L-3,M1,30,42,3 Oak\n", b"")
    seen = put(filled, new, "list.csv")
    assert (seen.changed, seen.unchanged, seen.vanished) == (("L-2",), 1, ("L-3",))
    assert revisions(filled, "L-2") == [(1, "list.csv"), (2, "list.csv")]
    assert lateral(filled, "L-3").address == "3 Oak"


def test_what_others_changed_stays_where_the_row_did_not_change(filled: RecordStore) -> None:
    with filled.write(by="Ben", at=AT, origin="", reason="walked it") as session:
        session.put("p", replace(lateral(filled, "L-1"), riser=2.0, address="1A Oak"), expected=1)
    put(filled, LIST.replace(b"20,41", b"20,44"), "list.csv")
    assert (lateral(filled, "L-1").address, lateral(filled, "L-1").riser) == ("1A Oak", 2.0)


def test_measured_lengths_go_into_the_lateral_and_stay_when_the_list_changes(
    filled: RecordStore,
) -> None:
    rows = b"Lateral,Way,Reading (ft),Date\nL-1,sonde,41,2026-05-01\nL-1,tape,41.2,2026-05-01\n"
    assert put(filled, rows, "measured.csv").changed
    put(filled, LIST.replace(b"10,40", b"10,43"), "list.csv")
    found = {one.way: one.reading / FOOT for one in lateral(filled, "L-1").lengths}
    assert found[MeasuringWay.LISTED] == pytest.approx(43)
    assert found[MeasuringWay.SONDE] == pytest.approx(41)
    assert len(found) == 3


def test_contacts_go_into_the_premises_they_name_by_id_or_address(store: RecordStore) -> None:
    put(store, b"Premises,Address\nP-1,1 Oak\nP-2,2 Oak\n", "premises.csv")
    rows = b"Property address,Name,Phone\n2 OAK,Lee,555 0100\nP-1,Kim,555 0101\n"
    assert put(store, rows, "contacts.csv", kind="contacts").stored
    with store.read() as session:
        found = {one.key: one.record.contact for one in session.every("p", Premises)}
    assert found == {"P-1": "Kim", "P-2": "Lee"}


def test_surveys_find_their_pipe_and_come_back_as_they_were(filled: RecordStore) -> None:
    seen = put(filled, SURVEY, "tv.txt")
    assert (seen.kind, seen.stored, len(seen.new)) == ("survey text", True, 2)
    with filled.read() as session:
        found = {one.record.lateral: one.record for one in session.every("p", Survey)}
    assert set(found) == {"L-1", "M1"}
    assert found["M1"].method is SurveyMethod.ALONG_MAIN
    again = put(filled, SURVEY, "copy.txt")
    assert (again.new, again.changed) == ((), ())
    data = write_file(filled, "p", "surveys", form="txt", units=UnitSystem.US, keys=("L-1",))
    assert data in SURVEY


def test_a_survey_of_an_unknown_lateral_is_a_fault_with_a_guess(filled: RecordStore) -> None:
    seen = put(filled, SURVEY.replace(b"l 1,2026", b"L-11,2026"), "tv.txt")
    assert not seen.stored
    assert seen.faults[0].guess == "“L-11” looks like “L-1”"


def test_a_mapping_is_kept_and_used_for_the_same_header(filled: RecordStore) -> None:
    odd = b"Ref,Sewer,Where,How far\nL-7,M1,50,33\n"
    assert put(filled, odd, "odd.csv", kind="laterals").faults
    mapping = b"""kind = "laterals"
[columns]
Ref = "lateral"
Sewer = "main segment"
Where = { field = "tap distance", unit = "ft" }
"How far" = { field = "length", unit = "ft" }
"""
    assert put(filled, odd, "odd.csv", mapping=mapping).new == ("L-7",)
    later = put(filled, odd.replace(b"L-7,M1,50", b"L-8,M1,60"), "later.csv")
    assert (later.mapping_kept, later.new) == (True, ("L-8",))
    text = mapping_text(later.mapping, TODAY)
    assert put(filled, odd.replace(b"L-7,M1,50", b"L-9,M1,70"), "x.csv", mapping=text).new


def test_a_mapping_with_faults_tells_them_all(filled: RecordStore) -> None:
    bad = b'kind = "cows"\ndecimal = "x"\nhue = 1\n'
    with pytest.raises(InputError) as caught:
        put(filled, LIST, "list.csv", mapping=bad)
    assert [fault.name for fault in caught.value.faults] == ["hue", "kind", "decimal"]


def test_a_failure_while_storing_leaves_the_store_as_it_was(
    store: RecordStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(store, MAINS, "mains.csv")
    before = counts(store)
    monkeypatch.setattr(read_files, "_PORTION", 1)

    def step(words: str, done: int, total: int) -> None:
        if words == "storing" and done == 2:
            raise StorageError("the disk is full")

    with pytest.raises(StorageError):
        read_file(store, "p", ReadRequest(LIST, "list.csv"), by="A", at=AT, today=TODAY,
                  progress=step)  # fmt: skip
    assert counts(store) == before


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_was_written_is_read_and_changes_nothing(filled: RecordStore, form: str) -> None:
    for kind in ("laterals", "segments"):
        data = write_file(filled, "p", kind, form=form, units=UnitSystem.US)
        seen = put(filled, data, f"out.{form}")
        assert (seen.kind, seen.faults, seen.new, seen.changed) == (kind, (), (), ())
    with filled.read() as session:
        assert session.get("p", MainSegment, "M1").revision.number == 1


def test_a_filled_in_template_is_read(filled: RecordStore) -> None:
    data = template("laterals", form="csv", units=UnitSystem.US).decode("utf-8-sig")
    header = data.splitlines()[-1].split(",")
    row = ["L-20", "M1", "44"] + [""] * (len(header) - 3)
    assert put(filled, (data + ",".join(row) + "\r\n").encode(), "t.csv").new == ("L-20",)


def wild_files(store: RecordStore, many: int) -> None:
    """Spoiled files go in whole or not at all."""
    pick = random.Random(3)
    seeds = [
        ("list.csv", "laterals", LIST),
        ("tv.txt", "", SURVEY),
        ("mains.csv", "segments", MAINS),
    ]
    for number in range(many):
        name, kind, seed = seeds[number % 3]
        before = counts(store)
        seen = put(store, mangled(seed, pick), f"{number}-{name}", kind=kind)
        assert seen.stored == (not seen.faults)
        if seen.faults:
            assert counts(store) == before


def test_spoiled_files_go_in_whole_or_not_at_all(filled: RecordStore) -> None:
    wild_files(filled, 60)


@pytest.mark.slow
def test_many_spoiled_files_go_in_whole_or_not_at_all(filled: RecordStore) -> None:
    wild_files(filled, 600)


def test_the_steps_of_storing_are_told_to_the_end(
    store: RecordStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(store, MAINS, "mains.csv")
    monkeypatch.setattr(read_files, "_PORTION", 2)
    steps: list[tuple[str, int, int]] = []
    read_file(store, "p", ReadRequest(LIST, "list.csv"), by="A", at=AT, today=TODAY,
              progress=lambda *step: steps.append(step))  # fmt: skip
    assert [step for step in steps if step[0] == "storing"] == [
        ("storing", 2, 3),
        ("storing", 3, 3),
    ]
    assert steps[0][0] == "reading"
