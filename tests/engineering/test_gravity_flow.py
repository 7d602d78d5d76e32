"""Manning in a circle: against `fluids`, scipy's roots and closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.geometry import V_horiz_conical
from fluids.open_flow import V_Manning
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from drainwright.engineering.fixture_flow import fixture_flow
from drainwright.engineering.gravity_flow import (
    area_ratio,
    capacity_ratio,
    depth_of_greatest_flow,
    flow_ratio,
    full_flow,
    full_velocity,
    hydraulic_radius_ratio,
    lined_diameter,
    normal_depth,
    velocity_ratio,
    wetted_angle,
)
from drainwright.errors import InputError, OutOfRangeError

DEPTHS = [0.01, 0.1, 0.3, 0.5, 0.7, 0.93, 0.99]


@pytest.mark.independent
@pytest.mark.parametrize("depth", DEPTHS)
def test_area_against_fluids(depth: float) -> None:
    """Volume of a lying cylinder without heads, 1 m long: fluids."""
    theirs = V_horiz_conical(D=1.0, L=1.0, a=0.0, h=depth)
    assert float(area_ratio(depth)) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.independent
@pytest.mark.parametrize("depth", DEPTHS)
def test_velocity_against_fluids(depth: float) -> None:
    diameter, n, slope = 0.15, 0.012, 0.015
    radius = float(hydraulic_radius_ratio(depth)) * diameter
    ours = float(full_velocity(diameter, n, slope) * velocity_ratio(depth))
    assert ours == pytest.approx(V_Manning(Rh=radius, S=slope, n=n), rel=1e-12)


@pytest.mark.independent
def test_us_form_of_manning() -> None:
    """Q = (1.486/n) A R^(2/3) S^(1/2) in feet and seconds (reference flow.md)."""
    diameter = 4 / 12
    area = math.pi * diameter**2 / 4
    us = 1.486 / 0.013 * area * (diameter / 4) ** (2 / 3) * math.sqrt(0.02)
    assert float(full_flow(4 * 0.0254, 0.013, 0.02)) / 0.3048**3 == pytest.approx(us, rel=1e-4)


@pytest.mark.independent
@pytest.mark.parametrize("share", [1e-9, 1e-4, 0.05, 0.5, 0.9, 1.0, 1.05, 1.0756])
def test_depth_against_a_root_finder(share: float) -> None:
    """The lower root: scipy's brentq below the depth of greatest flow."""
    theirs = brentq(
        lambda y: float(flow_ratio(y)) - share, 0.0, 0.9381, xtol=1e-15, rtol=1e-14, maxiter=300
    )
    assert float(normal_depth(share)) == pytest.approx(float(theirs), rel=1e-7)


@pytest.mark.independent
def test_depth_of_greatest_flow_against_a_minimizer() -> None:
    found = minimize_scalar(
        lambda y: -float(flow_ratio(y)), bounds=(0.5, 1), method="bounded", options={"xatol": 1e-10}
    )
    assert depth_of_greatest_flow() == pytest.approx(float(found.x), abs=1e-6)


@pytest.mark.analytic
@given(st.floats(1e-6, 0.93))
def test_depth_and_flow_are_inverse(depth: float) -> None:
    assert float(normal_depth(flow_ratio(depth))) == pytest.approx(depth, rel=1e-7)


@pytest.mark.analytic
@given(st.floats(1.0, 1.0757))
def test_of_two_depths_the_lower(share: float) -> None:
    depth = float(normal_depth(share))
    assert 0.81 < depth <= depth_of_greatest_flow() + 1e-6


@pytest.mark.analytic
def test_above_the_greatest_flow_there_is_no_depth() -> None:
    assert math.isnan(float(normal_depth(1.0758)))
    mixed = normal_depth([0.5, 1.2, 0.0])
    assert mixed[0] == pytest.approx(0.5)
    assert math.isnan(mixed[1])
    assert mixed[2] == pytest.approx(0, abs=1e-12)


@pytest.mark.analytic
def test_full_and_half_full() -> None:
    assert float(area_ratio(1.0)) == pytest.approx(math.pi / 4)
    assert float(hydraulic_radius_ratio([0.5, 1.0])[0]) == pytest.approx(0.25)
    assert float(flow_ratio(1.0)) == pytest.approx(1.0)
    assert float(velocity_ratio(1.0)) == pytest.approx(1.0)
    assert float(flow_ratio(0.0)) == 0.0
    assert float(wetted_angle(1.0)) == pytest.approx(2 * math.pi)


@pytest.mark.analytic
@given(st.floats(0, 1))
def test_the_two_halves_of_a_circle_add_up(depth: float) -> None:
    both = float(area_ratio(depth)) + float(area_ratio(1 - depth))
    assert both == pytest.approx(math.pi / 4, abs=1e-9)


@pytest.mark.analytic
@given(st.floats(0.05, 2), st.floats(0, 0.2), st.floats(0.009, 0.03), st.floats(0.009, 0.03))
def test_capacity_ratio_is_the_ratio_of_capacities(
    diameter: float, share: float, before: float, after: float
) -> None:
    wall = share * diameter
    slope = 0.01
    lined = full_flow(lined_diameter(diameter, wall), after, slope)
    expected = float(lined / full_flow(diameter, before, slope))
    assert float(capacity_ratio(diameter, wall, before, after)) == pytest.approx(expected)


@pytest.mark.analytic
def test_a_rougher_or_thicker_liner_carries_less() -> None:
    walls = capacity_ratio(0.1, np.linspace(0, 0.02, 9), 0.013, 0.010)
    rough = capacity_ratio(0.1, 0.003, 0.013, np.linspace(0.009, 0.02, 9))
    assert np.all(np.diff(walls) < 0)
    assert np.all(np.diff(rough) < 0)
    assert walls[0] == pytest.approx(1.3)


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("diameter", "wall"), [(0.0, 0.003), (0.1, 0.05), (0.1, -0.001), (math.nan, 0.003)]
)
def test_no_bore_left(diameter: float, wall: float) -> None:
    with pytest.raises(OutOfRangeError):
        lined_diameter(diameter, wall)


@pytest.mark.analytic
@pytest.mark.parametrize(("n", "slope"), [(0.0, 0.01), (0.2, 0.01), (0.013, 0.0), (0.013, 1.1)])
def test_roughness_and_slope_out_of_range(n: float, slope: float) -> None:
    with pytest.raises(OutOfRangeError):
        full_flow(0.1, n, slope)


@pytest.mark.analytic
@given(st.floats(6, 999))
def test_peak_flow_rises_with_fixture_units(units: float) -> None:
    for supply in ("tank", "flush valve"):
        low, high = fixture_flow([units, units + 1], supply)
        assert low < high
    assert float(fixture_flow(units, "tank")) <= float(fixture_flow(units, "flush valve"))


@pytest.mark.analytic
def test_fixture_units_outside_the_table() -> None:
    for units, supply in ((2.9, "tank"), (1001, "tank"), (5.9, "flush valve")):
        with pytest.raises(OutOfRangeError, match="fixture_units"):
            fixture_flow(units, supply)
    with pytest.raises(InputError, match="supply"):
        fixture_flow(10, "pump")
