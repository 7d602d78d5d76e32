"""Deadlines as clock times, from what was entered."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from drainwright.engineering.resin_life import GelLaw
from drainwright.errors import InputError
from drainwright.planning.field_clock import ClockRules, ResinClock, clock_rules, resin_clock
from drainwright.planning.field_deadlines import Deadline, deadlines, doubled
from drainwright.planning.resin_clock import plan_deadlines
from drainwright.planning.site import Site
from drainwright.records.attempt import attempts_of
from drainwright.records.field_entry import FieldEvent
from drainwright.units import FOOT
from tests.field_job import AT, RESIN, event, field_sheet, step

Floats = NDArray[np.float64]
GAS = 8.314462618  # CODATA 2018
LAW = GelLaw(293.15, 10800.0, 50e3, 50e3)
RULES = ClockRules(
    law=LAW, air=293.15, ice=275.15, lag_air=1800.0, lag_ice=1200.0, wet_out=1500.0,
    moving=1500.0, inverting=480.0, withdrawing=600.0, life_seated=0.75, life_out=0.85,
)  # fmt: skip
CHICAGO = ZoneInfo("America/Chicago")
MINUTE = dt.timedelta(minutes=1)


def clock(minutes: float, *events: FieldEvent, rules: ClockRules = RULES) -> ResinClock:
    found = resin_clock(rules, events, AT + minutes * MINUTE)
    assert found is not None
    return found


def after(moment: dt.datetime | None) -> float:
    """Minutes from mixing."""
    assert moment is not None
    return (moment - AT) / MINUTE


@pytest.mark.analytic
def test_at_one_temperature_life_is_time_over_gel_time() -> None:
    # mixed at the air's temperature and off the ice at once: 180 min to gel, all the way
    done = (step("mixed", 0), step("on_ice", 0), step("off_ice", 0))
    now = clock(90, *done)
    assert now.used == pytest.approx(0.5)
    assert after(now.gels) == pytest.approx(180, abs=0.05)
    assert after(now.seated) == pytest.approx(135, abs=0.05)
    assert after(now.at_tap) == pytest.approx(135 - 8, abs=0.05)
    assert after(now.pull_out) == pytest.approx(153 - 10, abs=0.05)
    assert now.off_ice is None


def _by_solver(pieces: Sequence[tuple[float, float, float]], start: float, share: float) -> float:
    """Seconds until a share is used: the two coupled equations of cooling and life, by a solver."""
    ends = np.cumsum([seconds for seconds, _, _ in pieces])

    def slopes(t: float, state: Floats) -> list[float]:
        _, around, lag = pieces[min(int(np.searchsorted(ends, t, side="right")), len(pieces) - 1)]
        gel = LAW.time * np.exp(50e3 / GAS * (1 / state[0] - 1 / LAW.temperature))
        return [(around - state[0]) / lag, 1 / gel]

    def used_up(t: float, state: Floats) -> float:
        return float(state[1]) - share

    used_up.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(slopes, (0, 3e5), [start, 0.0], max_step=60.0, rtol=1e-8, events=used_up)
    assert done.t_events is not None
    return float(done.t_events[0][0])


@pytest.mark.independent
def test_on_ice_the_clock_follows_cooling_as_a_solver_does() -> None:
    done = (step("mixed", 0, resin_temperature=295.0), step("on_ice", 25), step("off_ice", 85))
    air, ice = (293.15, 1800.0), (275.15, 1200.0)
    pieces = [(1500.0, *air), (3600.0, *ice), (3e5, *air)]
    now = clock(100, *done)
    assert after(now.seated) * 60 == pytest.approx(_by_solver(pieces, 295.0, 0.75), abs=3)
    assert after(now.gels) * 60 == pytest.approx(_by_solver(pieces, 295.0, 1.0), abs=3)


@pytest.mark.independent
def test_off_ice_by_leaves_time_to_seat() -> None:
    # off the ice at the deadline, then moving and inverting in the air uses just the share
    now = clock(40, step("mixed", 0), step("on_ice", 25))
    off = after(now.off_ice) * 60
    pieces = [(1500.0, 293.15, 1800.0), (off - 1500.0, 275.15, 1200.0), (3e5, 293.15, 1800.0)]
    assert _by_solver(pieces, 293.15, 0.75) == pytest.approx(off + 1980, abs=3)
    assert after(now.at_tap) * 60 == pytest.approx(off + 1500, abs=1)
    assert after(now.seated) * 60 == pytest.approx(off + 1980, abs=1)


@pytest.mark.analytic
def test_a_temperature_entered_later_sets_the_resin_anew() -> None:
    plain = (step("mixed", 0), step("on_ice", 25))
    warm = clock(
        60, *plain, event("reading", 60, values=step("x", 0, liner_temperature=288.15).values)
    )
    assert warm.temperature == pytest.approx(288.15)
    assert after(warm.off_ice) < after(clock(60, *plain).off_ice)


@pytest.mark.analytic
def test_at_mixing_it_says_what_the_work_sheet_planned() -> None:
    sheet = field_sheet()
    site = Site(sheet.project, sheet.segment, sheet.lateral, sheet.specification)
    planned = plan_deadlines(site, RESIN)
    assert planned is not None
    mixed = step("mixed", 0)
    now = clock(0, mixed, rules=clock_rules(sheet))
    found = [after(at) for at in (now.off_ice, now.at_tap, now.seated, now.pull_out)]
    wanted = [planned.off_ice, planned.at_tap, planned.seated, planned.pull_out]
    assert found == pytest.approx([seconds / 60 for seconds in wanted], abs=0.05)


def test_past_its_time_no_deadline_is_left() -> None:
    now = clock(174, step("mixed", 0), step("on_ice", 0), step("off_ice", 0))
    assert now.seated is None
    assert now.at_tap is None
    assert now.used > 0.85


def test_there_is_no_clock_before_mixing_nor_after_seating() -> None:
    assert resin_clock(RULES, [step("permits", 0)], AT) is None
    done = [step("mixed", 0), step("seated", 20)]
    assert resin_clock(RULES, done, AT + 30 * MINUTE) is None


def test_a_resin_without_gel_times_is_told() -> None:
    with pytest.raises(InputError, match="no gel times"):
        clock_rules(field_sheet(resin=replace(RESIN, gel_times=())))


# ---------------------------------------------------------------- everything that runs


def running(minutes: float, *events: FieldEvent) -> dict[str, Deadline]:
    found = deadlines(field_sheet(), events, AT + minutes * MINUTE)
    return {one.key: one for one in found}


def test_steam_runs_until_the_longer_of_both_rules() -> None:
    # hold 75 min from steam on; 60 min after the exhaust was at temperature
    on = step("steam_on", 0)
    assert after(running(5, on)["steam_trouble"].at) == 20
    assert after(running(5, on)["steam_until"].at) == 75
    early, late = step("exhaust_steady", 10), step("exhaust_steady", 18)
    assert after(running(20, on, early)["steam_until"].at) == 75
    assert after(running(20, on, late)["steam_until"].at) == 78
    assert "steam_trouble" not in running(20, on, late)


def test_cooling_and_the_soak_back() -> None:
    done = (step("steam_on", 0), step("steam_shut", 80))
    assert after(running(81, *done)["cool_until"].at) == 110
    soaking = running(112, *done, step("soak_back", 111))
    assert after(soaking["let_down"].at) == 121  # 10 min, a setting
    assert "cool_until" not in soaking


@pytest.mark.analytic
def test_residents_and_the_plugged_main() -> None:
    off = step("flow_control", 0)
    found = running(1, off)
    assert after(found["water_back"].at) == 480  # Ramsey: 8 h
    # TRADE 5: an 8 in main of 300 ft holds 783 gal, 78 min at 10 gpm
    assert field_sheet().segment.length == pytest.approx(300 * FOOT)
    assert after(found["main"].at) == pytest.approx(78.3, abs=0.1)
    assert "main" not in running(1, replace(off, words=(("bypass", "yes"),)))
    assert running(9, off, step("restored", 8)) == {}


def test_an_ended_attempt_has_no_clocks() -> None:
    assert running(10, step("mixed", 0), event("end", 5, answer="pulled before gel")) == {}


@pytest.mark.parametrize(
    ("evening", "hours"),
    [
        (dt.datetime(2026, 10, 31, 22, 0, tzinfo=CHICAGO), 9),  # clocks go back at 2:00
        (dt.datetime(2027, 3, 13, 22, 0, tzinfo=CHICAGO), 7),  # clocks go forward
        (dt.datetime(2026, 11, 18, 22, 0, tzinfo=CHICAGO), 8),  # a plain midnight
    ],
)
def test_eight_hours_are_eight_hours_over_midnight_and_daylight_saving(
    evening: dt.datetime, hours: int
) -> None:
    off = replace(step("flow_control", 0), at=evening.astimezone(dt.UTC))
    found = deadlines(field_sheet(), [off], off.at)
    back = next(one.at for one in found if one.key == "water_back")
    assert back - off.at == dt.timedelta(hours=8)
    wall = back.astimezone(CHICAGO).replace(tzinfo=None)
    assert wall == evening.replace(tzinfo=None) + dt.timedelta(hours=16 - hours)


def test_two_crews_on_one_step_are_shown_until_a_person_settles_it() -> None:
    one, two = (replace(step("steam_on", n), id=str(n)) for n in (0, 1))
    devices = {"0": "tablet-1", "1": "tablet-2", "2": "tablet-2"}
    (attempt,) = attempts_of([one, two])["A-07"]
    assert doubled(attempt, devices) == {"steam_on": (one, two)}
    settled = replace(two, corrects="0", id="2")
    (attempt,) = attempts_of([one, two, settled])["A-07"]
    assert doubled(attempt, devices) == {}
