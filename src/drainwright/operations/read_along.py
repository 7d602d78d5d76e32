"""What a profile tells at each distance: depth, water, wall, temperature (read)."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from drainwright.engineering.groundwater import water_pressure
from drainwright.errors import InputError, NotFoundError
from drainwright.operations.cure_view import outer_at_steam_off
from drainwright.operations.draw_lateral import draw_site
from drainwright.operations.planned_site import Behind, behind_sheet
from drainwright.operations.site_of import Gatherer
from drainwright.planning.site import Site
from drainwright.planning.stations import Station, ground, station_at
from drainwright.planning.wall_plan import installed_wall, material_of, station_walls
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem, show

PLACES = 61
NONE = "not known"


@dataclass(frozen=True, slots=True)
class Along:
    """What is told along a profile: names of the parts, and for each place its texts.

    `x` are the places on the drawing, `top` and `bottom` the heights between which they are
    pointed at.
    """

    names: tuple[str, ...]
    x: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class _Kept:
    sha256: str
    behind: Behind = field(compare=False)


def read_along(store: RecordStore, project: Project, key: str, today: dt.date) -> Along:
    """What is told along the profile of a lateral: of its plan, else of its records alone.

    `NotFoundError` where there is no such lateral or no profile can be drawn.
    """
    with store.read() as session:
        try:
            stored = session.get(project.key, WorkSheet, key)
        except NotFoundError:
            site = Gatherer(session, project.key, today).gather(key).site
            return _told(site, project.units, None)
        behind = behind_sheet(session, project.key, stored.record)
    return _of_sheet(_Kept(stored.revision.sha256, behind), project.units)


@lru_cache(maxsize=128)
def _of_sheet(kept: _Kept, system: UnitSystem) -> Along:
    return _told(kept.behind.site, system, kept)


def _told(site: Site, system: UnitSystem, kept: _Kept | None) -> Along:
    sheet = kept.behind.sheet if kept else None
    drawn = draw_site(site, system, sheet)
    if drawn.layout is None:
        raise NotFoundError(f"there is no profile of {site.lateral.key}: {drawn.why_not}")
    end, scale = drawn.layout.end, drawn.layout.distances
    places = [float(d) for d in np.linspace(0.0, end, PLACES)]
    parts = {"from the tap": [show(d, "length", system).text for d in places]}
    stations = _stations(site, places, end)
    parts |= _depths(stations, system)
    lined = sheet.figure("length.lined") if sheet and sheet.outcome is not Fitness.STOP else None
    to = lined.value if lined is not None and isinstance(lined.value, float) else -1.0
    if kept and sheet and to > 0:
        parts |= _walls(site, sheet, stations, to)
        warm = outer_at_steam_off(kept.sha256, kept.behind, places)
        if warm is not None:
            parts["outer liner at steam off"] = [
                "not lined" if math.isnan(t) else show(t, "temperature", system).text for t in warm
            ]
    rows = tuple(zip(*parts.values(), strict=True))
    x = tuple(round(scale.at(d), 1) for d in places)
    return Along(tuple(parts), x, rows, drawn.layout.ground_top, drawn.layout.bottom)


def _stations(site: Site, places: Sequence[float], end: float) -> list[Station]:
    """A station at each place; none where the bore is not known."""
    around = ground(site)
    try:
        return [station_at(site, around, d, "", end) for d in places]
    except InputError:
        return []


def _depths(stations: Sequence[Station], system: UnitSystem) -> dict[str, list[str]]:
    if not stations:
        return {}
    water = [
        f"{show(s.water, 'length', system).text}, "
        f"{show(float(water_pressure(s.water)), 'pressure', system).text}"
        if s.water > 0 else "none"
        for s in stations
    ]  # fmt: skip
    return {
        "invert below ground": [show(s.depth, "length", system).text for s in stations],
        "water above it": water,
    }


def _walls(
    site: Site, sheet: WorkSheet, stations: Sequence[Station], lined: float
) -> dict[str, list[str]]:
    """Wall needed and wall there, at each place that is lined."""
    if sheet.tube is None or sheet.resin is None:
        return {}
    inside = [s for s in stations if s.distance <= lined + 1e-9]
    try:
        walls = station_walls(site, inside, material_of(site, sheet.resin))
    except InputError:
        return {}
    system = site.project.units
    told = [
        f"{show(w.design.wall_required, 'wall', system).number} of "
        f"{show(installed_wall(sheet.tube, w.station.diameter), 'wall', system).text}"
        for w in walls
    ]
    return {"wall needed of wall there": told + ["not lined"] * (len(stations) - len(inside))}
