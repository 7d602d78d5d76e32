"""Working life of a resin."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from drainwright.engineering.resin_life import (
    GelLaw,
    Phase,
    gel_law,
    gel_time,
    life_used,
    longest_phase,
    resin_temperature,
)
from drainwright.errors import InputError, OutOfRangeError

LAW = GelLaw(293.15, 3000.0, 50e3, 50e3)
ICE, AIR = Phase(3600.0, 275.0, 1200.0), Phase(900.0, 300.0, 1800.0)


@pytest.mark.published
def test_two_gel_times_of_the_trade_press() -> None:
    # gel 45 min at 52 °C, 7 h at 13 °C: 44.3 kJ/mol (reference/cure.md, S2 trade)
    law = gel_law([325.15, 286.15], [2700.0, 25200.0], 40e3, 60e3)
    assert law.energy_colder / 1e3 == pytest.approx(44.3, abs=0.05)
    assert gel_time([325.15, 286.15], law) == pytest.approx([2700.0, 25200.0])


@pytest.mark.published
@pytest.mark.parametrize(("low", "high", "energy"), [(15, 25, 49.51), (35, 45, 56.50)])
def test_halving_per_ten_degrees(low: float, high: float, energy: float) -> None:
    # doubling per 10 °C (S, two resin makers' notes); the energies are mark C
    law = gel_law([low + 273.15, high + 273.15], [2.0, 1.0], 40e3, 60e3)
    assert law.energy_colder / 1e3 == pytest.approx(energy, abs=0.005)


def test_one_point_is_taken_on_the_safe_side() -> None:
    safe = gel_law([298.15], [3600.0], 44e3, 57e3)
    both = [gel_law([298.15, 298.15 + d], [3600.0, 3600.0 * f], 1e3, 3e5) for d, f in ((10, 0.5),)]
    assert gel_time(278.15, safe) < gel_time(278.15, both[0])
    assert gel_time(318.15, safe) < gel_time(318.15, gel_law([298.15], [3600.0], 44e3, 50e3))


def test_several_points_are_fitted_by_least_squares() -> None:
    T = np.array([283.15, 293.15, 303.15, 313.15])
    t = np.asarray(gel_time(T, LAW)) * np.array([1.05, 0.95, 1.05, 0.95])
    law = gel_law(T.tolist(), t.tolist(), 44e3, 57e3)
    slope, _ = np.polyfit(1 / T, np.log(t), 1)
    assert law.energy_colder == pytest.approx(slope * 8.314462618)


@pytest.mark.analytic
def test_constant_temperature_uses_life_evenly() -> None:
    used = life_used(293.15, [Phase(600.0, 293.15, 1.0), Phase(900.0, 293.15, 1.0)], LAW)
    assert used == pytest.approx([0.2, 0.5])


@pytest.mark.independent
def test_against_general_solvers() -> None:
    phases = [AIR, ICE, AIR]

    def rate(t: float) -> float:
        return 1.0 / float(gel_time(resin_temperature(293.15, phases, [t])[0], LAW))

    expected = quad(rate, 0.0, 5400.0, points=[900.0, 4500.0], limit=200)[0]
    assert life_used(293.15, phases, LAW)[-1] == pytest.approx(expected, rel=1e-6)
    solved = solve_ivp(
        lambda t, T: (275.0 - T) / 1200.0, (0, 3600), [293.15], rtol=1e-10, atol=1e-10
    )
    assert resin_temperature(293.15, [ICE], [3600.0])[0] == pytest.approx(solved.y[0, -1])


@given(st.floats(0.3, 0.9), st.floats(268, 285), st.floats(60, 7200))
def test_the_longest_phase_uses_just_the_share(share: float, ice: float, lag: float) -> None:
    phases = [Phase(300.0, 295.0, 1800.0), Phase(0.0, ice, lag), Phase(300.0, 295.0, 1800.0)]
    longest = longest_phase(295.0, phases, LAW, share, 1)
    assert longest is not None
    phases[1] = Phase(longest, ice, lag)
    assert life_used(295.0, phases, LAW)[-1] == pytest.approx(share, abs=1e-5)


@given(st.floats(270, 300), st.floats(270, 300))
def test_colder_surroundings_never_shorten_life(first: float, second: float) -> None:
    cold, warm = sorted((first, second))
    assert (
        life_used(295.0, [Phase(1800.0, cold, 900.0)], LAW)[0]
        <= life_used(295.0, [Phase(1800.0, warm, 900.0)], LAW)[0] + 1e-12
    )


def test_no_time_left_at_all() -> None:
    assert longest_phase(293.15, [Phase(3000.0, 293.15, 60.0)] * 2, LAW, 0.75, 0) is None


def test_bad_inputs() -> None:
    with pytest.raises(InputError, match="no gel time"):
        gel_law([], [], 44e3, 57e3)
    with pytest.raises(InputError, match="shorter in the cold"):
        gel_law([283.15, 303.15], [1000.0, 2000.0], 44e3, 57e3)
    with pytest.raises(OutOfRangeError, match="times"):
        gel_law([283.15], [-1.0], 44e3, 57e3)
    with pytest.raises(InputError, match="no phase"):
        life_used(293.15, [], LAW)
    with pytest.raises(OutOfRangeError, match="lag"):
        life_used(293.15, [Phase(10.0, 293.15, 0.0)], LAW)
    with pytest.raises(OutOfRangeError, match="temperature"):
        gel_time(math.nan, LAW)
