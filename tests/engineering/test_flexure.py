"""Three-point bending against reference/wall.md and against made-up curves of known modulus."""

from __future__ import annotations

import math
import statistics
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from drainwright.engineering.flexure import (
    Specimen,
    bending_from_curve,
    bending_stress,
    modulus_from_slope,
    outer_strain,
)
from drainwright.errors import InputError
from drainwright.operations.calculate import calculate
from drainwright.operations.calculators.base import answer_json
from drainwright.units import UnitSystem
from tests.check_rows import record
from tests.operations.calculators.calls import answer, faulty_keys, with_key

BAR = Specimen(0.096, 0.025, 0.006)
Floats = NDArray[np.float64]


@pytest.mark.published
def test_case_of_the_reference() -> None:
    source = "reference values of the project, case L 96, b 25, d 6 mm"
    ours = modulus_from_slope(53.4e3, BAR) / 1e6
    record("flexure", "modulus", "2187.26", ours, "MPa", None, source, "C")
    ours = float(bending_stress(165.0, BAR)) / 1e6
    record("flexure", "strength", "26.40", ours, "MPa", None, source, "C")


@pytest.mark.published
@pytest.mark.parametrize(
    ("width", "depth", "printed"), [(0.495, 0.523, "0.005901"), (0.5, 0.5, "0.005208")]
)
def test_inertia_behind_the_modulus(width: float, depth: float, printed: str) -> None:
    # E = L^3 m / (48 I): our modulus for L 1 in, m 48 gives 1 / I
    ours = 1.0 / modulus_from_slope(48.0, Specimen(1.0, width, depth))
    source = "EPA/600/R-12/004 Table 4-14"
    record("flexure", f"b d^3/12, {width} by {depth}", printed, ours, "in^4", None, source, "S")


@pytest.mark.published
def test_field_samples() -> None:
    # EPA/600/R-12/004 Table 4-18 (S), through our equation: slopes for moduli in psi and back
    bar = Specimen(4.0, 0.5, 0.25)
    unit = modulus_from_slope(1.0, bar)
    found = [modulus_from_slope(e / unit, bar) for e in (276920, 187218, 369998, 270265, 214134)]
    source = "EPA/600/R-12/004 Table 4-18"
    record("flexure", "mean modulus", "263707", statistics.mean(found), "psi", None, source, "S")
    record("flexure", "deviation", "70398", statistics.stdev(found), "psi", None, source, "S")


def curve(toe: float = 0.0) -> tuple[Floats, Floats]:
    """2,500 MPa straight to 1 % strain, then yielding: deflection and load, with a soft toe."""
    bent = np.linspace(0.0, 0.006, 601)
    stiff = 2500e6 / modulus_from_slope(1.0, BAR)
    load = np.where(bent < 0.0025, stiff * bent, stiff * (bent - 80.0 * (bent - 0.0025) ** 2))
    if toe > 0:
        soft = np.linspace(0.0, toe, 21)[:-1]
        bent, load = np.r_[soft, bent + toe], np.r_[0 * soft, load]
    return bent, load


@pytest.mark.analytic
@pytest.mark.parametrize("toe", [0.0, 3e-4])
@pytest.mark.parametrize("standard", ["ASTM D790", "ISO 178"])
@pytest.mark.parametrize("sign", [1, -1])
def test_known_modulus_comes_back(standard: str, toe: float, sign: int) -> None:
    bent, load = curve(toe)
    order = np.random.default_rng(1).permutation(len(bent))
    found = bending_from_curve(sign * bent[order], -sign * load[order], BAR, standard)
    assert math.isclose(found.modulus, 2500e6, rel_tol=1e-9)
    assert math.isclose(found.toe, toe, abs_tol=1e-9)
    # the largest load lies at the end of the curve
    assert math.isclose(found.strain_at_peak, float(outer_strain(0.006, BAR)), rel_tol=1e-6)


