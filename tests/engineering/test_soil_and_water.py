"""Groundwater heights, soil load and close fit: geometry, sums and limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.engineering.close_fit import close_fit_pressure, contact_coefficient
from drainwright.engineering.groundwater import (
    height_above_crown,
    height_above_invert,
    pressure_head,
    water_pressure,
)
from drainwright.engineering.soil_load import buoyancy_factor, external_pressure, wheel_pressure
from drainwright.engineering.wall import Factors, Liner, pressure_water_buckling
from drainwright.errors import OutOfRangeError

pytestmark = pytest.mark.analytic


@given(st.floats(0, 100), st.floats(0.05, 3))
def test_heights_differ_by_the_diameter(water: float, diameter: float) -> None:
    crown = float(height_above_crown(water, diameter))
    assert crown == pytest.approx(water - diameter, abs=1e-12)
    assert float(height_above_invert(crown, diameter)) == pytest.approx(water, abs=1e-12)


def test_water_below_the_invert_is_no_head() -> None:
    assert float(height_above_invert(-5.0, 0.2)) == 0.0


@given(st.floats(0, 200))
def test_head_and_pressure_are_inverse(head: float) -> None:
    assert float(pressure_head(water_pressure(head))) == pytest.approx(head, abs=1e-9)


def test_the_trade_figure_is_close_to_water() -> None:
    """0.433 psi/ft against fresh water at 10 °C, 999.7 kg/m³, and standard gravity."""
    assert float(water_pressure(1.0)) == pytest.approx(999.7 * 9.80665, rel=1.5e-3)


@given(st.floats(0.5, 20), st.floats(0, 40), st.floats(1e4, 2.5e4), st.floats(0, 1e5))
def test_external_pressure_is_the_sum_of_its_parts(
    cover: float, water: float, weight: float, live: float
) -> None:
    total = float(external_pressure(cover, water, weight, live))
    soil = weight * cover * float(buoyancy_factor(cover, water))
    assert total == pytest.approx(float(water_pressure(water)) + soil + live)


def test_a_wheel_spreads_over_the_diameter() -> None:
    one, two = wheel_pressure(71_000.0, 0.04, 1.2, [0.3, 0.6])
    assert one == pytest.approx(2 * two)
    with pytest.raises(OutOfRangeError, match="impact"):
        wheel_pressure(71_000.0, 0.04, 0.5, 0.3)


@given(st.floats(15, 99))
def test_contact_coefficient_is_the_ratio_of_the_two_pressures(ratio: float) -> None:
    """Independent of the closed form: Glock over X1.1 with K = C = N = 1."""
    liner = Liner(1e9, 1.0, 1e7, 0.3)
    free = float(pressure_water_buckling(0.01, 0.01 * ratio, 0.0, liner, Factors(1, 1)))
    glock = float(close_fit_pressure(0.01, 0.01 * ratio, 1e9, 0.3))
    assert float(contact_coefficient(0.01, 0.01 * ratio)) == pytest.approx(glock / free)


def test_seven_is_glock_near_thirty() -> None:
    """K = 7 meets Glock near DR 30: below it F1216 allows more, above it less (wall.md, C)."""
    low, near, high = contact_coefficient(0.01, [0.2, 0.3, 0.5])
    assert low < 7 < high
    assert near == pytest.approx(7, rel=0.03)


def test_arrays_keep_their_shape_and_nan_is_refused() -> None:
    assert water_pressure(np.zeros((2, 3))).shape == (2, 3)
    assert water_pressure([]).shape == (0,)
    with pytest.raises(OutOfRangeError, match="head"):
        water_pressure([1.0, np.nan])
    with pytest.raises(OutOfRangeError, match="head"):
        water_pressure([1.0, -0.5])
