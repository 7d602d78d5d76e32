"""From the records of one lateral to its profile: everything brought to its distance from the tap.

A survey alone gives a profile; a work sheet adds the liner, the collar and what was planned.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from drainwright.drawing.profile_input import (
    Belly,
    Bend,
    Branch,
    Cleanout,
    CollarDrawing,
    Flag,
    HostSpan,
    LinerDrawing,
    MainDrawing,
    ProfileInput,
    Riser,
    Station,
)
from drainwright.planning.cut_length import to_zero
from drainwright.planning.site import Site
from drainwright.records.lateral import FarAccess, MeasuringWay
from drainwright.records.project import MainLining
from drainwright.records.specification import DEFAULT_LIMITS
from drainwright.records.standing import Knowledge
from drainwright.records.survey import Observation, ObservationKind
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import UnitSystem, show

Kind = ObservationKind

# drawn where the size of a pipe is not known; the drawing then says so [m]
SIZE_NOT_KNOWN = 0.1
# drawn where the length is not known [m]
LENGTH_NOT_KNOWN = 10.0
_ASSUMED = (Knowledge.ASSUMED, Knowledge.MEMORY)
_NO_FLAG = (Kind.START, Kind.FINISH, Kind.BEND, Kind.BRANCH)
_NOUNS = {
    Kind.FOREIGN_PIPE: "foreign pipe",
    Kind.ABANDONED: "camera stopped",
    Kind.INFILTRATION: "water coming in",
    Kind.EXFILTRATION: "water going out",
    Kind.WATER_LEVEL: "water",
    Kind.SIZE_CHANGE: "size",
    Kind.INTRUDING_TAP: "pipe sticking in",
    Kind.JOINT_DEFECT: "bad joint",
    Kind.UNKNOWN: "not read",
}
# kinds whose grade is an adjective before the noun; of the others the grade says it all
_ADJECTIVES = (Kind.ROOTS, Kind.OFFSET, Kind.DEPOSIT, Kind.CRACK, Kind.CORROSION, Kind.REPAIR)


def site_of_sheet(sheet: WorkSheet) -> Site:
    """What a work sheet was made from, as a site."""
    return Site(sheet.project, sheet.segment, sheet.lateral, sheet.specification, sheet.survey)


def sheet_profile(sheet: WorkSheet, system: UnitSystem) -> ProfileInput:
    """The profile of a work sheet: what was seen and what is planned."""
    return lateral_profile(site_of_sheet(sheet), system, sheet)


def lateral_profile(site: Site, system: UnitSystem, plan: WorkSheet | None = None) -> ProfileInput:
    """The profile of a lateral; with a `plan` that may be lined, its liner and collar too."""
    lateral = site.lateral
    length = known_length(site, plan)
    invert, assumed = _invert(site, length)
    standing = lateral.standing.get("water_depth")
    lined = plan is not None and plan.outcome is not Fitness.STOP
    return ProfileInput(
        title=f"lateral {lateral.key}",
        length=length,
        main=_main(site),
        host=tuple(_host(site, length)),
        invert=invert,
        invert_assumed=assumed,
        water=_water(site, length),
        water_assumed=(
            lateral.water_depth is None or (standing is not None and standing.knowledge in _ASSUMED)
        ),
        collar=_collar(plan) if plan and lined else None,
        observations=tuple(_flags(site, system)),
        bends=tuple(_bends(site)),
        branches=tuple(_branches(site)),
        liner=_liner(plan) if plan and lined else None,
        cleanout=_cleanout(site, length),
        property_line=lateral.property_line,
        riser=Riser(0.0, lateral.riser) if lateral.riser > 0 else None,
        bellies=tuple(_bellies(site)),
        stations=tuple(_stations(plan)) if plan and lined else (),
    )


def seen_text(seen: Observation, system: UnitSystem) -> str:
    """What was seen, in a few words: `fine roots 20 %`, `offset 0.25 in, 6 o’clock`."""
    noun = _NOUNS.get(seen.kind, seen.kind.replace("_", " "))
    if seen.kind is Kind.UNKNOWN and seen.code:
        noun = f"code {seen.code}, {noun}"
    if seen.kind is Kind.REMARK and seen.remark:
        noun = seen.remark
    words = noun
    if seen.grade and (noun in seen.grade or seen.kind not in _ADJECTIVES):
        words = seen.grade
    elif seen.grade:
        words = f"{seen.grade} {noun}"
    if seen.measure is not None and seen.measure_kind:
        words += f" {_trimmed(seen.measure, seen.measure_kind, system)}"
    if seen.clock_from is not None and seen.kind is not Kind.BEND:
        to = f" to {seen.clock_to:g}" if seen.clock_to is not None else ""
        words += f", {seen.clock_from:g}{to} o’clock"
    return words


def known_length(site: Site, plan: WorkSheet | None = None) -> float:
    """How far the pipe is known from the tap [m]; `LENGTH_NOT_KNOWN` where nothing tells."""
    lateral = site.lateral
    planned = _value(plan, "length.measured")
    found = [planned] if planned is not None else list(_measured(site))
    # the end nodes are in the planned length; a cleanout camera's start is above its riser
    skipped = () if planned is None else (Kind.START, Kind.FINISH)
    found += [distance for _, one, distance in site.seen() if one.kind not in skipped]
    if planned is None and lateral.cleanout_distance is not None:
        found.append(lateral.cleanout_distance)
    lined = _value(plan, "length.lined")
    if lined is not None:
        found.append(lined)
    return max((d for d in found if d > 0), default=LENGTH_NOT_KNOWN)


def _measured(site: Site) -> Iterator[float]:
    survey = site.survey
    for measurement in site.lateral.lengths:
        listed = measurement.way is MeasuringWay.LISTED
        yield measurement.reading if listed else to_zero(measurement).length
    if survey is not None and survey.length is not None:
        yield survey.length


def _trimmed(value: float, kind: str, system: UnitSystem) -> str:
    shown = show(value, kind, system)
    number = shown.number.rstrip("0").rstrip(".") if "." in shown.number else shown.number
    gap = "" if shown.unit_text in ("", "°") else " "
    return f"{number}{gap}{shown.unit_text}"


def _value(plan: WorkSheet | None, key: str) -> float | None:
    figure = plan.figure(key) if plan is not None else None
    value = figure.value if figure is not None else None
    return value if isinstance(value, float | int) and math.isfinite(value) else None


def _main(site: Site) -> MainDrawing:
    segment, clock = site.segment, site.lateral.tap_clock
    before = segment.lining is MainLining.BEFORE
    drawing = MainDrawing(segment.bore, segment.material, lined=before)
    if clock is None:
        return drawing
    from_top = (clock % 12) / 12 * 2 * math.pi
    from_top = min(from_top, 2 * math.pi - from_top)
    return MainDrawing(
        segment.bore, segment.material, lined=before, tap_angle=math.pi / 2 - from_top
    )


def _host(site: Site, length: float) -> Iterator[HostSpan]:
    """The lateral's own size and material, and its spans of other size where there are any."""
    lateral = site.lateral
    material = lateral.material or (site.survey.material if site.survey else "")
    diameter = site.diameter
    if diameter is None:
        material = ", ".join(filter(None, (material, "size not known")))
    own = diameter or SIZE_NOT_KNOWN
    at = 0.0
    for span in sorted(lateral.spans, key=lambda span: span.start):
        if span.start > at + 1e-6:
            yield HostSpan(at, span.start, own, lateral.host_wall, material)
        yield HostSpan(span.start, span.end, span.inside_diameter, None, span.material or material)
        at = max(at, span.end)
    if at < length - 1e-6:
        yield HostSpan(at, length, own, lateral.host_wall, material)


