"""A tightness test as it was done: method, plugs, readings, or why it could not be done.

Method, start pressure, allowed drop and time are always kept together.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class TestScope(StrEnum):
    """What was tested."""

    __test__ = False
    WHOLE = "lined length"
    PACKER = "collar between packers"
    """The collar alone, between two packers in the main or around the tap."""


@dataclass(frozen=True, slots=True)
class TestedSection:
    """A stretch of one size inside the test [m]."""

    __test__ = False
    diameter: float
    length: float


@dataclass(frozen=True, slots=True)
class Plug:
    """One plug and where it sat."""

    place: str
    distance: float | None = None
    """From the tap [m]; negative in the main."""
    pressure: float | None = None
    """It was inflated to this gauge pressure [Pa]."""


@dataclass(frozen=True, slots=True)
class TestReading:
    """One reading: seconds since the start, gauge pressure [Pa], air temperature [K]."""

    __test__ = False
    time: float
    pressure: float
    temperature: float | None = None


@dataclass(frozen=True, slots=True)
class TightnessReport:
    """One tightness test of one lateral."""

    lateral: str
    number: int
    """Counts the tests of the lateral, from 1."""
    at: dt.datetime
    by: str
    method: str
    """A method of the tightness rules, “hold”, “water-level” or “exfiltration”; “” for none."""
    scope: TestScope = TestScope.WHOLE
    sections: tuple[TestedSection, ...] = ()
    plugs: tuple[Plug, ...] = ()
    inside: str = ""
    """What lies inside the test: collar, lateral, cleanout, branches."""
    start_pressure: float | None = None
    """Gauge pressure to start from [Pa], as the form asked for."""
    allowed_drop: float | None = None
    """As the form asked for [Pa]."""
    test_time: float | None = None
    """As the form asked for [s]."""
    readings: tuple[TestReading, ...] = ()
    water_above_pipe: float | None = None
    """Groundwater above the center of the pipe that day [m]; None where nobody looked."""
    water_added: float | None = None
    """Water added to keep the level, or lost [m^3]."""
    gauge: str = ""
    """Key of the instrument."""
    gauge_due: dt.date | None = None
    """Its calibration runs out, as its sticker says."""
    not_isolated: str = ""
    """Why the lateral could not be isolated; then there are no readings of the whole."""
    remark: str = ""

    @property
    def key(self) -> str:
        """Lateral and number of the test."""
        return f"{self.lateral} {self.number}"
