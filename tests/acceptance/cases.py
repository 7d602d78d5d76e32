"""A finished lateral made up for tests, everything in order; tests change one thing at a time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from drainwright.acceptance.case import Case, Coupon, DesignPlace
from drainwright.drawing.lateral_drawing import site_of_sheet
from drainwright.planning.stations import plan_stations
from drainwright.planning.wall_plan import installed_wall, material_of, wall_case
from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.field_entry import AttemptEnd, EntryKind, FieldEvent, FieldValue
from drainwright.records.post_inspection import (
    Looked,
    PlaceSeen,
    PostInspection,
    TvPlace,
    VideoFit,
)
from drainwright.records.specimen import (
    CouponTest,
    CustodyStep,
    SamplingPlan,
    WallReading,
    WallReadings,
)
from drainwright.records.tightness_report import (
    Plug,
    TestedSection,
    TestReading,
    TightnessReport,
)
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import FOOT, INCH, PSI
from tests.planning.test_design import made

START = dt.datetime(2026, 11, 17, 14, tzinfo=dt.UTC)
DAY = dt.date(2026, 11, 17)
SHEET = replace(made(), issued_at=START, issued_by="Ann")


def minutes(number: float) -> dt.datetime:
    return START + dt.timedelta(minutes=number)


def event(step: str, at: float, words: dict[str, str] | None = None, **values: Any) -> FieldEvent:
    """A step with readings in SI; `at` in minutes from the start."""
    read = tuple(
        FieldValue(name, value, _kind(name), f"{value:g}") for name, value in values.items()
    )
    given = tuple((words or {}).items())
    return FieldEvent(
        EntryKind.STEP, SHEET.lateral.key, minutes(at), "Ann", step=step, values=read,
        words=given, id=f"{step} {at:g}",
    )  # fmt: skip


def _kind(name: str) -> str:
    if "pressure" in name:
        return "pressure"
    if "wall" in name or "temperature" in name:
        return "temperature"
    return "mass" if name.startswith(("part", "left")) else "length"


def figure(key: str, sheet: WorkSheet = SHEET) -> float:
    found = sheet.figure(key)
    assert found is not None, key
    assert isinstance(found.value, float)
    return found.value


def steps() -> list[FieldEvent]:
    """A whole cure without a fault."""
    mass = figure("wetout.mass")
    lots = {"lot_a": "A-1", "lot_b": "B-1", "tube_lot": "T-1", "seal_lot": ""}
    cool = figure("steam.letdown") - 4
    held = 7 * PSI
    return [
        event("permits", 0),
        event("seals", 1, {"seal_lot": "S-1"}),
        event("mixed", 5, lots, part_a=0.8 * mass, part_b=0.2 * mass),
        event("wet_out", 20, left_over=0.01 * mass),
        event("inversion", 60, {"gauge": "g", "cable_tied_to": "end cap"}, tube_pressure=held),
        event("seated", 66, cable=figure("launch.cable_seated"), tube_pressure=held),
        event("steam_on", 70, tube_pressure=held),
        event("exhaust_steady", 85, tube_pressure=held),
        event("air_on", 200, tube_pressure=held),
        event("steam_shut", 202, tube_pressure=held),
        event("soak_back", 300, tube_pressure=held, wall_top=cool, wall_bottom=cool),
        event("let_down", 312, wall_temperature=cool),
        event("trimmed", 320, end_to_cleanout=0.0),
        event("restored", 330),
    ]


def attempts(events: Iterable[FieldEvent]) -> tuple[Attempt, ...]:
    key = SHEET.lateral.key
    release = FieldEvent(EntryKind.RELEASE, key, minutes(4), "Ann", id="release")
    end = FieldEvent(
        EntryKind.END, key, minutes(340), "Ann", answer=AttemptEnd.CURED.value, id="end"
    )
    return attempts_of([*events, release, end])[key]


def changed(step: str, words: dict[str, str] | None = None, **values: float) -> Case:
    """A finished case in which one step read otherwise."""
    new = [
        event(step, (one.at - START).total_seconds() / 60, words or dict(one.words), **values)
        if one.step == step
        else one
        for one in steps()
    ]
    return replace(finished(), attempts=attempts(new))


def places(**answers: PlaceSeen) -> tuple[PlaceSeen, ...]:
    """Every place sound but for those given by the name of the place's member."""
    return tuple(answers.get(one.name, PlaceSeen(one, Looked.SOUND, 3.0)) for one in TvPlace)


