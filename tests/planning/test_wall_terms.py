"""The intermediate values of a wall, against a published design and by hand."""

from __future__ import annotations

import math

import pytest

from drainwright.engineering.soil_load import Ground
from drainwright.engineering.wall import Factors, Liner
from drainwright.engineering.wall_design import CLAUSES, WallCase, WallLimits, design_wall
from drainwright.engineering.wall_soil import EDITIONS
from drainwright.planning.wall_terms import clause_formula, wall_term_figures
from drainwright.records.work_sheet import Figure

INCH, FOOT, PSI = 0.0254, 0.3048, 6894.757293168361
POUND_PER_CUBIC_FOOT = 157.08746384624618

# Najafi, Trenchless Technology Piping, sec. 2.7, p. 109-114, second-hand (S2): 48 in sewer
NAJAFI = WallCase(
    host_diameter=48 * INCH,
    ovality=0.02,
    water_above_invert=12 * FOOT,
    liner=Liner(250_000 * PSI, 0.5, 2250 * PSI, 0.3),
    factors=Factors(2, 7),
    limits=WallLimits(0.093 * PSI, 100),
    edition="ASTM F1216-09",
    ground=Ground(16 * FOOT, 120 * POUND_PER_CUBIC_FOOT, 1000 * PSI, 0.3507 * PSI),
)


def terms(case: WallCase) -> dict[str, float]:
    return {f.key.removeprefix("wall.term_"): float(f.value) for f in wall_term_figures(case)}


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "printed", "tolerance", "scale"),
    [
        ("buoyancy", 0.835, 0.0005, 1.0),  # S2
        ("support", 0.414, 0.0005, 1.0),  # S2
        ("ovality", 0.836, 0.0005, 1.0),  # S2
        ("water_pressure", 5.20, 0.005, PSI),  # S2
        ("water_above_crown", 8.0, 0.001, FOOT),  # S2
    ],
)
def test_the_published_design(name: str, printed: float, tolerance: float, scale: float) -> None:
    assert terms(NAJAFI)[name] / scale == pytest.approx(printed, abs=tolerance)


@pytest.mark.analytic
def test_the_total_external_pressure_by_hand() -> None:
    # 0.433 x 8 + 120 x 16 x 0.835 / 144 + 0.3507 = 3.464 + 11.1333 + 0.3507 = 14.948 psi
    assert terms(NAJAFI)["external_pressure"] / PSI == pytest.approx(14.948, abs=0.003)


@pytest.mark.independent
def test_the_walls_follow_from_the_terms_by_the_formulas_shown() -> None:
    """The formulas of `clause_formula`, typed in again from the terms, give the design's walls."""
    design, known = design_wall(NAJAFI), terms(NAJAFI)
    diameter, long_term, c = NAJAFI.host_diameter, known["long_term_modulus"], known["ovality"]
    p, q, s, n = known["water_pressure"], 0.02, 2250 * PSI, 2.0
    ring = 2 * 7 * long_term * c / ((1 - 0.3**2) * n * p)
    a, b = 1.5 * q * (1 + q), 0.5 * (1 + q)
    root = (b + math.sqrt(b**2 + 4 * a * s / (n * p))) / (2 * a)
    soil = long_term * known["buoyancy"] * known["support"] * c * 1000 * PSI
    expected = {
        "X1.1": diameter / (1 + ring ** (1 / 3)),
        "X1.2": diameter / root,
        "X1.3": 0.721 * diameter * ((n * known["external_pressure"]) ** 2 / soil) ** (1 / 3),
        "X1.4": diameter * (12 * known["stiffness_least"] / (250_000 * PSI)) ** (1 / 3),
    }
    for clause, wall in expected.items():
        assert design.wall_by(clause) == pytest.approx(wall, rel=2e-4), clause


def test_every_clause_has_its_formula_and_each_edition_its_own() -> None:
    assert all(clause_formula(clause, NAJAFI) for clause in CLAUSES)
    older = WallCase(
        **{name: getattr(NAJAFI, name) for name in NAJAFI.__slots__ if name != "edition"},
        edition=EDITIONS[1],
    )
    assert clause_formula("X1.3", older) != clause_formula("X1.3", NAJAFI)
    assert clause_formula("X1.1", NAJAFI).endswith("ν = 0.3")


def test_a_host_that_carries_the_soil_has_no_soil_terms() -> None:
    bare = WallCase(
        **{name: getattr(NAJAFI, name) for name in NAJAFI.__slots__ if name != "ground"},
        ground=None,
    )
    figures: list[Figure] = list(wall_term_figures(bare))
    assert {f.key for f in figures} == {
        "wall.term_long_term_modulus",
        "wall.term_ovality",
        "wall.term_water_pressure",
        "wall.term_stiffness_least",
    }
