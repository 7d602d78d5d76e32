"""The state of a running cure: times still needed, alarms, never done before the maker."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from drainwright.acceptance.cure_priors import STREET_SHARE, learn
from drainwright.acceptance.cure_series import Told
from drainwright.acceptance.live_cure import LiveInputs, LiveStep, live_state, live_step
from drainwright.records.cure_log import CureLog
from drainwright.records.cure_verdict import Estimated
from drainwright.records.live_cure import LiveCure
from drainwright.records.material import CureStep
from tests.acceptance.draws import log_of
from tests.acceptance.logs import EXHAUST, GAS, HOT, PRESSURE, PSI, START, corners, log, plain
from tests.acceptance.sheets import sheet
from tests.acceptance.synthetic_logs import Sensors, Truth, make, readings
from tests.acceptance.test_cure_log import lined, site_case


def state(log_so_far: CureLog, told: Told | None = None, wait: float = 0.0) -> LiveCure:
    now = log_so_far.end + dt.timedelta(seconds=wait)
    return live_state(LiveInputs(sheet(), log_so_far, now, told or Told()))


def cut(minutes: float, **changes: object) -> CureLog:
    t, drawn = plain(120.0)
    kept = t <= minutes * 60.0 + 1e-6
    return log(minutes, {channel: values[kept] for channel, values in drawn.items()})


def test_the_makers_time_counts_only_where_the_exhaust_reads_it() -> None:
    schedule = sheet().resin
    assert schedule is not None
    total = sum(step.time for step in schedule.schedule)
    assert state(cut(6)).maker_left == total
    # the exhaust passes the first step's temperature on its straight way from 7 to 20 min
    first = schedule.schedule[0].temperature
    reaches = 7 + (first - 288.0) / (HOT - 1 - 288.0) * 13
    left = state(cut(40)).maker_left
    assert left == pytest.approx(total - (40 - reaches) * 60, abs=20.0)


def test_never_done_before_the_makers_schedule() -> None:
    for minutes in range(6, 100, 4):
        found = state(cut(minutes))
        assert found.maker_left is not None
        assert not found.done or found.maker_left == 0.0
        assert found.left is not None
        assert found.left >= found.maker_left


def test_a_resin_without_a_schedule_is_never_done() -> None:
    bare = sheet()
    assert bare.resin is not None
    bare = replace(bare, resin=replace(bare.resin, schedule=()))
    given = LiveInputs(bare, cut(99), cut(99).end, Told())
    assert not live_state(given).done


def test_a_boiler_stop_is_an_alarm_until_somebody_shuts_steam() -> None:
    found = state(cut(105))
    assert [one.key for one in found.alarms] == ["boiler stop"]
    assert "Gas in fell from" in found.alarms[0].words
    shut = state(cut(105), Told(steam_on=300.0, steam_off=6000.0))
    assert shut.alarms == ()
    assert shut.steam_off is not None


def test_cold_tail_and_late_exhaust() -> None:
    t, drawn = plain(60.0)
    drawn[EXHAUST] = corners(t, (0, 288), (20, 330), (60, 333))
    found = state(log(60.0, drawn))
    assert {one.key for one in found.alarms} == {"cold tail", "exhaust late"}
    assert any("More steam" in words for words in found.shorten)


def test_vent_blocked_and_low_pressure() -> None:
    t, drawn = plain(60.0)
    drawn[EXHAUST] = corners(t, (0, 288), (20, HOT - 1), (45, HOT - 1), (60, 340))
    drawn[PRESSURE] = corners(t, (0, 7 * PSI), (59.5, 7 * PSI), (60, 0.5 * PSI))
    keys = {one.key for one in state(log(60.0, drawn)).alarms}
    assert {"vent blocked", "pressure low"} <= keys


def test_dead_sensor_and_silent_logger() -> None:
    t, drawn = plain(60.0)
    drawn[GAS] = np.where(t < 50 * 60, drawn[GAS], np.nan)
    found = state(log(60.0, drawn), wait=300.0)
    assert {one.key for one in found.alarms} == {"sensor dead", "log stopped"}
    assert found.alarms[0].since == START + dt.timedelta(minutes=60)


# ---------------------------------------------------------------- with the estimate


def truth_of() -> Truth:
    return Truth(length=lined(), bladder_k=0.26, rate=1.05, steam_time=12_900.0, gauge=7 * PSI)


@cache
def made() -> CureLog:
    seconds, values = readings(make(truth_of()), Sensors())
    return log_of(seconds, values, lined())


def until(minutes: float) -> CureLog:
    whole = made()
    last = 240.0 + minutes * 60.0
    n = sum(second <= last for second in whole.seconds)
    series = tuple(replace(one, values=one.values[:n]) for one in whole.series)
    return replace(whole, seconds=whole.seconds[:n], series=series)


def estimated(minutes: float, start: tuple[float, ...] = ()) -> LiveStep:
    so_far = until(minutes)
    return live_step(LiveInputs(sheet(), so_far, so_far.end, Told(), site_case(), start=start))


def test_the_estimate_closes_in_on_what_the_truth_needs() -> None:
    """The synthetic truth tells when the least place reached the target."""
    truth = make(truth_of())
    target = sheet().specification.value("target_cure")
    needed = next(t for t in truth.times if truth.least(t) >= target) / 60.0
    step: tuple[float, ...] = ()
    for minutes, within in ((40.0, 45.0), (80.0, 15.0), (120.0, 10.0)):
        found = estimated(minutes, step)
        step, state = found.end, found.state
        assert state.cure_left is not None
        assert minutes + state.cure_left / 60 == pytest.approx(needed, abs=within)
        if state.cure_left_sure is not None:
            assert state.cure_left_sure >= state.cure_left
            assert minutes + state.cure_left_sure / 60 >= needed - 8.0
        assert state.cure_now is not None
        assert state.cure_now[1] <= truth.least(minutes * 60.0) <= state.cure_now[2]
        assert state.least_place.startswith("collar")
        assert any("The collar is last" in words for words in state.shorten)
        assert not state.done
    assert estimated(210.0, step).state.done


def test_an_estimate_that_is_ready_does_not_shorten_the_maker() -> None:
    long = sheet()
    assert long.resin is not None
    steps = (CureStep(338.7, 300.0 * 60.0),)
    long = replace(long, resin=replace(long.resin, schedule=steps))
    so_far = until(205.0)
    state = live_state(LiveInputs(long, so_far, so_far.end, Told(), site_case()))
    assert state.cure_left_sure == 0.0
    assert state.maker_left is not None
    assert state.left is not None
    assert state.left >= state.maker_left > 5000.0
    assert not state.done


@pytest.mark.parametrize("count", [0, 4])
def test_learning_along_a_street_is_a_mean_that_narrows(count: int) -> None:
    """Closed form: n logs that know the value exactly, each with its own part of the variance."""
    log = (Estimated("soil_conductivity", "soil", "conductivity", 1.4, 1.9, 1.8, 2.0, 1.2, 0.01),)
    found = learn([log] * count)
    if not count:
        assert found == {}
        return
    own, street = STREET_SHARE, 1 - STREET_SHARE
    exact = 1 / 0.01**2 - 1
    precision = 1 / street + count / (own + 1 / exact)
    mean = count / (own + 1 / exact) * 1.2 * (1 + exact) / exact / precision
    assert found["soil_conductivity"].mean == pytest.approx(mean)
    assert found["soil_conductivity"].spread == pytest.approx((1 / precision + own) ** 0.5)
