"""Small projects for tests of the shift plan: sheets with the figures it reads, crews, rigs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from drainwright.planning.shift import ShiftOrder
from drainwright.planning.shift_jobs import Candidate
from drainwright.planning.site import Site
from drainwright.records.crew import Calendar, Crew, CrewStep, StepTime
from drainwright.records.lateral import Lateral
from drainwright.records.material import GelTime, Resin, Tube
from drainwright.records.premises import EntryState, Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.specification import default_specification
from drainwright.records.work_sheet import Figure, Fitness, Reason, WorkSheet
from drainwright.sources import cite

MONDAY = dt.date(2026, 11, 30)
SLOW = Resin("slow", gel_times=(GelTime(298.15, 4 * 3600.0), GelTime(313.15, 1.5 * 3600.0)))
QUICK = Resin("quick", gel_times=(GelTime(298.15, 5400.0), GelTime(313.15, 2400.0)))
SHORT = {
    CrewStep.MOVE: 20, CrewStep.TRAFFIC: 10, CrewStep.PLUG: 10, CrewStep.BYPASS: 30,
    CrewStep.TAKE_DOWN: 15, CrewStep.LOOK: 15, CrewStep.WET_OUT: 25, CrewStep.MIX: 10,
    CrewStep.TRANSPORT: 5, CrewStep.LOAD: 5, CrewStep.LOWER: 10, CrewStep.INVERT: 5,
    CrewStep.FILM: 15, CrewStep.RESTORE: 5,
}  # fmt: skip


def figure(key: str, value: float, kind: str = "time") -> Figure:
    return Figure(key, key, value, kind, "", cite("memory"))


def segment(key: str = "S", **more: Any) -> MainSegment:
    usual: dict[str, Any] = {"inside_diameter": 0.2, "length": 90.0}
    return MainSegment(key, f"{key}1", f"{key}2", **(usual | more))


def candidate(
    key: str,
    on: str = "S",
    *,
    steam: int = 90,
    cool: int = 30,
    plugged: int = 600,
    resin: Resin = SLOW,
    places: Sequence[Premises] = (),
    outcome: Fitness = Fitness.LINE,
    reasons: Sequence[Reason] = (),
    material_from: dt.date | None = dt.date(2026, 1, 1),
    lateral: dict[str, Any] | None = None,
) -> Candidate:
    """A lateral that is ready, with steam and cool-down in minutes."""
    usual: dict[str, Any] = {"tap_distance": 10.0, "premises": tuple(p.key for p in places)}
    of = Lateral(key, on, **(usual | (lateral or {})))
    project, main = Project("p", "P"), segment(on)
    sheet = WorkSheet(
        project, main, of, None, Tube("T", 0.1, 0.003), resin, default_specification(), outcome,
        tuple(reasons),
        (
            figure("steam.hold", steam * 60.0), figure("steam.cool", cool * 60.0),
            figure("wetout.mass", 12.0, "mass"), figure("cut.length", 12.0, "length"),
            figure("main.plugged", plugged * 60.0),
        ),
        (), (),
    )  # fmt: skip
    site = Site(project, main, of, default_specification(), premises=tuple(places), today=MONDAY)
    return Candidate(sheet, site, material_from)


def premises(key: str, **more: Any) -> Premises:
    return Premises(key, f"{key} Row", entry=EntryState.SIGNED, **more)


def crew(key: str = "north", rig: str = "", **more: Any) -> Crew:
    times = tuple(StepTime(step, minutes * 60.0) for step, minutes in SHORT.items())
    return Crew(key, (rig or f"rig {key}",), **({"times": times} | more))


def order(
    candidates: Sequence[Candidate], crews: Sequence[Crew] = (), days: int = 14, **more: Any
) -> ShiftOrder:
    crews = crews or (crew(),)
    rigs = {name: Rig(name) for one in crews for name in one.rigs}
    usual: dict[str, Any] = {
        "first_day": MONDAY, "until": MONDAY + dt.timedelta(days=days - 1), "crews": crews,
        "rigs": rigs, "calendar": Calendar(), "candidates": candidates, "allowance": 1800.0,
    }  # fmt: skip
    return ShiftOrder(**(usual | more))
