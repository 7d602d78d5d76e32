"""Raw files of bending machines, made from closed forms with known answers."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from drainwright.engineering.flexure import STANDARDS, Specimen, bending_from_curve
from drainwright.errors import InputError
from drainwright.exchange.machine_curve import MachineCurve, read_machine_curve
from drainwright.units import INCH, POUND_FORCE

BAR = Specimen(0.096, 0.025, 0.006)
# E = L^3 m / (4 b d^3): reference/wall.md, three-point bending, mark C
SLOPE, MODULUS = 53.4e3, 2187.26e6
PEAK = 0.004
Form = Callable[[list[tuple[float, float]]], str]


def line(toe: float = 0.0, noise: float = 0.0, count: int = 400) -> list[tuple[float, float]]:
    """Load over deflection: nothing up to `toe`, then straight; noise in newtons."""
    rng = random.Random(7)
    found = []
    for place in range(count):
        s = PEAK * place / (count - 1)
        load = SLOPE * max(s - toe, 0.0)
        found.append((s, load + rng.gauss(0.0, noise) if noise else load))
    return found


def newtons(rows: list[tuple[float, float]]) -> str:
    return "Deflection [mm],Load [N]\n" + "".join(f"{s * 1e3!r},{p!r}\n" for s, p in rows)


def kilonewtons(rows: list[tuple[float, float]]) -> str:
    text = "Probe;7\n\nZeit (s);Kraft Force (kN);Displacement (mm)\n"
    for place, (s, p) in enumerate(rows):
        text += f"{place * 0.5};{p / 1e3!r};{s * 1e3!r}\n".replace(".", ",")
    return text


def negative(rows: list[tuple[float, float]]) -> str:
    text = "Force\tDisplacement\nN\tmm\n"
    return text + "".join(f"{-p!r}\t{-s * 1e3!r}\n" for s, p in rows)


def inches(rows: list[tuple[float, float]]) -> str:
    text = "time [s],crosshead extension [in],load, lbf\n".replace("load, lbf", "Load lbf")
    return text + "".join(f"0,{s / INCH!r},{p / POUND_FORCE!r}\n" for s, p in rows)


def backward(rows: list[tuple[float, float]]) -> str:
    return newtons(rows[::-1])


def with_way_back(rows: list[tuple[float, float]]) -> str:
    back = [(s, 0.4 * p) for s, p in rows[::-1][1:]]
    return newtons([*rows, *back])


FORMS = (newtons, kilonewtons, negative, inches, backward, with_way_back)


def read(text: str) -> MachineCurve:
    return read_machine_curve(text.encode(), "machine.csv")


@pytest.mark.analytic
@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_any_order_sign_and_unit_gives_the_modulus(form: Form, standard: str) -> None:
    curve = read(form(line()))
    found = bending_from_curve(curve.deflection, curve.load, BAR, standard)
    assert found.modulus == pytest.approx(MODULUS, rel=1e-5)
    assert found.strength == pytest.approx(1.5 * SLOPE * PEAK * 0.096 / (0.025 * 0.006**2))


@pytest.mark.analytic
@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("toe", [0.0002, 0.0005])
def test_the_toe_is_taken_off(toe: float, standard: str) -> None:
    curve = read(newtons(line(toe)))
    found = bending_from_curve(curve.deflection, curve.load, BAR, standard)
    assert found.toe == pytest.approx(toe, rel=1e-3)
    assert found.modulus == pytest.approx(MODULUS, rel=1e-3)
    assert found.strain_at_peak == pytest.approx(6 * (PEAK - toe) * 0.006 / 0.096**2, rel=1e-3)


@pytest.mark.analytic
@pytest.mark.parametrize("standard", STANDARDS)
@pytest.mark.parametrize("noise", [0.2, 0.5, 1.0])
def test_noise_moves_the_modulus_little_and_is_told(noise: float, standard: str) -> None:
    # 1 N is half a percent of the peak load; the fit says how sure it is
    curve = read(newtons(line(0.0002, noise)))
    found = bending_from_curve(curve.deflection, curve.load, BAR, standard)
    assert found.modulus == pytest.approx(MODULUS, rel=0.03)
    assert 0 < found.slope_error < 0.03
    low, high = found.window
    assert 0 <= low < high


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Deflection,Load [N]\n1,2\n2,3\n", "no unit"),
        ("Deflection [mm],Load [furlong]\n1,2\n2,3\n", "load"),
        ("Deflection [mm],Time [s]\n1,2\n2,3\n", "header"),
        ("Deflection [mm],Load [N]\n1,2\nx,3\n", "is no number"),
        ("Deflection [mm],Load [N]\n1,2\nnan,3\n", "is no number"),
    ],
)
def test_what_cannot_be_read_is_told(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read(text)
