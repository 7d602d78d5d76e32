"""The hand form is typed in afterwards; attempts are ended; both are entries of the store's own."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drainwright.errors import ConflictError, InputError, NotFoundError
from drainwright.operations.daily_report import daily_report, daily_report_paper
from drainwright.operations.end_attempt import Ending, end_attempt
from drainwright.operations.enter_from_paper import (
    PaperEnd,
    PaperForm,
    PaperLine,
    enter_from_paper,
)
from drainwright.operations.field_journal import entries_of
from drainwright.operations.field_plan import field_list, field_plan
from drainwright.operations.stores import OpenStore
from drainwright.records.field_entry import AttemptEnd, EntryOrigin
from tests.field_job import AT, KEY, PROJECT, PSI, chain, field_store, fresh_id, step
from tests.papers.pdf_reading import text as text_of

DAY = dt.date(2026, 11, 19)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[OpenStore]:
    with field_store(tmp_path / "job.drainwright") as made:
        yield made


FORM = PaperForm(
    "A-07", 1, DAY, "Bo Ek", "Cy Ost",
    (
        PaperLine("permits", "21:40", "BE"),
        PaperLine("mixed", "23:50", "BE", {"part_a": "28.0", "part_b": "7.0 lb", "lot_a": "A-1"}),
        PaperLine("inversion", "0:45", "BE", {"tube_pressure": "48 kPa"}),
        PaperLine("", "0:50", typed={"tube_pressure": "7.1"}, remark="steady", reading=True),
    ),
    PaperEnd("pulled before gel", "1:10", "cap blown", "tube", "clean pipe", "contractor", "9"),
)  # fmt: skip


def enter(store: OpenStore, form: PaperForm = FORM) -> int:
    return enter_from_paper(store, PROJECT, form, by="office", at=AT, make_id=fresh_id)


def test_a_form_past_midnight_becomes_entries_marked_from_paper(store: OpenStore) -> None:
    assert enter(store) == 5
    found = [one.event for one in entries_of(store, KEY, "A-07") if one.event]
    assert {one.origin for one in found} == {EntryOrigin.PAPER}
    assert {(one.entered_by, one.read_by, one.sheet_revision) for one in found} == {
        ("Cy Ost", "Bo Ek", 1)
    }
    # Chicago is 6 h behind UTC in November
    assert [f"{one.at:%d %H:%M}" for one in found] == [
        "20 03:40", "20 05:50", "20 06:45", "20 06:50", "20 07:10",
    ]  # fmt: skip
    mixed, inverted, read, ended = found[1:]
    assert mixed.value("part_a") == pytest.approx(28 * 0.45359237)
    assert [value.typed for value in mixed.values] == ["28.0 lb", "7.0 lb"]
    assert mixed.word("lot_a") == "A-1"
    assert inverted.value("tube_pressure") == pytest.approx(48_000)
    assert read.step == "inversion"
    assert read.value("tube_pressure") == pytest.approx(7.1 * PSI)
    assert (ended.answer, ended.reason) == ("pulled before gel", "cap blown")
    assert ended.value("crew_time") == pytest.approx(9 * 3600)


def test_every_fault_is_told_and_nothing_is_stored(store: OpenStore) -> None:
    wrong = replace(
        FORM,
        read_by="",
        lines=(
            PaperLine("permits", "25:00"),
            PaperLine("mixed", "9:00", typed={"part_a": "heavy"}),
            PaperLine("dance", "9:10"),
        ),
        end=PaperEnd("dug up", "10:00"),
    )
    with pytest.raises(InputError) as caught:
        enter(store, wrong)
    told = " | ".join(str(fault) for fault in caught.value.faults)
    for words in ("read_by", "25:00", "heavy", "dance", "cause"):
        assert words in told
    assert entries_of(store, KEY) == ()


def test_an_empty_form_is_no_form(store: OpenStore) -> None:
    with pytest.raises(InputError, match="nothing is filled in"):
        enter(store, replace(FORM, lines=(), end=PaperEnd()))


def test_two_forms_go_on_in_one_chain(store: OpenStore) -> None:
    enter(store)
    enter(store, replace(FORM, attempt=2))
    with store.read() as session:
        assert session.verify(KEY) == ()
        (head,) = session.journal.heads(KEY)
    assert (head.number, head.device[:5]) == (10, "desk-")


def test_an_attempt_is_ended_once(store: OpenStore) -> None:
    ending = Ending(AttemptEnd.PULLED, "cap blown", "tube", "clean pipe", "contractor", 9 * 3600.0)
    with pytest.raises(NotFoundError):
        end_attempt(store, KEY, "A-07", ending, by="office", at=AT, make_id=fresh_id)
    with store.write(by="t", at=AT, origin="", reason="") as session:
        session.journal.append(KEY, chain("tablet-1", [step("mixed", 0)]))
    with pytest.raises(InputError, match="cause"):
        end_attempt(store, KEY, "A-07", Ending(AttemptEnd.DUG_UP), by="o", at=AT, make_id=fresh_id)
    ended = end_attempt(store, KEY, "A-07", ending, by="office", at=AT, make_id=fresh_id)
    assert (ended.end, ended.cause, ended.payer) == (AttemptEnd.PULLED, "cap blown", "contractor")
    with pytest.raises(ConflictError, match="pulled before gel"):
        end_attempt(store, KEY, "A-07", ending, by="office", at=AT, make_id=fresh_id)
    lines = {one.key: one for one in field_list(store, PROJECT, DAY)}
    assert (lines["A-07"].attempt, lines["A-07"].state) == (1, "pulled before gel")


def test_the_report_of_the_day_is_a_paper(store: OpenStore) -> None:
    enter(store)
    report = daily_report(store, PROJECT, dt.date(2026, 11, 20))
    assert [one.lateral for one in report.laterals] == ["A-07"]
    content = daily_report_paper(store, PROJECT, dt.date(2026, 11, 20), by="office", at=AT)
    text = " ".join(text_of(content).split())
    assert "Friday, Nov 20, 2026" in text
    assert "pulled before gel; cap blown" in text
    assert "48 kPa" in text
    assert "A and B together" not in text  # that was before midnight


def test_the_plan_holds_all_a_device_needs(store: OpenStore) -> None:
    plan = field_plan(store, PROJECT, "A-07")
    assert plan["sheet"]["revision"] == 1
    assert plan["clock"]["rules"]["law"]["time"] > 0
    pressure = plan["kinds"]["pressure"]
    assert pressure["factor"] * 1.0 + pressure["offset"] == pytest.approx(PSI)
    inversion = next(one for one in plan["steps"] if one["key"] == "inversion")
    window = inversion["readings"][0]["window"]
    assert window["low"] == pytest.approx(4.6 * PSI)
    with pytest.raises(NotFoundError):
        field_plan(store, PROJECT, "Z-99")
