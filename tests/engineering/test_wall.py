"""ASTM F1216 clauses: round trips, limits, roots and monotony."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.engineering import wall, wall_soil
from drainwright.engineering.soil_load import Ground, buoyancy_factor, elastic_support
from drainwright.engineering.wall import Factors, Liner
from drainwright.engineering.wall_design import (
    MINIMUM,
    WITHOUT_WATER,
    WallCase,
    WallLimits,
    design_wall,
    wall_capacities,
)
from drainwright.engineering.wall_soil import EDITIONS, SoilLoad
from drainwright.errors import InputError, OutOfRangeError

pytestmark = pytest.mark.analytic

PSI, INCH, FOOT = 6894.757293168361, 0.0254, 0.3048
LIMITS = WallLimits(stiffness_least=0.093 * PSI, ratio_without_water_most=100.0)


def num(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False)


@st.composite
def cases(draw: st.DrawFn) -> WallCase:
    """Laterals and mains as they come, partially or fully deteriorated."""
    diameter = draw(num(0.07, 0.7))
    liner = Liner(
        draw(num(1.2e9, 1.2e10)), draw(num(0.3, 1)), draw(num(8e6, 8e7)), draw(num(0.2, 0.4))
    )
    ground = Ground(
        draw(num(0.5, 9)), draw(num(1.4e4, 2.2e4)), draw(num(1.4e6, 2e7)), draw(num(0, 3e4))
    )
    return WallCase(
        host_diameter=diameter,
        ovality=draw(num(0, 0.15)),
        water_above_invert=draw(num(0.01, 8)),
        liner=liner,
        factors=Factors(draw(num(1.5, 3)), draw(num(4, 8))),
        limits=LIMITS,
        edition=draw(st.sampled_from(EDITIONS)),
        ground=draw(st.sampled_from([ground, None])),
    )


@given(cases())
def test_every_clause_carries_exactly_its_demand_at_its_own_wall(case: WallCase) -> None:
    for entry in design_wall(case).clauses:
        if not 1e-7 < entry.wall / case.host_diameter < 0.5:
            continue  # a round pipe has no bending; an absurd one no wall
        found = {c.clause: c for c in wall_capacities(case, entry.wall)}[entry.clause]
        assert found.capacity == pytest.approx(found.demand, rel=1e-9)


@given(cases())
def test_the_required_wall_meets_every_clause_and_less_does_not(case: WallCase) -> None:
    design = design_wall(case)
    for found in wall_capacities(case, design.wall_required):
        assert found.capacity >= found.demand * (1 - 1e-9)
    thinner = {c.clause: c for c in wall_capacities(case, 0.99 * design.wall_required)}
    assert thinner[design.governing].capacity < thinner[design.governing].demand
    assert design.wall_by(design.governing) == design.wall_required
    assert design.dimension_ratio == pytest.approx(case.host_diameter / design.wall_required)


@given(cases(), num(1.01, 2))
def test_more_load_less_stiffness_and_more_ovality_never_ask_for_less(
    case: WallCase, more: float
) -> None:
    least = design_wall(case).wall_required * (1 - 1e-12)
    worse = [
        replace(case, water_above_invert=case.water_above_invert * more),
        replace(case, ovality=min(0.15, case.ovality * more)),
        replace(case, factors=replace(case.factors, enhancement=case.factors.enhancement / more)),
        replace(case, factors=replace(case.factors, safety_factor=2.0 * more)),
        replace(case, liner=replace(case.liner, modulus=case.liner.modulus / more)),
        replace(case, liner=replace(case.liner, strength=case.liner.strength / more)),
        replace(case, liner=replace(case.liner, retention=case.liner.retention / more)),
    ]
    if case.factors.safety_factor > 2.0 * more:
        worse.pop(3)
    if case.ground is not None:
        worse += [
            replace(case, ground=replace(case.ground, live_load=case.ground.live_load + 1e4)),
            replace(case, ground=replace(case.ground, soil_modulus=1.4e6)),
            replace(case, ground=replace(case.ground, soil_weight=2.3e4)),
        ]
    for other in worse:
        assert design_wall(other).wall_required >= least


@given(cases())
def test_a_fully_deteriorated_host_never_asks_for_less(case: WallCase) -> None:
    partial = design_wall(replace(case, ground=None)).wall_required
    assert design_wall(case).wall_required >= partial


@given(cases())
def test_walls_scale_with_the_pipe(case: WallCase) -> None:
    """At the same pressure every clause is a dimension ratio: t is proportional to D."""
    args = (1e4, case.ovality)
    once = wall.wall_water_buckling(case.host_diameter, *args, case.liner, case.factors)
    twice = wall.wall_water_buckling(2 * case.host_diameter, *args, case.liner, case.factors)
    assert float(twice) == pytest.approx(2 * float(once))


@given(num(0.002, 0.15), num(0.01, 30), num(500, 6000))
def test_bending_is_the_larger_root_of_the_quadratic(
    ovality: float, pressure: float, strength: float
) -> None:
    """Independent: numpy's companion-matrix roots of X1.2."""
    ours = 1.0 / float(wall.wall_ovality_bending(1.0, pressure, ovality, strength, 2.0))
    polynomial = [1.5 * ovality * (1 + ovality), -0.5 * (1 + ovality), -strength / (2 * pressure)]
    roots = np.roots(polynomial)
    assert min(roots) < 0  # so only one root is a pipe
    assert ours == pytest.approx(max(roots), rel=1e-9)


