"""Warranty dates come out as a calendar that another library reads."""

from __future__ import annotations

import datetime as dt

import pytest

from drainwright.acceptance.warranty import warranty_plans
from drainwright.exchange.calendar_file import calendar_of
from drainwright.records.warranty_terms import WarrantyTerms

icalendar = pytest.importorskip("icalendar")


def test_ends_and_inspections_are_in_the_calendar() -> None:
    terms = WarrantyTerms(years=1, sample_share=0.5)
    plans = warranty_plans({"A-1": dt.date(2026, 11, 20), "Ä-2": dt.date(2026, 11, 21)}, terms)
    content = calendar_of("oak", plans, dt.datetime(2026, 12, 1, tzinfo=dt.UTC))
    assert content.count(b"\r\n") == content.count(b"\n")
    assert max(map(len, content.split(b"\r\n"))) <= 75  # RFC 5545, 3.1
    events = icalendar.Calendar.from_ical(content).walk("VEVENT")
    ends = {str(e["SUMMARY"]): e.decoded("DTSTART") for e in events if "ends" in e["SUMMARY"]}
    assert ends == {
        "A-1: warranty ends": dt.date(2027, 11, 20),
        "Ä-2: warranty ends": dt.date(2027, 11, 21),
    }
    looks = [e for e in events if "look again" in e["SUMMARY"]]
    assert len(looks) == 1
    assert looks[0].decoded("DTSTART") == dt.date(2027, 3, 1)
    assert looks[0].decoded("DTEND") == dt.date(2027, 6, 1)  # not part of the entry
