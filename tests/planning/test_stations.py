"""Stations: depth, water and size along the lateral."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drainwright.planning.stations import depth_at, ground, plan_stations
from drainwright.records.lateral import PipeSpan
from drainwright.records.specification import default_specification
from drainwright.records.standing import Knowledge
from drainwright.sources import cite
from tests.planning.sites import FOOT, INCH, lateral, site

LENGTH = 41 * FOOT


@pytest.mark.analytic
def test_depth_and_water_fall_along_the_rise() -> None:
    tap, end = plan_stations(site(), LENGTH, LENGTH)
    assert (tap.depth, tap.water) == pytest.approx((10 * FOOT, 5 * FOOT))
    assert (end.depth, end.water) == pytest.approx((6 * FOOT, 1 * FOOT))


def test_water_never_goes_below_the_invert() -> None:
    dry = site(lateral=lateral(water_depth=9 * FOOT))
    assert plan_stations(dry, LENGTH, LENGTH)[-1].water == 0.0


def test_a_change_of_size_takes_the_larger_side() -> None:
    spans = (PipeSpan(20 * FOOT, 41 * FOOT, 6 * INCH),)
    stations = plan_stations(site(lateral=lateral(spans=spans)), LENGTH, LENGTH)
    assert [s.name for s in stations] == ["tap", "change of size", "end of liner"]
    assert [s.diameter for s in stations] == pytest.approx([4 * INCH, 6 * INCH, 6 * INCH])


def test_a_riser_lifts_the_pipe_at_the_main() -> None:
    where = site(lateral=lateral(riser=3 * FOOT, far_depth=None, spans=()))
    tap, end = plan_stations(where, LENGTH, LENGTH)
    assert (tap.depth, end.depth) == pytest.approx((10 * FOOT, 7 * FOOT))
    # level beyond the riser: TRADE 12, the pipe is longer than the map by the riser alone
    assert depth_at(where, ground(where), LENGTH / 2, LENGTH) == pytest.approx(7 * FOOT)


def test_what_is_not_known_is_marked_as_assumed() -> None:
    where = site(lateral=lateral(tap_depth=None, far_depth=None, water_depth=None))
    around = ground(where)
    assert around.depth_knowledge is Knowledge.ASSUMED
    assert around.water_knowledge is Knowledge.ASSUMED
    assert around.tap_depth == pytest.approx(10 * FOOT)
    assert ground(site()).water_knowledge is Knowledge.MEASURED


def test_a_head_fixed_by_the_specification_wins() -> None:
    fixed = default_specification().with_limits({"water_above_invert": (0.6096, cite("sf-3301"))})
    stations = plan_stations(replace(site(), specification=fixed), LENGTH, LENGTH)
    assert {station.water for station in stations} == {0.6096}