def _limit(site: Site, name: str) -> float | None:
    limits = site.specification.limits
    limit = limits.get(name) or DEFAULT_LIMITS.get(name)
    return limit.value if limit else None


def _invert(site: Site, length: float) -> tuple[tuple[tuple[float, float], ...], bool]:
    """Depths of the invert, and whether any of them is assumed."""
    lateral = site.lateral
    tap, far, riser = lateral.tap_depth, lateral.far_depth, lateral.riser
    assumed = tap is None or far is None
    if tap is None:
        tap = far + riser if far is not None else _limit(site, "assumed_depth") or 3.0
    if far is None:
        far = max(tap - riser, 0.5)
    for name in ("tap_depth", "far_depth"):
        standing = lateral.standing.get(name)
        assumed = assumed or (standing is not None and standing.knowledge in _ASSUMED)
    if 0 < riser < length:
        return ((0.0, tap), (riser, tap - riser), (length, far)), assumed
    return ((0.0, tap), (length, far)), assumed


def _water(site: Site, length: float) -> tuple[tuple[float, float], ...]:
    depth = site.lateral.water_depth
    if depth is None:
        depth = _limit(site, "assumed_water_depth")
    return () if depth is None else ((0.0, depth), (length, depth))


def _collar(plan: WorkSheet) -> CollarDrawing | None:
    names = ("collar.length", "collar.landing_up", "collar.landing_down")
    length, up, down = (_value(plan, name) for name in names)
    if length is None or up is None or down is None:
        return None
    return CollarDrawing(length, up, down, plan.lateral.tap_hole)


