"""Every rule bites, names its source, and nothing else does."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from drainwright.planning.fitness import RULES, assess
from drainwright.planning.site import Site
from drainwright.records.lateral import FarAccess
from drainwright.records.project import MainLining, MainSegment
from drainwright.records.survey import ObservationKind, SurveyMethod, SurveyPurpose
from drainwright.records.work_sheet import Fitness
from drainwright.sources import SOURCES
from tests.planning.sites import FOOT, INCH, bend, lateral, seen, share, site, survey

Kind = ObservationKind
LINE, PREPARE, ASK, STOP = Fitness.LINE, Fitness.PREPARE, Fitness.ASK, Fitness.STOP


def offset(inches: float) -> Site:
    return site(seen(Kind.OFFSET, 12, measure=inches * INCH, measure_kind="small_length"))


def main(inches: float, **changes: object) -> Site:
    segment = MainSegment("A", "MH 12", "MH 13", inches * INCH, 300 * FOOT)
    return site(segment=replace(segment, **changes))  # type: ignore[arg-type]


CASES: list[tuple[str, Site, Fitness]] = [
    ("size", site(lateral=lateral(inside_diameter=2.9 * INCH)), STOP),
    ("size", site(lateral=lateral(inside_diameter=12.1 * INCH)), STOP),
    ("size", site(lateral=lateral(inside_diameter=None)), PREPARE),
    ("size", main(5.9), STOP),
    ("size", main(6.2, lining=MainLining.BEFORE, liner_wall=0.006), STOP),
    ("size steps", site(seen(Kind.SIZE_CHANGE, 5), seen(Kind.SIZE_CHANGE, 9)), ASK),
    ("access", site(lateral=lateral(far_access=FarAccess.NONE)), PREPARE),
    ("access", site(lateral=lateral(far_access=FarAccess.UNKNOWN)), PREPARE),
    ("in use", site(lateral=lateral(in_use=False)), ASK),
    ("survey", site(survey=None), PREPARE),
    ("survey", site(seen(Kind.ABANDONED, 20)), PREPARE),
    ("survey age", site(today=dt.date(2027, 1, 2)), PREPARE),
    ("bend", site(bend(10, 60)), ASK),
    ("bend", site(bend(10, 95)), STOP),
    ("bend", site(bend(10, 90, "hard")), STOP),
    ("bend", site(replace(bend(10, 90), remark="hard turn")), STOP),
    ("bend", site(seen(Kind.BEND, 10)), PREPARE),
    ("offset", offset(0.5), ASK),
    ("offset", offset(1.01), STOP),
    ("roots", site(share(Kind.ROOTS, 6, 20)), PREPARE),
    ("infiltration", site(seen(Kind.INFILTRATION, 13, grade="gushing")), PREPARE),
    ("infiltration", site(seen(Kind.INFILTRATION, 13, grade="flowing")), PREPARE),
    ("intruding tap", site(share(Kind.INTRUDING_TAP, 0, 10)), PREPARE),
    ("obstacle", site(share(Kind.DEPOSIT, 30, 41)), STOP),
    ("obstacle", site(share(Kind.DEPOSIT, 30, 39)), PREPARE),
    ("structure", site(seen(Kind.BREAK, 30, grade="collapsed")), STOP),
    ("structure", site(seen(Kind.VOID, 30)), ASK),
    ("deformation", site(share(Kind.DEFORMATION, 30, 12)), ASK),
    ("belly", site(share(Kind.WATER_LEVEL, 30, 25)), ASK),
    ("foreign pipe", site(seen(Kind.FOREIGN_PIPE, 30)), STOP),
    ("foreign pipe", site(lateral=lateral(foreign_pipes=(3.0,))), STOP),
    ("code", site(seen(Kind.UNKNOWN, 30, code="XYZ")), PREPARE),
    ("lined already", site(survey=survey(purpose=SurveyPurpose.POST_LINING)), ASK),
]


@pytest.mark.parametrize(("rule", "where", "outcome"), CASES)
def test_a_rule_bites(rule: str, where: Site, outcome: Fitness) -> None:
    report = assess(where)
    assert report.outcome is outcome
    found = [reason for reason in report.reasons if reason.rule == rule]
    assert found
    assert found[0].outcome is outcome
    assert found[0].words.endswith(".")
    assert found[0].source.key in SOURCES


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_no_rule_is_idle(rule: object) -> None:
    others = tuple(other for other in RULES if other is not rule)
    assert any(assess(where).reasons != assess(where, others).reasons for _, where, _ in CASES)


@pytest.mark.parametrize(
    "where",
    [
        site(),
        site(bend(10, 45)),
        site(bend(10, 22.5)),
        offset(0.25),
        site(seen(Kind.INFILTRATION, 13, grade="dripping")),
        site(share(Kind.WATER_LEVEL, 30, 5)),
        site(seen(Kind.SIZE_CHANGE, 5)),
        site(lateral=lateral(inside_diameter=3 * INCH)),
        site(lateral=lateral(inside_diameter=12 * INCH)),
        main(6),
        site(today=dt.date(2027, 1, 1)),
    ],
)
def test_what_is_routine_is_lined(where: Site) -> None:
    assert assess(where).reasons == ()


def test_the_severest_reason_leads() -> None:
    report = assess(site(share(Kind.ROOTS, 6, 20), seen(Kind.FOREIGN_PIPE, 30), bend(10, 60)))
    assert [reason.outcome for reason in report.reasons] == [STOP, ASK, PREPARE]


def test_an_owners_limit_wins() -> None:
    from drainwright.records.specification import default_specification
    from drainwright.sources import cite

    owner = cite("owner", "4.2")
    strict = default_specification().with_limits({"offset_ask_share": (0.05, owner)})
    report = assess(replace(offset(0.25), specification=strict))
    assert report.outcome is ASK
    assert report.reasons[0].source == owner


def test_a_camera_from_the_cleanout_counts_from_its_own_end() -> None:
    turned = survey(seen(Kind.FOREIGN_PIPE, 11), method=SurveyMethod.CLEANOUT, direction="down")
    report = assess(site(survey=turned))
    assert report.reasons[0].distance == pytest.approx(30 * FOOT)


def test_a_foreign_pipe_says_keep_clear_and_call() -> None:
    # TRADE 1: no jet, no cutter, keep clear, call the utility
    for where in (site(seen(Kind.FOREIGN_PIPE, 30)), site(lateral=lateral(foreign_pipes=(3.0,)))):
        (reason,) = assess(where).reasons
        for words in ("no jet", "no cutter", "keep clear", "call the utility"):
            assert words in reason.work.lower()


def test_a_belly_is_not_cured_by_lining() -> None:
    # TRADE 12
    (reason,) = assess(site(share(Kind.WATER_LEVEL, 30, 25))).reasons
    assert "does not cure it" in reason.words