@pytest.mark.independent
def test_iso_window_against_polyfit() -> None:
    bent, load = curve()
    noisy = load + np.random.default_rng(2).normal(0, 0.2, len(load))
    found = bending_from_curve(bent, noisy, BAR, "ISO 178")
    strain = outer_strain(bent - found.toe, BAR)
    inside = (strain >= 0.0005) & (strain <= 0.0025)
    slope = float(np.polyfit(bent[inside], noisy[inside], 1)[0])
    assert math.isclose(found.modulus, modulus_from_slope(slope, BAR), rel_tol=1e-9)


def test_curves_that_cannot_be_used() -> None:
    bent, load = curve()
    with pytest.raises(InputError):
        bending_from_curve(bent[:40], load[:40], BAR, "ISO 178")
    with pytest.raises(InputError):
        bending_from_curve(bent[:3], load[:3], BAR, "ASTM D790")


GIVEN = {
    "standard": "ISO 178", "span": "96 mm", "width": "25 mm", "depth": "6 mm",
    "slope": "53.4 N/mm", "peak_load": "165 N",
}  # fmt: skip


@pytest.mark.parametrize(
    "header", ["Load [lbf],Time (s),Deflection [in]", "force, N;x;displacement (mm)"]
)
def test_csv_in_any_order_and_unit(tmp_path: Path, header: str) -> None:
    bent, load = curve()
    us = "lbf" in header
    delimiter = "," if us else ";"
    pairs = zip(bent / (0.0254 if us else 1e-3), load / (4.4482216152605 if us else 1), strict=True)
    lines = [delimiter.join((repr(float(-p)), "0", repr(float(s)))) for s, p in pairs]
    text = "\n".join([header, *lines])
    (tmp_path / "run.csv").write_text(text if us else text.replace(".", ","), "utf-8")
    data = {key: GIVEN[key] for key in ("span", "width", "depth")} | {"csv": "run.csv"}
    for standard in ("ASTM D790", "ISO 178"):
        found, _ = calculate("flexure", data | {"standard": standard}, tmp_path)
        results = answer_json(found, UnitSystem.SI)["results"]
        assert math.isclose(results["modulus"]["value"], 2500.0, rel_tol=1e-9)
        assert any("strains" in caution for caution in found.cautions)


def test_names_and_units() -> None:
    found = answer("flexure", GIVEN, "si")["results"]
    assert list(found) == ["modulus", "strength", "strain_at_peak", "test_rate"]
    assert found["modulus"]["unit"] == "MPa"
    # 0.01 x 96^2 / 36 = 2.56 mm/min
    assert math.isclose(found["test_rate"]["value"], 2.56e-3 / 60)
    assert found["test_rate"]["unit"] == "m/s"


@pytest.mark.parametrize(
    ("key", "item"),
    [("span", None), ("depth", "0 mm"), ("width", "1 s"), ("slope", math.nan), ("slope", "5 N"),
     ("peak_load", "-1 N"), ("standard", "x"), ("csv", "none.csv"), ("extra", 1)],
)  # fmt: skip
def test_bad_input(key: str, item: object) -> None:
    assert key in faulty_keys("flexure", with_key(GIVEN, key, item))


@pytest.mark.parametrize(
    "text", ["", "a,b\n1,2", "deflection,load\n1,2", "deflection [N],load [N]\n1,2",
             "deflection [mm],load [N]\nx,nan", "deflection [mm],load [N]\n1,1\n2,2"]
)  # fmt: skip
def test_bad_csv(tmp_path: Path, text: str) -> None:
    (tmp_path / "bad.csv").write_text(text, "utf-8")
    data = {key: GIVEN[key] for key in ("standard", "span", "width", "depth")} | {"csv": "bad.csv"}
    with pytest.raises(InputError) as caught:
        calculate("flexure", data, tmp_path)
    assert {fault.name for fault in caught.value.faults} == {"csv"}
