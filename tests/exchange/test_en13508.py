"""The exchange text of EN 13508-2: several surveys, running defects, unknown codes, both ways."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from drainwright.exchange.codes import (
    CodeTable,
    default_code_table,
    read_code_table,
    write_code_table,
)
from drainwright.exchange.en13508 import read_survey_text
from drainwright.exchange.en13508_writing import write_survey_text
from drainwright.records.survey import (
    Observation,
    ObservationKind,
    Survey,
    SurveyMethod,
    SurveyPurpose,
)

FOLDER = Path(__file__).parent / "texts"
TEXT = (FOLDER / "three-ways.txt").read_bytes()  # latin-1, decimal comma, changing columns


def text(*rows: str, header: str = "AAA,ABF,AAK", values: str = "L-1,2026-04-02,B") -> bytes:
    lines = ["#A1=UTF-8", "#A3=,", "#A4=.", '#A5="', f"#B01={header}", values]
    return "\n".join([*lines, "#C=I,A,B,D,G,J", *rows, "#Z", ""]).encode()


def words(data: bytes, *, notices: bool = False) -> list[str]:
    reading = read_survey_text(data, "s.txt")
    return [str(fault) for fault in (reading.notices if notices else reading.faults)]


def test_several_surveys_with_running_defects_and_a_decimal_comma() -> None:
    reading = read_survey_text(TEXT, "a.txt")
    assert reading.faults == ()
    first, second = reading.records
    assert (first.lateral, first.date, first.time) == ("L-07", dt.date(2026, 4, 2), dt.time(9, 30))
    assert (first.tap_distance, first.tap_clock) == (23.4, 2.0)
    assert (first.method, first.direction) == (SurveyMethod.MAIN, "up")
    assert first.purpose is SurveyPurpose.PRE_LINING
    assert (first.inside_diameter, first.material) == (0.1, "vitrified clay")
    assert (first.expected_length, first.length, first.by) == (12.5, 12.5, "Ruiz; K.")
    assert first.remark == 'says "wet" näh'
    roots = first.observations[2]
    assert (roots.kind, roots.distance, roots.running_to) == (ObservationKind.ROOTS, 1.2, 3.1)
    assert (roots.measure, roots.measure_kind, roots.remark) == (0.35, "share", "roots, fine")
    wet = first.observations[3]
    assert (wet.grade, wet.distance, wet.running_to, wet.at_joint) == ("dripping", 2.0, 4.8, True)
    assert second.columns == ("I", "A", "B", "D", "J", "P")
    assert second.observations[2].measure == 0.0125


def test_unknown_fields_codes_and_columns_are_kept_and_named() -> None:
    reading = read_survey_text(TEXT, "a.txt")
    first, second = reading.records
    assert first.header["AXQ"] == "odd"
    odd = first.observations[4]
    assert (odd.kind, odd.code, odd.raw["D"]) == (ObservationKind.UNKNOWN, "BXZ Q", "7")
    assert odd.raw["N.2"] == "77"
    assert second.observations[1].raw["P"] == "x"
    assert second.observations[1].running_to is None
    told = [(notice.name, notice.row) for notice in reading.notices]
    assert told == [("AXQ", 8), ("A", 17), ("column P", 24), ("J", 26), ("I", 27), ("I", 28)]


def test_an_unchanged_file_is_written_back_byte_by_byte() -> None:
    assert write_survey_text(read_survey_text(TEXT, "a.txt").records) == TEXT


@pytest.mark.parametrize(
    "data",
    [
        TEXT.removesuffix(b"#Z\n"),
        TEXT.replace(b"\n", b"\r\n"),
        TEXT.decode("latin-1").replace("ISO-8859-1", "UTF-8").encode("utf-8-sig"),
        TEXT.decode("latin-1").replace("#A1=ISO-8859-1\n", "").encode("cp1252"),
        TEXT.decode("latin-1").encode("utf-16"),
    ],
)
def test_reading_what_was_written_gives_the_same(data: bytes) -> None:
    first = read_survey_text(data, "a.txt")
    again = read_survey_text(write_survey_text(first.records), "a.txt")
    assert first.faults == again.faults == ()
    assert again.records == first.records
    assert len(first.records) == 2


def test_what_was_changed_is_written_and_the_rest_stays() -> None:
    (first, second) = read_survey_text(TEXT, "a.txt").records
    roots = replace(first.observations[2], running_to=3.4, measure=0.5, remark="cut")
    gush = replace(first.observations[3], code="", grade="gushing")
    bend = Observation(
        ObservationKind.BEND, 6.0, measure=0.5235987755982988, measure_kind="angle", clock_from=3.0
    )
    changed = replace(
        first,
        by="Lee",
        observations=(*first.observations[:2], roots, gush, *first.observations[4:6], bend,
                      first.observations[6]),
    )  # fmt: skip
    again = read_survey_text(write_survey_text([changed, second]), "a.txt")
    assert again.faults == ()
    one, other = again.records
    assert other == second
    assert one.by == "Lee"
    assert [o.kind for o in one.observations] == [o.kind for o in changed.observations]
    got = one.observations[2]
    assert (got.running_to, got.measure, got.remark) == (3.4, 0.5, "cut")
    assert one.observations[6].measure == pytest.approx(0.5235987755982988, rel=1e-11)
    assert (one.observations[3].code, one.observations[3].grade) == ("BBF D", "gushing")


def test_our_own_survey_is_written_and_read() -> None:
    seen = (
        Observation(ObservationKind.START, 0.0),
        Observation(ObservationKind.ROOTS, 1.0, 0.25, "share", running_to=4.0),
        Observation(ObservationKind.INFILTRATION, 2.0, grade="gushing", clock_from=6.0),
        Observation(ObservationKind.FINISH, 9.0),
    )
    own = Survey("L-9", dt.date(2026, 1, 2), None, SurveyMethod.MAIN, "up", observations=seen)
    (read,) = read_survey_text(write_survey_text([own]), "a.txt").records
    assert (read.key, len(read.observations)) == (own.key, 4)
    for got, given in zip(read.observations, seen, strict=True):
        for name in ("kind", "distance", "measure", "grade", "clock_from", "running_to"):
            assert getattr(got, name) == getattr(given, name)


def test_two_surveys_of_one_pipe_at_different_dates_stay_two() -> None:
    second = text("0,BCD,,,,", "3,BCE,,,,", values="L-1,2026-05-02,B")
    data = text("0,BCD,,,,", "3,BCE,,,,") + second
    reading = read_survey_text(data, "s.txt")
    assert [survey.date.month for survey in reading.records] == [4, 5]
    twice = text("0,BCD,,,,") + text("0,BCD,,,,")
    assert "stands twice" in words(twice)[0]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ("1.2x,BBA,A,,,", "row 8, column I: I: “1.2x” is not a number"),
        ("1,BBA,A,,13,", "row 8, column G: G: “13” is no place on the clock"),
        ("1,BBA,A,many,,", "row 8, column D: D: “many” is not a number"),
        ("1,BBA", "row 8: row: has 2 fields, the columns above are 6"),
        ("1,BBA,A,5,6,A1,7", "row 8: row: has 7 fields, the columns above are 6"),
        (",BBA,A,5,6,", "row 8, column I: I: the distance is empty"),
        ("1,,A,5,6,", "row 8, column A: A: the main code is empty"),
        ('1,"BBA,A,5,6,', "row 8: row: the text delimiter"),
        ("#Q!", "row 8: line: is not one of"),
    ],
)
def test_a_row_that_cannot_be_read_is_a_fault(row: str, fault: str) -> None:
    found = words(text(row))
    assert any(line.startswith(f"s.txt, {fault}") for line in found), found
    assert read_survey_text(text(row), "s.txt").records == ()


@pytest.mark.parametrize(
    ("header", "values", "fault"),
    [
        ("AAA,ABF", "L-1,2026-02-30", "“2026-02-30” is no day"),
        ("AAA,ABF", "L-1,", "the date of the survey is empty"),
        ("AAA,ABF", ",2026-02-03", "the pipe reference is empty"),
        ("AAA,abf", "L-1,2026-02-03", "is not a header field"),
        ("AAA,ABF,ACB", "L-1,2026-02-03", "has 2 fields, the header fields above are 3"),
        ("AAA,ABF,ABQ", "L-1,2026-02-03,12m", "“12m” is not a number"),
        ("AAA,ABF,AAA", "L-1,2026-02-03,L-2", "stands twice"),
    ],
)
def test_a_header_that_cannot_be_read_is_a_fault(header: str, values: str, fault: str) -> None:
    found = words(text("0,BCD,,,,", header=header, values=values))
    assert any(fault in line for line in found), found


def test_every_fault_is_told_at_once_and_clean_surveys_come_through() -> None:
    data = text("x,BCD,,,,", "1,BBA,A,,99,") + text("0,BCD,,,,", values="L-2,2026-04-02,A")
    reading = read_survey_text(data, "s.txt")
    assert [fault.row for fault in reading.faults] == [8, 9]
    assert [survey.lateral for survey in reading.records] == ["L-2"]
    left = reading.left_out.replace(b"x,BCD", b"0,BCD").replace(b",99,", b",9,")
    mended = read_survey_text(left, "mended.txt")
    assert (mended.faults, [s.lateral for s in mended.records]) == ((), ["L-1"])


@pytest.mark.parametrize(
    ("rows", "notice"),
    [
        (("0,BCD,,,,", "2,BBA,A,,,A1", "3,BCE,,,,"), "running defect 1 (BBA A) has no end"),
        (("0,BCD,,,,", "2,BBA,A,,,B1", "3,BCE,,,,"), "ends running defect 1, which did not"),
        (("0,BCD,,,,", "2,BBA,A,,,", "1,BBA,A,,,", "3,BCE,,,,"), "the distance decreases"),
        (("0,BCD,,,,", "3,BCE,,,,", "4,BBA,A,,,"), "lies beyond the finish node at 3 m"),
        (("1,BBA,A,,,", "3,BCE,,,,"), "has no start node"),
        (("0,BCD,,,,", "1,BBA,A,,,"), "has no finish node"),
        (("0,BCD,,,,", "1,BBF,Y,,,", "3,BCE,,,,"), "characterisation “Y” of BBF is not"),
    ],
)
def test_what_is_odd_is_told_and_kept(rows: tuple[str, ...], notice: str) -> None:
    data = text(*rows)
    assert any(notice in line for line in words(data, notices=True)), words(data, notices=True)
    assert words(data) == []
    assert write_survey_text(read_survey_text(data, "s.txt").records) == data


def test_a_decimal_point_in_a_comma_file_is_told_with_a_guess() -> None:
    data = text("1.5;BBA;;;;").replace(b"#A3=,", b"#A3=;").replace(b"#A4=.", b"#A4=,")
    data = data.replace(b"AAA,ABF,AAK", b"AAA;ABF;AAK").replace(
        b"L-1,2026-04-02,B", b"L-1;2026-04-02;B"
    )
    data = data.replace(b"#C=I,A,B,D,G,J", b"#C=I;A;B;D;G;J")
    (fault,) = read_survey_text(data, "s.txt").faults
    assert fault.guess == "“1.5” looks like “1,5”"


def test_bytes_that_are_not_the_announced_encoding() -> None:
    (line,) = words(TEXT.replace(b"ISO-8859-1", b"UTF-8"))
    assert "not in the encoding it announces" in line
    (line,) = words(TEXT.replace(b"ISO-8859-1", b"KLINGON"))
    assert "is not a text encoding known here" in line


def test_a_date_in_the_future_is_a_fault() -> None:
    reading = read_survey_text(TEXT, "a.txt", today=dt.date(2026, 4, 1))
    assert [fault.name for fault in reading.faults] == ["ABF", "ABF"]


def test_the_table_of_codes_can_be_extended_and_replaced() -> None:
    rows = b"code,kind,grade,measured in,measure,unit\nBXZ,deposit,grease,D,share,%\n"
    extra = read_code_table(rows, "own.csv")
    assert extra.faults == ()
    (first, _) = read_survey_text(TEXT, "a", default_code_table().extended(extra.records)).records
    assert (first.observations[4].grade, first.observations[4].measure) == ("grease", 0.07)
    (first, _) = read_survey_text(TEXT, "a", CodeTable("town list", extra.records)).records
    assert {seen.kind for seen in first.observations} == {
        ObservationKind.UNKNOWN,
        ObservationKind.DEPOSIT,
    }
    assert write_survey_text([first]) in TEXT


def test_a_code_table_with_faults_tells_them_all() -> None:
    bad = b"code,kind,grade,measure,unit,size\nX,rooots,,,,\n"
    assert "is not a column" in str(read_code_table(bad, "own.csv").faults[0])
    bad = b"code,kind,grade,measure,unit\nX,rooots,,,\n,roots,,share,mm\nABP,purpose,lunch,,\n"
    assert [(f.row, f.name) for f in read_code_table(bad, "own.csv").faults] == [
        (2, "kind"),
        (3, "code"),
        (3, "unit"),
        (4, "grade"),
    ]


def test_the_table_that_comes_with_the_program_is_read_back_the_same() -> None:
    table = default_code_table()
    again = read_code_table(write_code_table(table), "own.csv")
    assert (again.records, again.faults) == (table.meanings, ())
    # all main codes of reference/en13508-2.md (S2)
    codes = {m.code for m in table.meanings if m.kind not in ("material", "purpose")}
    series = {"BA": "ABCDEFGHIJKLMNOP", "BB": "ABCDEFGH", "BC": "ABCDE", "BD": "ABCDEFG"}
    named = {group + last for group, lasts in series.items() for last in lasts}
    assert codes == named | {"AEC", "AED", "AEE", "AEF"}
    # a characterisation that the table does not name still tells what was seen
    assert [code for code in codes if table.find(code, "?") is None] == []
