"""Collar, consent, exhaust and rig: each rule bites, and the plain site passes."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

import pytest

from drainwright.checks import Outcome
from drainwright.planning import consent
from drainwright.planning.collar import choose_collar, collar_reasons, main_reasons, plan_collar
from drainwright.planning.rig_reach import rig_reasons
from drainwright.planning.site import Site
from drainwright.records.lateral import Branch, FarAccess
from drainwright.records.material import Collar, Tube
from drainwright.records.premises import EntryState, Premises
from drainwright.records.project import MainLining, MainSegment
from drainwright.records.rig import Rig, TubeCapacity
from drainwright.records.work_sheet import Fitness
from tests.planning.sites import FOOT, INCH, TODAY, lateral, site

COLLAR = Collar("C8-16", 8 * INCH, 16 * INCH, 0.003, lap=3 * INCH)
SIGNED = Premises("P-14", "14 Weaver’s Row", entry=EntryState.SIGNED)


def names(site_: Site, collar: Collar = COLLAR) -> list[tuple[str, Fitness]]:
    return [(r.rule, r.outcome) for r in collar_reasons(site_, plan_collar(site_, collar))]


@pytest.mark.analytic
def test_landing_is_what_the_hole_leaves_less_the_error() -> None:
    plan = plan_collar(site(), COLLAR)
    assert plan.landing_up == pytest.approx((16 - 6) / 2 * INCH - 0.5 * INCH)
    assert plan.landing_down == pytest.approx(plan.landing_up)
    off = plan_collar(site(), replace(COLLAR, seam_offset=2 * INCH))
    assert off.landing_up == pytest.approx(6.5 * INCH)
    assert off.landing_down == pytest.approx(2.5 * INCH)
    assert [check.outcome for check in off.checks] == [Outcome.MET, Outcome.NOT_MET]


def test_a_plain_collar_has_no_reasons() -> None:
    assert names(site()) == []
    assert list(main_reasons(site(), COLLAR)) == []


def test_a_second_live_tap_under_the_collar_stops() -> None:
    near = lateral(key="A-08", tap_distance=112.4 * FOOT + 9 * INCH)
    assert names(site(neighbors=(near,))) == [("neighboring tap", Fitness.STOP)]
    dead = replace(near, in_use=False)
    assert names(site(neighbors=(dead,))) == [("neighboring tap", Fitness.ASK)]
    clear = replace(near, tap_distance=112.4 * FOOT + 12 * INCH, tap_hole=4 * INCH)
    assert names(site(neighbors=(clear,))) == []


def test_joints_manholes_and_short_landings() -> None:
    segment = site().segment
    jointed = replace(segment, joints=(112.4 * FOOT + 5 * INCH,))
    assert names(site(segment=jointed)) == [("joint under the collar", Fitness.ASK)]
    at_wall = lateral(tap_distance=6 * INCH)
    assert names(site(lateral=at_wall)) == [("manhole", Fitness.STOP)]
    wide = lateral(tap_hole=10 * INCH)
    assert names(site(lateral=wide)) == [("landing", Fitness.STOP)] * 2
    unknown = lateral(tap_hole=None)
    assert names(site(lateral=unknown)) == [("landing", Fitness.PREPARE)]


def test_the_shortest_collar_that_lands_is_chosen_for_the_true_bore() -> None:
    longer = replace(COLLAR, key="C8-24", length=24 * INCH)
    other = replace(COLLAR, key="C6-16", main_diameter=6 * INCH)
    assert choose_collar(site(), (longer, other, COLLAR)) == COLLAR
    wide = site(lateral=lateral(tap_hole=10 * INCH))
    assert choose_collar(wide, (COLLAR, longer)) == longer
    lined = MainSegment(
        "A", "MH 12", "MH 13", 8 * INCH, 300 * FOOT, lining=MainLining.BEFORE, liner_wall=0.006
    )
    small = replace(COLLAR, stretch=0.02)
    assert choose_collar(site(segment=lined), (small,)) is None
    rules = [r.rule for r in main_reasons(site(segment=lined), None)]
    assert rules == ["collar"]
    later = replace(lined, lining=MainLining.AFTER)
    assert [r.rule for r in main_reasons(site(segment=later), COLLAR)] == ["main lining"]


def consented(**changes: Any) -> Site:
    return site(premises=(replace(SIGNED, **changes),))


RULES = (
    consent.address_proof,
    consent.right_of_entry,
    consent.premises_known,
    consent.branch_inside,
    consent.exhaust,
)


def test_a_settled_site_has_no_reasons() -> None:
    assert [r for rule in RULES for r in rule(consented())] == []


@pytest.mark.parametrize(
    ("where", "rule", "outcome"),
    [
        (site(lateral=lateral(proof=None), premises=(SIGNED,)), "address proof", Fitness.PREPARE),
        (consented(entry=EntryState.REFUSED), "right of entry", Fitness.ASK),
        (consented(entry=EntryState.SENT), "right of entry", Fitness.PREPARE),
        (consented(entry_expires=TODAY - dt.timedelta(1)), "right of entry", Fitness.PREPARE),
        (site(lateral=lateral(premises=())), "premises", Fitness.PREPARE),
        (site(), "premises", Fitness.PREPARE),
        (
            site(lateral=lateral(branches=(Branch(5.0, live=True),)), premises=(SIGNED,)),
            "branch",
            Fitness.ASK,
        ),
        (
            site(lateral=lateral(far_access=FarAccess.INDOORS), premises=(SIGNED,)),
            "exhaust",
            Fitness.ASK,
        ),
    ],
)
def test_each_matter_is_raised(where: Site, rule: str, outcome: Fitness) -> None:
    found = [reason for each in RULES for reason in each(where)]
    assert [(r.rule, r.outcome) for r in found] == [(rule, outcome)]


def test_a_dead_branch_or_one_beyond_the_liner_is_left_alone() -> None:
    branches = (Branch(5.0, live=False), Branch(11.0, live=True))
    where = site(lateral=lateral(branches=branches, lined_length=10.0))
    assert list(consent.branch_inside(where)) == []
    nobody_knows = site(lateral=lateral(branches=(Branch(5.0),)))
    assert [r.distance for r in consent.branch_inside(nobody_knows)] == [5.0]


def test_a_branch_has_three_ways_out() -> None:
    # TRADE 2: stop short, line and reopen, or dig
    live = site(lateral=lateral(branches=(Branch(5.0, live=True),)))
    assert [r.work for r in consent.branch_inside(live)] == [
        "Stop short of it, line and reopen, or dig."
    ]


def test_every_premises_must_have_signed() -> None:
    # TRADE 2: many-to-many, such as a shared wye
    second = Premises("P-15", "16 Weaver’s Row", entry=EntryState.SENT)
    reasons = list(consent.right_of_entry(site(premises=(SIGNED, second))))
    assert [second.address in r.words for r in reasons] == [True]


def test_an_indoor_cleanout_names_the_other_methods() -> None:
    # TRADE 4: blind cap with return through the carrier, warm water or ambient cure
    (reason,) = consent.exhaust(site(lateral=lateral(far_access=FarAccess.INDOORS)))
    for words in ("return through the carrier", "warm water", "ambient cure"):
        assert words in reason.work


RIG = Rig(
    "R1",
    hose_reach=160 * FOOT,
    cable_reach=200 * FOOT,
    capacities=(TubeCapacity(4 * INCH, 0.0045, 60 * FOOT),),
    smallest_opening=22 * INCH,
    smallest_main=7.5 * INCH,
    largest_main=12 * INCH,
    clock_from=9,
    clock_to=3,
)
TUBE = Tube("T4-3", 4 * INCH, 0.003)


def rigged(rig: Rig = RIG, **changes: Any) -> list[str]:
    where = site(rig=rig, **changes)
    return [reason.words for reason in rig_reasons(where, 41 * FOOT, TUBE)]


def test_a_rig_that_reaches_has_no_reasons() -> None:
    assert rigged() == []


def test_where_a_rig_falls_short() -> None:
    segment = site().segment
    assert "hose" in " ".join(rigged(replace(RIG, hose_reach=100 * FOOT)))
    assert "cable" in " ".join(rigged(replace(RIG, cable_reach=100 * FOOT)))
    deep = replace(segment, from_depth=60 * FOOT, to_depth=60 * FOOT)
    assert "hose" in " ".join(rigged(segment=deep))
    narrow = replace(segment, manhole_opening=20 * INCH)
    assert "opening" in " ".join(rigged(segment=narrow))
    small = replace(segment, inside_diameter=7 * INCH)
    assert "too small" in " ".join(rigged(segment=small))
    large = replace(segment, inside_diameter=13 * INCH)
    assert "too large" in " ".join(rigged(segment=large))
    assert "clock" in " ".join(rigged(lateral=lateral(tap_clock=6.0)))
    assert rigged(lateral=lateral(tap_clock=10.0)) == []
    long = [r.words for r in rig_reasons(site(rig=RIG), 61 * FOOT, TUBE)]
    assert "length" in " ".join(long)
    for other in (replace(TUBE, wall=0.006), replace(TUBE, diameter=6 * INCH)):
        words = [r.words for r in rig_reasons(site(rig=RIG), 10.0, other)]
        assert any("no room" in text for text in words)


def test_a_dig_needs_a_ticket_valid_that_day() -> None:
    from drainwright.records.lateral import DigTicket

    bare = lateral(far_access=FarAccess.NONE)
    assert [r.rule for r in consent.dig_ticket(site(lateral=bare))] == ["dig ticket"]
    day = dt.timedelta(1)
    old = replace(bare, dig_tickets=(DigTicket("L1", TODAY - 9 * day, TODAY - day),))
    assert [r.rule for r in consent.dig_ticket(site(lateral=old))] == ["dig ticket"]
    early = replace(bare, dig_tickets=(DigTicket("L3", TODAY + day, TODAY + 9 * day),))
    assert [r.rule for r in consent.dig_ticket(site(lateral=early))] == ["dig ticket"]
    valid = replace(bare, dig_tickets=(DigTicket("L2", TODAY - day, TODAY + day),))
    assert list(consent.dig_ticket(site(lateral=valid))) == []
    assert list(consent.dig_ticket(site())) == []


@pytest.mark.analytic
def test_the_mouth_of_a_wye_is_an_ellipse() -> None:
    from drainwright.planning.collar import mouth_length

    # TRADE 6: a 4 in 45° wye; 4 / sin 45° = 5.657 in
    mouth = mouth_length(site())
    assert mouth is not None
    assert mouth / INCH == pytest.approx(5.657, abs=5e-4)
    assert mouth_length(site(lateral=lateral(tap_angle=None))) is None
