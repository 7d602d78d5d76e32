"""How long a crew's steps take, in whole minutes: its own P80, else the specification's."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.records.crew import Calendar, Crew, CrewStep
from drainwright.records.specification import Specification

LIMITS = {
    CrewStep.MOVE: "move_time",
    CrewStep.TRAFFIC: "traffic_time",
    CrewStep.PLUG: "plug_time",
    CrewStep.BYPASS: "bypass_time",
    CrewStep.TAKE_DOWN: "take_down_time",
    CrewStep.LOOK: "look_time",
    CrewStep.WET_OUT: "wet_out_time",
    CrewStep.MIX: "mix_time",
    CrewStep.TRANSPORT: "transport_time",
    CrewStep.LOAD: "load_time",
    CrewStep.LOWER: "lower_time",
    CrewStep.INVERT: "invert_time",
    CrewStep.FILM: "film_time",
    CrewStep.RESTORE: "restore_time",
}
"""Where the specification says how long a step takes."""


@dataclass(frozen=True, slots=True)
class CrewTimes:
    """P80 of a crew's steps [min]."""

    move: int
    traffic: int
    plug: int
    bypass: int
    take_down: int
    look: int
    wet_out: int
    """With mixing, for one liner."""
    mix: int
    transport: int
    load: int
    lower: int
    invert: int
    film: int
    restore: int

    @property
    def launch(self) -> int:
        """From the ice until steam may come on."""
        return self.load + self.lower + self.invert

    @property
    def after(self) -> int:
        """From the free carrier until service is back."""
        return self.film + self.restore


def crew_times(crew: Crew, specification: Specification) -> CrewTimes:
    """The durations a plan uses for this crew [min], rounded up; mixing is part of the wet-out."""
    found = {}
    for step, limit in LIMITS.items():
        own = crew.time(step)
        seconds = specification.value(limit) if own is None else own
        found[step.name.lower()] = math.ceil(seconds / 60 - 1e-9)
    found["mix"] = min(found["mix"], found["wet_out"])
    return CrewTimes(**found)


def working_days(
    crew: Crew, calendar: Calendar, first: dt.date, until: dt.date
) -> Sequence[dt.date]:
    """The days a crew works, `first` to `until`: without days off, rain and the rain allowance.

    Of each ten days that are left the last `rain_allowance` stay open.
    """
    closed = {*calendar.days_off, *calendar.rain_days, *crew.days_off}
    each = (first + dt.timedelta(days=at) for at in range((until - first).days + 1))
    days = [day for day in each if day.isoweekday() in crew.weekdays and day not in closed]
    return [day for at, day in enumerate(days) if at % 10 < 10 - calendar.rain_allowance]
