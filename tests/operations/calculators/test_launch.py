"""`calc launch`: names, units, the trade's figures, both ends of the window, bad input."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.operations.calculators.calls import (
    Rule,
    answer,
    bad_inputs,
    faulty_keys,
    values,
    with_key,
)

LAUNCH: dict[str, Any] = {
    "host_diameter": "4 in",
    "pressure": "7 psi",
    "water_above_pipe": "6 ft",
    "maximum": "9 psi",
    "lined_length": "39.8 ft",
}


@pytest.mark.published
def test_head_limit_and_thrust() -> None:
    """7 psi, margin 2 psi: 11.5 ft; thrust 88 lbf in 4 in, 198 in 6 in (practice.md, C)."""
    found = values("launch", LAUNCH)
    assert found["head_limit"] == pytest.approx(11.5, abs=0.05)
    assert found["end_thrust"] == pytest.approx(88, abs=0.5)
    six = values("launch", LAUNCH | {"host_diameter": "6 in"})
    assert six["end_thrust"] == pytest.approx(198, abs=0.5)


@pytest.mark.published
def test_cable_of_the_field_sketch() -> None:
    """Lined 39.8 ft: half 39.8, seated 79.6 (look sketch; TRADE 8, G)."""
    found = values("launch", LAUNCH)
    assert found["cable_half"] == pytest.approx(39.8)
    assert found["cable_seated"] == pytest.approx(79.6)
    assert any("twice" in text or "since the start" in text
               for text in answer("launch", LAUNCH)["cautions"])  # fmt: skip


@pytest.mark.published
def test_window_of_the_field_sketch() -> None:
    """Groundwater pushes with 2.6 psi, so the window is 4.6 to 9.0 psi (look sketch)."""
    found = answer("launch", LAUNCH | {"pressure": "3.8 psi"})
    assert found["results"]["minimum_pressure"]["value"] == pytest.approx(4.6, abs=0.05)
    low, high = found["checks"]
    assert (low["outcome"], high["outcome"]) == ("not met", "met")
    assert low["ratio"] == pytest.approx(3.8 / found["results"]["minimum_pressure"]["value"])
    assert high["capacity"] == pytest.approx(9)


@pytest.mark.analytic
def test_the_starting_pressure_is_a_floor() -> None:
    assert values("launch", LAUNCH | {"starting_pressure": "6 psi"})[
        "minimum_pressure"
    ] == pytest.approx(6)
    low = values("launch", LAUNCH | {"starting_pressure": "1 psi"})
    assert low == values("launch", LAUNCH)


@pytest.mark.analytic
def test_the_head_limit_needs_exactly_the_pressure() -> None:
    head = values("launch", LAUNCH)["head_limit"]
    deep = answer("launch", LAUNCH | {"water_above_pipe": f"{head} ft"})
    assert deep["results"]["minimum_pressure"]["value"] == pytest.approx(7)


def test_over_the_maximum_and_a_closed_window() -> None:
    over = answer("launch", LAUNCH | {"pressure": "9.1 psi"})
    assert [check["outcome"] for check in over["checks"]] == ["met", "not met"]
    closed = answer("launch", LAUNCH | {"water_above_pipe": "20 ft"})
    assert any("closed" in text for text in closed["cautions"])


def test_without_a_maximum_the_upper_end_is_not_assessed() -> None:
    found = answer("launch", with_key(LAUNCH, "maximum", None))
    upper = found["checks"][1]
    assert (upper["outcome"], upper["demand"], upper["ratio"]) == ("not assessed", None, None)
    assert any("maximum" in text for text in found["cautions"])


def test_margin_by_default_is_from_memory() -> None:
    assert values("launch", LAUNCH | {"margin": "2 psi"}) == values("launch", LAUNCH)
    assert any("memory" in text for text in answer("launch", LAUNCH)["cautions"])
    none = answer("launch", LAUNCH | {"margin": "0 psi"})
    assert none["results"]["minimum_pressure"]["value"] == pytest.approx(6 * 0.433)
    assert not any("margin is from memory" in text for text in none["cautions"])


def test_below_the_margin_nothing_is_held() -> None:
    found = answer("launch", LAUNCH | {"pressure": "1 psi"})
    assert found["results"]["head_limit"]["value"] == 0
    assert any("below the margin" in text for text in found["cautions"])


def test_without_a_length_no_cable() -> None:
    found = values("launch", with_key(LAUNCH, "lined_length", None))
    assert list(found) == ["minimum_pressure", "head_limit", "end_thrust"]


@pytest.mark.analytic
def test_units() -> None:
    us, si = answer("launch", LAUNCH), answer("launch", LAUNCH, "si")
    factors = {("psi", "kPa"): 6.894757293168361, ("ft", "m"): 0.3048, ("lbf", "N"): 4.448221615}
    for name, result in us["results"].items():
        other = si["results"][name]
        factor = factors[result["unit"], other["unit"]]
        assert other["value"] == pytest.approx(factor * result["value"])
    assert [check["ratio"] for check in si["checks"]] == pytest.approx(
        [check["ratio"] for check in us["checks"]]
    )
    thrust = 7 * 6894.757293168361 * math.pi * 0.1016**2 / 4
    assert si["results"]["end_thrust"]["value"] == pytest.approx(thrust)


RULES = {
    "host_diameter": Rule("in", "0 in", "20 ft"),
    "pressure": Rule("psi", "0 psi", "200 psi"),
    "water_above_pipe": Rule("ft", "-0.1 ft", "400 ft"),
    "margin": Rule("psi", "-0.1 psi", "200 psi", required=False),
    "starting_pressure": Rule("psi", "0 psi", "200 psi", required=False),
    "maximum": Rule("psi", "0 psi", "200 psi", required=False),
    "lined_length": Rule("ft", "0 ft", "2000 ft", required=False),
}


@pytest.mark.parametrize(
    ("key", "what", "data"),
    [pytest.param(*case, id=f"{case[0]}-{case[1]}") for case in bad_inputs(LAUNCH, RULES)],
)
def test_bad_input_is_refused_by_its_name(key: str, what: str, data: dict[str, Any]) -> None:
    assert faulty_keys("launch", data) == [key]


def test_unknown_keys_and_all_faults_at_once() -> None:
    assert faulty_keys("launch", LAUNCH | {"presure": "7 psi"}) == ["presure"]
    assert faulty_keys("launch", {"maximum": "-1 psi"}) == [
        "host_diameter", "pressure", "water_above_pipe", "maximum",
    ]  # fmt: skip