def test_a_circle_and_a_dry_pipe_have_no_bending() -> None:
    assert float(wall.wall_ovality_bending(0.2, 1e4, 0.0, 1e7, 2.0)) == 0.0
    assert float(wall.wall_ovality_bending(0.2, 0.0, 0.02, 1e7, 2.0)) == 0.0
    assert float(wall.pressure_ovality_bending(0.003, 0.2, 0.0, 1e7, 2.0)) == math.inf
    # thick enough, hoop compression takes the tension away: 1.5 q DR <= 0.5
    assert float(wall.pressure_ovality_bending(0.1, 1.0, 0.02, 1e7, 2.0)) == math.inf


def test_bending_goes_to_nothing_with_the_ovality() -> None:
    walls = wall.wall_ovality_bending(1.0, 1e4, [1e-6, 1e-4, 1e-2], 1e7, 2.0)
    assert walls[0] < 1e-5
    assert list(walls) == sorted(walls)


@given(num(0, 0.15))
def test_editions_differ_by_the_cube_root_of_the_ovality_factor(ovality: float) -> None:
    """t(07b) / t(older) = C^(1/3): reference values of the project."""
    liner = Liner(1.7e9, 0.5, 1.5e7, 0.3)
    load = SoilLoad(6e4, 0.9, 0.4, 7e6)
    new, old = (
        float(wall_soil.wall_soil_buckling(0.2, load, ovality, liner, 2.0, edition))
        for edition in EDITIONS
    )
    assert new / old == pytest.approx(float(wall.ovality_factor(ovality)) ** (1 / 3))


def test_the_printed_factor_is_a_cube_root() -> None:
    """0.721 in print is (12/32)^(1/3)."""
    assert pytest.approx(0.721, abs=5e-4) == (12 / 32) ** (1 / 3)


def test_arrays_along_stations() -> None:
    """A call on stations is the same as station by station."""
    diameters, water = np.array([0.1, 0.15, 0.15]), np.array([1e4, 2e4, 3e4])
    liner, factors = Liner(1.7e9, 0.5, 1.5e7, 0.3), Factors(2, 7)
    along = wall.wall_water_buckling(diameters, water, 0.02, liner, factors)
    one = [
        float(wall.wall_water_buckling(d, p, 0.02, liner, factors))
        for d, p in zip(diameters, water, strict=True)
    ]
    assert along.shape == (3,)
    assert list(along) == pytest.approx(one, rel=1e-14)


def base(**changes: object) -> WallCase:
    case = WallCase(
        0.2032, 0.02, 1.5, Liner(1.72e9, 0.5, 1.55e7, 0.3), Factors(2, 7), LIMITS,
        "ASTM F1216-09", Ground(3.0, 18_850.0, 6.9e6, 4e3),
    )  # fmt: skip
    return replace(case, **changes)  # type: ignore[arg-type]


