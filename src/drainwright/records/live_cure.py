"""What the crew is told while steam flows: time still needed, where, and what is wrong."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LiveAlarm:
    """A condition that somebody must act on now."""

    key: str
    """Such as “cold tail” or “boiler stop”."""
    words: str
    since: dt.datetime
    position: float | None = None
    """Distance from the tap [m]."""


@dataclass(frozen=True, slots=True)
class CureAlong:
    """Cure over the length with its 95 % band, and of the collar; conversions 0 to 1."""

    positions: tuple[float, ...]
    """From the tap [m]."""
    cure: tuple[float, ...]
    cure_low: tuple[float, ...]
    cure_high: tuple[float, ...]
    collar_cure: tuple[float, ...] = ()
    """Least cure of the collar, low and high; empty without a collar."""


@dataclass(frozen=True, slots=True)
class LiveCure:
    """The state of a cure at a moment. Times still needed are in seconds; None is not known."""

    lateral: str
    now: dt.datetime
    steam_on: dt.datetime | None
    steam_off: dt.datetime | None = None
    maker_left: float | None = None
    """Still needed by the maker's schedule, counted on the log."""
    exhaust_left: float | None = None
    """Still needed by the rule of the exhaust."""
    cure_left: float | None = None
    """Until the least cured place reaches the target: best estimate."""
    cure_left_sure: float | None = None
    """The same, 95 % sure; None where that is more than three hours away, or not known."""
    never: bool = False
    """Whether three more hours of this steam would not cure the least place, by the estimate."""
    left: float | None = None
    """The longest of them: what the crew waits for; None where nobody can say."""
    governed_by: str = ""
    """“maker”, “exhaust” or “estimate”."""
    done: bool = False
    """Whether nothing is left of any of them; never before the maker's schedule."""
    cure_now: tuple[float, float, float] | None = None
    """Of the least cured place: cure, low and high of the 95 % band."""
    least_place: str = ""
    along: CureAlong | None = None
    shorten: tuple[str, ...] = ()
    """What would make it shorter."""
    alarms: tuple[LiveAlarm, ...] = ()
    leaves_out: tuple[str, ...] = ()
    """What the estimate does not see."""
    logs_learned: int = 0
    """Finished cures of this street in the estimate."""
