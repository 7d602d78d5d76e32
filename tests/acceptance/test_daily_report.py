"""The daily report is what the journal has of a day, as typed."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

from drainwright.acceptance.daily_report import day_of
from drainwright.records.field_entry import EntryOrigin, FieldEvent, FieldValue
from drainwright.records.field_step import START_STEPS
from tests.field_job import AT, PSI, event, step

CHICAGO = "America/Chicago"
WORDS = {one.key: one.words for one in START_STEPS}
DAY = dt.date(2026, 11, 19)


def numbered(*events: FieldEvent) -> list[FieldEvent]:
    return [replace(one, id=one.id or str(number)) for number, one in enumerate(events)]


def test_a_day_by_the_projects_clock() -> None:
    # 5:59 UTC is 23:59 of the day before in Chicago
    late = replace(step("permits", 0), at=dt.datetime(2026, 11, 20, 5, 59, tzinfo=dt.UTC))
    early = replace(step("seals", 0), at=dt.datetime(2026, 11, 20, 6, 1, tzinfo=dt.UTC))
    events = numbered(late, early)
    (today,) = day_of(events, DAY, CHICAGO, WORDS).laterals
    assert [line.words for line in today.steps] == ["Entry and traffic permits on site"]
    (tomorrow,) = day_of(events, DAY + dt.timedelta(days=1), CHICAGO, WORDS).laterals
    assert [line.words for line in tomorrow.steps] == ["Seals placed, photo taken"]
    assert day_of(events, DAY - dt.timedelta(days=1), CHICAGO, WORDS).laterals == ()


def test_what_a_superintendent_looks_for_stands_apart() -> None:
    low = FieldValue("tube_pressure", 4.2 * PSI, "pressure", "4.2 psi")
    events = numbered(
        event("check", 0, question="Boiler hot", answer="no"),
        event("check", 1, question="Boiler hot", answer="yes"),
        event("check", 2, question="Permits", answer="no"),
        event("release", 3, answer="yes", reason="permit by phone"),
        replace(step("mixed", 4), words=(("lot_a", "A-1"), ("tube_lot", "T-9"))),
        event("kept", 5, values=(low,), question="Tube pressure", initials="AL", reason="raised"),
        event("skip", 6, step="sensors", reason="not on this job"),
        event("alarm", 7, question="seated by 11:02", initials="AL"),
        event("remark", 8, reason="rain"),
        event("reading", 9, values=(low,)),
        event("photo", 10, photo="00"),
        event("end", 11, answer="pulled before gel", reason="cap blown"),
    )
    (one,) = day_of(events, DAY, CHICAGO, WORDS).laterals
    assert [line.words for line in one.refused] == ["Permits", "mixing released all the same"]
    (kept,) = one.kept
    assert (kept.words, kept.typed, kept.note) == ("Tube pressure", "4.2 psi", "raised AL")
    assert [(line.words, line.note) for line in one.skipped] == [
        ("Sensors placed", "not on this job")
    ]
    assert [line.words for line in one.remarks] == ["seated by 11:02", "remark"]
    assert one.lots == (("lot_a", "A-1"), ("tube_lot", "T-9"))
    assert one.pressure == (4.2 * PSI, 4.2 * PSI)
    assert (one.readings, one.photos) == (1, 1)
    assert one.ending is not None
    assert one.ending.reason == "cap blown"
    assert one.crew == ("Ada Lund", "Bo Ek")


def test_corrections_and_paper_are_counted() -> None:
    wrong = replace(step("permits", 0), id="a")
    right = replace(step("permits", 1), id="b", corrects="a", origin=EntryOrigin.PAPER)
    (one,) = day_of([wrong, right], DAY, CHICAGO, WORDS).laterals
    assert (one.corrected, one.from_paper, len(one.steps)) == (1, 1, 1)
    assert one.steps[0].note == "(from paper)"


def test_attempts_stand_apart() -> None:
    events = numbered(step("permits", 0), replace(step("permits", 60), attempt=2))
    found = day_of(events, AT.date(), CHICAGO, WORDS).laterals
    assert [one.attempt for one in found] == [1, 2]


def test_two_pressures_side_by_side_are_told_apart() -> None:
    tube = FieldValue("tube_pressure", 4.6 * PSI, "pressure", "4.6 psi")
    bladder = FieldValue("bladder_pressure", 15 * PSI, "pressure", "15.0 psi")
    made = replace(step("inversion", 0), id="a", values=(tube, bladder), words=(("gauge", "G-2"),))
    (one,) = day_of([made], DAY, CHICAGO, WORDS).laterals
    assert one.steps[0].typed == (
        "tube pressure 4.6 psi; carrier bladder pressure 15.0 psi; gauge G-2"
    )
