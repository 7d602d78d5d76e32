"""All that is known of one finished lateral when it is judged."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from drainwright.engineering.wall_design import WallCase
from drainwright.records.acceptance import Claim, NonConformity, Submittal
from drainwright.records.attempt import Attempt
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.field_entry import AttemptEnd
from drainwright.records.post_inspection import PostInspection
from drainwright.records.rig import Rig
from drainwright.records.specification import Specification
from drainwright.records.specimen import CouponTest, SamplingPlan, WallReadings
from drainwright.records.tightness_report import TightnessReport
from drainwright.records.work_sheet import WorkSheet
from drainwright.sources import Citation


@dataclass(frozen=True, slots=True)
class Coupon:
    """A specimen with the machine's curve, or why the curve can't be used."""

    test: CouponTest
    deflection: tuple[float, ...] = ()
    """[m]"""
    load: tuple[float, ...] = ()
    """[N]"""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class DesignPlace:
    """One place of the design: what the wall carries there, and the wall as planned [m]."""

    name: str
    distance: float
    case: WallCase
    wall: float
    depth: float
    """Invert below ground [m]."""


@dataclass(frozen=True, slots=True)
class Case:
    """One lateral with everything its verdict rests on."""

    sheet: WorkSheet
    sheet_revision: int
    barometer: float
    """Absolute pressure of the air outside [Pa]."""
    attempts: tuple[Attempt, ...] = ()
    rig: Rig | None = None
    places: tuple[DesignPlace, ...] = ()
    cure: CureVerdict | None = None
    tightness: tuple[TightnessReport, ...] = ()
    inspections: tuple[PostInspection, ...] = ()
    walls: tuple[WallReadings, ...] = ()
    coupons: tuple[Coupon, ...] = ()
    sampling: SamplingPlan | None = None
    sampled: bool = True
    """Whether the plan of sampling asks for coupons of this lateral."""
    non_conformities: tuple[NonConformity, ...] = ()
    claims: tuple[Claim, ...] = ()
    submittals: tuple[Submittal, ...] = ()

    @property
    def key(self) -> str:
        """The lateral's id."""
        return self.sheet.lateral.key

    @property
    def specification(self) -> Specification:
        """The specification as it stood when the work sheet was issued."""
        return self.sheet.specification

    @property
    def cured(self) -> Attempt | None:
        """The attempt that cured, the last one where there are several."""
        found = [one for one in self.attempts if one.end is AttemptEnd.CURED]
        return found[-1] if found else None

    @property
    def inspection(self) -> PostInspection | None:
        """The newest post-lining inspection."""
        return max(self.inspections, key=lambda one: one.number, default=None)

    def figure(self, key: str) -> float | None:
        """A number of the work sheet."""
        found = self.sheet.figure(key)
        return found.value if found and isinstance(found.value, float | int) else None

    def source(self, limit: str) -> Citation:
        """Where a limit comes from."""
        return self.specification.limit(limit).source

    def day(self, moment: dt.datetime) -> dt.date:
        """The day of a moment where the project is."""
        return moment.astimezone(ZoneInfo(self.sheet.project.zone)).date()
