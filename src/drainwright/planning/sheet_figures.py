"""The figures of lengths, wall, collar and steam on a work sheet."""

from __future__ import annotations

from collections.abc import Sequence

from drainwright.planning.collar import CollarPlan, mouth_length
from drainwright.planning.cut_length import CutPlan, LengthPlan
from drainwright.planning.figures import figure, given, given_limit
from drainwright.planning.site import Site
from drainwright.planning.stations import ground
from drainwright.planning.wall_plan import (
    Material,
    StationWall,
    TubeChoice,
    installed_wall,
    ovality_of,
)
from drainwright.planning.wall_terms import clause_formula, wall_term_figures
from drainwright.records.lateral import FarAccess
from drainwright.records.material import Collar
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, FigureInput
from drainwright.sources import cite

_GEOMETRY = cite("geometry")
_PUBLIC = "up to the property line, at most the lined length"
MEASURED, ASSUMED, MAKER = Knowledge.MEASURED, Knowledge.ASSUMED, Knowledge.MAKER


def length_figures(site: Site, length: LengthPlan) -> list[Figure]:
    """Length of the lateral, lined length, gap to the cleanout, split at the property line."""
    source = cite("silver-lake", "6.20.410")
    inputs = [given(entry.way, entry.length, "length", MEASURED) for entry in length.measured]
    figures = [
        figure(
            "length.measured",
            "tap to cleanout",
            length.length,
            "length",
            source,
            *inputs,
            how="mean of the measurements, each from the inside face of the main",
        ),
        figure(
            "length.uncertainty",
            "give or take",
            length.uncertainty,
            "length",
            source,
            *inputs,
            how="half the difference of the measurements; with one, what two may differ by",
        ),
        figure(
            "length.lined",
            "lined length",
            length.lined,
            "length",
            _GEOMETRY,
            *inputs,
            how="tap to cleanout less the gap, or as ordered for this lateral",
        ),
    ]
    if length.gap is not None:
        how = "tap to cleanout less lined length"
        figures.append(
            figure("length.gap", "gap to the cleanout", length.gap, "length", _GEOMETRY, how=how)
        )
    line = site.lateral.property_line
    if line is not None:
        public = min(line, length.lined)
        split = given("property line", line, "length", site.knowledge("property_line"))
        figures += [
            figure(
                "length.public", "of it public", public, "length", _GEOMETRY, split, how=_PUBLIC
            ),
            figure(
                "length.private",
                "of it private",
                length.lined - public,
                "length",
                _GEOMETRY,
                split,
                how="lined length less its public part",
            ),
        ]
    return figures


def cut_figures(cut: CutPlan, length: LengthPlan) -> list[Figure]:
    """Cut length and its parts."""
    inputs = (
        given("lined length", length.lined, "length"),
        given("inside the collar seam", cut.connection, "small_length", Knowledge.MEMORY),
        given("end form", cut.end, "small_length", Knowledge.MEMORY),
        given("cutting factor", cut.factor, "number", MAKER),
        given("change of length on inversion", cut.length_change, "share", MAKER),
    )
    how = "(lined + collar seam + end form) × cutting factor / (1 + change of length)"
    return [figure("cut.length", "cut length", cut.cut, "length", _GEOMETRY, *inputs, how=how)]


def wall_figures(
    site: Site, walls: Sequence[StationWall], choice: TubeChoice | None, material: Material
) -> list[Figure]:
    """Wall required, where and by which clause; the tube's wall there."""
    worst = choice.governing if choice else max(walls, key=lambda w: w.design.wall_required)
    inputs = _wall_inputs(site, worst, material)
    edition = cite("astm-f1216", worst.case.edition)
    place = worst.station.name
    figures = [
        figure(
            "wall.required",
            "wall, needed",
            worst.design.wall_required,
            "wall",
            edition,
            *inputs,
            how=f"largest of all clauses at the governing station ({place})",
        ),
        figure("wall.governing", "governing check", worst.design.governing, "", edition),
        figure("wall.station", "governing station", worst.station.distance, "length", edition),
        figure(
            "wall.close_fit_pressure",
            "close-fit buckling, second opinion",
            worst.design.close_fit_pressure,
            "pressure",
            cite("glock-1977"),
            given("wall, needed", worst.design.wall_required, "wall"),
            given("long-term modulus E_L", worst.case.liner.long_term_modulus, "modulus"),
            given("water pressure P", worst.case.water_pressure, "pressure"),
            how="E_L / (1 − ν²) · (t/D)^2.2, ν = "
            f"{worst.case.liner.poisson_ratio:g}: at this pressure a round ring without gap "
            "buckles, no safety factor in it; to be set against P",
        ),
    ]
    figures.extend(wall_term_figures(worst.case))
    for entry in worst.design.clauses:
        key = "wall.by_" + entry.clause.lower().replace(".", "_").replace(" ", "_")
        how = clause_formula(entry.clause, worst.case)
        label = f"wall by {entry.clause}"
        figures.append(figure(key, label, entry.wall, "wall", edition, *inputs, how=how))
    if choice is None:
        return figures
    stretched = (
        given("tube wall", choice.tube.wall, "wall", MAKER),
        given("tube diameter", choice.tube.diameter, "diameter", MAKER),
        given(
            "host diameter", worst.station.diameter, "diameter", site.knowledge("inside_diameter")
        ),
    )
    return [
        figure("tube.name", "tube", choice.tube.key, "", cite("maker")),
        figure("tube.diameter", "made for", choice.tube.diameter, "diameter", cite("maker")),
        figure("tube.wall", "tube wall", choice.tube.wall, "wall", cite("maker")),
        *figures,
        figure(
            "wall.installed",
            "wall there after stretch",
            choice.installed,
            "wall",
            _GEOMETRY,
            *stretched,
            how="t · D tube / D host",
        ),
    ]


