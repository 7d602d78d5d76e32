"""A reading is held against the work sheet as issued, and told in words."""

from __future__ import annotations

import pytest

from drainwright.checks import Outcome
from drainwright.planning.field_checks import (
    ReadingCheck,
    Window,
    check_reading,
    ratio_windows,
    windows_of,
)
from drainwright.records.field_step import START_STEPS
from drainwright.units import UnitSystem, to_si
from tests.field_job import FIGURES, FOOT, POUND, PSI, field_sheet

US, SI = UnitSystem.US, UnitSystem.SI


def window(step: str, name: str, system: UnitSystem = US) -> Window:
    found = windows_of(field_sheet(), START_STEPS, system)
    return next(one for one in found if (one.step, one.name) == (step, name))


def told(step: str, name: str, value: float) -> ReadingCheck:
    return check_reading(window(step, name), value)


def test_inside_is_met_and_says_nothing() -> None:
    assert told("inversion", "tube_pressure", 7.0 * PSI) == ReadingCheck(Outcome.MET, "", "")


def test_too_low_says_what_the_water_pushes_with_and_the_usual_choices() -> None:
    found = told("inversion", "tube_pressure", 3.8 * PSI)
    assert (found.outcome, found.heading) == (Outcome.NOT_MET, "Too low.")
    # 6 ft of water at 0.433 psi/ft (ASTM F1216-09, X1.3)
    assert "2.60 psi" in found.meaning
    assert "4.60 psi" in found.meaning
    assert found.choices[-1] == "keep it"


def test_too_high_names_what_gives_way_first() -> None:
    found = told("inversion", "tube_pressure", 9.3 * PSI)
    assert found.heading == "Too high."
    assert "9.00 psi (tube gives way first)" in found.meaning


@pytest.mark.parametrize(
    ("step", "low"), [("inversion", 4.6), ("steam_on", 4.4), ("air_on", 4.4), ("soak_back", 4.4)]
)
def test_each_phase_has_its_own_least_pressure(step: str, low: float) -> None:
    assert told(step, "tube_pressure", (low - 0.05) * PSI).outcome is Outcome.NOT_MET
    assert told(step, "tube_pressure", (low + 0.05) * PSI).outcome is Outcome.MET


def test_a_reading_typed_as_the_printed_end_is_inside() -> None:
    odd = [one for one in FIGURES if one.key != "pressure.steam_least"]
    like = next(one for one in FIGURES if one.key == "pressure.steam_least")
    figures = (*odd, type(like)(like.key, "", 4.8649 * PSI, "pressure", "", like.source, ()))
    found = windows_of(field_sheet(figures=figures), START_STEPS, US)
    steam = next(one for one in found if (one.step, one.name) == ("steam_on", "tube_pressure"))
    assert steam.limits.startswith("window 4.86")
    assert check_reading(steam, 4.86 * PSI).outcome is Outcome.MET
    assert check_reading(steam, 4.85 * PSI).outcome is Outcome.NOT_MET


def test_a_cable_short_of_its_mark() -> None:
    # 6 in off at most, a setting; the mark is 79.6 ft
    assert told("seated", "cable", 79.2 * FOOT).outcome is Outcome.MET
    found = told("seated", "cable", 78.0 * FOOT)
    assert "79.6 ft" in found.meaning
    assert "half as much" in found.meaning


def test_length_agrees_by_share_or_amount_whichever_is_more() -> None:
    # Silver Lake 6.20.410: within 1 %; or 0.5 ft, a setting: of 40 ft that is 0.5 ft
    asked = window("last_look", "length")
    assert asked.low == pytest.approx(39.5 * FOOT)
    assert asked.high == pytest.approx(40.5 * FOOT)


def test_let_down_is_judged_by_the_wall() -> None:
    found = told("let_down", "wall_temperature", to_si(104.0, "degF"))
    assert found.heading == "Too high."
    assert "100 °F" in found.meaning
    assert told("let_down", "wall_temperature", to_si(100.0, "degF")).outcome is Outcome.MET


def test_exhaust_counts_only_at_its_temperature() -> None:
    found = told("exhaust_steady", "exhaust_temperature", to_si(190.0, "degF"))
    assert "212 °F" in found.meaning
    assert "20.0 min" in found.meaning


def test_the_ratio_is_by_weight_and_both_parts_count() -> None:
    (ratio,) = ratio_windows(field_sheet(), START_STEPS)
    assert (ratio.step, ratio.over, ratio.under) == ("mixed", "part_a", "part_b")
    assert ratio.low == pytest.approx(4 * 0.98)
    assert ratio.high == pytest.approx(4 * 1.02)
    # each alone within 2 %, together 3.9 % off
    a, b = 28.0 * 1.0195 * POUND, 7.0 * 0.9815 * POUND
    assert told("mixed", "part_a", a).outcome is Outcome.MET
    assert told("mixed", "part_b", b).outcome is Outcome.MET
    assert not ratio.low <= a / b <= ratio.high


def test_what_the_sheet_does_not_bound_has_no_window() -> None:
    found = windows_of(field_sheet(figures=()), START_STEPS, US)
    assert found == ()


def test_words_follow_the_projects_units() -> None:
    assert window("inversion", "tube_pressure", SI).limits == "window 31.7 – 62.1 kPa"


def test_the_bladder_has_a_window_of_its_own() -> None:
    # TRADE 15: gauges apart for carrier bladder and tube; the sheet's letter ends at 18 psi
    assert told("bladder_seated", "bladder_pressure", 17.9 * PSI).outcome is Outcome.MET
    assert window("bladder_seated", "bladder_pressure").high == pytest.approx(18 * PSI, rel=1e-3)
