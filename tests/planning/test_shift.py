"""The shift plan: against all orders by brute force, Johnson's rule, and a checker of its own."""

from __future__ import annotations

import datetime as dt
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import permutations, product

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drainwright.errors import InputError
from drainwright.planning import shift_model
from drainwright.planning.crew_times import CrewTimes, working_days
from drainwright.planning.shift import ShiftOrder, plan_shifts, portions
from drainwright.planning.shift_jobs import CrewDay, Job, Way
from drainwright.records.crew import Calendar, Mixing, Promise, Wish
from drainwright.records.lateral import Branch, DigTicket, FarAccess
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import cite
from tests.planning.shift_checker import broken
from tests.planning.shifts import MONDAY, QUICK, candidate, crew, order, premises

DAY = dt.timedelta(days=1)


def rule_of(asked: ShiftOrder, lateral: str) -> str:
    """The rule that keeps a lateral out; the plan is sound besides."""
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    return next((one.rule for one in plan.left_out if one.lateral == lateral), "")


# ------------------------------------------------------------ the optimum


def times(**more: int) -> CrewTimes:
    usual = dict.fromkeys(CrewTimes.__dataclass_fields__, 0)
    return CrewTimes(**(usual | {"move": 40, "take_down": 15} | more))


def job(
    key: str, on: str, end: int, *, look: int = 0, wet: int = 20, rig: int = 90, film: int = 0,
    days: Sequence[CrewDay] = (), set_up: int = 40,
) -> Job:  # fmt: skip
    way = Way(
        "r", times(look=look, wet_out=wet, film=film, move=set_up), rig, 0, (end,), bypass=False
    )
    return Job(key, on, 0.0, "R", (key,), (0, 1440), 1440, {"north": way}, tuple(days), 3, "", "")


def crew_days(number: int, minutes: int) -> list[CrewDay]:
    return [CrewDay(crew(), MONDAY + at * DAY, 420, 420 + minutes) for at in range(number)]


@dataclass(frozen=True)
class Work:
    """Minutes of one liner, in the order they are spent."""

    look: int
    wet: int
    rig: int
    film: int


SET_UP, TAKE_DOWN = 40, 15


def fits(stays: Sequence[tuple[Work, ...]], minutes: int) -> bool:
    """Whether these stays go into one day, by every order of the table's and the rig's work."""
    if sum(one.rig for stay in stays for one in stay) > minutes:
        return False
    return sum(shortest(stay) for stay in stays) <= minutes


@lru_cache
def shortest(stay: tuple[Work, ...]) -> int:
    """Minutes of a stay in its best order."""
    return min(
        end
        for table in tables([0] * len(stay))
        for rig in permutations(range(len(stay)))
        for end in left_shifted(stay, table, rig)
    )


def tables(done: list[int]) -> Iterator[tuple[tuple[int, int], ...]]:
    """Every order of look, mix and film (0, 1, 2) of all liners that keeps each one's own."""
    if all(part == 3 for part in done):
        yield ()
    for at, part in enumerate(done):
        if part < 3:
            rest = [one + (at == other) for other, one in enumerate(done)]
            yield from (((at, part), *more) for more in tables(rest))


def left_shifted(
    stay: tuple[Work, ...], table: tuple[tuple[int, int], ...], rig: tuple[int, ...]
) -> Iterator[int]:
    """The end with every operation as early as two orders allow; nothing if they contradict."""
    at_table = at_rig = SET_UP
    waiting, cooled = list(rig), dict[int, int]()
    mixed: dict[int, int] = {}
    for at, part in table:
        one = stay[at]
        if part == 2:
            while at not in cooled:
                if waiting[0] not in mixed:
                    return
                head = waiting.pop(0)
                at_rig = cooled[head] = max(at_rig, mixed[head]) + stay[head].rig
            at_table = max(at_table, cooled[at]) + one.film
        else:
            at_table += one.look if part == 0 else one.wet
            if part == 1:
                mixed[at] = at_table
    yield at_table + TAKE_DOWN


