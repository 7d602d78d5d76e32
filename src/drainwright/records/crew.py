"""Crews, the calendar they work by, what laterals are promised, and the stock on hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum


class CrewStep(StrEnum):
    """What takes a crew time; each has a P80 duration in the specification."""

    MOVE = "move the rig"
    TRAFFIC = "traffic control"
    PLUG = "plug the main"
    BYPASS = "set up the bypass"
    TAKE_DOWN = "take down"
    LOOK = "last look and clean"
    WET_OUT = "mix and wet out"
    MIX = "mix alone"
    """The part of the wet-out that one batch of several liners pays once."""
    TRANSPORT = "transport on ice"
    LOAD = "load the carrier"
    LOWER = "lower and line up"
    INVERT = "invert and seat"
    FILM = "film and test"
    RESTORE = "restore service"


class Mixing(StrEnum):
    """How a crew mixes its resin."""

    EACH_LINER = "each liner"
    ONE_BATCH = "one batch a set-up"


@dataclass(frozen=True, slots=True)
class StepTime:
    """How long a step takes this crew [s]: four of five shifts keep `p80`, half keep `p50`."""

    step: CrewStep
    p80: float
    p50: float | None = None


@dataclass(frozen=True, slots=True)
class Crew:
    """One crew: the rigs it runs, when it works, and its own durations."""

    key: str
    rigs: tuple[str, ...]
    lead: str = ""
    start: dt.time = dt.time(7)
    end: dt.time = dt.time(17)
    weekdays: tuple[int, ...] = (1, 2, 3, 4, 5)
    """Working days, Monday 1 to Sunday 7."""
    days_off: tuple[dt.date, ...] = ()
    times: tuple[StepTime, ...] = ()
    bypass: bool = True
    """Has pumps and hose for a bypass of the main."""
    wets_out_beside: bool = True
    """Looks, mixes and wets out the next liner while one cures."""
    mixing: Mixing = Mixing.EACH_LINER

    def time(self, step: CrewStep) -> float | None:
        """The crew's own P80 of a step [s]; None where it is not known."""
        return next((one.p80 for one in self.times if one.step is step), None)


@dataclass(frozen=True, slots=True)
class Promise:
    """Somebody's word that all a lateral still waits on is done by the evening before `on`."""

    lateral: str
    on: dt.date
    by: str
    what: str = ""


@dataclass(frozen=True, slots=True)
class Wish:
    """A lateral's priority (1 first) and the day by which it must be lined."""

    lateral: str
    priority: int = 3
    due: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Calendar:
    """Days on which nobody works, and what is promised or wished for single laterals."""

    days_off: tuple[dt.date, ...] = ()
    rain_days: tuple[dt.date, ...] = ()
    rain_allowance: int = 0
    """Of each ten working days the last so many are kept open for rain."""
    promises: tuple[Promise, ...] = ()
    wishes: tuple[Wish, ...] = ()
    key: str = "calendar"


class StockKind(StrEnum):
    """What lies in stock; resin and tube in kg and m, the others counted."""

    TUBE = "tube"
    PART_A = "resin A"
    PART_B = "resin B"
    COLLAR = "collar"
    SEAL = "seal"


@dataclass(frozen=True, slots=True)
class StockItem:
    """One material as it lies in the yard: tube in m, resin in kg, the rest in pieces."""

    kind: StockKind
    name: str
    """The tube's, resin's, collar's or seal's own name."""
    on_hand: float
    ordered: float = 0.0
    due: dt.date | None = None
    """Day the ordered amount comes."""
    lead_time_days: int | None = None
    """Working out of an order made today; a tube's own lead time where it is not given."""


@dataclass(frozen=True, slots=True)
class Stock:
    """All that is in stock, counted on a day."""

    counted_on: dt.date
    items: tuple[StockItem, ...] = field(default=())
    waste: float = 0.05
    """Share of resin that is ordered on top of what the tubes take."""
    key: str = "stock"

    def item(self, kind: StockKind, name: str) -> StockItem | None:
        """The entry of a material; None where it is not on the list."""
        return next((one for one in self.items if (one.kind, one.name) == (kind, name)), None)
