"""Why a tube does not do in a lateral, in words: wall at each station, bores, steps, bends."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.errors import InputError
from drainwright.planning.cut_length import plan_length
from drainwright.planning.site import Site
from drainwright.planning.stations import plan_stations
from drainwright.planning.wall_plan import (
    StationWall,
    installed_wall,
    material_of,
    station_walls,
)
from drainwright.records.material import Resin, Tube
from drainwright.records.survey import ObservationKind
from drainwright.units import UnitSystem, show


def tube_words(site: Site, tube: Tube, resin: Resin, system: UnitSystem) -> tuple[str, ...]:
    """Everything that keeps a tube out of this lateral; empty where it does."""
    try:
        length = plan_length(site)
        stations = plan_stations(site, length.lined, length.length)
        walls = station_walls(site, stations, material_of(site, resin))
    except InputError as error:
        return tuple(f"{fault.message[:1].upper()}{fault.message[1:]}." for fault in error.faults)
    return tuple(
        f"Tube {tube.key}: {words}."
        for words in (
            *_thin(tube, walls, system),
            *_bores(tube, walls, system),
            *_bends(site, tube),
        )
    )


def _thin(tube: Tube, walls: tuple[StationWall, ...], system: UnitSystem) -> Iterator[str]:
    """Where its wall is less than the design needs."""
    for entry in walls:
        there, needed = installed_wall(tube, entry.station.diameter), entry.design.wall_required
        if there < needed * (1 - 1e-12):
            at = show(entry.station.distance, "length", system).text
            yield (
                f"its wall is {show(there, 'wall', system).text} at {entry.station.name}, {at}; "
                f"{show(needed, 'wall', system).text} needed by {entry.design.governing}"
            )


def _bores(tube: Tube, walls: tuple[StationWall, ...], system: UnitSystem) -> Iterator[str]:
    """Where the host is outside what its maker allows."""
    bores = [entry.station.diameter for entry in walls]
    largest = tube.largest_host or tube.diameter * 1.05
    smallest = tube.smallest_host or tube.diameter * 0.95
    if max(bores) > largest + 1e-9:
        host, most = (show(v, "diameter", system).text for v in (max(bores), largest))
        yield f"the host is {host} wide, its maker allows {most}"
    if min(bores) < smallest - 1e-9:
        host, least = (show(v, "diameter", system).text for v in (min(bores), smallest))
        yield f"the host is {host} narrow, its maker asks for {least}"
    if len({round(bore, 4) for bore in bores}) - 1 > tube.size_steps:
        yield "the host changes size more often than it can follow"


def _bends(site: Site, tube: Tube) -> Iterator[str]:
    """Bends sharper than it passes."""
    sharpest = max(
        (seen.measure or 0.0 for _, seen, _ in site.seen(ObservationKind.BEND)), default=0
    )
    if tube.largest_bend is not None and sharpest > tube.largest_bend + 1e-6:
        has, passes = (show(v, "angle", UnitSystem.SI).text for v in (sharpest, tube.largest_bend))
        yield f"a bend of {has} is sharper than the {passes} it passes"
