"""Sites for tests: one plain lateral that is fit to line, and changes to it."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import Any

from drainwright.planning.site import Site
from drainwright.records.lateral import (
    AddressProof,
    FarAccess,
    Lateral,
    LengthMeasurement,
    MeasuringWay,
    TapKind,
)
from drainwright.records.project import MainSegment, Project
from drainwright.records.specification import default_specification
from drainwright.records.survey import (
    Observation,
    ObservationKind,
    Survey,
    SurveyMethod,
    SurveyPurpose,
)

INCH, FOOT = 0.0254, 0.3048
TODAY = dt.date(2026, 11, 25)
Kind = ObservationKind


def seen(kind: Kind, feet: float, **more: Any) -> Observation:
    return Observation(kind, feet * FOOT, **more)


def bend(feet: float, degrees: float, grade: str = "") -> Observation:
    return seen(Kind.BEND, feet, measure=math.radians(degrees), measure_kind="angle", grade=grade)


def share(kind: Kind, feet: float, percent: float, **more: Any) -> Observation:
    return seen(kind, feet, measure=percent / 100, measure_kind="share", **more)


def survey(*observations: Observation, **changes: Any) -> Survey:
    ends = (seen(Kind.START, 0), *observations, seen(Kind.FINISH, 41))
    plain = Survey(
        lateral="A-07",
        date=dt.date(2026, 11, 2),
        time=dt.time(9, 30),
        method=SurveyMethod.MAIN,
        direction="up",
        purpose=SurveyPurpose.PLANNING,
        length=41 * FOOT,
        observations=ends,
    )
    return replace(plain, **changes)


def lateral(**changes: Any) -> Lateral:
    plain = Lateral(
        key="A-07",
        segment="A",
        tap_distance=112.4 * FOOT,
        tap_clock=2.0,
        address="14 Weaver’s Row",
        inside_diameter=4 * INCH,
        material="vitrified clay",
        tap_kind=TapKind.WYE,
        tap_angle=math.radians(45),
        tap_hole=6 * INCH,
        tap_depth=10 * FOOT,
        far_depth=6 * FOOT,
        water_depth=5 * FOOT,
        far_access=FarAccess.OUTDOORS,
        cleanout_distance=41 * FOOT,
        lengths=(LengthMeasurement(MeasuringWay.SONDE, 40.6 * FOOT, rise=4 * FOOT),),
        in_use=True,
        premises=("P-14",),
        proof=AddressProof("dye", "R. Vale", dt.date(2026, 11, 2)),
    )
    return replace(plain, **changes)


def site(*observations: Observation, **changes: Any) -> Site:
    plain = Site(
        project=Project("demo", "Demo", demo=True),
        segment=MainSegment("A", "MH 12", "MH 13", 8 * INCH, 300 * FOOT),
        lateral=lateral(),
        specification=default_specification(),
        survey=survey(*observations),
        today=TODAY,
    )
    return replace(plain, **changes)
