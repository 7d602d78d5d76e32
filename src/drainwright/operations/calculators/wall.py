"""`calc wall`: the wall of a liner by ASTM F1216, and what a given wall has to spare."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from drainwright.checks import Check, at_least, at_most
from drainwright.engineering.close_fit import LABEL
from drainwright.engineering.groundwater import height_above_invert
from drainwright.engineering.soil_load import Ground
from drainwright.engineering.wall import OVALITY_MOST, Factors, Liner, ovality_factor
from drainwright.engineering.wall_design import (
    CLAUSES,
    WITHOUT_WATER,
    WallCase,
    WallDesign,
    WallLimits,
    design_wall,
    wall_capacities,
)
from drainwright.engineering.wall_soil import EDITIONS
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Said, Topic
from drainwright.operations.calculators.pipe_inputs import (
    MOST_WATER,
    given,
    read_diameter,
    read_wall,
)
from drainwright.records.specification import Specification, default_specification
from drainwright.sources import Citation, cite

CONDITIONS = ("partially deteriorated", "fully deteriorated")
_SOIL_KEYS = ("cover", "soil_weight", "soil_modulus", "live_load")


@dataclass(frozen=True, slots=True)
class _Given:
    """The inputs: the case to design, the wall to check, soil inputs that play no part."""

    case: WallCase
    condition: str
    wall: float | None
    unused: tuple[str, ...]


def _run(inputs: Inputs) -> Answer:
    known = _read(inputs, default_specification())
    design = design_wall(known.case)
    cautions = _cautions(known, design)
    checks = _checks(known.case, known.wall) if known.wall is not None else ()
    if any(check.capacity == math.inf for check in checks):
        cautions.append("At the given wall there is no tension, so X1.2 sets no limit.")
    return Answer(
        topic="wall",
        method=f"{known.case.edition}, Appendix X1, {known.condition}",
        results=_results(known.case, design),
        checks=checks,
        cautions=tuple(cautions),
        sources=_sources(known.case),
    )


# ---------------------------------------------------------------- reading


def _read(inputs: Inputs, specification: Specification) -> _Given:
    edition = inputs.choice("method", EDITIONS, specification.wall_method)
    condition = inputs.choice("condition", CONDITIONS)
    diameter = read_diameter(inputs)
    ovality = inputs.quantity("ovality", "share", low=0.0, high=OVALITY_MOST)
    water = _read_water(inputs, diameter)
    liner = _read_liner(inputs, specification)
    factors = Factors(
        inputs.quantity(
            "safety_factor", "number", specification.value("safety_factor"), low=1.0, high=10.0
        ),
        inputs.quantity(
            "enhancement", "number", specification.value("enhancement"), low=1.0, high=20.0
        ),
    )
    fully = condition == CONDITIONS[1]
    ground = _read_ground(inputs, required=fully)
    minimum = read_wall(inputs, diameter, "minimum_wall", required=False)
    wall = read_wall(inputs, diameter, required=False)
    unused = () if fully else tuple(key for key in _SOIL_KEYS if inputs.has(key))
    inputs.close()
    limits = WallLimits(
        specification.value("stiffness_least"),
        specification.value("ratio_without_water_most"),
        given(minimum),
    )
    case = WallCase(
        diameter, ovality, water, liner, factors, limits, edition, ground if fully else None
    )
    return _Given(case, condition, given(wall), unused)


def _read_water(inputs: Inputs, diameter: float) -> float:
    """Water above the invert from the one height that was given."""
    keys = ("water_above_invert", "water_above_crown")
    above_invert, above_crown = (
        inputs.quantity(key, "length", required=False, low=0.0, high=MOST_WATER) for key in keys
    )
    if all(inputs.has(key) for key in keys):
        inputs.fault(keys[1], "is given beside water_above_invert; give one, the other follows")
    if not any(inputs.has(key) for key in keys):
        inputs.fault(keys[0], "is missing (or give water_above_crown)")
    if math.isnan(above_crown) or math.isnan(diameter):
        return above_invert
    return float(height_above_invert(above_crown, diameter))


def _read_liner(inputs: Inputs, specification: Specification) -> Liner:
    poisson = specification.value("poisson_ratio")
    return Liner(
        modulus=inputs.quantity("modulus", "modulus", low=1e6, high=1e11),
        retention=inputs.quantity("retention", "share", above=0.0, high=1.0),
        strength=inputs.quantity("strength", "strength", low=1e4, high=2e9),
        poisson_ratio=inputs.quantity("poisson_ratio", "number", poisson, low=0.0, below=0.5),
    )


def _read_ground(inputs: Inputs, *, required: bool) -> Ground:
    return Ground(
        cover=inputs.quantity("cover", "length", required=required, above=0.0, high=100.0),
        soil_weight=inputs.quantity(
            "soil_weight", "unit_weight", required=required, low=1e3, high=5e4
        ),
        soil_modulus=inputs.quantity(
            "soil_modulus", "modulus", required=required, low=1e4, high=1e9
        ),
        live_load=inputs.quantity("live_load", "pressure", required=required, low=0.0, high=1e7),
    )


# ---------------------------------------------------------------- answering


def _results(case: WallCase, design: WallDesign) -> dict[str, Result]:
    results: dict[str, Result] = {
        "ovality_factor": Quantity(
            float(ovality_factor(case.ovality)), "number", "C = ((1 − q)/(1 + q)²)³"
        ),
        "water_pressure": Quantity(
            design.water_pressure, "pressure", "P = 0.433 psi/ft × water above the invert"
        ),
        "wall_water_buckling": Quantity(design.wall_by("X1.1"), "thickness", "X1.1"),
        "wall_ovality_bending": Quantity(
            design.wall_by("X1.2"), "thickness", "X1.2, long-term strength"
        ),
    }
    if design.load is not None:
        results |= _soil_results(design)
    results |= {
        "wall_required": Quantity(design.wall_required, "thickness", "the largest of the above"),
        "governing": Said(design.governing, CLAUSES[design.governing]),
        "dimension_ratio": Quantity(design.dimension_ratio, "number", "D / wall required"),
        "close_fit_pressure": Quantity(
            design.close_fit_pressure,
            "pressure",
            f"{LABEL}: critical at the wall required, long-term modulus, no safety factor",
        ),
    }
    return results


def _soil_results(design: WallDesign) -> dict[str, Result]:
    load = design.load
    if load is None:
        return {}
    return {
        "buoyancy_factor": Quantity(
            float(np.asarray(load.buoyancy_factor)), "number", "R_w = 1 − 0.33 H_w/H, 0.67 or more"
        ),
        "elastic_support": Quantity(
            float(np.asarray(load.elastic_support)),
            "number",
            "B' = 1/(1 + 4 e^(−0.065 H)), H in ft",
        ),
        "external_pressure": Quantity(
            float(np.asarray(load.external_pressure)),
            "pressure",
            "q_t = 0.433 psi/ft × H_w + w H R_w + W_s",
        ),
        "wall_soil_buckling": Quantity(design.wall_by("X1.3"), "thickness", "X1.3"),
        "wall_stiffness": Quantity(design.wall_by("X1.4"), "thickness", "X1.4, short-term modulus"),
    }


def _checks(case: WallCase, wall: float) -> tuple[Check, ...]:
    found = []
    for entry in wall_capacities(case, wall):
        name = f"{entry.clause}: {CLAUSES[entry.clause]}"
        if entry.clause == WITHOUT_WATER:
            check = at_most(name, entry.demand, entry.capacity, entry.kind, cite("memory"))
        else:
            source = cite("astm-f1216", entry.clause) if entry.clause[0] == "X" else cite("owner")
            check = at_least(name, entry.capacity, entry.demand, entry.kind, source)
        found.append(check)
    return tuple(found)


def _cautions(known: _Given, design: WallDesign) -> list[str]:
    case = known.case
    cautions = [
        f"{key} plays no part where the host is partially deteriorated." for key in known.unused
    ]
    if case.ground is not None and case.water_above_crown < 0:
        cautions.append(
            "The water stands below the crown: no buoyancy, no water in the external pressure."
        )
    if design.governing == WITHOUT_WATER:
        most = case.limits.ratio_without_water_most
        cautions.append(
            f"No water above the invert: D/t at most {most:g} governs; from memory, check your "
            "specification."
        )
    elif design.dimension_ratio > case.limits.ratio_without_water_most:
        cautions.append(
            f"D/t comes out at {design.dimension_ratio:.0f}, above the "
            f"{case.limits.ratio_without_water_most:g} that holds for a pipe without water (from "
            "memory): take the thicker wall, or a practical minimum."
        )
    if design.dimension_ratio < 10:
        cautions.append("D/t is below 10: the clauses are made for thin rings.")
    if design.close_fit_pressure < case.factors.safety_factor * design.water_pressure:
        cautions.append(
            "Second opinion: Glock's close-fit pressure is below the safety factor times the "
            "water's pressure, though F1216 is met."
        )
    return cautions


def _sources(case: WallCase) -> tuple[Citation, ...]:
    sources = [
        cite("astm-f1216", f"equations X1.1 to X1.4 as in {case.edition.removeprefix('ASTM ')}"),
        cite("najafi", "p. 109–117"),
        cite("glock-1977"),
    ]
    if case.edition != EDITIONS[0]:
        sources += [
            cite("doherty-2008", "the change of 07b"),
            cite("memory", "form of X1.3 before 07b"),
        ]
    if case.water_above_invert <= 0:
        sources.append(cite("memory", "largest D/t without water"))
    return tuple(sources)


TOPIC = Topic("wall", "wall of a liner by ASTM F1216, Appendix X1", _run)
