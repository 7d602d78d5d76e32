"""The wall at every station, and the thinnest tube that has it everywhere.

A tube is stretched in a host wider than itself: its wall there is t · D_tube / D_host.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least, at_most
from drainwright.engineering.soil_load import Ground as SoilGround
from drainwright.engineering.wall import Factors, Liner
from drainwright.engineering.wall_design import (
    CLAUSES,
    WallCase,
    WallDesign,
    WallLimits,
    design_wall,
    wall_capacities,
)
from drainwright.engineering.wall_soil import stretched_wall
from drainwright.planning.site import Site
from drainwright.planning.stations import Station
from drainwright.records.material import Resin, Tube
from drainwright.records.standing import Knowledge
from drainwright.records.survey import ObservationKind
from drainwright.sources import cite

_LEAST_COVER = 0.01
"""A crown at the surface [m]: the soil formulas need some cover."""


@dataclass(frozen=True, slots=True)
class Material:
    """Liner material for the design, and how each property is known."""

    liner: Liner
    modulus_knowledge: Knowledge
    strength_knowledge: Knowledge
    retention_knowledge: Knowledge


@dataclass(frozen=True, slots=True)
class StationWall:
    """The design at one station."""

    station: Station
    case: WallCase
    design: WallDesign


@dataclass(frozen=True, slots=True)
class TubeChoice:
    """One tube in this lateral: the wall it has at the station where it has least to spare."""

    tube: Tube
    installed: float
    governing: StationWall
    enough: bool


def material_of(site: Site, resin: Resin) -> Material:
    """Design properties: the resin maker's, else the specification's least values."""
    specification = site.specification
    modulus = resin.modulus or specification.value("modulus_least")
    strength = resin.strength or specification.value("strength_least")
    retention = resin.retention or specification.value("retention")
    long_term = resin.long_term_strength or retention * strength
    liner = Liner(modulus, retention, long_term, specification.value("poisson_ratio"))

    def known(name: str, value: object) -> Knowledge:
        standing = resin.standing.get(name)
        if value is None:
            return Knowledge.ASSUMED
        return standing.knowledge if standing else Knowledge.MAKER

    return Material(
        liner,
        known("modulus", resin.modulus),
        known("long_term_strength", resin.long_term_strength or resin.strength),
        known("retention", resin.retention),
    )


def ovality_of(site: Site) -> tuple[float, Knowledge]:
    """Ovality for the design: the lateral's own, the camera's worst, or the specification's."""
    if site.lateral.ovality is not None:
        return site.lateral.ovality, site.knowledge("ovality") or Knowledge.MEASURED
    seen = [
        o.measure
        for _, o, _ in site.seen(ObservationKind.DEFORMATION)
        if o.measure is not None and o.measure_kind == "share"
    ]
    assumed = site.specification.value("ovality")
    if seen and max(seen) > assumed:
        return max(seen), Knowledge.MEASURED
    return assumed, Knowledge.ASSUMED


def station_walls(
    site: Site, stations: Sequence[Station], material: Material
) -> tuple[StationWall, ...]:
    """The wall required at each station; `OutOfRangeError` where no wall carries the loads."""
    return tuple(
        StationWall(station, case, design_wall(case))
        for station in stations
        for case in [wall_case(site, station, material)]
    )


def wall_case(site: Site, station: Station, material: Material) -> WallCase:
    """What the liner is to carry at one station."""
    specification = site.specification
    fixed = specification.optional("cover")
    cover = station.depth - station.diameter if fixed is None else fixed
    soil = SoilGround(
        max(cover, _LEAST_COVER),
        specification.value("soil_weight"),
        specification.value("soil_modulus"),
        specification.value("live_load"),
    )
    return WallCase(
        host_diameter=station.diameter,
        ovality=ovality_of(site)[0],
        water_above_invert=station.water,
        liner=material.liner,
        factors=Factors(specification.value("safety_factor"), specification.value("enhancement")),
        limits=WallLimits(
            specification.value("stiffness_least"),
            specification.value("ratio_without_water_most"),
            specification.optional("minimum_wall"),
        ),
        edition=specification.wall_method,
        ground=soil if specification.condition == "fully deteriorated" else None,
    )


def try_tube(tube: Tube, walls: Sequence[StationWall]) -> TubeChoice:
    """How a tube does at the station where it has least to spare."""

    def spare(entry: StationWall) -> float:
        return installed_wall(tube, entry.station.diameter) / entry.design.wall_required

    worst = min(walls, key=spare)
    return TubeChoice(
        tube, installed_wall(tube, worst.station.diameter), worst, spare(worst) >= 1 - 1e-12
    )


def installed_wall(tube: Tube, host_diameter: float) -> float:
    """Wall of a tube in a host of another bore [m]; a fold in a smaller one adds nothing."""
    return float(stretched_wall(tube.wall, tube.diameter, host_diameter))


def suits(site: Site, tube: Tube, walls: Sequence[StationWall]) -> bool:
    """Whether the maker's letter lets the tube into these bores, steps and bends."""
    bores = [entry.station.diameter for entry in walls]
    largest = tube.largest_host or tube.diameter * 1.05
    smallest = tube.smallest_host or tube.diameter * 0.95
    fits = smallest - 1e-9 <= min(bores) and max(bores) <= largest + 1e-9
    steps = len({round(bore, 4) for bore in bores}) - 1
    bends = [o.measure or 0.0 for _, o, _ in site.seen(ObservationKind.BEND)]
    passes = tube.largest_bend is None or max(bends, default=0.0) <= tube.largest_bend + 1e-6
    return fits and steps <= tube.size_steps and passes


def choose_tube(
    site: Site, tubes: Sequence[Tube], walls: Sequence[StationWall]
) -> TubeChoice | None:
    """The thinnest suitable tube with enough wall at every station; None if there is none."""
    choices = [try_tube(tube, walls) for tube in tubes if suits(site, tube, walls)]
    enough = [choice for choice in choices if choice.enough]
    return min(enough, key=lambda c: (c.tube.wall, c.tube.key), default=None)


def tube_checks(choice: TubeChoice) -> tuple[Check, ...]:
    """Every clause with its safety ratio at the tube's governing station."""
    case = choice.governing.case
    source = cite("astm-f1216", case.edition)
    found = []
    for entry in wall_capacities(case, choice.installed):
        name = f"{entry.clause}, {CLAUSES[entry.clause]}"
        make = at_most if entry.kind == "number" else at_least
        pair = (entry.demand, entry.capacity)
        first, second = pair if entry.kind == "number" else (entry.capacity, entry.demand)
        if second in (float("inf"), 0.0) or first == float("inf"):
            continue  # the clause sets no limit here
        found.append(make(name, first, second, entry.kind, source))
    return tuple(found)
