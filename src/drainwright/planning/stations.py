"""Places along the lateral at which wall, head and pressure are checked.

Wall and water differ along a lateral, so every check is made at stations, and the worst one
governs and is named. Depths between tap and far end are interpolated.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.planning.site import Site
from drainwright.records.standing import Knowledge

MEASURED, ASSUMED = Knowledge.MEASURED, Knowledge.ASSUMED


@dataclass(frozen=True, slots=True)
class Station:
    """One place along the lined length; SI."""

    distance: float
    name: str
    diameter: float
    """Inside diameter of the host."""
    depth: float
    """Invert below ground."""
    water: float
    """Water above the invert, not below zero."""


@dataclass(frozen=True, slots=True)
class Ground:
    """Depths and water along a lateral, and how they are known."""

    tap_depth: float
    far_depth: float
    water_depth: float
    """Water below ground; for a fixed head see `fixed_water`."""
    fixed_water: float | None
    """Water above the invert where the specification fixes it."""
    depth_knowledge: Knowledge
    water_knowledge: Knowledge


def ground(site: Site) -> Ground:
    """Depths and water of the site; what is not known is assumed, and says so."""
    lateral, specification = site.lateral, site.specification
    depths = [d for d in (lateral.tap_depth, lateral.far_depth) if d is not None]
    assumed = specification.value("assumed_depth")
    tap = lateral.tap_depth if lateral.tap_depth is not None else max(depths, default=assumed)
    far = lateral.far_depth if lateral.far_depth is not None else tap - lateral.riser
    water = lateral.water_depth
    return Ground(
        tap_depth=tap,
        far_depth=far,
        water_depth=specification.value("assumed_water_depth") if water is None else water,
        fixed_water=specification.optional("water_above_invert"),
        depth_knowledge=site.knowledge("tap_depth") or (MEASURED if depths else ASSUMED),
        water_knowledge=(site.knowledge("water_depth") or (ASSUMED if water is None else MEASURED)),
    )


def depth_at(site: Site, around: Ground, distance: float, length: float) -> float:
    """Depth of the invert at a distance from the tap [m]; a riser rises at the tap itself."""
    if distance <= 0:
        return around.tap_depth
    start = around.tap_depth - site.lateral.riser
    share = min(distance / length, 1.0) if length > 0 else 0.0
    return start + (around.far_depth - start) * share


def diameter_at(site: Site, distance: float) -> float:
    """Inside diameter of the host at a distance [m]; `InputError` where it is not known."""
    for span in site.lateral.spans:
        if span.start - 1e-9 <= distance <= span.end + 1e-9:
            return span.inside_diameter
    if site.diameter is None:
        raise InputError(Fault("inside_diameter", "the lateral's inside diameter is not known"))
    return site.diameter


def plan_stations(site: Site, lined: float, length: float) -> tuple[Station, ...]:
    """Stations at the tap, at each change of size (both sides), and at the end of the liner."""
    around = ground(site)
    places = [(0.0, "tap"), (lined, "end of liner")]
    for span in site.lateral.spans:
        places += [(edge, "change of size") for edge in (span.start, span.end) if 0 < edge < lined]
    stations = [station_at(site, around, at, name, length) for at, name in sorted(set(places))]
    return tuple(stations)


def station_at(site: Site, around: Ground, at: float, name: str, length: float) -> Station:
    """Depth, water and bore at a distance `at` from the tap [m]."""
    depth = depth_at(site, around, at, length)
    fixed = around.fixed_water
    water = max(depth - around.water_depth, 0.0) if fixed is None else fixed
    sides = (max(at - 1e-6, 0.0), at + 1e-6)
    diameter = max(diameter_at(site, side) for side in sides)
    return Station(at, name, diameter, depth, water)
