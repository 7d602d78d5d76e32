"""`calc flow`: names, units, reference capacities, depths against a root finder, bad input."""

from __future__ import annotations

import math
from typing import Any

import pytest
from scipy.optimize import brentq

from tests.operations.calculators.calls import (
    Rule,
    answer,
    bad_inputs,
    call,
    faulty_keys,
    values,
    with_key,
)

LATERAL: dict[str, Any] = {
    "host_diameter": "4 in",
    "wall": "3 mm",
    "roughness_host": 0.013,
    "roughness_liner": 0.010,
    "slope": "2 %",
    "flow": "12 gpm",
}


@pytest.mark.published
@pytest.mark.parametrize(
    ("host", "liner", "percent"),
    [(0.013, 0.010, 110.5), (0.013, 0.012, 92.1), (0.010, 0.010, 85.0)],
)
def test_capacity_ratio_with_both_roughnesses_told(
    host: float, liner: float, percent: float
) -> None:
    """4 in with 3 mm (reference flow.md, C); a gain is never told without the two n."""
    data = LATERAL | {"roughness_host": host, "roughness_liner": liner}
    found = answer("flow", data)
    assert found["results"]["capacity_ratio"]["value"] == pytest.approx(percent / 100, abs=5e-4)
    for n in (host, liner):
        assert f"{n:.3f}" in found["method"]
    assert bool(found["cautions"]) is (percent < 100)


@pytest.mark.published
@pytest.mark.parametrize(
    ("host", "ratio", "percent"),
    [(0.014, 30, 117), (0.014, 50, 126), (0.016, 30, 133), (0.016, 50, 144)],
)
def test_table_of_capacities(host: float, ratio: float, percent: float) -> None:
    """Najafi Table 2.14 (S2), tolerance 1 point."""
    data = LATERAL | {"roughness_host": host, "wall": f"{4 / ratio} in"}
    assert values("flow", data)["capacity_ratio"] == pytest.approx(percent / 100, abs=0.01)


def carried(depth: float, diameter: float, n: float) -> float:
    """Manning in feet and seconds on the textbook circle, slope 2 %: ft³/s."""
    angle = 2 * math.acos(1 - 2 * depth)
    area = diameter**2 * (angle - math.sin(angle)) / 8
    radius = diameter * (1 - math.sin(angle) / angle) / 4
    return float(1.486 / n * area * radius ** (2 / 3) * math.sqrt(0.02))


@pytest.mark.independent
@pytest.mark.parametrize(
    ("when", "diameter", "n"), [("before", 4 / 12, 0.013), ("after", (4 - 6 / 25.4) / 12, 0.010)]
)
def test_against_the_us_form_and_a_root_finder(when: str, diameter: float, n: float) -> None:
    """Q = (1.486/n) A R^(2/3) S^(1/2); depth by scipy's brentq."""
    found = values("flow", LATERAL)
    gallons = 60 * 1728 / 231
    full = carried(1.0, diameter, n)
    assert found[f"capacity_{when}"] == pytest.approx(full * gallons, rel=1e-4)
    assert found[f"velocity_full_{when}"] == pytest.approx(
        full / (math.pi / 4 * diameter**2), rel=1e-4
    )
    wanted = 12 / gallons
    depth = float(brentq(lambda y: carried(y, diameter, n) - wanted, 1e-6, 0.93))
    assert found[f"depth_ratio_{when}"] == pytest.approx(depth, rel=1e-4)
    angle = 2 * math.acos(1 - 2 * depth)
    wet = diameter**2 * (angle - math.sin(angle)) / 8
    assert found[f"velocity_{when}"] == pytest.approx(wanted / wet, rel=2e-4)


@pytest.mark.analytic
def test_half_full_carries_half() -> None:
    full = values("flow", LATERAL, "si")["capacity_before"]
    found = values("flow", LATERAL | {"flow": f"{full / 2} L/s"}, "si")
    assert found["depth_ratio_before"] == pytest.approx(0.5)
    assert found["velocity_before"] == pytest.approx(found["velocity_full_before"])


@pytest.mark.analytic
def test_between_full_and_greatest_flow_the_lower_depth() -> None:
    """Two depths carry 1.0 to 1.0757 of the full flow (reference flow.md): the lower one."""
    full = values("flow", LATERAL, "si")["capacity_before"]
    found = values("flow", LATERAL | {"flow": f"{1.05 * full} L/s"}, "si")
    assert 0.82 < found["depth_ratio_before"] < 0.938


def test_a_surcharged_pipe_is_null_with_a_caution() -> None:
    full = values("flow", LATERAL, "si")
    between = 1.0757 * full["capacity_before"] * 1.001
    assert between < 1.0757 * full["capacity_after"]
    found = answer("flow", LATERAL | {"flow": f"{between} L/s"}, "si")
    results = found["results"]
    assert results["depth_ratio_before"]["value"] is None
    assert results["velocity_before"]["value"] is None
    assert results["depth_ratio_after"]["value"] > 0.5
    assert any("before lining" in text for text in found["cautions"])
    assert call("flow", LATERAL | {"flow": f"{between} L/s"}).code == 0


def test_without_a_flow_no_depths() -> None:
    assert list(values("flow", with_key(LATERAL, "flow", None))) == [
        "capacity_before", "capacity_after", "capacity_ratio",
        "velocity_full_before", "velocity_full_after",
    ]  # fmt: skip


def test_no_flow_is_no_depth() -> None:
    found = values("flow", LATERAL | {"flow": "0 gpm"})
    assert found["depth_ratio_after"] == pytest.approx(0, abs=1e-12)
    assert found["velocity_after"] == pytest.approx(0, abs=1e-9)


@pytest.mark.analytic
def test_units() -> None:
    us, si = answer("flow", LATERAL)["results"], answer("flow", LATERAL, "si")["results"]
    factors = {("gal/min", "L/s"): 3.785411784 / 60, ("ft/s", "m/s"): 0.3048, ("1", "1"): 1.0}
    for name, result in us.items():
        factor = factors[result["unit"], si[name]["unit"]]
        assert si[name]["value"] == pytest.approx(factor * result["value"])


@pytest.mark.analytic
def test_slope_in_any_dress() -> None:
    """1/4 in/ft is 1 in 48."""
    for text in ("1/4 in/ft", "0.25 in/ft", f"{100 / 48} %", 1 / 48):
        ours = values("flow", LATERAL | {"slope": text})
        assert ours == pytest.approx(values("flow", LATERAL | {"slope": "1/48"}), rel=1e-9)


RULES = {
    "host_diameter": Rule("in", "0 in", "20 ft"),
    "wall": Rule("mm", "0 mm", "2 in"),
    "roughness_host": Rule("", "0", "0.11", pure=True),
    "roughness_liner": Rule("", "0.004", "10", pure=True),
    "slope": Rule("%", "0 %", "101 %", pure=True),
    "flow": Rule("gpm", "", "", required=False),
}


@pytest.mark.parametrize(
    ("key", "what", "data"),
    [pytest.param(*case, id=f"{case[0]}-{case[1]}") for case in bad_inputs(LATERAL, RULES)],
)
def test_bad_input_is_refused_by_its_name(key: str, what: str, data: dict[str, Any]) -> None:
    assert faulty_keys("flow", data) == [key]


def test_unknown_keys_and_all_faults_at_once() -> None:
    assert faulty_keys("flow", LATERAL | {"n": 0.013}) == ["n"]
    assert faulty_keys("flow", {"flow": "1 psi"}) == [
        "host_diameter", "wall", "roughness_host", "roughness_liner", "slope", "flow",
    ]  # fmt: skip
