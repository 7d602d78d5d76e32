"""What a lateral's records become on its profile."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace

import pytest

from drainwright.drawing.lateral_drawing import (
    LENGTH_NOT_KNOWN,
    SIZE_NOT_KNOWN,
    known_length,
    lateral_profile,
    seen_text,
    sheet_profile,
)
from drainwright.drawing.profile import draw_profile
from drainwright.records.lateral import Branch, FarAccess, Lateral, PipeSpan
from drainwright.records.project import MainLining
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.survey import Observation, ObservationKind, SurveyMethod
from drainwright.records.work_sheet import Figure, Fitness
from drainwright.sources import cite
from drainwright.units import UnitSystem
from tests.papers.sheets import FIGURES, sheet
from tests.planning.sites import FOOT, INCH, bend, lateral, seen, share, site, survey

US, SI = UnitSystem.US, UnitSystem.SI
Kind = ObservationKind


@pytest.mark.parametrize(
    ("observation", "us", "si"),
    [
        (share(Kind.ROOTS, 1, 20, grade="fine"), "fine roots 20 %", "fine roots 20 %"),
        (
            seen(Kind.INFILTRATION, 1, grade="dripping", clock_from=10.0),
            "dripping, 10 o’clock",
            "dripping, 10 o’clock",
        ),
        (
            seen(Kind.OFFSET, 1, measure=0.25 * INCH, measure_kind="small_length", grade="radial"),
            "radial offset 0.25 in",
            "radial offset 6 mm",
        ),
        (seen(Kind.CRACK, 1, grade="crack"), "crack", "crack"),
        (seen(Kind.BREAK, 1, grade="collapsed"), "collapsed", "collapsed"),
        (seen(Kind.FOREIGN_PIPE, 1), "foreign pipe", "foreign pipe"),
        (seen(Kind.REMARK, 1, remark="odor"), "odor", "odor"),
        (seen(Kind.UNKNOWN, 1, code="XYZ B"), "code XYZ B, not read", "code XYZ B, not read"),
        (
            seen(Kind.CRACK, 1, clock_from=9.0, clock_to=3.0),
            "crack, 9 to 3 o’clock",
            "crack, 9 to 3 o’clock",
        ),
    ],
)
def test_what_was_seen_in_few_words(observation: Observation, us: str, si: str) -> None:
    assert seen_text(observation, US) == us
    assert seen_text(observation, SI) == si


@pytest.mark.analytic
def test_a_cleanout_camera_s_distances_are_turned_around() -> None:
    turned = survey(
        seen(Kind.ROOTS, 11.0),
        seen(Kind.CRACK, 5, running_to=8 * FOOT),
        method=SurveyMethod.CLEANOUT,
    )
    flags = lateral_profile(site(survey=turned), US).observations
    assert [round(flag.distance / FOOT, 6) for flag in flags] == [30.0, 33.0]
    assert round((flags[1].to_distance or 0) / FOOT, 6) == 36.0


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("clock", "degrees"), [(12.0, 90), (3.0, 0), (9.0, 0), (2.0, 30), (10.0, 30), (6.0, -90)]
)
def test_the_tap_s_height_on_the_main_from_its_clock(clock: float, degrees: float) -> None:
    drawn = lateral_profile(site(lateral=lateral(tap_clock=clock)), US)
    assert drawn.main.tap_angle == pytest.approx(math.radians(degrees), abs=1e-12)


def test_the_main_s_true_bore_is_drawn() -> None:
    there = site()
    lined = replace(there.segment, lining=MainLining.BEFORE, liner_wall=0.006)
    main = lateral_profile(replace(there, segment=lined), US).main
    assert main.lined
    assert main.diameter == pytest.approx(8 * INCH - 0.012)


def test_spans_of_other_size_lie_within_the_lateral_s_own() -> None:
    spans = (PipeSpan(10 * FOOT, 20 * FOOT, 6 * INCH, "cast iron"),)
    host = lateral_profile(site(lateral=lateral(spans=spans)), US).host
    assert [(round(s.start / FOOT), round(s.end / FOOT)) for s in host] == [
        (0, 10),
        (10, 20),
        (20, 41),
    ]
    assert [round(s.diameter / INCH) for s in host] == [4, 6, 4]


def test_bends_branches_bellies_and_foreign_pipes() -> None:
    there = site(
        bend(22.4, 22.5),
        seen(Kind.BEND, 24),
        seen(Kind.BRANCH, 12, measure=3 * INCH, measure_kind="diameter"),
        share(Kind.WATER_LEVEL, 26, 15, running_to=29 * FOOT),
        lateral=lateral(
            branches=(Branch(12.2 * FOOT), Branch(30 * FOOT, live=True)), foreign_pipes=(17 * FOOT,)
        ),
    )
    drawn = lateral_profile(there, US)
    assert [one.text for one in drawn.bends] == ["bend 22.5°", "bend, angle not read"]
    assert [one.text for one in drawn.branches] == ["branch", "live branch"]
    assert drawn.bellies[0].depth == pytest.approx(0.15 * 4 * INCH)
    assert [one.symbol for one in drawn.observations] == ["foreign_pipe"]


def test_depths_not_known_are_assumed_and_say_so() -> None:
    known = lateral_profile(site(), US)
    assert not known.invert_assumed
    assert not known.water_assumed
    vague = lateral_profile(
        site(lateral=lateral(tap_depth=None, far_depth=None, water_depth=None)), US
    )
    assert vague.invert_assumed
    assert vague.water_assumed
    # 10 ft: the specification's depth where none is known
    assert vague.invert[0][1] == pytest.approx(10 * FOOT)
    guessed = Standing(Knowledge.ASSUMED, on=dt.date(2026, 1, 1))
    assert lateral_profile(
        site(lateral=lateral(standing={"tap_depth": guessed})), US
    ).invert_assumed


def test_a_riser_rises_at_the_main() -> None:
    drawn = lateral_profile(site(lateral=lateral(riser=4 * FOOT)), US)
    assert drawn.riser is not None
    assert drawn.invert[1] == pytest.approx((4 * FOOT, 6 * FOOT))


@pytest.mark.parametrize(
    ("access", "text"),
    [
        (FarAccess.OUTDOORS, "cleanout"),
        (FarAccess.INDOORS, "cleanout indoors"),
        (FarAccess.NONE, None),
        (FarAccess.UNKNOWN, None),
    ],
)
def test_the_far_end(access: FarAccess, text: str | None) -> None:
    drawn = lateral_profile(site(lateral=lateral(far_access=access)), US)
    assert (drawn.cleanout.text if drawn.cleanout else None) == text


def test_nothing_known_still_makes_a_drawing() -> None:
    bare = site(lateral=Lateral("A-07", "A", 30.0), survey=None)
    drawn = lateral_profile(bare, US)
    assert drawn.length == LENGTH_NOT_KNOWN
    assert drawn.host[0].diameter == SIZE_NOT_KNOWN
    assert "size not known" in drawn.host[0].material
    assert "<svg" in draw_profile(drawn, US).svg


@pytest.mark.analytic
def test_the_longest_known_distance_is_drawn() -> None:
    # the survey ends at 41 ft; the sonde has √(40.6² + 4²) = 40.80 ft
    assert known_length(site()) == pytest.approx(41 * FOOT)
    assert known_length(site(seen(Kind.ROOTS, 44))) == pytest.approx(44 * FOOT)


@pytest.mark.analytic
def test_a_cleanout_camera_s_riser_does_not_lengthen_a_planned_pipe() -> None:
    length = Figure("length.measured", "tap to cleanout", 35 * FOOT, "length", "", cite("geometry"))
    filmed = survey(seen(Kind.ROOTS, 30), method=SurveyMethod.CLEANOUT)  # 41 ft, riser 6 ft
    plan = replace(sheet(), figures=(length,))
    assert known_length(site(survey=filmed), plan) == pytest.approx(35 * FOOT)
    assert known_length(site(survey=filmed)) == pytest.approx(41 * FOOT)
    assert known_length(site(seen(Kind.ROOTS, 39)), plan) == pytest.approx(39 * FOOT)


def test_a_sheet_draws_liner_collar_and_governing_station_unless_not_lined() -> None:
    cited = cite("geometry")
    more = (
        Figure("collar.length", "collar length", 16 * INCH, "small_length", "", cited),
        Figure("collar.landing_up", "landing upstream", 4.5 * INCH, "small_length", "", cited),
        Figure("collar.landing_down", "landing downstream", 4 * INCH, "small_length", "", cited),
    )
    figures = tuple(f for f in FIGURES if f.key != "wall.station")
    station = Figure("wall.station", "governing station", 10 * FOOT, "length", "", cited)
    given = sheet(figures=(*figures, station, *more))
    drawn = sheet_profile(given, US)
    assert drawn.liner is not None
    assert drawn.liner.length == pytest.approx(39.8 * FOOT)
    assert drawn.collar is not None
    assert drawn.collar.landing_down == pytest.approx(4 * INCH)
    assert drawn.stations[0].governing
    stopped = sheet_profile(replace(given, outcome=Fitness.STOP), US)
    assert stopped.liner is None
    assert stopped.collar is None
    assert stopped.stations == ()
