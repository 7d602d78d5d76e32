"""What to make up: flow before and after, resin by weight, roller gap, suction points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least
from drainwright.engineering import wet_out
from drainwright.engineering.gravity_flow import capacity_ratio
from drainwright.planning.collar import CollarPlan
from drainwright.planning.cut_length import CutPlan
from drainwright.planning.figures import figure, given, given_limit
from drainwright.planning.site import Site
from drainwright.planning.stations import Station
from drainwright.planning.wall_plan import installed_wall
from drainwright.records.material import Resin, Tube
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, FigureInput
from drainwright.sources import cite

MAKER, MEMORY, ASSUMED = Knowledge.MAKER, Knowledge.MEMORY, Knowledge.ASSUMED
_MEMORY = cite("memory")
_RAMSEY = cite("ramsey", "wet-out")


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a sheet."""

    figures: tuple[Figure, ...]
    checks: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()


def flow_figures(site: Site, stations: Sequence[Station], tube: Tube) -> Part:
    """Capacity after over before at the tightest station, with both n."""
    specification = site.specification
    n_host = specification.value("roughness_host")
    n_liner = specification.value("roughness_liner")
    tightest = min(stations, key=lambda station: station.diameter)
    wall = installed_wall(tube, tightest.diameter)
    ratio = float(capacity_ratio(tightest.diameter, wall, n_host, n_liner))
    source = cite("najafi", "Table 2.13, 2.14")
    inputs = (
        given("host diameter", tightest.diameter, "diameter", site.knowledge("inside_diameter")),
        given("wall", wall, "wall", MAKER),
        given("n of the host", n_host, "number", ASSUMED),
        given("n of the liner", n_liner, "number", ASSUMED),
    )
    figures = (
        figure(
            "flow.ratio",
            f"flow after / before, n {n_host:.3f} / {n_liner:.3f}",
            ratio,
            "share",
            source,
            *inputs,
            how="n host / n liner · ((D − 2t)/D)^(8/3), full pipe",
        ),
    )
    least = specification.limit("capacity_ratio_least")
    if least.value is None:
        return Part(figures)
    check = at_least("flow after lining", ratio, least.value, "ratio", least.source)
    return Part(figures, (check,))


def wet_out_figures(
    site: Site, tube: Tube, resin: Resin, cut: CutPlan, collar: CollarPlan | None
) -> Part:
    """Resin by weight, its two parts, roller gap and suction points."""
    specification = site.specification
    if resin.density is None:
        caution = "The resin's density is not entered, so no resin was weighed out."
        return Part((), cautions=(caution,))
    fill = wet_out.Fill(
        tube.void_fraction or specification.value("void_fraction"),
        specification.value("excess"),
        resin.density,
    )
    computed = float(wet_out.tube_resin_mass(tube.diameter, tube.wall, fill))
    each = tube.chart_mass if tube.chart_mass is not None else computed
    collar_mass = _collar_mass(collar, fill)
    mass = each * cut.cut + collar_mass
    part_a, part_b = wet_out.split_by_weight(mass, resin.ratio_a, resin.ratio_b)
    rule = "tube maker's chart" if tube.chart_mass is not None else "π (D − t) t φ ρ (1 + x)"
    filling = (
        given(
            "void fraction", fill.void_fraction, "ratio", MAKER if tube.void_fraction else ASSUMED
        ),
        given("excess", fill.excess, "share", MEMORY),
        given("density of the mix", fill.density, "density", MAKER),
        given("tube diameter", tube.diameter, "diameter", MAKER),
        given("wall", tube.wall, "wall", MAKER),
    )
    source = cite("maker", "resin chart") if tube.chart_mass is not None else _RAMSEY
    ratio = given("ratio by weight", f"{resin.ratio_a:g} : {resin.ratio_b:g}", "", MAKER)
    total = given("resin, tube and collar", mass, "mass")
    figures = [
        figure("resin.name", "resin", resin.key, "", cite("maker")),
        figure(
            "wetout.mass_per_length",
            "resin per length of tube",
            each,
            "mass_per_length",
            source,
            *filling,
            how=rule,
        ),
        figure(
            "wetout.mass",
            "resin A + B, by weight",
            mass,
            "mass",
            source,
            given("for each length", each, "mass_per_length"),
            given("cut length", cut.cut, "length"),
            given("collar", collar_mass, "mass"),
            how="for each length × cut length + collar",
        ),
        *(
            figure(
                f"wetout.part_{letter.lower()}",
                f"{letter}, {name}, by weight",
                part,
                "mass",
                source,
                total,
                ratio,
                how=f"resin · {letter} / (A + B)",
            )
            for letter, name, part in (("A", resin.part_a, part_a), ("B", resin.part_b, part_b))
        ),
        *_rolling(site, tube, cut),
    ]
    if collar is not None and collar_mass:
        figures.insert(3, _collar_figure(collar, collar_mass, filling[:3]))
    return Part(tuple(figures))


def _collar_mass(collar: CollarPlan | None, fill: wet_out.Fill) -> float:
    if collar is None:
        return 0.0
    sheet = wet_out.Collar(collar.bore, collar.collar.length, collar.collar.lap, collar.collar.wall)
    return wet_out.collar_resin_mass(sheet, fill)


def _collar_figure(plan: CollarPlan, mass: float, filling: Sequence[FigureInput]) -> Figure:
    collar = plan.collar
    return figure(
        "wetout.collar_mass",
        "of it for the collar, by hand",
        mass,
        "mass",
        _RAMSEY,
        given("main, true inside diameter", plan.bore, "diameter"),
        given("lap", collar.lap, "small_length", MAKER),
        given("collar length", collar.length, "small_length", MAKER),
        given("collar wall", collar.wall, "wall", MAKER),
        *filling,
        how="(π D + lap) · length · wall · φ ρ (1 + x)",
    )


def _rolling(site: Site, tube: Tube, cut: CutPlan) -> list[Figure]:
    specification = site.specification
    coating = tube.coating if tube.coating is not None else specification.value("coating")
    factor, count = specification.value("gap_factor"), specification.value("coatings")
    computed = float(wet_out.roller_gap(tube.wall, coating, factor, count))
    by_maker = tube.chart_gap is not None
    gap = tube.chart_gap if tube.chart_gap is not None else computed
    points = wet_out.suction_points(
        cut.cut, specification.value("suction_first"), specification.value("suction_next")
    )
    knowledge = MEMORY if tube.coating is None else MAKER
    return [
        figure(
            "wetout.roller_gap",
            "roller gap",
            gap,
            "wall",
            cite("maker", "roller chart") if by_maker else _MEMORY,
            given("wall", tube.wall, "wall", MAKER),
            given("one coating", coating, "wall", knowledge),
            how="tube maker's chart" if by_maker else f"{factor:g} × wall + {count:g} × coating",
        ),
        figure(
            "wetout.suction_first",
            "first suction point, from the resin end",
            points[0],
            "length",
            cite("ramsey"),
            how="then ahead of the resin front, no farther than the specification allows",
        ),
        figure(
            "wetout.suction_points",
            "suction points",
            float(len(points)),
            "count",
            cite("ramsey"),
            given("cut length", cut.cut, "length"),
            given_limit(specification.limit("suction_first")),
            given_limit(specification.limit("suction_next")),
            how="one within the first distance of the resin, one at each next one, one at the end",
        ),
    ]
