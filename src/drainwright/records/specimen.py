"""The finished wall: readings along the liner, and coupons with their chain of custody."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WallReading:
    """One reading of the wall [m]; where it was taken, from the tap [m] and by the clock."""

    wall: float
    distance: float | None = None
    clock: float | None = None
    remark: str = ""


@dataclass(frozen=True, slots=True)
class WallReadings:
    """All readings of one day on one lateral."""

    lateral: str
    number: int
    on: dt.date
    by: str
    readings: tuple[WallReading, ...]
    how: str = ""
    """Such as caliper at the cut end, ultrasonic, on the plate."""
    gauge: str = ""
    gauge_due: dt.date | None = None
    """Its calibration runs out, as its sticker says."""
    ovality: float | None = None
    """Found ovality of the lined pipe, share."""
    water_above_invert: float | None = None
    """Found groundwater above the invert at the tap [m]."""

    @property
    def key(self) -> str:
        """Lateral and number."""
        return f"{self.lateral} {self.number}"


@dataclass(frozen=True, slots=True)
class CustodyStep:
    """A hand-over of the sample."""

    on: dt.date
    by: str
    to: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class CouponTest:
    """One specimen in three-point bending, with the machine's own file."""

    lateral: str
    number: int
    """Counts the specimens of the lateral, from 1."""
    sample: str
    """Mark on the sample the specimen was cut from."""
    taken_on: dt.date
    taken_from: str
    """Such as plate cast with the batch, cut at the far end."""
    standard: str
    span: float
    width: float
    depth: float
    tested_on: dt.date | None = None
    laboratory: str = ""
    curve: str = ""
    """SHA-256 of the machine's CSV, kept unaltered."""
    curve_name: str = ""
    modulus: float | None = None
    """As the laboratory reported it [Pa]; a curve wins over it."""
    strength: float | None = None
    custody: tuple[CustodyStep, ...] = ()
    curved: float | None = None
    """Inside radius of a piece cut from the pipe [m]; None for a flat one."""
    remark: str = ""

    @property
    def key(self) -> str:
        """Lateral and number of the specimen."""
        return f"{self.lateral} {self.number}"


@dataclass(frozen=True, slots=True)
class SamplingPlan:
    """Which laterals give coupons, fixed before lining; its key is always “sampling”."""

    on: dt.date
    by: str
    share: float = 1.0
    """Share of the laterals that give coupons."""
    seed: int = 1
    specimens: int = 5
    """Specimens of each."""
    key: str = "sampling"
