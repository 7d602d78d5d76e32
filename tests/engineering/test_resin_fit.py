"""The fit of a rate law finds again what synthetic runs were made from."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from drainwright.engineering.dsc import Run, checked_run, isoconversional_energy, noise
from drainwright.engineering.kinetics import Kinetics
from drainwright.engineering.resin_data import arrhenius, isothermal_time
from drainwright.engineering.resin_fit import (
    FitSettings,
    ResinFit,
    fit_hold,
    fit_resin,
    predicted_gel_times,
)
from drainwright.errors import InputError, OutOfRangeError
from tests.engineering.synthetic_dsc import GAS, Machine, dsc, kamal, with_ceiling

# set C of the reference, constructed: demo and tests only
A1, E1, A2, E2, M, N = 1.02e5, 57e3, 1.53e5, 50e3, 0.9, 1.8
SET_C = Kinetics("kamal", (A1, A2), (E1, E2), M, N)
LAW = kamal(A1, E1, A2, E2, M, N)
PLANS = (
    ("50 hold", 323.15, 0.0, 9000.0), ("80 hold", 353.15, 0.0, 3000.0),
    ("5 a minute", 293.15, 5 / 60, 2400.0), ("20 a minute", 293.15, 20 / 60, 650.0),
)  # fmt: skip


def runs(seed: int, odd: str = "", **how: float) -> list[Run]:
    """The planned runs; `odd` names one weighed 30 % wrong."""
    found = []
    for place, (name, start, heating, end) in enumerate(PLANS):
        machine = replace(Machine(), **how)  # type: ignore[arg-type]
        if name == odd:
            machine = replace(machine, wrong_mass=0.7)
        columns = dsc(LAW, start, heating, end, machine, 10 * seed + place)
        found.append(checked_run(name, *columns, machine.mass))
    return found


@pytest.fixture(scope="module")
def fitted() -> ResinFit:
    """One fit with noise of 1 % and a drifting baseline."""
    return fit_resin(runs(1), settings=FitSettings(gel_conversion=0.577))


def truth(fit: ResinFit) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """The constants that the runs were made from, as the fit names them."""
    k1, k2 = (math.log(A) - E / (GAS * fit.reference) for A, E in ((A1, E1), (A2, E2)))
    return np.array([k1, E1, k2, E2, M, N])


@pytest.mark.independent
def test_constants_are_found_within_their_errors(fitted: ResinFit) -> None:
    """Six constants; the chance that one is off by more than four errors is under 0.04 %."""
    away = (fitted.values - truth(fitted)) / fitted.errors
    assert np.abs(away).max() < 4
    assert fitted.values[[1, 3]] == pytest.approx([E1, E2], rel=0.02)
    assert fitted.values[4:] == pytest.approx([M, N], abs=0.05)
    assert fitted.heat_of_reaction == pytest.approx(4.2e5, rel=0.01)
    assert np.diag(fitted.correlation) == pytest.approx(np.ones(6))
    assert not any(one.suspicious for one in fitted.runs)


@pytest.mark.slow
@pytest.mark.independent
def test_standard_errors_are_the_scatter_of_many_fits() -> None:
    """30 draws of noise: the spread of (fit − truth)/error is near 1."""
    away = []
    for seed in range(30):
        fit = fit_resin(runs(seed + 2))
        away.append((fit.values - truth(fit)) / fit.errors)
    root = np.sqrt(np.mean(np.square(away), axis=0))
    assert np.all((root > 0.6) & (root < 1.8)), root


@pytest.mark.independent
def test_gel_times_are_predicted_inside_and_refused_outside(fitted: ResinFit) -> None:
    inside, near, far = predicted_gel_times(fitted, [330.0, 310.0, 260.0])
    assert (inside.standing, near.standing) == ("within the data", "extrapolated")
    assert (far.time, far.standing) == (None, "refused: beyond the margin")
    for one in (inside, near):
        exact = float(isothermal_time(0.577, [one.temperature], SET_C)[0])
        assert one.time == pytest.approx(exact, rel=0.02)
        low, time, high = (value or math.nan for value in (one.low, one.time, one.high))
        assert low < time < high


def test_a_wrong_mass_is_named() -> None:
    fit = fit_resin(runs(3, odd="20 a minute", noise=0.005, drift=0.0))
    told = {one.reacted.run.name: one.suspicious for one in fit.runs}
    assert "its own heat is 0." in told["20 a minute"]
    assert told["80 hold"] == told["50 hold"] == ""


@pytest.mark.independent
def test_energies_without_a_law_bracket_the_fitted_ones(fitted: ResinFit) -> None:
    """By conversion alone: between the two energies of the law, and near E2 where it rules."""
    energies, errors = isoconversional_energy(
        [one.reacted for one in fitted.runs], [0.1, 0.3, 0.5, 0.7]
    )
    assert np.all((energies > 47e3) & (energies < 60e3))
    assert energies[2] == pytest.approx(E2, rel=0.05)
    assert np.isfinite(errors).all()


SET_D = {
    323.15: ((200e-6, 1.064e-3, 0.836, 1.3562, 0.82994), (13.14, 24.39, 39.00)),
    333.15: ((420e-6, 2.598e-3, 1.099, 1.5381, 0.89975), ()),
    353.15: ((1395e-6, 5.84e-3, 0.93, 1.477, 0.9294), (2.04, 3.92, 6.30)),
}
"""DGEBA with 1,4-diaminobutane, public data of a manuscript (2025–26), set D, mark S: constants;
minutes to conversion 0.2, 0.4, 0.6, mark C."""


@pytest.mark.published
@pytest.mark.parametrize("T", SET_D)
def test_set_d_from_its_own_curves(T: float) -> None:
    constants, minutes = SET_D[T]
    machine = Machine(noise=0.003, drift=0.0, heat=4.6e5)
    columns = dsc(with_ceiling(*constants), T, 0.0, 12.0 / constants[1], machine, 7)
    fit = fit_hold(checked_run("hold", *columns, machine.mass), 4.6e5)
    stated = np.array([math.log(constants[0]), math.log(constants[1]), *constants[2:]])
    assert np.abs((fit.values - stated) / fit.errors).max() < 4
    assert fit.values == pytest.approx(stated, abs=0.08)
    for level, minute in zip((0.2, 0.4, 0.6), minutes, strict=False):
        time = float(isothermal_time(level, [T], fit.kinetics)[0]) / 60
        assert time == pytest.approx(minute, rel=0.01)


@pytest.mark.analytic
def test_a_sign_that_counts_downward_is_turned() -> None:
    for run in runs(4, noise=0.002):
        turned = checked_run("down", run.time, run.temperature, -run.heat_flow, run.mass)
        assert np.array_equal(turned.heat_flow, run.heat_flow)


@pytest.mark.analytic
def test_noise_of_a_line_with_known_scatter() -> None:
    values = np.linspace(0, 5, 4000) + np.random.default_rng(5).normal(0, 0.3, 4000)
    assert noise(values) == pytest.approx(0.3, rel=0.06)


@pytest.mark.analytic
def test_arrhenius_of_exact_rates_has_no_error_beyond_the_stated() -> None:
    T = np.array([300.0, 320.0, 340.0])
    ln_A, E, error = arrhenius(T, math.log(1e5) - 52e3 / (GAS * T), [0.1, 0.1, 0.1])
    assert (ln_A, E) == pytest.approx((math.log(1e5), 52e3))
    spread = np.sum((1 / T - np.mean(1 / T)) ** 2)
    assert error == pytest.approx(0.1 * GAS / math.sqrt(spread))


def test_what_cannot_be_fitted_is_told() -> None:
    one, other, *_ = runs(5)
    with pytest.raises(InputError, match="two runs"):
        fit_resin([one])
    with pytest.raises(InputError, match="one temperature"):
        fit_resin([one, one])
    with pytest.raises(InputError, match="gel_conversion"):
        fit_resin([one, other], [(300.0, 3600.0)])
    with pytest.raises(InputError, match="does not hold"):
        fit_hold(runs(5)[2], 4e5)
    with pytest.raises(OutOfRangeError):
        isoconversional_energy([], [0.5])


def test_bad_columns_are_told() -> None:
    t = np.linspace(0.0, 100.0, 50)
    flow = np.ones(50)
    for time, temperature, mass, name in (
        (t[::-1], 300 + t, 1e-5, "time"), (t, 900 + t, 1e-5, "temperature"),
        (t, 300 + t, 1.0, "mass"), (t[:5], 300 + t[:5], 1e-5, "run"),
    ):  # fmt: skip
        with pytest.raises(InputError) as caught:
            checked_run("a", time, temperature, flow[: time.size], mass)
        assert name in {fault.name for fault in caught.value.faults}
