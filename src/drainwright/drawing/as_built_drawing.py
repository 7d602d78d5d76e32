"""The profile as built: the liner as far as it reaches, the wall as read, what TV saw after it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from drainwright.acceptance.case import Case
from drainwright.acceptance.wall_verdict import readings_of
from drainwright.drawing.lateral_drawing import sheet_profile
from drainwright.drawing.profile_input import Flag, LinerDrawing, ProfileInput
from drainwright.records.post_inspection import Looked, PlaceSeen
from drainwright.records.survey import ObservationKind
from drainwright.units import UnitSystem, show


def as_built_profile(case: Case, system: UnitSystem) -> ProfileInput:
    """The lateral with its finished liner; flags are what post-lining TV and people found.

    The groundwater is the one of the day of the newest inspection, where somebody looked.
    """
    planned = sheet_profile(case.sheet, system)
    found = case.inspection
    water, assumed = planned.water, planned.water_assumed
    if found is not None and found.groundwater is not None:
        water = ((0.0, found.groundwater), (planned.length, found.groundwater))
        assumed = False
    return replace(
        planned,
        title=f"lateral {case.key} as built",
        observations=tuple(_flags(case, system)),
        liner=_liner(case, planned.liner),
        water=water,
        water_assumed=assumed,
        stations=(),
    )


def _liner(case: Case, planned: LinerDrawing | None) -> LinerDrawing | None:
    if planned is None or case.cured is None:
        return None
    gap = case.cured.last("end_to_cleanout")
    length = case.figure("length.measured")
    end = planned.end if gap is None or length is None else max(0.0, length - gap)
    read = [one.wall for one in readings_of(case)]
    wall = sum(read) / len(read) if read else planned.wall
    return LinerDrawing(0.0, end, wall, end, None)


def _flags(case: Case, system: UnitSystem) -> Iterator[Flag]:
    for one in case.inspection.places if case.inspection else ():
        if one.looked in (Looked.WRINKLE, Looked.DEFECT) and one.distance is not None:
            yield Flag(one.distance, ObservationKind.LINING_DEFECT.value, _words(one, system))
    for fault in case.non_conformities:
        if fault.distance is not None:
            state = "closed" if fault.closed else "open"
            yield Flag(fault.distance, ObservationKind.REPAIR.value, f"{fault.key}, {state}")


def _words(one: PlaceSeen, system: UnitSystem) -> str:
    if one.wrinkle is None:
        return one.words or str(one.looked)
    height = show(one.wrinkle, "small_length", system).text
    return f"wrinkle {height}" + (f", {one.words}" if one.words else "")
