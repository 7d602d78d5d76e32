"""Tightness verdicts against the rules of lateral owners and the physics of enclosed air."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from drainwright.acceptance.tightness_verdict import demand_of, tightness
from drainwright.acceptance.verdict import Subject
from drainwright.checks import Check, Outcome
from drainwright.engineering.tightness import air_or_water_test
from drainwright.records.tightness_report import (
    TestedSection,
    TestReading,
    TestScope,
    TightnessReport,
)
from drainwright.units import FOOT, GALLON, INCH, PSI
from tests.acceptance.cases import SHEET, finished, report
from tests.check_rows import record

DROP = "pressure drop within the test time"
SPEC = SHEET.specification


def verdict(*reports: TightnessReport) -> Subject:
    return tightness(replace(finished(), tightness=reports))


def one(name: str, *reports: TightnessReport) -> Check:
    return next(check for check in verdict(*reports).checks if check.name == name)


def readings(*pairs: tuple[float, float]) -> tuple[TestReading, ...]:
    return tuple(TestReading(60 * minute, psi * PSI) for minute, psi in pairs)


# Olympic Valley PSD CA (S, reference/tightness.md): 4 psi, 3.5 psi or more for 5 min
@pytest.mark.published
@pytest.mark.parametrize(("end", "outcome"), [(3.6, Outcome.MET), (3.4, Outcome.NOT_MET)])
def test_olympic_valley(end: float, outcome: Outcome) -> None:
    found = one(DROP, report(readings=readings((0, 4.0), (5, end))))
    assert found.outcome is outcome


# Oakland CA 13.08.500 (S): 5 ft of water, level constant for 15 min
@pytest.mark.published
@pytest.mark.parametrize(("fall", "outcome"), [(0.0, Outcome.MET), (0.01, Outcome.NOT_MET)])
def test_oakland(fall: float, outcome: Outcome) -> None:
    head = 5.0 * 0.43353  # psi; 62.4 lb/ft^3 over 144
    given = report(method="water-level", readings=readings((0, head), (15, head - fall)))
    assert one(DROP, given).outcome is outcome


@pytest.mark.published
def test_groundwater_raises_the_start_pressure() -> None:
    given = report(water_above_pipe=6 * FOOT)
    raised = demand_of(given, SPEC).raised / PSI
    record("tightness", "raise for 6 ft, verdict", "2.58", raised, "psi", None,
           "City code of Eldridge IA", "S")  # fmt: skip
    assert one("start pressure reached", given).outcome is Outcome.NOT_MET
    enough = replace(given, readings=readings((0, 6.6), (5, 6.3)))
    assert verdict(enough).outcome is Outcome.MET


@pytest.mark.published
def test_more_than_ten_psi_is_not_allowed() -> None:
    # Eldridge IA (S): total at most 10 psi; 4 + 0.43 × 15 = 10.45
    found = one("start pressure with groundwater", report(water_above_pipe=15 * FOOT))
    assert found.outcome is Outcome.NOT_MET


# F1216 from memory (M): 50 gal/(in mile day); 4 in × 40 ft loses at most 1.515 gal a day
@pytest.mark.published
@pytest.mark.parametrize(("gallons", "outcome"), [(1.51, Outcome.MET), (1.52, Outcome.NOT_MET)])
def test_exfiltration(gallons: float, outcome: Outcome) -> None:
    given = report(
        method="exfiltration", sections=(TestedSection(4 * INCH, 40 * FOOT),), readings=(),
        test_time=86400.0, water_added=gallons * GALLON,
    )  # fmt: skip
    assert one("water lost", given).outcome is outcome


# EN 1610 (S2): 0.15 L/m2 in 30 min: DN 150, 10 m: 0.7 L
@pytest.mark.published
@pytest.mark.parametrize(("liters", "outcome"), [(0.70, Outcome.MET), (0.72, Outcome.NOT_MET)])
def test_water_by_en1610(liters: float, outcome: Outcome) -> None:
    given = report(
        method="en1610-w", sections=(TestedSection(0.15, 10.0),), readings=(), test_time=1800.0,
        water_added=liters * 1e-3,
    )  # fmt: skip
    assert one("water lost", given).outcome is outcome
    short = replace(given, test_time=1500.0)
    assert one("water lost", short).outcome is Outcome.NOT_ASSESSED


@pytest.mark.published
def test_a_short_rule_is_lifted_to_the_least_time() -> None:
    # TRADE 21: 4 in × 40 ft by the short air rule is 7 s (C); floor 2 to 5 min (M)
    given = report(method="ncpi", sections=(TestedSection(4 * INCH, 40 * FOOT),))
    assert air_or_water_test("ncpi", [4 * INCH], [40 * FOOT]).test_time == pytest.approx(7, abs=0.1)
    assert demand_of(given, SPEC).time == 120.0


@pytest.mark.published
def test_f1417_keeps_its_own_drop_and_time() -> None:
    # ASTM F1417 Table 2 (S2): 4 in to 597 ft 1:53 for a drop of 0.5 psi; several sizes together
    asked = demand_of(
        report(method="astm-f1417", sections=(TestedSection(8 * INCH, 400 * FOOT),)), SPEC
    )
    assert round(asked.time) == 304
    assert asked.drop == pytest.approx(0.5 * PSI)


# ------------------------------------------------------------ the air's temperature


def warm(*rows: tuple[float, float, float]) -> tuple[TestReading, ...]:
    return tuple(TestReading(60 * m, psi * PSI, kelvin) for m, psi, kelvin in rows)


@pytest.mark.analytic
def test_cooling_alone_is_no_leak_but_no_proof_either() -> None:
    # a tight pipe: (4 + 14.696) psi abs falls with T; 10 K of 290 K cost 0.645 psi
    end = (4 * PSI + 101_325.0) * 280.0 / 290.0 / PSI - 101_325.0 / PSI
    found = verdict(report(readings=warm((0, 4.0, 290.0), (5, end, 280.0))))
    raw = next(check for check in found.checks if check.name == DROP)
    assert raw.outcome is Outcome.NOT_ASSESSED
    assert "cooled" in raw.note
    assert found.outcome is Outcome.NOT_ASSESSED


@pytest.mark.analytic
def test_warming_hides_no_leak() -> None:
    found = verdict(report(readings=warm((0, 4.0, 285.0), (5, 3.7, 295.0))))
    steady = next(check for check in found.checks if check.name.endswith("taken off"))
    assert steady.outcome is Outcome.NOT_MET
    # without the warming: 3.7 psi less (3.7 + 14.696) × 10/295
    fall = 0.3 + (3.7 + 101_325.0 / PSI) * 10 / 295
    assert steady.reached == pytest.approx(fall * PSI)


# ------------------------------------------------------------ what was not tested


def test_no_test_is_not_assessed() -> None:
    assert verdict().outcome is Outcome.NOT_ASSESSED


def test_what_cannot_be_isolated_is_not_assessed_and_the_collar_counts_beside_it() -> None:
    alone = replace(report(method="", readings=()), not_isolated="no plug holds")
    packer = report(number=2, scope=TestScope.PACKER)
    found = verdict(alone, packer)
    assert found.outcome is Outcome.NOT_ASSESSED
    assert found.missing == ("tightness of the lined length: cannot be isolated: no plug holds",)
    collar = [check for check in found.checks if check.name.startswith("collar between packers")]
    assert {check.outcome for check in collar} == {Outcome.MET}


@pytest.mark.parametrize(
    ("change", "name", "outcome"),
    [
        ({"plugs": ()}, "plugs and what lies inside", Outcome.NOT_ASSESSED),
        ({"inside": ""}, "plugs and what lies inside", Outcome.NOT_ASSESSED),
        ({"water_above_pipe": None}, "groundwater that day", Outcome.NOT_ASSESSED),
        ({"test_time": 60.0}, "test time on the form", Outcome.NOT_MET),
        ({"allowed_drop": 1.0 * PSI}, "allowed drop on the form", Outcome.NOT_MET),
        ({"start_pressure": 3.5 * PSI}, "start pressure on the form", Outcome.NOT_MET),
        ({"readings": readings((0, 4.0), (3, 3.9))}, DROP, Outcome.NOT_ASSESSED),
        ({"readings": readings((0, 4.0))}, DROP, Outcome.NOT_ASSESSED),
        ({"method": "by ear"}, "method", Outcome.NOT_ASSESSED),
        ({"sections": (TestedSection(4 * INCH, 20 * FOOT),)}, "length inside the test",
         Outcome.NOT_MET),
    ],
)  # fmt: skip
def test_each_gap_is_told(change: dict[str, Any], name: str, outcome: Outcome) -> None:
    given = replace(report(), **change)
    assert one(name, given).outcome is outcome
    assert verdict(given).outcome is not Outcome.MET


def test_the_newest_test_counts() -> None:
    failed = report(readings=readings((0, 4.0), (5, 3.0)))
    again = report(number=2)
    assert verdict(failed).outcome is Outcome.NOT_MET
    assert verdict(failed, again).outcome is Outcome.MET
