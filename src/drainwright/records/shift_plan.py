"""The shift plan as issued: who lines what on which day, in which order, at what times."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.records.work_sheet import DocumentRef


@dataclass(frozen=True, slots=True)
class Turn:
    """One lateral on one day; times on the project's own clock."""

    lateral: str
    look: dt.time
    """Last look and cleaning begin."""
    mix: dt.time
    """Part B goes into part A; the resin's clock starts."""
    on_ice: dt.time
    """Wet out, rolled and on ice."""
    load: dt.time
    """Off the ice, into the carrier; water is off from here."""
    steam_on: dt.time
    steam_off: dt.time
    cooled: dt.time
    """Let down, the carrier is free for the next liner."""
    film: dt.time
    restored: dt.time
    """Service is back; water is on from here."""
    off_ice_by: dt.time
    """The resin's own limit for `load`, at latest the end of the day."""
    batch: int = 1
    """Liners with the same number on this set-up come out of one mix."""
    condition: str = ""
    """What was promised and must be seen before anything is mixed."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """One stay on one main segment, paid once."""

    segment: str
    rig: str
    start: dt.time
    ready: dt.time
    end: dt.time
    bypass: bool
    """The main can't stay plugged long enough; its flow is pumped around."""
    turns: tuple[Turn, ...]


@dataclass(frozen=True, slots=True)
class Shift:
    """One crew's day."""

    crew: str
    day: dt.date
    set_ups: tuple[SetUp, ...]

    @property
    def laterals(self) -> tuple[str, ...]:
        """The day's laterals, in order."""
        return tuple(turn.lateral for set_up in self.set_ups for turn in set_up.turns)


@dataclass(frozen=True, slots=True)
class NotScheduled:
    """A lateral that got no day: the rule that keeps it out, and whom it waits on."""

    lateral: str
    rule: str
    words: str
    waits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proof:
    """How good the plan is, as far as the solver could prove it."""

    optimal: bool
    """No plan ends earlier, and none that ends then has fewer set-ups."""
    days: int
    """Working days from the first to the last one used."""
    days_least: int
    """No plan can do with fewer, proven."""
    set_ups: int
    set_ups_least: int
    portions: int = 1
    """Parts that were planned one after the other; optimal only within each."""
    solver: str = ""


@dataclass(frozen=True, slots=True)
class ShiftPlan:
    """The plan of a project; a change makes a new revision."""

    first_day: dt.date
    shifts: tuple[Shift, ...]
    left_out: tuple[NotScheduled, ...]
    proof: Proof
    frozen_until: dt.date | None = None
    """Shifts up to this day were taken over from the revision before."""
    made_from: tuple[DocumentRef, ...] = ()
    issued_at: dt.datetime | None = None
    issued_by: str = ""
    key: str = "shift plan"

    def turns(self) -> Iterator[tuple[Shift, SetUp, Turn]]:
        """Every lateral's turn with its shift and set-up, day by day."""
        for shift in self.shifts:
            for set_up in shift.set_ups:
                for turn in set_up.turns:
                    yield shift, set_up, turn

    def of_lateral(self, key: str) -> tuple[Shift, SetUp, Turn] | None:
        """When a lateral is lined, its last turn if it has several; None where it has none."""
        found = [one for one in self.turns() if one[2].lateral == key]
        return found[-1] if found else None
