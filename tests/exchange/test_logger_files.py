"""Logger files of many forms: the same readings come out; what is wrong is told by row."""

from __future__ import annotations

import datetime as dt

import pytest

from drainwright.exchange.logger_columns import in_si, name_of_header, unit_of
from drainwright.exchange.logger_file import LoggerTable, read_logger
from drainwright.exchange.logger_join import Joined, JoinRules, SourceFile, join_tables
from drainwright.exchange.logger_times import TimeHabits
from drainwright.records.cure_log import Channel, ChannelMap, Reads

UTC = dt.UTC
CHICAGO = TimeHabits("America/Chicago", near=dt.date(2026, 11, 17))
FIRST = dt.datetime(2026, 11, 17, 16, 42, tzinfo=UTC)
RIG = ChannelMap(
    "rig 1",
    (
        Channel("Gas in", Reads.GAS_IN),
        Channel("Exhaust", Reads.EXHAUST, 0.0, from_end=True),
        Channel("P1", Reads.PRESSURE),
    ),
)
RULES = JoinRules(RIG, "A-04", 1, 13.4)


def read(text: str, habits: TimeHabits = CHICAGO) -> LoggerTable:
    return read_logger(text.encode(), "log.csv", habits)


def joined(*texts: str, habits: TimeHabits = CHICAGO) -> Joined:
    tables = [read_logger(text.encode(), f"log{n}.csv", habits) for n, text in enumerate(texts, 1)]
    assert all(not table.faults for table in tables), tables[0].faults
    return join_tables([SourceFile(table, f"{n}" * 64) for n, table in enumerate(tables)], RULES)


FORMS = {
    "ISO, comma, units in the header": """\
time,Gas in (°C),Exhaust (°C),P1 (kPa)
2026-11-17 10:42:00,100.0,90.0,48.0
2026-11-17 10:42:10,101.0,91.0,48.5
2026-11-17 10:42:20,102.0,92.0,49.0
""",
    "day first, semicolon, decimal comma, preamble, a row of units": """\
Logger;TR-4
Serial;0042

Date;Time;Gas in;Exhaust;P1
;;°C;°C;kPa
17.11.2026;10:42:00;100,0;90,0;48,0
17.11.2026;10:42:10;101,0;91,0;48,5
17.11.2026;10:42:20;102,0;92,0;49,0
""",
    "month first, 12 hours, Fahrenheit and psi, tabs, record numbers": (
        "No.\tDate Time\tGas in [degF]\tExhaust [degF]\tP1 [psi]\n"
        "1\t11/17/26 10:42:00 AM\t212.0\t194.0\t6.96181\n"
        "2\t11/17/26 10:42:10 AM\t213.8\t195.8\t7.03433\n"
        "3\t11/17/26 10:42:20 AM\t215.6\t197.6\t7.10685\n"
    ),
    "UTC stamps with Z, bar": """\
timestamp|Gas in C|Exhaust C|P1 bar
2026-11-17T16:42:00Z|100.0|90.0|0.480
2026-11-17T16:42:10Z|101.0|91.0|0.485
2026-11-17T16:42:20Z|102.0|92.0|0.490
""",
    "elapsed seconds with the start above": """\
Start time: 11/17/2026 10:42:00
Interval: 10 s
Elapsed (s),Gas in (°C),Exhaust (°C),P1 (kPa)
0,100.0,90.0,48.0
10,101.0,91.0,48.5
20,102.0,92.0,49.0
""",
    "elapsed minutes and seconds": """\
started,2026-11-17 10:42
Elapsed,Gas in (°C),Exhaust (°C),P1 (kPa)
0:00:00,100.0,90.0,48.0
0:00:10,101.0,91.0,48.5
0:00:20,102.0,92.0,49.0
""",
}


@pytest.mark.parametrize("name", FORMS)
def test_every_form_gives_the_same_log(name: str) -> None:
    log = joined(FORMS[name]).log
    assert log is not None
    assert log.start == FIRST
    assert log.seconds == (0.0, 10.0, 20.0)
    gas, exhaust, pressure = (one.values for one in log.series)
    assert gas == pytest.approx((373.15, 374.15, 375.15), abs=0.006)
    assert exhaust == pytest.approx((363.15, 364.15, 365.15), abs=0.006)
    assert pressure == pytest.approx((48_000.0, 48_500.0, 49_000.0), abs=1.0)
    assert log.series[1].channel.position == 13.4
    assert log.findings == ()


def dated(text: str, **habits: object) -> tuple[dt.datetime, int]:
    rows = f"time,Gas in C\n{text} 10:42:00,20\n{text} 10:42:10,20\n"
    found = read(rows, TimeHabits("America/Chicago", **habits))  # type: ignore[arg-type]
    assert found.faults == []
    return found.moments[0], len(found.notices)


def test_the_order_of_day_and_month_is_told_or_found() -> None:
    may, april = dt.date(2026, 5, 4), dt.date(2026, 4, 5)
    assert dated("5/4/2026", near=may)[0].date() == may
    assert dated("5/4/2026", near=april)[0].date() == april
    assert dated("5/4/2026", dates="dmy", near=may)[0].date() == april
    assert dated("5/4/2026") == (dt.datetime(2026, 5, 4, 15, 42, tzinfo=UTC), 1)
    assert dated("5/14/2026")[0].date() == dt.date(2026, 5, 14)
    assert dated("14/5/2026")[0].date() == dt.date(2026, 5, 14)
    assert dated("17-Nov-2026")[0] == FIRST


