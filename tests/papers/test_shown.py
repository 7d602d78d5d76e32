from __future__ import annotations

import datetime as dt

import pytest

from drainwright.papers.shown import (
    SourceList,
    clock_text,
    date_text,
    figure_reading,
    place_of,
    reading,
    time_text,
    title_of,
)
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite
from drainwright.units import UnitSystem

US, SI = UnitSystem.US, UnitSystem.SI


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "kind", "system", "whole"),
    [
        (12.3444, "length", US, "40.5 ft (40 ft 6 in)"),
        (12.3444, "length", SI, "12.34 m"),
        (0.0, "length", US, "0.0 ft"),
        (4080.0, "time", US, "68 min"),
        (4698.0, "time", US, "78 min"),
        (90.0, "time", US, "1.5 min"),
        (5400.0, "time", US, "1 h 30"),
        (7200.0, "time", SI, "2 h"),
        (0.010, "number", US, "0.01"),
        (float("nan"), "length", US, "—"),
        (None, "pressure", US, "—"),
        ("", "", US, "—"),
    ],
)
def test_how_a_number_reads(
    value: float | str | None, kind: str, system: UnitSystem, whole: str
) -> None:
    assert reading(value, kind, system).whole == whole


# 856.7 min = 14 h 16.7 min
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("key", "text"),
    [("deadline.ice", "14 h 16"), ("resin.life", "14 h 16"), ("steam.hold", "14 h 17")],
)
def test_a_long_time_is_rounded_to_the_safe_side(key: str, text: str) -> None:
    figure = Figure(key, "a time", 856.7 * 60, "time", "", cite("memory"))
    assert figure_reading(figure, US).text == text


@pytest.mark.analytic
def test_a_whole_number_of_minutes_stays_whole() -> None:
    figure = Figure("deadline.ice", "a time", 100.0 * 60, "time", "", cite("memory"))
    assert figure_reading(figure, US).text == "1 h 40"


def test_days_and_times_on_the_project_s_clock() -> None:
    moment = dt.datetime(2026, 7, 4, 5, 30, tzinfo=dt.UTC)
    assert time_text(moment, "America/Chicago", US) == "Jul 4, 2026, 12:30 AM CDT"
    assert time_text(moment, "America/Chicago", SI) == "2026-07-04 00:30 CDT"
    assert date_text(dt.date(2026, 7, 4), US) == "Jul 4, 2026"
    assert date_text(None, US) == ""
    assert clock_text(2.0) == "2 o’clock"
    assert clock_text(None) == ""


def test_a_source_has_one_number_and_its_place_is_not_said_twice() -> None:
    sources = SourceList()
    first, other = cite("astm-f1216", "X1.2"), cite("astm-f1216", "X1.1")
    assert [sources.number(c) for c in (first, other, first)] == [1, 2, 1]
    assert place_of(cite("silver-lake", "6.20.410")) == ""
    assert place_of(first) == "X1.2"


def test_an_edition_stands_in_the_title_once() -> None:
    old = cite("astm-f1216", "ASTM F1216-09")
    assert (title_of(old), place_of(old)) == ("ASTM F1216-09, Appendix X1", "")
    clause = cite("astm-f1216", "X1.2.2")
    assert (title_of(clause), place_of(clause)) == ("ASTM F1216, Appendix X1", "X1.2.2")