@pytest.mark.independent
@pytest.mark.parametrize(
    ("rigs", "segments", "minutes"),
    [
        ((90, 120, 150, 80), "AABB", 420),
        ((200, 60, 60, 60), "ABAB", 330),
        ((100, 100, 100, 100), "AAAB", 300),
        ((150, 70, 140, 60), "ABCA", 400),
    ],
)
def test_the_solver_finds_what_trying_everything_finds(
    rigs: tuple[int, ...], segments: str, minutes: int
) -> None:
    days = crew_days(4, minutes)
    jobs = [
        job(f"L{at}", on, 1000, look=10, film=12, rig=rig, days=days)
        for at, (rig, on) in enumerate(zip(rigs, segments, strict=True))
    ]
    best = (99, 99)
    for choice in product(range(4), repeat=4):
        stays: dict[tuple[int, str], list[Work]] = {}
        for rig, on, day in zip(rigs, segments, choice, strict=True):
            stays.setdefault((day, on), []).append(Work(10, 20, rig, 12))
        by_day = [[tuple(one) for (d, _), one in stays.items() if d == day] for day in range(4)]
        cost = (max(choice), len(stays))
        if cost < best and all(fits(day, minutes) for day in by_day):
            best = cost
    found = shift_model.solve(jobs, days)
    assert found.optimal
    assert (found.last_day, len(found.runs)) == best
    assert (found.last_day_least, found.set_ups_least) == best


def johnson(first: Sequence[int], second: Sequence[int]) -> int:
    """Least makespan of a two-machine flow shop by Johnson's rule (Naval Res. Log. Q. 1, 1954)."""
    jobs = range(len(first))
    front = sorted((at for at in jobs if first[at] <= second[at]), key=lambda at: first[at])
    back = sorted((at for at in jobs if first[at] > second[at]), key=lambda at: -second[at])
    one = two = 0
    for at in front + back:
        one += first[at]
        two = max(two, one) + second[at]
    return two


@pytest.mark.independent
@pytest.mark.parametrize(
    ("wet", "rig"),
    [((4, 4, 30, 6, 2), (5, 1, 4, 30, 3)), ((3, 5, 1, 6), (6, 2, 2, 6)), ((7, 3, 9), (2, 8, 4))],
)
def test_table_and_rig_alone_are_johnsons_flow_shop(
    wet: tuple[int, ...], rig: tuple[int, ...]
) -> None:
    """Wet-out is the first machine, the rig the second; a minute less and one stays out."""
    least = johnson(wet, rig)
    for minutes, left in ((least, 0), (least - 1, 1)):
        days = crew_days(1, minutes)
        jobs = [
            replace(one, ways={"north": replace(way, times=replace(way.times, take_down=0))})
            for at, (w, r) in enumerate(zip(wet, rig, strict=True))
            for one in (job(f"L{at}", "A", 1000, wet=w, rig=r, days=days, set_up=0),)
            for way in one.ways.values()
        ]
        assert len(shift_model.solve(jobs, days).left_out) == left


# ------------------------------------------------------------ rules, one by one


def test_a_set_up_is_paid_once_for_neighbors_on_a_segment() -> None:
    asked = order([candidate(f"L{at}", on) for at, on in enumerate("ABAB")], days=5)
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    assert [[s.segment for s in shift.set_ups] for shift in plan.shifts] == [["A"], ["B"]]
    assert plan.proof.optimal
    assert (plan.proof.set_ups, plan.proof.set_ups_least) == (2, 2)


def test_the_same_order_gives_the_same_plan() -> None:
    asked = order([candidate(f"L{at}", on) for at, on in enumerate("AABBC")])
    assert plan_shifts(asked) == plan_shifts(asked)


def test_neighbors_of_one_house_are_not_out_of_service_together() -> None:
    house = premises("P")
    branch = {"branches": (Branch(3.0, live=True, premises="P"),)}
    asked = order(
        [candidate("L1", "A", places=(house,)), candidate("L2", "B", lateral=branch)],
        (crew(), crew("south")), days=1,
    )  # fmt: skip
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    assert {shift.crew for shift in plan.shifts} == {"north", "south"} or len(plan.shifts) == 1
    assert plan.left_out == ()


def test_water_is_off_within_the_residents_hours() -> None:
    late = premises("P", water_off_from=dt.time(10, 30), water_off_to=dt.time(14))
    asked = order([candidate("L1", places=(late,))])
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    ((_, _, turn),) = plan.turns()
    assert turn.load >= dt.time(10, 30)
    narrow = premises("P", water_off_from=dt.time(10), water_off_to=dt.time(11))
    assert rule_of(order([candidate("L1", places=(narrow,))]), "L1") == "hours"