def _wall_inputs(site: Site, worst: StationWall, material: Material) -> list[FigureInput]:
    around = ground(site)
    liner, case = material.liner, worst.case
    ovality, ovality_known = ovality_of(site)
    water_known = ASSUMED if around.fixed_water is not None else around.water_knowledge
    inputs = [
        given("host diameter", case.host_diameter, "diameter", site.knowledge("inside_diameter")),
        given("ovality", ovality, "share", ovality_known),
        given("water above invert", case.water_above_invert, "length", water_known),
        given("initial modulus", liner.modulus, "modulus", material.modulus_knowledge),
        given("retention", liner.retention, "share", material.retention_knowledge),
        given("long-term strength", liner.strength, "strength", material.strength_knowledge),
        given("safety factor", case.factors.safety_factor, "number"),
        given("enhancement", case.factors.enhancement, "number"),
    ]
    if case.ground is not None:
        soil = case.ground
        inputs += [
            given("cover", soil.cover, "length", around.depth_knowledge),
            given("soil weight", soil.soil_weight, "unit_weight", ASSUMED),
            given("modulus of soil reaction", soil.soil_modulus, "modulus", ASSUMED),
            given("live load", soil.live_load, "pressure", ASSUMED),
        ]
    return inputs


def station_figures(walls: Sequence[StationWall], choice: TubeChoice) -> list[Figure]:
    """Every station: wall needed there, with depth, water and the wall the tube has there."""
    figures = []
    for number, entry in enumerate(walls, 1):
        station = entry.station
        figures.append(
            figure(
                f"stations.{number}",
                f"wall needed, {station.name}",
                entry.design.wall_required,
                "wall",
                cite("astm-f1216", entry.case.edition),
                given("at", station.distance, "length"),
                given("host diameter", station.diameter, "diameter"),
                given("invert below ground", station.depth, "length"),
                given("water above invert", station.water, "length"),
                given("tube's wall there", installed_wall(choice.tube, station.diameter), "wall"),
                how=f"{entry.design.governing} governs here",
            )
        )
    return figures


def seal_figures(site: Site, collar: Collar) -> list[Figure]:
    """Where the seals go, and that water level is written down beside "no leak"."""
    kind = collar.seal or "hydrophilic ring or sealant"
    far = "" if site.lateral.far_access is FarAccess.NONE else " and far end"
    return [
        figure(
            "seal.places",
            "seals",
            f"{kind}: collar, tap{far}; write type, lot, place, photo",
            "",
            cite("practice"),
            how="without seals water runs in the annulus; “no leak” needs that day's water level",
        )
    ]


def collar_figures(site: Site, plan: CollarPlan) -> list[Figure]:
    """The collar, the main's true bore, and the landing on each side."""
    collar = plan.collar
    figures = [
        figure("collar.name", "collar", collar.key, "", cite("maker")),
        figure("collar.length", "collar length", collar.length, "small_length", cite("maker")),
        figure("collar.bore", "main, true inside diameter", plan.bore, "diameter", _GEOMETRY),
    ]
    mouth = mouth_length(site)
    if mouth is not None:
        figures.append(
            figure(
                "collar.mouth",
                "mouth of the fitting, by geometry",
                mouth,
                "small_length",
                _GEOMETRY,
                given("lateral", site.diameter or 0.0, "diameter"),
                given("angle", site.lateral.tap_angle or 0.0, "angle"),
                how="an ellipse, D / sin(angle) along the main; the hole as measured rules",
            )
        )
    for side, landing in (("up", plan.landing_up), ("down", plan.landing_down)):
        if landing is not None and plan.hole is not None:
            figures.append(
                figure(
                    f"collar.landing_{side}",
                    f"landing {side}stream",
                    landing,
                    "small_length",
                    _GEOMETRY,
                    given("tap hole", plan.hole, "small_length", MEASURED),
                    given("collar length", collar.length, "small_length", MAKER),
                    given("seam offset", collar.seam_offset, "small_length", MAKER),
                    given_limit(site.specification.limit("position_error")),
                    how="(collar − hole)/2 ± seam offset − error of the carrier's place",
                )
            )
    return figures