def test_twelve_hours_without_am_and_pm() -> None:
    found = read("time,T C\n11/17/2026 12:59:50,1\n11/17/2026 01:00:00,1\n11/17/2026 01:00:10,1\n")
    assert (found.moments[2] - found.moments[0]).total_seconds() == 20.0
    assert "without am or pm" in found.notices[0].message


def test_units_of_headers() -> None:
    for text in ("T1 (°F)", "T1 [degF]", "T1 degF", "T1_F", "T1 deg F"):
        assert unit_of(text) == "degF", text
        assert name_of_header(text) == "t1", text
    assert unit_of("Wall top 3 ft") == ""
    assert in_si(14.696, "psia", 101_325.0) == pytest.approx(0.0, abs=2.0)


@pytest.mark.parametrize(
    ("text", "row", "words"),
    [
        ("", None, "is empty"),
        ("just words\nand more words\n", None, "no row with a time"),
        ("Gas in C;P1 kPa\n1;2\n3;4\n", None, "no column holds a time"),
        ("time,Gas in C\n2026-11-17 10:42,20\n2026-11-17 10:43,20\nrubbish,20\n",
         4, "is not a date with a time"),
        ("time,Gas in C\n2026-11-17 10:42,20\n2026-11-17 10:43,2x0\n2026-11-17 10:44,21\n",
         3, "is not a number"),
        ("time,T C,P kPa\n2026-11-17 10:42,20,4\n2026-11-17 10:43,20\n2026-11-17 10:44,1,5\n",
         3, "has 2 cells of 3"),
        ("time,Gas in C\n2026-11-31 10:42,20\n2026-11-31 10:43,20\n", 2, "is not a date"),
        ("Elapsed s,Gas in C\n0,20\n10,20\n", None, "tell when the logger was started"),
    ],
)  # fmt: skip
def test_bad_files_give_faults_by_row(text: str, row: int | None, words: str) -> None:
    found = read(text)
    assert found.faults, "no fault"
    assert (found.faults[0].row, found.faults[0].file) == (row, "log.csv")
    assert words in found.faults[0].message


def test_a_last_row_that_breaks_off_is_left_out_and_told() -> None:
    found = read("time,Gas in C,P1 kPa\n2026-11-17 10:42,20,1\n2026-11-17 10:43,20,1\n2026-11-17 1")
    assert found.faults == []
    assert len(found.rows) == 2
    assert (found.notices[0].row, found.notices[0].message) == (4, "breaks off and was left out")


def test_a_thousand_bad_rows_are_counted_not_listed() -> None:
    rows = "".join(f"2026-11-17 10:{n // 60:02}:{n % 60:02},x{n}\n" for n in range(1000))
    found = read(f"time,Gas in C\n2026-11-17 10:00,1\n2026-11-17 10:00,1\n{rows}")
    assert len(found.faults) == 51
    assert "950 more" in found.faults[-1].message


def test_open_circuits_are_findings_with_rows() -> None:
    text = "time,Gas in C,Exhaust C,P1 kPa\n" + "".join(
        f"2026-11-17 10:42:{n:02},{'OPEN' if 3 <= n < 6 else 20 + n},20,{9999 if n == 1 else 48}\n"
        for n in range(12)
    )
    log = joined(text).log
    assert log is not None
    assert log.series[0].values[3:6] == (None, None, None)
    told = {one.channel: one for one in log.findings}
    assert told["Gas in C"].rows == (5, 7)
    assert told["P1 kPa"].rows == (3, 3)
    assert "reads open in rows 5 to 7" in told["Gas in C"].words


def test_a_clock_set_back_is_straightened_and_told_with_its_row() -> None:
    stamps = ["10:42:00", "10:42:10", "10:42:20", "09:42:30", "09:42:40"]
    text = "time,Gas in C\n" + "".join(f"2026-11-17 {one},20\n" for one in stamps)
    log = joined(text).log
    assert log is not None
    assert log.seconds == (0.0, 10.0, 20.0, 30.0, 40.0)
    (finding,) = log.findings
    assert (finding.key, finding.rows) == ("clock", (5, 6))
    assert "jumps back by 60 min at row 5" in finding.words


def test_two_files_of_one_cure_are_joined() -> None:
    first = "time,Gas in C,P1 kPa\n" + "".join(
        f"2026-11-17 10:42:{n},20,48\n" for n in range(10, 40, 10)
    )
    goes_on = first.replace("10:42", "10:43")
    log = joined(goes_on, first).log
    assert log is not None
    assert log.seconds == (0.0, 10.0, 20.0, 60.0, 70.0, 80.0)
    beside = first.replace("Gas in C,P1 kPa", "Exhaust C,other").replace(":10,", ":12,")
    both = joined(first, beside)
    assert both.log is not None
    assert [one.channel.name for one in both.log.series] == ["Gas in", "Exhaust", "P1"]
    assert both.log.series[1].values == (293.15, 293.15, 293.15)
    assert [one.message for one in both.notices] == [
        "column “other” is not mapped and was left out"
    ]


def test_columns_that_nobody_mapped_are_a_fault() -> None:
    table = read("time,A C,B C\n2026-11-17 10:42,20,1\n2026-11-17 10:43,20,1\n")
    found = join_tables([SourceFile(table, "0" * 64)], RULES)
    assert "none of its columns (A C, B C) is a channel of rig 1" in found.faults[0].message


def test_a_unit_that_is_missing_or_of_something_else_is_a_fault() -> None:
    table = read("time,Gas in,P1 C\n2026-11-17 10:42,20,1\n2026-11-17 10:43,20,1\n")
    found = join_tables([SourceFile(table, "0" * 64)], RULES)
    assert [one.message for one in found.faults] == [
        "has no unit: write it into the header or tell it in the rig's map",
        "is in degC, but the map says it reads a pressure",
    ]
