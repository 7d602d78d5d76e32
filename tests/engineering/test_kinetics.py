"""Cure kinetics: the check values of the reference, closed forms, and bad inputs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from drainwright.engineering.kinetics import (
    BRANCH,
    Glass,
    Kinetics,
    conversion_along,
    glass_transition,
    reaction_rate,
    time_to_conversion,
)
from drainwright.engineering.resin_data import (
    activation_energy,
    adiabatic_rise,
    gel_conversion,
    kissinger_energy,
)
from drainwright.errors import InputError, OutOfRangeError
from tests.check_rows import record

MIN = 60.0
SET_A = Kinetics(
    "lee-loos-springer",
    (2.101e9 / MIN, -2.014e9 / MIN, 1.960e5 / MIN),
    (80.7e3, 77.8e3, 56.6e3),
)
SET_B = Kinetics("kamal", (0.0, 1.53e5), (66.5e3, 66.5e3), 0.813, 2.74)
GLASS_C = Glass(243.15, 383.15, 0.45, 6.0)
SET_C = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8, glass=GLASS_C)
SET_C_OPEN = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
LLS = "Lee, Loos & Springer, J. Compos. Mater. 16:510 (1982), arithmetic"


def kelvin(celsius: float) -> list[tuple[float, float]]:
    return [(0.0, celsius + 273.15)]


@pytest.mark.published
@pytest.mark.parametrize(
    ("celsius", "printed"),
    [
        (120, ("0.1254", "0.1906", "0.2316", "0.2981", "0.5055")),
        (150, ("0.3007", "0.4287", "0.5332", "0.7454", "0.9243")),
    ],
)
def test_set_a_isothermal(celsius: float, printed: tuple[str, ...]) -> None:
    minutes = (10, 20, 30, 60, 120)
    ours = conversion_along(kelvin(celsius), [60.0 * t for t in minutes], SET_A)
    for t, text, value in zip(minutes, printed, ours, strict=True):
        name = f"set A, {celsius} °C, conversion at {t} min"
        record("kinetics", name, text, float(value), "1", 0.002, LLS, "S2")


@pytest.mark.published
@pytest.mark.parametrize(("celsius", "minutes"), [(100, "244.6"), (120, "61.31"), (150, "9.95")])
def test_set_a_time_to_the_jump(celsius: float, minutes: str) -> None:
    time = time_to_conversion(0.30, kelvin(celsius), SET_A)
    assert time is not None
    name = f"set A, {celsius} °C, time to conversion 0.30"
    record("kinetics", name, minutes, time / 60, "min", 0.005 * float(minutes), LLS, "S2")


@pytest.mark.published
@pytest.mark.parametrize(
    ("celsius", "printed"),
    [(130, ("0.0251", "0.0954", "0.2807")), (180, ("0.4437", "0.7665", "0.8590"))],
)
def test_set_b_isothermal(celsius: float, printed: tuple[str, ...]) -> None:
    ours = conversion_along(kelvin(celsius), [1200.0, 3600.0, 7200.0], SET_B, start_conversion=0.01)
    for t, text, value in zip((20, 60, 120), printed, ours, strict=True):
        name = f"set B, {celsius} °C, conversion at {t} min"
        source = "Johnston & Hubert constants, arithmetic"
        record("kinetics", name, text, float(value), "1", 0.001, source, "S2")


@pytest.mark.published
@pytest.mark.parametrize(
    ("celsius", "minutes", "law"),
    [
        (25, "278.9", SET_C),
        (52, "45.09", SET_C),
        (80, "9.87", SET_C),
        (25, "253.9", SET_C_OPEN),
    ],
)
def test_set_c_time_to_sixty_percent(celsius: float, minutes: str, law: Kinetics) -> None:
    time = time_to_conversion(0.6, kelvin(celsius), law)
    assert time is not None
    name = f"set C{'' if law.glass else ' without vitrification'}, {celsius} °C, time to 0.6"
    source = "constructed stand-in resin, arithmetic"
    record("kinetics", name, minutes, time / 60, "min", 0.01 * float(minutes), source, "C")


SET_D = {
    "1,4-diaminobutane, 50 °C": (50, 200e-6, 1.064e-3, 0.836, 1.3562, 0.82994),
    "1,4-diaminobutane, 80 °C": (80, 1395e-6, 5.84e-3, 0.93, 1.477, 0.9294),
    "1,3-diaminopropane, 80 °C": (80, 642.1e-6, 4.3371e-3, 0.5358, 1.6316, 0.79364),
}


@pytest.mark.published
@pytest.mark.parametrize(
    ("amine", "minutes"),
    [
        ("1,4-diaminobutane, 50 °C", ("13.14", "24.39", "39.00")),
        ("1,4-diaminobutane, 80 °C", ("2.04", "3.92", "6.30")),
        ("1,3-diaminopropane, 80 °C", ("2.82", "5.59", "10.19")),
    ],
)
def test_set_d_with_a_ceiling(amine: str, minutes: tuple[str, ...]) -> None:
    celsius, k1, k2, m, n, r = SET_D[amine]
    law = Kinetics("kamal", (k1, k2), (0.0, 0.0), m, n, r)
    for target, text in zip((0.2, 0.4, 0.6), minutes, strict=True):
        time = time_to_conversion(target, kelvin(celsius), law)
        assert time is not None
        name = f"DGEBA with {amine}: time to conversion {target}"
        source = "DSC data of a manuscript, repository tkmeldrum/epoxy_HPC, published parameters"
        record("kinetics", name, text, time / 60, "min", 0.006 + 3e-4 * float(text), source, "C")
    assert time_to_conversion(r + 0.01, kelvin(celsius), law) is None


@pytest.mark.published
def test_energies_from_times_and_peaks() -> None:
    kissinger = kissinger_energy([5.0, 20.0], [383.15, 419.45]) / 1e3
    source = "Polymers 16(17):2391, 2024, its data"
    record("kinetics", "Kissinger, UP, 2 rates", "44.4", kissinger, "kJ/mol", None, source, "S")
    gel = activation_energy((325.15, 45.0), (286.15, 420.0)) / 1e3
    name = "gel 45 min at 52 °C, 7 h at 13 °C"
    record("kinetics", name, "44.3", gel, "kJ/mol", None, "trade press", "S2")
    for low, printed in ((15, "49.51"), (35, "56.50")):
        energy = activation_energy((low + 273.15, 2.0), (low + 283.15, 1.0)) / 1e3
        name = f"doubling from {low} to {low + 10} °C"
        record("kinetics", name, printed, energy, "kJ/mol", None, "closed form", "C")


@pytest.mark.published
def test_gel_conversion_and_adiabatic_rise() -> None:
    ours = gel_conversion(4, 2)
    source = "Flory and Stockmayer, f 4, g 2"
    record("kinetics", "gel conversion", "0.5774", ours, "1", None, source, "S")
    rise = adiabatic_rise(473.6e3, 1260.0)
    record("kinetics", "set A, adiabatic rise", "375.9", rise, "K", None, "H / cp", "S2")


@pytest.mark.analytic
def test_first_order_is_exponential_along_any_history() -> None:
    law = Kinetics("kamal", (2e-4, 0.0), (0.0, 0.0))
    history = [(0.0, 300.0), (600.0, 380.0), (4000.0, 320.0)]
    times = np.array([0.0, 1.0, 599.0, 600.0, 3333.0, 4000.0, 9000.0])
    np.testing.assert_allclose(
        conversion_along(history, times, law), 1 - np.exp(-2e-4 * times), atol=1e-9
    )


@pytest.mark.analytic
def test_arrhenius_over_a_ramp_by_quadrature() -> None:
    from scipy.integrate import quad

    law = Kinetics("kamal", (1e5, 0.0), (55e3, 0.0))
    ramp = [(0.0, 300.0), (1800.0, 390.0)]
    dose = quad(lambda t: 1e5 * math.exp(-55e3 / (8.314462618 * (300 + 0.05 * t))), 0, 1800)[0]
    ours = conversion_along(ramp, [1800.0], law)[0]
    assert ours == pytest.approx(1 - math.exp(-dose), abs=1e-8)


@pytest.mark.independent
@pytest.mark.parametrize("celsius", [110.0, 140.0])
def test_time_and_conversion_are_inverse_across_the_jump(celsius: float) -> None:
    """Separable in both branches: the times are two integrals of 1/rate."""
    from scipy.integrate import quad

    T = celsius + 273.15

    def inverse(a: float) -> float:
        return 1 / float(reaction_rate(a, T, SET_A))

    late = SET_A.A[2] * math.exp(-SET_A.E[2] / (8.314462618 * T))
    expected = quad(inverse, 0, BRANCH)[0] + math.log((1 - BRANCH) / 0.4) / late
    time = time_to_conversion(0.6, kelvin(celsius), SET_A)
    assert time is not None
    assert time == pytest.approx(expected, rel=1e-6)
    assert conversion_along(kelvin(celsius), [time], SET_A)[0] == pytest.approx(0.6, abs=1e-7)


@pytest.mark.published
def test_set_a_jumps_by_the_printed_factor() -> None:
    before = float(reaction_rate(BRANCH, 393.15, SET_A))
    after = float(reaction_rate(BRANCH + 1e-12, 393.15, SET_A))
    record("kinetics", "set A, jump at 0.3, 120 °C", "2.9", after / before, "1", None, LLS, "S2")


@pytest.mark.analytic
def test_vitrification_stops_the_cure_near_the_temperature() -> None:
    day = float(conversion_along(kelvin(25), [86400.0], SET_C)[0])
    open_day = float(conversion_along(kelvin(25), [86400.0], SET_C_OPEN)[0])
    assert day < open_day - 0.1
    assert abs(float(glass_transition(day, GLASS_C)) - 298.15) < 60.0
    assert time_to_conversion(0.99, kelvin(25), SET_C) is None


@pytest.mark.analytic
def test_glass_transition_ends() -> None:
    np.testing.assert_allclose(glass_transition([0.0, 1.0], GLASS_C), [243.15, 383.15])


@pytest.mark.analytic
def test_target_in_and_after_a_history() -> None:
    law = Kinetics("kamal", (1e-3, 0.0), (0.0, 0.0))
    history = [(0.0, 300.0), (300.0, 320.0), (900.0, 310.0)]
    assert time_to_conversion(0.2, history, law) == pytest.approx(-math.log(0.8) * 1e3, rel=1e-8)
    assert time_to_conversion(0.9, history, law) == pytest.approx(-math.log(0.1) * 1e3, rel=1e-8)
    assert time_to_conversion(0.1, history, law, start_conversion=0.1) == 0.0
    still = Kinetics("kamal", (0.0, 1e-3), (0.0, 0.0), 1.0)
    assert time_to_conversion(0.5, history, still) is None


def test_every_bad_constant_is_told_at_once() -> None:
    with pytest.raises(InputError) as caught:
        Kinetics("kamal", (-1.0, 1.0), (5e4, 5e6), -1.0, 1.0, 2.0, Glass(300, 200, -1, 0))
    names = {fault.name for fault in caught.value.faults}
    assert names == {"A1", "E2", "m", "r", "Tg_full", "Tg_lambda", "vitrification_width"}
    with pytest.raises(InputError):
        Kinetics("other", (1.0, 1.0), (1.0, 1.0))
    with pytest.raises(InputError):
        Kinetics("lee-loos-springer", (1.0, 1.0), (1.0, 1.0))


def test_bad_histories_and_times() -> None:
    for history in ([], [(0.0, 300.0), (0.0, 310.0)], [(-1.0, 300.0)], [(0.0, 25.0)]):
        with pytest.raises(InputError):
            conversion_along(history, [10.0], SET_C)
    with pytest.raises(OutOfRangeError):
        conversion_along(kelvin(50), [-1.0], SET_C)
    with pytest.raises(OutOfRangeError):
        conversion_along(kelvin(50), [1.0], SET_C, start_conversion=1.5)
    with pytest.raises(OutOfRangeError):
        time_to_conversion(1.2, kelvin(50), SET_C)
    with pytest.raises(OutOfRangeError):
        kissinger_energy([5.0], [383.15])
    with pytest.raises(OutOfRangeError):
        activation_energy((300.0, 1.0), (300.0, 2.0))
    with pytest.raises(OutOfRangeError):
        gel_conversion(1.5, 1.5)
    with pytest.raises(OutOfRangeError):
        adiabatic_rise(0.0, 1200.0)
