"""The state of a running cure: times still needed, alarms, never done before the maker."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from drainwright.acceptance.cure_series import Told
from drainwright.acceptance.live_cure import LiveInputs, live_state
from drainwright.records.cure_log import CureLog
from drainwright.records.live_cure import LiveCure
from tests.acceptance.logs import EXHAUST, GAS, HOT, PRESSURE, PSI, START, corners, log, plain
from tests.acceptance.sheets import sheet


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