def _liner(plan: WorkSheet) -> LinerDrawing | None:
    lined = _value(plan, "length.lined")
    if lined is None:
        return None
    uncertainty = _value(plan, "length.uncertainty")
    return LinerDrawing(0.0, lined, _value(plan, "wall.installed"), lined, uncertainty)


def _cleanout(site: Site, length: float) -> Cleanout | None:
    access = site.lateral.far_access
    if access not in (FarAccess.OUTDOORS, FarAccess.INDOORS):
        return None
    at = site.lateral.cleanout_distance
    at = length if at is None else at
    text = "cleanout" if access is FarAccess.OUTDOORS else "cleanout indoors"
    return Cleanout(at, text, to_ground=access is FarAccess.OUTDOORS)


def _flags(site: Site, system: UnitSystem) -> Iterator[Flag]:
    """Every observation that gets a flag, and foreign pipes known from elsewhere."""
    bellies = {index for index, _, _ in _belly_observations(site)}
    for index, seen, distance in site.seen():
        if seen.kind in _NO_FLAG or index in bellies:
            continue
        end = None if seen.running_to is None else site.from_tap(seen.running_to)
        low = distance if end is None else min(distance, end)
        high = None if end is None else max(distance, end)
        yield Flag(low, seen.kind.value, seen_text(seen, system), high, index)
    for distance in site.lateral.foreign_pipes:
        yield Flag(distance, Kind.FOREIGN_PIPE.value, "foreign pipe")


def _bends(site: Site) -> Iterator[Bend]:
    """Bends of the survey; they turn in plan as long as no record says they rise."""
    for index, seen, distance in site.seen(Kind.BEND):
        if seen.measure is None:
            yield Bend(distance, 0.0, in_plan=True, text="bend, angle not read", row=index)
        else:
            text = f"bend {_trimmed(seen.measure, 'angle', UnitSystem.SI)}"
            yield Bend(distance, seen.measure, in_plan=True, text=text, row=index)


def _branches(site: Site) -> Iterator[Branch]:
    for index, seen, distance in site.seen(Kind.BRANCH):
        size = seen.measure if seen.measure_kind == "diameter" else None
        yield Branch(distance, "branch", size, index)
    at = [distance for _, _, distance in site.seen(Kind.BRANCH)]
    for branch in site.lateral.branches:
        if not any(abs(branch.distance - other) < 0.3 for other in at):
            live = {True: "live branch", False: "dead branch", None: "branch"}[branch.live]
            yield Branch(branch.distance, live)


def _belly_observations(site: Site) -> Iterator[tuple[int, Observation, float]]:
    """Standing water that runs along the pipe."""
    for index, seen, distance in site.seen(Kind.WATER_LEVEL):
        if seen.running_to is not None and seen.measure:
            yield index, seen, distance


def _bellies(site: Site) -> Iterator[Belly]:
    diameter = site.diameter or SIZE_NOT_KNOWN
    for _, seen, distance in _belly_observations(site):
        end = site.from_tap(seen.running_to or 0.0)
        share = seen.measure if seen.measure_kind == "share" else None
        depth = share * diameter if share is not None else None
        yield Belly(min(distance, end), max(distance, end), depth)


def _stations(plan: WorkSheet) -> Iterator[Station]:
    """The station that governs the wall, where the plan gives its distance."""
    at = _value(plan, "wall.station")
    if at is not None:
        yield Station(at, "wall governs", governing=True)
