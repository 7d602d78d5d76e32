"""`calc wall`: names, units, the reference cases, checks of a given wall, bad input."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.operations.calculators.calls import (
    Rule,
    answer,
    bad_inputs,
    call,
    faulty_keys,
    values,
    with_key,
)

FULLY: dict[str, Any] = {
    "method": "ASTM F1216-09",
    "condition": "fully deteriorated",
    "host_diameter": "48 in",
    "ovality": "2 %",
    "water_above_crown": "8 ft",
    "modulus": "250000 psi",
    "retention": "50 %",
    "strength": "2250 psi",
    "cover": "16 ft",
    "soil_weight": "120 lbf/ft^3",
    "soil_modulus": "1000 psi",
    "live_load": "0.35 psi",
}
SOIL = ("cover", "soil_weight", "soil_modulus", "live_load")
PARTIALLY = {k: v for k, v in FULLY.items() if k not in SOIL} | {
    "condition": "partially deteriorated"
}
LATERAL = FULLY | {
    "host_diameter": "8 in",
    "water_above_crown": "5 ft",
    "cover": "10 ft",
    "live_load": "0.6 psi",
}


@pytest.mark.published
def test_the_worked_sewer() -> None:
    """48 in sewer, Najafi p. 109-114 (S2): R_w, B', C, t by X1.3 and X1.4, P as printed."""
    found = values("wall", FULLY)
    assert found["buoyancy_factor"] == pytest.approx(0.835, abs=5e-4)
    assert found["elastic_support"] == pytest.approx(0.414, abs=5e-4)
    assert found["ovality_factor"] == pytest.approx(0.836, abs=5e-4)
    # printed 14.90 is a slip; recomputed (C) 14.947
    assert found["external_pressure"] == pytest.approx(14.947, abs=5e-4)
    assert found["water_pressure"] == pytest.approx(5.20, abs=5e-3)
    assert found["wall_soil_buckling"] == pytest.approx(1.01, abs=5e-3)
    assert found["wall_stiffness"] == pytest.approx(0.790, abs=5e-4)
    assert found["governing"] == "X1.3"
    assert found["wall_required"] == found["wall_soil_buckling"]
    assert found["dimension_ratio"] == pytest.approx(48 / found["wall_required"])


@pytest.mark.published
@pytest.mark.parametrize(
    ("inches", "soil", "water", "live", "printed", "governs"),
    [
        (8, 10, 5, 0.6, (9.7233, 2.4537, 0.1370, 0.1317, 0.1144, 0.0611), "X1.3"),
        (6, 8, 4, 0.8, (8.0987, 1.9485, 0.0937, 0.0988, 0.0795, 0.0411), "X1.4"),
    ],
)
def test_the_computed_laterals(
    inches: int, soil: int, water: int, live: float, printed: tuple[float, ...], governs: str
) -> None:
    """Computed cases (C) of reference wall.md."""
    data = FULLY | {
        "host_diameter": f"{inches} in",
        "cover": f"{soil} ft",
        "water_above_crown": f"{water} ft",
        "live_load": f"{live} psi",
    }
    found = values("wall", data)
    names = ("external_pressure", "water_pressure", "wall_soil_buckling", "wall_stiffness",
             "wall_water_buckling", "wall_ovality_bending")  # fmt: skip
    assert [found[name] for name in names] == pytest.approx(list(printed), abs=5e-5)
    assert found["governing"] == governs


@pytest.mark.published
def test_the_older_edition_moves_the_ovality_factor() -> None:
    """Before 07b t is C^(-1/3) times as large: 1.07 in for the 48 in sewer (reference, C)."""
    found = answer("wall", FULLY | {"method": "ASTM F1216-05"})
    assert found["method"].startswith("ASTM F1216-05")
    assert found["results"]["wall_soil_buckling"]["value"] == pytest.approx(1.07, abs=5e-3)
    assert {"doherty-2008", "memory"} <= {source["key"] for source in found["sources"]}
    new = values("wall", FULLY)
    ratio = new["wall_soil_buckling"] / found["results"]["wall_soil_buckling"]["value"]
    assert ratio == pytest.approx(new["ovality_factor"] ** (1 / 3))


