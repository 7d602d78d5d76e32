"""Verdicts on cures that went well and on what goes wrong: the right check, the right words.

The logs come from tests/acceptance/synthetic_logs.py: other equations' code, other grid.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from drainwright.acceptance.cure_checks import Evidence, rule_checks
from drainwright.acceptance.cure_log import BLIND, LogCase, judge, leaves_out
from drainwright.acceptance.cure_series import Told, phases_of, readings_of
from drainwright.acceptance.cure_site import SiteCase
from drainwright.acceptance.log_findings import looked_through
from drainwright.checks import Outcome
from drainwright.operations.sheet_case import case_of
from drainwright.records.cure_log import CureLog, Reads
from drainwright.records.cure_verdict import CureVerdict
from drainwright.units import PSI
from tests.acceptance.draws import STEAM_ON, channels, log_of
from tests.acceptance.sheets import place, sheet
from tests.acceptance.synthetic_logs import Array, Made, Sensors, Truth, make, readings
from tests.planning.test_design import COLLAR

MET, NOT_MET, OPEN = Outcome.MET, Outcome.NOT_MET, Outcome.NOT_ASSESSED
GOOD = Truth(
    supply=0.02, bladder_k=0.26, rate=1.05, gauge=7 * PSI, steam_time=12_900.0, cool_time=10_800.0
)
LENGTH_CURE, COLLAR_CURE = "cure at the least place of the length", "cure of the collar"
CHANGE, LET_DOWN = "least tube pressure at the change to air", "warmest wall at let-down"
STEP_2, EXHAUST = "maker’s schedule, step 2", "steam after the exhaust stood"


@cache
def lined() -> float:
    figure = sheet().figure("length.lined")
    assert figure is not None
    return float(figure.value)


@cache
def site_case() -> SiteCase:
    found = case_of(place(), sheet(), (COLLAR,))
    assert found.case is not None, found.lacks
    return found


@cache
def cured(truth: Truth) -> Made:
    return make(replace(truth, length=lined()))


Change = Callable[[Array, dict[str, Array]], None]


def drawn_log(truth: Truth = GOOD, change: Change | None = None, every: float = 10.0) -> CureLog:
    """A log that ends 3 min after pressure was let down."""
    seconds, values = readings(cured(truth), Sensors(every=every))
    down = truth.steam_time + truth.cool_time - 180.0
    if truth.cool_time:
        values["P tube"] = np.where(seconds > down, 0.0, values["P tube"])
    if change:
        change(seconds, values)
    log = log_of(seconds, values, lined())
    return looked_through(log, 101_325.0)


def verdict(log: CureLog, told: Told | None = None, **changes: Any) -> CureVerdict:
    given = LogCase(sheet(), log, site_case(), told or Told())
    return judge(replace(given, **changes))


def outcomes(found: CureVerdict) -> dict[str, Outcome]:
    return {check.name: check.outcome for check in found.checks}


def note(found: CureVerdict, name: str) -> str:
    return next(check.note for check in found.checks if check.name == name)


def words(found: CureVerdict, key: str) -> str:
    told = [one.words for one in found.findings if one.key == key]
    assert told, [one.key for one in found.findings]
    return told[0]


def test_a_good_cure_meets_everything() -> None:
    found = verdict(drawn_log())
    assert outcomes(found) == dict.fromkeys(outcomes(found), MET), found.checks
    assert found.outcome is MET
    assert found.findings == ()
    assert found.steam_on is not None
    assert abs((found.steam_on - STEAM_ON).total_seconds()) < 90
    assert found.let_down is not None
    truth = cured(GOOD)
    assert found.along is not None
    assert found.along.cure_low[4] < truth.least(GOOD.steam_time) + 0.06
    collar = float(truth.cure["collar", 0][-1])
    assert found.along.collar_cure[1] < collar < found.along.collar_cure[2]
    assert found.misfit is not None
    assert found.misfit < 1.5
    assert "not been compared with instrumented liners" in found.leaves_out[0]


def test_cold_tail() -> None:
    found = verdict(drawn_log(replace(GOOD, supply=0.0016)))
    assert outcomes(found)[LENGTH_CURE] is NOT_MET
    assert outcomes(found)[EXHAUST] is NOT_MET
    assert "it never stood there" in note(found, EXHAUST)
    assert "the steam did not reach the far end" in words(found, "cold tail")


def test_boiler_stop() -> None:
    found = verdict(drawn_log(replace(GOOD, stops=((3000.0, 4500.0),), steam_time=7200.0)))
    assert "steam stopped for 2" in words(found, "boiler stop")
    assert outcomes(found)[EXHAUST] is NOT_MET
    assert outcomes(found)[COLLAR_CURE] is NOT_MET


def test_vent_blocked() -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        after = (seconds > 5400) & (seconds < GOOD.steam_time)
        fall = 60.0 * (1 - np.exp(-(seconds - 5400) / 1200))
        values["Exhaust"] = np.where(after, values["Exhaust"] - fall, values["Exhaust"])

    found = verdict(drawn_log(change=change))
    assert "vent blocked: 9" in words(found, "vent blocked")
    assert outcomes(found)[EXHAUST] is NOT_MET
    assert "cold tail" not in {one.key for one in found.findings}


def test_a_dead_sensor_is_named_and_the_rest_is_judged() -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        values["Top far"][seconds > 3000] = np.nan

    found = verdict(drawn_log(change=change))
    assert "Top far (wall, top) reads nothing usable in the last" in words(found, "dead")
    assert outcomes(found)[LENGTH_CURE] is MET


def test_swapped_sensors_shut_everything_out() -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        late = np.interp(seconds - 240.0, seconds, values["Exhaust"]) - 2.0
        values["Exhaust"], values["Gas in"] = values["Gas in"], late

    found = verdict(drawn_log(change=change))
    assert "the two are swapped" in words(found, "swapped")
    assert set(outcomes(found).values()) == {OPEN}
    assert "swapped" in note(found, STEP_2)


def test_a_stuck_sensor_is_taken_out() -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        at = int(np.searchsorted(seconds, 900.0))
        values["Bottom near"][at:] = values["Bottom near"][at]

    log = drawn_log(change=change)
    found = verdict(log)
    assert "Bottom near (wall, bottom) stands still while the others move" in words(found, "stuck")
    assert outcomes(found)[LENGTH_CURE] is MET
    stuck = next(one for one in log.series if one.channel.name == "Bottom near")
    assert stuck.values[-1] is None


def test_a_clock_that_is_off_is_told_against_the_crews_steps() -> None:
    log = drawn_log()
    on = log.since_start(STEAM_ON) - 900.0
    told = Told(steam_on=on, air_shut=on + GOOD.steam_time + 9000.0)
    found = verdict(log, told)
    assert "the log shows steam on 16 min after the crew wrote it down" in words(found, "clock")
    assert found.outcome is MET


def test_let_down_warm() -> None:
    found = verdict(drawn_log(replace(GOOD, cool_time=3600.0)))
    assert outcomes(found)[LET_DOWN] is NOT_MET
    check = next(one for one in found.checks if one.name == LET_DOWN)
    assert check.demand is not None
    assert check.demand > 320.0


def test_pressure_dip_at_the_change() -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        dip = np.abs(seconds - GOOD.steam_time - 30.0) < 15.0
        values["P tube"][dip] = 2.0 * PSI

    found = verdict(drawn_log(change=change))
    assert outcomes(found)[CHANGE] is NOT_MET
    check = next(one for one in found.checks if one.name == CHANGE)
    assert check.capacity == pytest.approx(2.0 * PSI, abs=1.0)


def test_a_slow_log_cannot_show_the_change() -> None:
    found = verdict(drawn_log(every=30.0))
    assert outcomes(found)[CHANGE] is OPEN
    assert "10 s or faster is needed" in note(found, CHANGE)


def test_water_on_the_collar() -> None:
    found = verdict(drawn_log(replace(GOOD, collar_water=60.0)))
    assert outcomes(found)[COLLAR_CURE] is NOT_MET
    assert "water of the main on the collar" in words(found, "water on collar")
    assert found.least_place.startswith("collar")


def test_a_log_that_is_too_short() -> None:
    log = drawn_log(replace(GOOD, steam_time=3600.0, cool_time=0.0))
    found = verdict(log)
    assert "the log ends while steam flows" in words(found, "short")
    assert outcomes(found)[STEP_2] is NOT_MET
    assert outcomes(found)[CHANGE] is OPEN
    assert outcomes(found)[LET_DOWN] is OPEN
    assert outcomes(found)[COLLAR_CURE] is NOT_MET


@pytest.mark.parametrize("gap", [60.0, 1200.0])
def test_two_files_with_a_gap_between(gap: float) -> None:
    log = drawn_log()
    kept = [n for n, s in enumerate(log.seconds) if not 4000.0 < s < 4000.0 + gap]
    cut = replace(
        log,
        seconds=tuple(log.seconds[n] for n in kept),
        series=tuple(replace(one, values=tuple(one.values[n] for n in kept)) for one in log.series),
    )
    found = verdict(looked_through(cut, 101_325.0))
    expected = MET if gap < 120 else OPEN
    assert outcomes(found)[LENGTH_CURE] is expected


@pytest.mark.parametrize(
    ("name", "factor", "offset", "told"),
    [
        ("Gas in", 1.8, 273.15 - 1.8 * 273.15 + 32.0, "it is in °F"),
        ("Exhaust", 5 / 9, 273.15 - 32 * 5 / 9 - 273.15 * 5 / 9, "it is in °C"),
        ("P tube", 1 / 6.894757, 0.0, "it is in psi"),
        ("P tube", 6.894757, 0.0, "it is in kPa"),
    ],
)
def test_wrong_units_shut_everything_out(
    name: str, factor: float, offset: float, told: str
) -> None:
    def change(seconds: Array, values: dict[str, Array]) -> None:
        values[name] = values[name] * factor + offset

    found = verdict(drawn_log(change=change))
    assert told in words(found, "units")
    assert set(outcomes(found).values()) == {OPEN}


def test_calibration_out_of_date_downgrades_with_words() -> None:
    log = drawn_log()
    late = dt.date(2026, 11, 1)
    series = tuple(
        replace(one, channel=replace(one.channel, calibration_due=late))
        if one.channel.name == "Exhaust"
        else one
        for one in log.series
    )
    found = verdict(replace(log, series=series))
    assert found.outcome is OPEN
    assert set(outcomes(found).values()) == {OPEN}
    assert "calibration had run out: Exhaust (due 2026-11-01)" in note(found, LENGTH_CURE)


def test_channels_of_the_tests_cover_every_sensor() -> None:
    assert len(channels(10.0)) == 8


def seen_without(reads: set[Reads]) -> Evidence:
    log = drawn_log()
    log = replace(log, series=tuple(one for one in log.series if one.channel.reads not in reads))
    given = readings_of(log)
    return Evidence(sheet(), log, given, phases_of(given, Told()))


def test_a_blind_end_says_so() -> None:
    # TRADE 4: no far sensor, so the band widens and says so
    case = site_case().case
    assert BLIND in leaves_out(case, seen_without({Reads.EXHAUST}))
    assert BLIND not in leaves_out(case, seen_without(set()))


def test_air_temperature_is_not_wall_temperature() -> None:
    # TRADE 18: without a sensor at the wall nothing is said of the let-down
    seen = seen_without({Reads.WALL_TOP, Reads.WALL_BOTTOM, Reads.COLLAR})
    (found,) = [check for check in rule_checks(seen) if check.name == LET_DOWN]
    assert found.outcome is OPEN
    assert "air temperature is not wall temperature" in found.note
