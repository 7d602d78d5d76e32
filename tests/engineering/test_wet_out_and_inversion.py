"""Resin and launch: volumes by another way, balances, round trips, limits."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.engineering import inversion
from drainwright.engineering.wet_out import (
    Collar,
    Fill,
    collar_resin_mass,
    collar_resin_volume,
    roller_gap,
    split_by_weight,
    suction_points,
    tube_resin_mass,
    tube_resin_volume,
)
from drainwright.errors import OutOfRangeError

pytestmark = pytest.mark.analytic

FILL = Fill(0.87, 0.08, 1100.0)
SHEET = Collar(0.2, 0.4, 0.076, 0.003)


@given(st.floats(0.05, 1), st.floats(0.001, 0.4))
def test_the_wall_is_a_ring_between_two_circles(diameter: float, share: float) -> None:
    wall = share * diameter
    ring = math.pi / 4 * (diameter**2 - (diameter - 2 * wall) ** 2)
    ours = float(tube_resin_volume(diameter, wall, Fill(1.0, 0.0, 1000.0)))
    assert ours == pytest.approx(ring, rel=1e-9)


def test_mass_is_volume_times_density_and_grows_with_each_factor() -> None:
    volume = float(tube_resin_volume(0.1, 0.003, FILL))
    assert float(tube_resin_mass(0.1, 0.003, FILL)) == pytest.approx(1100 * volume)
    masses = tube_resin_mass([0.1, 0.1, 0.15], [0.003, 0.0045, 0.0045], FILL)
    assert np.all(np.diff(masses) > 0)
    dry = float(tube_resin_volume(0.1, 0.003, Fill(0.87, 0.0, 1100.0)))
    assert volume == pytest.approx(1.08 * dry)


def test_a_collar_without_lap_is_nearly_a_tube() -> None:
    """The sheet is cut to the bore, the tube counts its mean circle: D / (D - t) apart."""
    tube = float(tube_resin_volume(0.2, 0.003, FILL)) * 0.4
    collar = collar_resin_volume(Collar(0.2, 0.4, 0.0, 0.003), FILL)
    assert collar / tube == pytest.approx(0.2 / 0.197)


def test_the_lap_is_one_more_layer() -> None:
    plain = collar_resin_mass(Collar(0.2, 0.4, 0.0, 0.003), FILL)
    lapped = collar_resin_mass(SHEET, FILL)
    assert lapped - plain == pytest.approx(0.076 * 0.4 * 0.003 * 0.87 * 1.08 * 1100)


@given(st.floats(0, 500), st.floats(0.1, 100), st.floats(0.1, 100))
def test_parts_add_up_in_their_ratio(mass: float, a: float, b: float) -> None:
    part_a, part_b = split_by_weight(mass, a, b)
    assert part_a + part_b == pytest.approx(mass, abs=1e-12)
    assert part_a * b == pytest.approx(part_b * a, rel=1e-9, abs=1e-9)


@given(st.floats(0.1, 300))
def test_vacuum_reaches_the_end_in_steps_that_are_allowed(length: float) -> None:
    points = suction_points(length, 7.62, 22.86)
    assert points[0] <= 7.62
    assert points[-1] == length
    assert all(0 < b - a <= 22.86 + 1e-9 for a, b in pairwise(points))
    assert len(points) <= 2 + length / 22.86


def test_roller_gap_counts_coatings_only_where_there_are() -> None:
    assert float(roller_gap(0.003, 0.0, 2, 2)) == pytest.approx(0.006)
    assert float(roller_gap(0.003, 0.0004, 2, 2)) == pytest.approx(0.0068)


@pytest.mark.parametrize(
    "fill",
    [Fill(0.0, 0.08, 1100), Fill(1.01, 0.08, 1100), Fill(0.87, -0.01, 1100), Fill(0.87, 0.08, 0)],
)
def test_bad_fill(fill: Fill) -> None:
    with pytest.raises(OutOfRangeError):
        tube_resin_mass(0.1, 0.003, fill)
    with pytest.raises(OutOfRangeError):
        collar_resin_mass(SHEET, fill)


@pytest.mark.parametrize(
    "collar",
    [
        Collar(0.0, 0.4, 0.076, 0.003),
        Collar(0.2, 0.0, 0.076, 0.003),
        Collar(0.2, 0.4, -0.01, 0.003),
        Collar(0.2, 0.4, 0.7, 0.003),
        Collar(0.2, 0.4, 0.076, 0.0),
        Collar(0.2, 0.4, 0.076, 0.1),
        Collar(0.2, 0.4, math.nan, 0.003),
    ],
)
def test_bad_collar(collar: Collar) -> None:
    with pytest.raises(OutOfRangeError):
        collar_resin_volume(collar, FILL)


@given(st.floats(0, 20), st.floats(0, 5e4), st.floats(0, 5e4))
def test_the_least_pressure_holds_exactly_its_head(
    head: float, margin: float, starting: float
) -> None:
    least = float(inversion.minimum_pressure(head, margin, 0.0))
    assert float(inversion.head_limit(least, margin)) == pytest.approx(head, abs=1e-9)
    started = float(inversion.minimum_pressure(head, margin, starting))
    assert started == pytest.approx(max(least, starting))


def test_below_the_margin_no_head_is_held() -> None:
    assert float(inversion.head_limit(1e3, 2e3)) == 0.0


def test_thrust_is_pressure_times_area() -> None:
    small, large = inversion.end_thrust(5e4, [0.1, 0.2])
    assert large == pytest.approx(4 * small)
    assert small == pytest.approx(5e4 * math.pi * 0.05**2)


@given(st.floats(1, 100), st.floats(0, 1))
def test_cable_front_and_tail(length: float, share: float) -> None:
    """A cable short by s means a front short by s/2 (TRADE 8, G)."""
    front = share * length
    cable = float(inversion.cable_paid_out(front, length))
    assert float(inversion.front_position(cable, length)) == pytest.approx(front, abs=1e-9)
    short = max(0.0, cable - 0.5)
    behind = front - float(inversion.front_position(short, length))
    assert behind == pytest.approx((cable - short) / 2, abs=1e-9)
    assert float(inversion.tail_position(front, length)) == pytest.approx(
        2 * front - length, abs=1e-9
    )


def test_marks_tell_where_tail_and_front_are() -> None:
    marks = inversion.cable_marks(12.0)
    assert (marks.start, marks.half, marks.seated) == (0.0, 12.0, 24.0)
    fronts = inversion.front_position([marks.start, marks.half, marks.seated], 12.0)
    assert list(fronts) == [0.0, 6.0, 12.0]
    assert list(inversion.tail_position(fronts, 12.0)) == [-12.0, 0.0, 12.0]


@pytest.mark.parametrize("length", [0.0, -1.0, math.nan, 2000.0])
def test_a_cable_needs_a_length(length: float) -> None:
    with pytest.raises(OutOfRangeError):
        inversion.cable_marks(length)


def test_a_front_beyond_the_tube_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="front"):
        inversion.cable_paid_out(12.1, 12.0)
    with pytest.raises(OutOfRangeError, match="cable"):
        inversion.front_position(24.1, 12.0)