@pytest.mark.published
def test_glock_at_the_required_wall() -> None:
    """Glock (1977): E/(1 - nu²) (t/D)^2.2, long-term modulus, no safety factor."""
    found = values("wall", LATERAL)
    expected = 125_000 / (1 - 0.3**2) * found["dimension_ratio"] ** -2.2
    assert found["close_fit_pressure"] == pytest.approx(expected)
    table = call("wall", LATERAL).out
    assert "independent second opinion" in " ".join(table.split())


@pytest.mark.analytic
def test_both_unit_systems_say_the_same() -> None:
    us, si = answer("wall", LATERAL), answer("wall", LATERAL, "si")
    factors = {("in", "mm"): 25.4, ("psi", "kPa"): 6.894757293168361, ("1", "1"): 1.0}
    for name, result in us["results"].items():
        other = si["results"][name]
        if isinstance(result, dict):
            factor = factors[result["unit"], other["unit"]]
            assert other["value"] == pytest.approx(factor * result["value"])
        else:
            assert other == result


@pytest.mark.analytic
def test_the_two_heights_of_water() -> None:
    """Above the invert = above the crown + D: 5 ft and 5 ft 8 in for 8 in."""
    invert = with_key(LATERAL, "water_above_crown", None) | {"water_above_invert": "5 ft 8 in"}
    by_crown, by_invert = values("wall", LATERAL), values("wall", invert)
    assert by_invert.pop("governing") == by_crown.pop("governing")
    assert by_invert == pytest.approx(by_crown, rel=1e-12)


@pytest.mark.analytic
def test_partially_deteriorated_has_water_clauses_only() -> None:
    found = values("wall", PARTIALLY | {"host_diameter": "8 in"})
    assert list(found) == [
        "ovality_factor", "water_pressure", "wall_water_buckling", "wall_ovality_bending",
        "wall_required", "governing", "dimension_ratio", "close_fit_pressure",
    ]  # fmt: skip
    assert found["wall_required"] == max(
        found["wall_water_buckling"], found["wall_ovality_bending"]
    )
    assert found["governing"] == "X1.1"


def test_unused_soil_inputs_are_told() -> None:
    found = answer("wall", PARTIALLY | {"cover": "10 ft"})
    assert any("cover" in caution for caution in found["cautions"])
    assert "wall_soil_buckling" not in found["results"]


@pytest.mark.analytic
def test_a_given_wall_is_checked_clause_by_clause() -> None:
    required = values("wall", LATERAL)["wall_required"]
    thick = answer("wall", LATERAL | {"wall": f"{1.001 * required} in"})
    thin = answer("wall", LATERAL | {"wall": f"{0.999 * required} in"})
    assert [check["name"][:4] for check in thick["checks"]] == ["X1.1", "X1.2", "X1.3", "X1.4"]
    assert all(check["outcome"] == "met" for check in thick["checks"])
    missed = [check for check in thin["checks"] if check["outcome"] == "not met"]
    assert [check["name"][:4] for check in missed] == ["X1.3"]
    # X1.3 goes with t^(3/2)
    assert missed[0]["ratio"] == pytest.approx(0.999**1.5)
    assert missed[0]["demand"] == thin["results"]["external_pressure"]["value"]
    assert missed[0]["unit"] == "psi"
    # the required wall does not depend on the wall that is checked
    assert thin["results"] == thick["results"]


def test_exit_zero_where_a_check_is_not_met() -> None:
    assert call("wall", LATERAL | {"wall": "1 mm"}).code == 0
    assert answer("wall", LATERAL)["checks"] == []