def test_a_liner_that_does_not_end_within_the_shift_is_not_mixed() -> None:
    assert rule_of(order([candidate("L1", steam=460)]), "L1") == "hours"


def test_service_is_not_out_longer_than_allowed() -> None:
    long = crew(end=dt.time(22))
    assert rule_of(order([candidate("L1", steam=420, cool=60)], (long,)), "L1") == "hours"


def test_days_off_and_rain_are_left_open() -> None:
    calendar = Calendar(days_off=(MONDAY,), rain_days=(MONDAY + DAY,))
    plan = plan_shifts(order([candidate("L1")], calendar=calendar))
    assert plan.shifts[0].day == MONDAY + 2 * DAY
    two_of_ten = Calendar(rain_allowance=2)
    days = working_days(crew(), two_of_ten, MONDAY, MONDAY + 27 * DAY)
    assert len(days) == 16
    assert MONDAY + 10 * DAY not in days


def test_right_of_entry_ticket_and_residents_day_bind_the_day() -> None:
    ended = premises("P", entry_expires=MONDAY - DAY)
    assert rule_of(order([candidate("L1", places=(ended,))]), "L1") == "right of entry"
    dig = {"far_access": FarAccess.NONE}
    assert rule_of(order([candidate("L1", lateral=dig)]), "L1") == "dig ticket"
    ticket = dig | {"dig_tickets": (DigTicket("7", MONDAY + 2 * DAY, MONDAY + 3 * DAY),)}
    plan = plan_shifts(order([candidate("L1", lateral=ticket)]))
    assert plan.shifts[0].day == MONDAY + 2 * DAY
    busy = premises("P", no_days=(MONDAY, MONDAY + DAY))
    assert plan_shifts(order([candidate("L1", places=(busy,))])).shifts[0].day == MONDAY + 2 * DAY
    never = premises("P", no_days=tuple(MONDAY + at * DAY for at in range(14)))
    assert rule_of(order([candidate("L1", places=(never,))]), "L1") == "residents' days"


def test_material_priority_and_due_date() -> None:
    asked = order([candidate("L1", material_from=MONDAY + 3 * DAY)])
    assert plan_shifts(asked).shifts[0].day == MONDAY + 3 * DAY
    assert rule_of(order([candidate("L1", material_from=None)]), "L1") == "material"
    both = [candidate("L1", "A", steam=250), candidate("L2", "B", steam=250)]
    first = Calendar(wishes=(Wish("L2", priority=1),))
    assert plan_shifts(order(both, calendar=first)).shifts[0].laterals == ("L2",)
    due = Calendar(wishes=(Wish("L1", due=MONDAY), Wish("L2", due=MONDAY)))
    plan = plan_shifts(order(both, calendar=due))
    (left,) = plan.left_out
    assert left.rule == "no room"
    assert f"due on {MONDAY}" in left.words
    over = Calendar(wishes=(Wish("L1", due=MONDAY - DAY),))
    assert rule_of(order(both, calendar=over), "L1") == "due date"


def test_resin_that_does_not_live_and_a_main_without_bypass_are_told() -> None:
    dead = candidate("L1", resin=replace(QUICK, gel_times=()))
    assert rule_of(order([dead]), "L1") == "no crew can line it"
    asked = order([candidate("L1", plugged=60)])
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    assert plan.shifts[0].set_ups[0].bypass
    without = order([candidate("L1", plugged=60)], (crew(bypass=False),))
    assert "bypass" in plan_shifts(without).left_out[0].words


def test_one_batch_serves_several_liners_within_its_life() -> None:
    long = crew(mixing=Mixing.ONE_BATCH, end=dt.time(19))
    asked = order([candidate(f"L{at}") for at in range(3)], (long,))
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    assert {turn.mix for _, _, turn in plan.turns()} == {plan.shifts[0].set_ups[0].turns[0].mix}
    quick = order([candidate(f"L{at}", resin=QUICK) for at in range(3)], (long,))
    split = plan_shifts(quick)
    assert broken(split, quick) == []
    assert len(split.shifts) >= len(plan.shifts)


def test_a_crew_without_hands_does_one_thing_at_a_time() -> None:
    alone = crew(wets_out_beside=False, end=dt.time(19))
    asked = order([candidate("L1"), candidate("L2")], (alone,))
    assert broken(plan_shifts(asked), asked) == []


