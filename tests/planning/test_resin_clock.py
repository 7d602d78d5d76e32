"""Deadlines from mixing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drainwright.engineering.resin_life import Phase, life_used
from drainwright.planning.resin_clock import clock_figures, plan_deadlines, resin_law
from drainwright.records.material import GelTime, Resin
from drainwright.records.specification import default_specification
from drainwright.records.work_sheet import Fitness
from drainwright.sources import cite
from tests.planning.sites import site

RESIN = Resin("R1", gel_times=(GelTime(286.15, 25200.0), GelTime(325.15, 2700.0)))
MINUTE = 60.0


def test_deadlines_follow_each_other_and_use_the_stated_share() -> None:
    deadlines = plan_deadlines(site(), RESIN)
    assert deadlines is not None
    assert deadlines.at_tap - deadlines.off_ice == pytest.approx(25 * MINUTE)
    assert deadlines.seated - deadlines.at_tap == pytest.approx(8 * MINUTE)
    value = default_specification().value
    air = value("air_temperature")
    phases = [
        Phase(25 * MINUTE, air, 30 * MINUTE),
        Phase(deadlines.off_ice - 25 * MINUTE, value("ice_temperature"), 20 * MINUTE),
        Phase(33 * MINUTE, air, 30 * MINUTE),
    ]
    law = resin_law(site(), RESIN)
    assert life_used(air, phases, law)[-1] == pytest.approx(0.75, abs=1e-4)
    rest = Phase(deadlines.pull_out + 8 * MINUTE - deadlines.seated, air, 30 * MINUTE)
    assert life_used(air, [*phases, rest], law)[-1] == pytest.approx(0.85, abs=1e-4)


def test_warmer_ice_or_slower_steps_bring_the_deadline_forward() -> None:
    plain = plan_deadlines(site(), RESIN)
    memory = cite("memory")
    for change in (
        {"ice_temperature": (283.15, memory)},
        {"wet_out_time": (40 * MINUTE, memory)},
        {"life_launch": (0.6, memory)},
    ):
        where = replace(site(), specification=default_specification().with_limits(change))
        changed = plan_deadlines(where, RESIN)
        assert plain is not None
        assert changed is not None
        assert changed.seated < plain.seated


def test_a_fast_resin_is_a_reason_not_to_mix() -> None:
    fast = replace(RESIN, gel_times=(GelTime(297.0, 30 * MINUTE),))
    part = clock_figures(site(), fast)
    assert part.figures == ()
    assert part.reasons[0].outcome is Fitness.PREPARE


def test_without_gel_times_nobody_mixes() -> None:
    part = clock_figures(site(), Resin("R2"))
    assert [reason.rule for reason in part.reasons] == ["resin life"]


def test_one_gel_time_says_so_and_a_witness_cup_is_asked_for() -> None:
    one = replace(RESIN, gel_times=(GelTime(297.0, 300 * MINUTE),))
    cautions = clock_figures(site(), one).cautions
    assert any("Only one gel time" in text for text in cautions)
    assert any("witness cup" in text for text in clock_figures(site(), RESIN).cautions)


def test_on_the_ice_by_is_the_deadline_that_the_others_rest_on() -> None:
    # a tube that never sees ice has not 75 % of the life on ice
    found = {figure.key: figure for figure in clock_figures(site(), RESIN).figures}
    assert found["deadline.on_ice"].value == site().specification.value("wet_out_time")
    keys = [key for key in found if key.startswith("deadline.")]
    values = [found[key].value for key in keys]
    assert keys[0] == "deadline.on_ice"
    assert values == sorted(values)