def inspection(**changes: Any) -> PostInspection:
    usual: dict[str, Any] = {
        "lateral": SHEET.lateral.key, "number": 1, "on": DAY, "by": "Hale", "places": places(),
        "video": VideoFit("a.mp4", identity=True, zeroed=True, tap_panned=True, lens_clear=True,
                          speed=0.15, water_level=0.0),
        "delivered": DAY, "groundwater": 1.0, "main_reduced": 0.04,
    }  # fmt: skip
    return PostInspection(**(usual | changes))


def report(**changes: Any) -> TightnessReport:
    """The hold of a lateral rule: 4 psi that stays at 3.5 psi or more for 5 min."""
    length = figure("length.lined")
    usual: dict[str, Any] = {
        "lateral": SHEET.lateral.key, "number": 1, "at": minutes(1440), "by": "Ann",
        "method": "hold", "sections": (TestedSection(4 * INCH, length),),
        "plugs": (Plug("main"), Plug("cleanout")), "inside": "collar and lateral",
        "water_above_pipe": 0.0,
        "readings": (TestReading(0.0, 4 * PSI), TestReading(300.0, 3.6 * PSI)),
    }  # fmt: skip
    return TightnessReport(**(usual | changes))


def walls(*readings: float, **changes: Any) -> WallReadings:
    read = tuple(WallReading(wall) for wall in readings)
    return WallReadings(SHEET.lateral.key, 1, DAY, "Ann", read, **changes)


def coupon(number: int, modulus: float = 2.4e9, strength: float = 5e7, **changes: Any) -> Coupon:
    """A specimen as a laboratory reported it, its custody unbroken."""
    custody = (
        CustodyStep(DAY, "Ann", "Ben"),
        CustodyStep(DAY + dt.timedelta(1), "Ben", "laboratory"),
    )
    usual: dict[str, Any] = {
        "lateral": SHEET.lateral.key, "number": number, "sample": "P1", "taken_on": DAY,
        "taken_from": "plate", "standard": "ASTM D790", "span": 0.096, "width": 0.025,
        "depth": 0.006, "laboratory": "laboratory", "modulus": modulus, "strength": strength,
        "custody": custody,
    }  # fmt: skip
    return Coupon(CouponTest(**(usual | changes)))


def design_places(sheet: WorkSheet = SHEET) -> tuple[DesignPlace, ...]:
    site = site_of_sheet(sheet)
    assert sheet.resin is not None
    assert sheet.tube is not None
    material = material_of(site, sheet.resin)
    stations = plan_stations(site, figure("length.lined", sheet), figure("length.measured", sheet))
    return tuple(
        DesignPlace(
            one.name, one.distance, wall_case(site, one, material),
            installed_wall(sheet.tube, one.diameter), one.depth,
        )
        for one in stations
    )  # fmt: skip


def finished() -> Case:
    """A lateral that has all its proofs but the log of its cure."""
    return Case(
        sheet=SHEET,
        sheet_revision=1,
        barometer=101_325.0,
        attempts=attempts(steps()),
        places=design_places(),
        tightness=(report(),),
        inspections=(inspection(),),
        walls=(walls(0.0031, 0.0030, 0.0030, 0.0031),),
        coupons=tuple(coupon(number) for number in (1, 2, 3)),
        sampling=SamplingPlan(dt.date(2026, 11, 1), "Eve", specimens=3),
    )


__all__ = ["FOOT", "INCH", "PSI"]
