"""The log of a cure: what the sensors read while steam flowed, and how a rig's logger is read.

Times are UTC, values SI (kelvin; gauge pressure in pascal); the logger's own file is kept
unaltered as an attachment and named here by its hash.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class Reads(StrEnum):
    """What a channel reads."""

    GAS_IN = "gas in"
    """Gas where it enters the tube, at the tap."""
    EXHAUST = "exhaust"
    """Gas at the cap of the far end."""
    WALL_TOP = "wall, top"
    """Between liner and host, at the top."""
    WALL_BOTTOM = "wall, bottom"
    COLLAR = "collar"
    """Between collar and main."""
    PRESSURE = "pressure"
    """Gauge pressure."""
    NOTHING = "not used"


TEMPERATURES = (Reads.GAS_IN, Reads.EXHAUST, Reads.WALL_TOP, Reads.WALL_BOTTOM, Reads.COLLAR)
WALLS = (Reads.WALL_TOP, Reads.WALL_BOTTOM)


@dataclass(frozen=True, slots=True)
class Channel:
    """One channel of a logger and what it reads."""

    name: str
    """As the file's header has it."""
    reads: Reads
    position: float | None = None
    """Distance from the tap, or from the far end where `from_end` [m]."""
    from_end: bool = False
    place: str = ""
    """Where a pressure is read, such as “tube” or “carrier bladder”; “” is the tube."""
    unit: str = ""
    """degC, degF, K, psi, kPa, bar; “” takes what the file says."""
    instrument: str = ""
    calibration_due: dt.date | None = None

    @property
    def kind(self) -> str:
        """The kind of quantity it reads."""
        return "pressure" if self.reads is Reads.PRESSURE else "temperature"

    @property
    def in_tube(self) -> bool:
        """Whether it reads the pressure in the tube."""
        return self.reads is Reads.PRESSURE and self.place.casefold() in ("", "tube")


@dataclass(frozen=True, slots=True)
class ChannelMap:
    """What a rig's logger reads on which channel; mapped once, used for every file."""

    key: str
    """The rig's key."""
    channels: tuple[Channel, ...]
    dates: str = ""
    """mdy or dmy for dates such as 4/5/2026; “” where nothing tells."""
    zone: str = ""
    """Zone of the logger's clock; “” is the project's."""
    clock_offset: float = 0.0
    """Added to the logger's clock to get the true time [s]."""


@dataclass(frozen=True, slots=True)
class LogFile:
    """One file of a logger as it was read."""

    name: str
    sha256: str
    rows: int
    first: dt.datetime
    last: dt.datetime
    clock_offset: float = 0.0
    """What was added to its clock [s]."""


@dataclass(frozen=True, slots=True)
class LogFinding:
    """Something wrong or odd in a log: what it is, in words, and the rows that show it."""

    key: str
    """Such as gap, stuck, broken, swapped, units, clock."""
    words: str
    channel: str = ""
    file: str = ""
    rows: tuple[int, ...] = ()
    """First and last row of the file, as an editor counts them."""
    from_second: float | None = None
    """Since the log's start [s]."""
    to_second: float | None = None
    grave: bool = False
    """Whether a verdict can't rest on what it touches."""


@dataclass(frozen=True, slots=True)
class Series:
    """What one channel read; None where it read nothing usable."""

    channel: Channel
    kind: str
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class CureLog:
    """All that was logged of one cure, joined from its files."""

    lateral: str
    attempt: int
    start: dt.datetime
    """UTC; times count from here."""
    seconds: tuple[float, ...]
    """Rising [s]."""
    series: tuple[Series, ...]
    files: tuple[LogFile, ...] = ()
    findings: tuple[LogFinding, ...] = ()

    @property
    def key(self) -> str:
        """Lateral and number of the attempt; one log each."""
        return log_key(self.lateral, self.attempt)

    @property
    def end(self) -> dt.datetime:
        """Time of the last reading."""
        return self.at(self.seconds[-1] if self.seconds else 0.0)

    def at(self, second: float) -> dt.datetime:
        """The time so many seconds after the start."""
        return self.start + dt.timedelta(seconds=second)

    def since_start(self, moment: dt.datetime) -> float:
        """Seconds from the start to a moment."""
        return (moment - self.start).total_seconds()

    def of(self, *reads: Reads) -> tuple[Series, ...]:
        """The series of channels that read one of these."""
        return tuple(one for one in self.series if one.channel.reads in reads)


def log_key(lateral: str, attempt: int) -> str:
    """The key of a lateral's log: its id and the number of the attempt."""
    return f"{lateral} {attempt}"