@pytest.mark.analytic
def test_no_water_above_the_invert() -> None:
    """DR not above 100 (reference wall.md, M), said to be from memory."""
    dry = with_key(PARTIALLY, "water_above_crown", None) | {"water_above_invert": "0 ft"}
    found = answer("wall", dry | {"wall": "0.4 in"})
    assert found["results"]["dimension_ratio"]["value"] == pytest.approx(100)
    assert found["results"]["governing"] == "no water above the invert"
    assert any("memory" in caution for caution in found["cautions"])
    last = found["checks"][-1]
    assert (last["outcome"], last["capacity"], last["unit"]) == ("not met", 100, "1")
    assert "[M]" in last["source"]
    assert found["checks"][0]["ratio"] is None  # no demand


@pytest.mark.analytic
def test_a_minimum_wall_governs_where_it_is_larger() -> None:
    found = answer("wall", LATERAL | {"minimum_wall": "6 mm", "wall": "5 mm"}, "si")
    assert found["results"]["wall_required"]["value"] == pytest.approx(6)
    assert found["results"]["governing"] == "minimum wall"
    assert found["checks"][-1]["outcome"] == "not met"
    assert found["checks"][-1]["ratio"] == pytest.approx(5 / 6)
    small = values("wall", LATERAL | {"minimum_wall": "1 mm"})
    assert small["governing"] == "X1.3"


def test_a_thick_wall_has_no_tension() -> None:
    found = answer("wall", LATERAL | {"wall": "1 in"})
    bending = found["checks"][1]
    assert (bending["capacity"], bending["ratio"], bending["outcome"]) == (None, None, "met")
    assert any("X1.2 sets no limit" in caution for caution in found["cautions"])


def test_cautions_of_unusual_designs() -> None:
    shallow = with_key(LATERAL, "water_above_crown", None) | {"water_above_invert": "3 in"}
    assert any("below the crown" in text for text in answer("wall", shallow)["cautions"])
    damp = with_key(PARTIALLY, "water_above_crown", None) | {"water_above_invert": "6 in"}
    assert any("without water" in text for text in answer("wall", damp)["cautions"])
    # at D/t well below 30 F1216 allows more than Glock (reference wall.md, C)
    deep = PARTIALLY | {"water_above_crown": "250 ft"}
    assert any("Glock" in text for text in answer("wall", deep)["cautions"])


def test_defaults_come_from_the_specification() -> None:
    spelled = {"safety_factor": 2, "enhancement": 7, "poisson_ratio": 0.3}
    assert values("wall", LATERAL | spelled) == values("wall", LATERAL)
    without = with_key(LATERAL, "method", None)
    assert answer("wall", without)["method"].startswith("ASTM F1216-09")
    for key, other in (("safety_factor", 3), ("enhancement", 4), ("poisson_ratio", 0.4)):
        assert values("wall", LATERAL | {key: other}) != values("wall", LATERAL)


PSI = "psi"
RULES = {
    "host_diameter": Rule("in", "0 in", "20 ft"),
    "ovality": Rule("%", "-0.1 %", "15.01 %", pure=True),
    "water_above_crown": Rule("ft", "-1 in", "400 ft", required=False),
    "modulus": Rule(PSI, "0 psi", "1e9 psi"),
    "retention": Rule("%", "0 %", "101 %", pure=True),
    "strength": Rule(PSI, "0 psi", "1e9 psi"),
    "safety_factor": Rule("", "0", "11", required=False, pure=True),
    "enhancement": Rule("", "0", "21", required=False, pure=True),
    "poisson_ratio": Rule("", "-0.01", "0.5", required=False, pure=True),
    "cover": Rule("ft", "0 ft", "400 ft"),
    "soil_weight": Rule("lbf/ft^3", "0 lbf/ft^3", "1000 lbf/ft^3"),
    "soil_modulus": Rule(PSI, "0 psi", "1e9 psi"),
    "live_load": Rule(PSI, "-0.1 psi", "1e6 psi"),
    "minimum_wall": Rule("mm", "0 mm", "4 in", required=False),
    "wall": Rule("mm", "0 mm", "4 in", required=False),
}


