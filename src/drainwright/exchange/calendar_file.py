"""Warranty dates as an iCalendar file (RFC 5545)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable

from drainwright.acceptance.warranty import WarrantyPlan


def calendar_of(project: str, plans: Iterable[WarrantyPlan], at: dt.datetime) -> bytes:
    """One all-day entry for each warranty's end, and one for each inspection of the sample.

    The same plans made again keep their ids, so that a calendar updates its entries.
    """
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", "-//drainwright//warranty//EN")
    calendar.add("version", "2.0")
    for plan in plans:
        entries = [("ends", f"{plan.lateral}: warranty ends", plan.ends, plan.ends)]
        if plan.sampled:
            wet = "wet season" if plan.in_wet_season else "no wet month within the warranty"
            words = f"{plan.lateral}: look again ({wet})"
            entries.append(("look", words, plan.window_from, plan.window_to))
        for name, words, first, last in entries:
            event = Event()
            event.add("uid", f"{project}-{plan.lateral}-{name}@drainwright")
            event.add("dtstamp", at)
            event.add("summary", words)
            event.add("dtstart", first)
            event.add("dtend", last + dt.timedelta(days=1))
            calendar.add_component(event)
    return bytes(calendar.to_ical())
