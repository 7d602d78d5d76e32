"""What stands between the inputs of a wall and its result, so that it can be followed by hand.

Every intermediate value of ASTM F1216, Appendix X1, with its formula in the standard's symbols,
and the formula of each clause.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from drainwright.engineering.wall import ovality_factor
from drainwright.engineering.wall_design import MINIMUM, WITHOUT_WATER, WallCase, soil_load
from drainwright.engineering.wall_soil import EDITIONS
from drainwright.planning.figures import figure, given
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite

_FORMULAS = {
    "X1.1": "t = D / (1 + [2 K E_L C / ((1 − ν²) N P)]^(1/3))",
    "X1.2": "t = D / DR, DR the larger root of 1.5 q (1 + q) DR² − 0.5 (1 + q) DR = S / (N P)",
    "X1.3": "t = 0.721 D [(N q_t)² / (E_L R_w B′ C E′_s)]^(1/3)",
    "X1.4": "t = D [12 (least E I / D³) / E]^(1/3), E short-term, I = t³/12",
    WITHOUT_WATER: "t = D / largest D/t",
    MINIMUM: "as the specification says",
}
_BEFORE_07B = "t = 0.721 D [(N q_t / C)² / (E_L R_w B′ E′_s)]^(1/3)"


def clause_formula(clause: str, case: WallCase) -> str:
    """The wall by one clause as a formula, with the limit it takes from the specification."""
    if clause == "X1.3" and case.edition != EDITIONS[0]:
        return _BEFORE_07B
    if clause in ("X1.1", "X1.2") and case.water_pressure <= 0:
        return "P = 0: no water above the invert, so the clause asks for no wall"
    formula = _FORMULAS[clause]
    if clause == "X1.1":
        return f"{formula}; ν = {case.liner.poisson_ratio:g}"
    if clause == WITHOUT_WATER:
        return f"{formula} = {case.limits.ratio_without_water_most:g}"
    return formula


def wall_term_figures(case: WallCase) -> Iterator[Figure]:
    """Every intermediate value of one place's wall, in the order a hand takes them."""
    edition = cite("astm-f1216", case.edition)
    liner = case.liner
    yield figure(
        "wall.term_long_term_modulus",
        "long-term modulus E_L",
        liner.long_term_modulus,
        "modulus",
        edition,
        how="retention × E",
    )
    yield figure(
        "wall.term_ovality",
        "ovality factor C",
        float(ovality_factor(case.ovality)),
        "number",
        edition,
        given("ovality q", case.ovality, "share"),
        how="C = [(1 − q) / (1 + q)²]³",
    )
    yield figure(
        "wall.term_water_pressure",
        "water pressure P",
        case.water_pressure,
        "pressure",
        edition,
        given("water above invert", case.water_above_invert, "length"),
        how="unit weight of water × water above the invert (0.433 psi/ft = 9.795 kPa/m)",
    )
    yield figure(
        "wall.term_stiffness_least",
        "least stiffness E I / D³",
        case.limits.stiffness_least,
        "pressure",
        edition,
        how="limit of the specification, for X1.4",
    )
    yield from _soil_terms(case)


def _soil_terms(case: WallCase) -> Iterator[Figure]:
    """The terms of X1.3; none for a host that still carries the soil."""
    load, soil = soil_load(case), case.ground
    if load is None or soil is None:
        return
    edition = cite("astm-f1216", case.edition)
    above = max(case.water_above_crown, 0.0)
    cover = given("cover H", soil.cover, "length")
    water = given("water above crown H_w", above, "length")
    yield figure(
        "wall.term_water_above_crown",
        "water above crown H_w",
        above,
        "length",
        edition,
        given("water above invert", case.water_above_invert, "length"),
        how="water above the invert − D, not below zero",
    )
    yield figure(
        "wall.term_buoyancy",
        "buoyancy factor R_w",
        float(np.asarray(load.buoyancy_factor)),
        "number",
        edition,
        water,
        cover,
        how="R_w = 1 − 0.33 H_w / H, at least 0.67",
    )
    yield figure(
        "wall.term_support",
        "elastic support B′",
        float(np.asarray(load.elastic_support)),
        "number",
        edition,
        cover,
        how="B′ = 1 / (1 + 4 e^(−0.065 H)), H in ft (−0.2133 H in m)",
    )
    yield figure(
        "wall.term_external_pressure",
        "total external pressure q_t",
        float(np.asarray(load.external_pressure)),
        "pressure",
        edition,
        water,
        cover,
        given("soil weight w", soil.soil_weight, "unit_weight"),
        given("live load W_s", soil.live_load, "pressure"),
        how="q_t = 0.433 H_w + w H R_w / 144 + W_s in psi, ft and lb/ft³; "
        "q_t = 9.795 H_w + w H R_w + W_s in kPa, m and kN/m³",
    )
