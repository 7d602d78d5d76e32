"""`calc night-flow`, `calc rtk` and `calc reduction` as an engineer calls them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.check_rows import record
from tests.operations.calculators.calls import answer, answer_of, faulty_keys, run, values, with_key

ROOT = Path(__file__).resolve().parents[3]
STORMS = (ROOT / "examples" / "calculators" / "storms.csv").read_text("utf-8")
NIGHT: dict[str, Any] = {"minimum_flow": "0.5 mgd", "average_flow": "1 Mgal/d"}
RTK: dict[str, Any] = {
    "triangles": [
        {"R": 0.02, "T": "1 h", "K": 1},
        {"R": "3 %", "T": "180 min", "K": 2.0},
    ],
    "step": "1 h",
    "rain": ["0.2 in", "0.6 in"],
    "area": "100 acre",
}


def reduced(folder: Path, text: str, *options: str) -> Any:
    (folder / "s.csv").write_text(text, "utf-8")
    (folder / "r.toml").write_text('storms = "s.csv"\n', "utf-8")
    return run("calc", "reduction", str(folder / "r.toml"), *options)


@pytest.mark.published
def test_night_flow_in_both_units() -> None:
    found = values("night-flow", NIGHT)["base_infiltration"]
    record("infiltration", "calc night-flow", "0.285714", found, "Mgal/d", None, "formula", "C")
    si = answer("night-flow", NIGHT, "si")["results"]["base_infiltration"]
    assert si["unit"] == "L/s"
    assert si["value"] == pytest.approx(found * 3.785411784e6 / 86400, rel=1e-12)


def test_night_flow_by_the_other_methods() -> None:
    factor = NIGHT | {"method": "minimum-factor", "factor": 0.85}
    assert values("night-flow", factor)["base_infiltration"] == pytest.approx(0.425)
    del factor["average_flow"]
    assert values("night-flow", factor)["base_infiltration"] == pytest.approx(0.425)
    produced = NIGHT | {"method": "wastewater-production", "factor": 0.8}
    assert values("night-flow", produced)["base_infiltration"] == pytest.approx(1 - 0.5 / 0.8)


def test_faults_of_night_flow() -> None:
    assert faulty_keys("night-flow", with_key(NIGHT, "minimum_flow", "2 mgd")) == ["minimum_flow"]
    assert faulty_keys("night-flow", NIGHT | {"factor": 0.8}) == ["factor"]
    assert faulty_keys("night-flow", NIGHT | {"method": "minimum-factor"}) == ["factor"]
    low = NIGHT | {"method": "wastewater-production", "factor": 0.2}
    assert faulty_keys("night-flow", low) == ["factor"]
    assert faulty_keys("night-flow", with_key(NIGHT, "average_flow", "3 ft")) == ["average_flow"]


@pytest.mark.analytic
def test_rtk_keeps_the_water() -> None:
    found = values("rtk", RTK)
    assert sum(found["ordinates"]) == pytest.approx(0.05, rel=1e-12)
    assert len(found["flow"]) == len(found["ordinates"]) + 1
    inches, acres = 0.8, 100.0
    assert found["volume"] == pytest.approx(0.05 * inches * acres * 27154.29, rel=1e-6)
    assert sum(found["flow"]) * 3600 * 7.48051948 == pytest.approx(found["volume"], rel=1e-6)


def test_faults_of_rtk() -> None:
    assert faulty_keys("rtk", with_key(RTK, "triangles", [{"R": 0.7, "T": "1 h", "K": 1}] * 2)) == [
        "triangles"
    ]
    bad = with_key(RTK, "triangles", [{"R": 2, "T": "1 h", "K": 0}])
    assert faulty_keys("rtk", bad) == ["triangles[1].R", "triangles[1].K"]
    assert faulty_keys("rtk", with_key(RTK, "step", "0 h")) == ["step"]
    assert faulty_keys("rtk", with_key(RTK, "step", "0.01 s")) == ["step"]


@pytest.mark.published
def test_reduction_of_the_constructed_set(tmp_path: Path) -> None:
    found = answer_of("reduction", reduced(tmp_path, STORMS, "--json"))["results"]
    by_name = {one["method"]: one for one in found["methods"]}
    raw = 100 * by_name["rain slope"]["reduction"]["value"]
    record("infiltration", "calc reduction, raw cut", "57.95", raw, "%", None, "six storms", "C")
    less = 100 * found["slope_less_control"]["value"]
    record("infiltration", "calc reduction, adjusted", "54.66", less, "%", None, "six storms", "C")
    assert found["reported"] == "control log ancova"
    assert list(by_name) == ["rain slope", "rain log", "control log ancova", "log ratio",
                             "double mass"]  # fmt: skip
    for one in by_name.values():
        assert set(one) == {"method", "reduction", "low", "high", "p_value"}
    assert by_name["double mass"]["low"]["value"] is None
    ancova = by_name["control log ancova"]
    assert ancova["low"]["value"] < ancova["reduction"]["value"] < ancova["high"]["value"]


def test_without_a_control_nothing_is_reported(tmp_path: Path) -> None:
    lines = [line.rpartition(",")[0] for line in STORMS.splitlines()]
    found = answer_of("reduction", reduced(tmp_path, "\n".join(lines), "--json"))
    assert found["results"]["reported"] == "none"
    assert "never the only evidence" in found["results"]["why"]
    assert {one["method"] for one in found["results"]["methods"]} == {"rain slope", "rain log"}


def test_faults_of_the_storms(tmp_path: Path) -> None:
    done = reduced(tmp_path, STORMS.replace("before,0.8,0.09", "during,0.8,-0.09"))
    assert done.code == 2
    assert "row 2, column period: “during” is not before or after" in done.err
    assert "row 2, column treated: -0.09 is not above 0" in done.err
    few = "\n".join(STORMS.splitlines()[:9])
    assert "has 2 storms after the work" in reduced(tmp_path, few).err
    assert "has no column treated" in reduced(tmp_path, STORMS.replace("treated", "x")).err
    told = run("calc", "reduction", "-", text='storms = "no.csv"')
    assert "can't be read" in told.err