def test_what_is_promised_is_planned_after_it_and_says_so() -> None:
    roots = Reason(Fitness.PREPARE, "roots", "Roots at 3 m.", cite("memory"))
    wild = candidate("L1", outcome=Fitness.PREPARE, reasons=(roots,))
    plan = plan_shifts(order([wild]))
    assert plan.left_out[0].waits == ("cleaning crew",)
    word = Promise("L1", MONDAY + DAY, "R. Vale", "roots cut and filmed")
    asked = order([wild], calendar=Calendar(promises=(word,)))
    plan = plan_shifts(asked)
    assert broken(plan, asked) == []
    ((shift, _, turn),) = plan.turns()
    assert shift.day == MONDAY + DAY
    assert "roots cut" in turn.condition
    stop = candidate("L1", outcome=Fitness.STOP, reasons=(roots,))
    assert rule_of(order([stop], calendar=Calendar(promises=(word,))), "L1") == "do not line"


def test_days_done_stay_as_they_were_issued() -> None:
    some = [candidate(f"L{at}", on, steam=250) for at, on in enumerate("ABC")]
    before = plan_shifts(order(some))
    again = replace(order([*some, candidate("L9", "D")]), before=before, frozen_until=MONDAY)
    plan = plan_shifts(again)
    assert plan.shifts[0] == before.shifts[0]
    assert broken(plan, again) == []
    assert plan.of_lateral("L9") is not None


def test_faults_of_crews_and_days_are_all_told() -> None:
    bad = order([candidate("L1")], (crew(), crew("south", "rig north", end=dt.time(6))))
    with pytest.raises(InputError) as told:
        plan_shifts(replace(bad, until=MONDAY - DAY))
    text = str(told.value)
    assert "named by 2 crews" in text
    assert "ends before it starts" in text
    assert "before the first day" in text
    with pytest.raises(InputError, match="not on the list of rigs"):
        plan_shifts(replace(order([candidate("L1")]), rigs={}))


def test_without_the_solver_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    with pytest.raises(InputError, match=r"drainwright\[plan\]"):
        plan_shifts(order([candidate("L1")]))


def test_many_laterals_go_in_portions_of_whole_segments() -> None:
    days = crew_days(2, 600)
    jobs = [job(f"L{at:02}", "ABCD"[at % 4], 100, days=days) for at in range(40)]
    parts = portions(jobs)
    assert sum(len(part) for part in parts) == 40
    assert max(len(part) for part in parts) <= 15
    assert [len({one.segment for one in part}) for part in parts] == [1, 1, 1, 1]


# ------------------------------------------------------------ anything


def some_order(seed: int) -> ShiftOrder:
    one_of = random.Random(seed)
    places = [
        premises(
            f"P{at}",
            water_off_from=one_of.choice([None, dt.time(8), dt.time(9, 30)]),
            water_off_to=one_of.choice([None, dt.time(16), dt.time(13, 15)]),
            no_days=one_of.choice([(), (MONDAY,)]),
            entry_expires=one_of.choice([None, MONDAY + DAY]),
        )
        for at in range(3)
    ]
    some = [
        candidate(
            f"L{at}",
            one_of.choice("AB"),
            steam=one_of.randint(60, 200),
            cool=one_of.randint(20, 60),
            plugged=one_of.choice([60, 900]),
            places=one_of.choice([(), (places[0],), (places[1],), tuple(places[1:])]),
            resin=one_of.choice([QUICK, candidate("x").sheet.resin]) or QUICK,
        )
        for at in range(one_of.randint(1, 4))
    ]
    crews = [
        crew(
            name,
            mixing=one_of.choice(list(Mixing)),
            wets_out_beside=one_of.random() < 0.5,
            bypass=one_of.random() < 0.5,
            end=one_of.choice([dt.time(15), dt.time(18)]),
        )
        for name in one_of.choice([("north",), ("north", "south")])
    ]
    calendar = Calendar(
        days_off=one_of.choice([(), (MONDAY + DAY,)]),
        rain_allowance=one_of.choice([0, 2]),
        wishes=one_of.choice([(), (Wish("L0", 1, MONDAY + 2 * DAY),)]),
    )
    return order(some, crews, days=one_of.choice([3, 8]), calendar=calendar)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 10**6))
def test_whatever_is_asked_the_plan_keeps_every_rule(seed: int) -> None:
    asked = some_order(seed)
    assert broken(plan_shifts(asked), asked) == []