def test_without_water_the_dimension_ratio_is_limited() -> None:
    """No water above the invert: DR not above 100 (reference wall.md, M)."""
    dry = base(water_above_invert=0.0, ground=None)
    design = design_wall(dry)
    assert design.governing == WITHOUT_WATER
    assert design.wall_required == pytest.approx(0.2032 / 100)
    assert design.wall_by("X1.1") == 0.0
    thin = {c.clause: c for c in wall_capacities(dry, 0.001)}[WITHOUT_WATER]
    assert thin.demand == pytest.approx(203.2)
    assert thin.capacity == 100.0
    assert design_wall(base(ground=None)).wall_by(WITHOUT_WATER) is None


def test_the_minimum_wall_governs_where_it_is_largest() -> None:
    design = design_wall(base(limits=replace(LIMITS, minimum_wall=0.005)))
    assert (design.governing, design.wall_required) == (MINIMUM, 0.005)
    assert design_wall(base(limits=replace(LIMITS, minimum_wall=1e-4))).governing != MINIMUM
    found = wall_capacities(base(limits=replace(LIMITS, minimum_wall=0.005)), 0.004)[-1]
    assert (found.clause, found.demand, found.capacity) == (MINIMUM, 0.005, 0.004)


def test_water_below_the_crown_does_not_lighten_the_soil() -> None:
    """Half-full trench: no buoyancy, no water in q_t, though X1.1 still sees it."""
    low = design_wall(base(water_above_invert=0.1))
    none = design_wall(base(water_above_invert=0.0))
    assert low.load is not None
    assert none.load is not None
    assert low.load.buoyancy_factor == 1.0
    assert low.load.external_pressure == none.load.external_pressure
    assert (low.wall_by("X1.1") or 0) > 0


def test_a_tube_too_large_folds_and_keeps_its_wall() -> None:
    assert float(wall_soil.stretched_wall(0.003, 0.1, 0.095)) == 0.003
    assert float(wall_soil.stretched_wall(0.003, 0.1, 0.12)) == pytest.approx(0.0025)


def test_limits_of_the_soil_factors() -> None:
    assert float(buoyancy_factor(2.0, 50.0)) == 0.67
    assert float(buoyancy_factor(2.0, -1.0)) == 1.0
    assert float(elastic_support(1e-9)) == pytest.approx(0.2)
    assert float(elastic_support(300.0)) == pytest.approx(1.0)


def test_no_wall_below_the_radius_is_an_error() -> None:
    soft = replace(base().liner, modulus=1e4)
    with pytest.raises(OutOfRangeError, match="no wall below the radius"):
        design_wall(base(liner=soft))


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"ovality": 0.1501}, "ovality"),
        ({"ovality": -0.01}, "ovality"),
        ({"host_diameter": 0.0}, "host_diameter"),
        ({"water_above_invert": -0.1}, "water_above_invert"),
        ({"water_above_invert": math.nan}, "water_above_invert"),
        ({"liner": Liner(0.0, 0.5, 1e7, 0.3)}, "modulus"),
        ({"liner": Liner(1e9, 1.5, 1e7, 0.3)}, "retention"),
        ({"liner": Liner(1e9, 0.5, 0.0, 0.3)}, "strength"),
        ({"liner": Liner(1e9, 0.5, 1e7, 0.5)}, "poisson_ratio"),
        ({"factors": Factors(0.9, 7)}, "safety_factor"),
        ({"factors": Factors(2, 0.5)}, "enhancement"),
        ({"ground": Ground(0.0, 2e4, 7e6, 0.0)}, "cover"),
        ({"ground": Ground(3.0, 0.0, 7e6, 0.0)}, "soil_weight"),
        ({"ground": Ground(3.0, 2e4, 0.0, 0.0)}, "soil_modulus"),
        ({"ground": Ground(3.0, 2e4, 7e6, -1.0)}, "live_load"),
        ({"edition": "ASTM F1216-99"}, "edition"),
    ],
)
def test_input_outside_the_range_is_named(changes: dict[str, object], name: str) -> None:
    with pytest.raises(InputError) as caught:
        design_wall(base(**changes))
    assert caught.value.faults[0].name == name


@pytest.mark.parametrize("given_wall", [0.0, -0.003, 0.1016, math.nan, math.inf])
def test_a_wall_that_is_none_or_fills_the_pipe(given_wall: float) -> None:
    with pytest.raises(OutOfRangeError):
        wall_capacities(base(), given_wall)