@pytest.mark.parametrize(
    ("key", "what", "data"),
    [pytest.param(*case, id=f"{case[0]}-{case[1]}") for case in bad_inputs(LATERAL, RULES)],
)
def test_bad_input_is_refused_by_its_name(key: str, what: str, data: dict[str, Any]) -> None:
    assert faulty_keys("wall", data) == [key]


@pytest.mark.parametrize(
    ("changes", "keys"),
    [
        ({"method": "ASTM F1216-99"}, ["method"]),
        ({"method": 9}, ["method"]),
        ({"condition": "so so"}, ["condition"]),
        ({"condition": None}, ["condition"]),
        ({"water_above_crown": None}, ["water_above_invert"]),
        ({"water_above_invert": "5 ft"}, ["water_above_crown"]),
        ({"Wall": "3 mm"}, ["Wall"]),
        ({"host diameter": "8 in"}, ["host diameter"]),
        ({"collar": {"length": "1 in"}}, ["collar"]),
        ({"wall": "101.6 mm"}, ["wall"]),  # the radius
    ],
)
def test_other_faults(changes: dict[str, Any], keys: list[str]) -> None:
    data: dict[str, Any] = dict(LATERAL)
    for key, item in changes.items():
        data = with_key(data, key, item)
    assert faulty_keys("wall", data) == keys


def test_all_faults_at_once() -> None:
    data = with_key(LATERAL, "modulus", None) | {
        "host_diameter": "0 in",
        "ovality": "20 %",
        "retention": "half",
        "extra": 1,
    }
    assert set(faulty_keys("wall", data)) == {
        "modulus", "host_diameter", "ovality", "retention", "extra",
    }  # fmt: skip
    assert set(faulty_keys("wall", {})) >= {"condition", "host_diameter", "water_above_invert"}


def test_faults_name_value_unit_and_range_in_the_reader_units() -> None:
    assert "20 is outside" not in call("wall", LATERAL | {"wall": "20 mm"}).err
    us = call("wall", LATERAL | {"host_diameter": "20 ft"}).err
    si = call("wall", LATERAL | {"host_diameter": "20 ft"}, "--units", "si").err
    assert us.startswith("host_diameter: 240 in is outside ")
    assert "196.85 in" in us
    assert si.startswith("host_diameter: 6096 mm is outside ")
    assert "5000 mm" in si


def test_loads_that_no_wall_carries() -> None:
    soft = LATERAL | {"modulus": "150 psi", "water_above_crown": "300 ft"}
    assert faulty_keys("wall", soft) == ["wall_required"]


NUMBERS = st.fixed_dictionaries(
    {
        "host_diameter": st.floats(0.1, 3),
        "ovality": st.floats(0, 0.15),
        "water_above_invert": st.floats(0, 20),
        "wall": st.floats(0.0005, 0.04),
    }
)


@settings(max_examples=40)
@given(NUMBERS, st.sampled_from(["us", "si"]), st.booleans())
def test_never_nan_and_the_required_wall_is_the_largest(
    numbers: dict[str, float], units: str, fully: bool
) -> None:
    base = with_key(LATERAL if fully else PARTIALLY, "water_above_crown", None)
    data = base | {
        "ovality": numbers["ovality"],
        "host_diameter": f"{numbers['host_diameter']} m",
        "water_above_invert": f"{numbers['water_above_invert']} m",
        "wall": f"{numbers['wall']} m",
    }
    found = values("wall", data, units)
    walls = [found[name] for name in found if name.startswith("wall_") and name != "wall_required"]
    assert all(found["wall_required"] >= wall for wall in walls)
