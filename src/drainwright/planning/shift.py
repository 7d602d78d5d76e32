"""The shift plan: which crew lines which laterals on which day, in which order.

Many laterals are planned in portions of whole main segments, urgent ones first; what is placed
stays, and the next portion fills the room around it. Each portion is solved to the end or to a
stated limit, so that a plan of one portion can be proven best and one of several only in parts.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from drainwright.errors import Fault, InputError
from drainwright.planning.crew_times import working_days
from drainwright.planning.shift_jobs import (
    Candidate,
    CrewDay,
    Job,
    Yard,
    job_of,
    minute,
)
from drainwright.planning.shift_model import Solved, solve
from drainwright.planning.shift_start import Run, first_fit
from drainwright.planning.waiting import OFFICE
from drainwright.records.crew import Calendar, Crew, Mixing
from drainwright.records.rig import Rig
from drainwright.records.shift_plan import (
    NotScheduled,
    Proof,
    SetUp,
    Shift,
    ShiftPlan,
    Turn,
)

WHOLE = 30
"""So many laterals are planned at once …"""
PORTION = 15
"""… and more in portions of so many."""
LATEST = 24 * 60 - 1


@dataclass(frozen=True, slots=True)
class ShiftOrder:
    """What a plan is asked for: days, crews, and the laterals that may be lined."""

    first_day: dt.date
    until: dt.date
    crews: Sequence[Crew]
    rigs: Mapping[str, Rig]
    calendar: Calendar
    candidates: Sequence[Candidate]
    allowance: float
    """Kept free at the end of each shift [s]."""
    before: ShiftPlan | None = None
    """The plan as it stood."""
    frozen_until: dt.date | None = None
    """Its shifts up to this day are taken over as they are."""
    today: dt.date | None = None
    """What was planned before this day and is still to be lined is planned anew."""


def plan_shifts(order: ShiftOrder) -> ShiftPlan:
    """The shift plan for an order; laterals that get no day are told with rule and party.

    Raises `InputError` for crews and days that make no sense, or without OR-Tools;
    `ConvergenceError` where the solver found no plan within its limit.
    """
    _sound(order)
    kept = _kept(order)
    first = order.first_day
    if order.frozen_until is not None:
        first = max(first, order.frozen_until + dt.timedelta(days=1))
    yard = Yard(tuple(order.crews), order.rigs, order.calendar, _crew_days(order, first))
    settled = {
        name
        for shift in kept
        if order.today is None or shift.day >= order.today
        for name in shift.laterals
    }
    found = [job_of(one, yard) for one in order.candidates if one.sheet.lateral.key not in settled]
    jobs = [one for one in found if isinstance(one, Job)]
    left = [one for one in found if isinstance(one, NotScheduled)]
    runs: list[Run] = []
    solved: list[Solved] = []
    for portion in portions(jobs):
        one = _portion(portion, yard.crew_days, runs)
        solved.append(one)
        runs += one.runs
        left += [_no_room(job) for job in one.left_out]
    shifts = (*kept, *_shifts(runs))
    return ShiftPlan(
        first_day=first,
        shifts=shifts,
        left_out=tuple(sorted(left, key=lambda one: one.lateral)),
        proof=_proof(jobs, yard.crew_days, runs, solved),
        frozen_until=order.frozen_until,
    )


def _sound(order: ShiftOrder) -> None:
    """Every fault of crews and days at once."""
    faults = []
    if order.until < order.first_day:
        faults.append(Fault("until", "lies before the first day", str(order.until)))
    if (order.until - order.first_day).days > 366:
        faults.append(Fault("until", "is more than a year after the first day", str(order.until)))
    if order.frozen_until is not None and order.frozen_until >= order.until:
        words = "leaves no day to plan before the last one"
        faults.append(Fault("frozen until", words, str(order.frozen_until)))
    counted = Counter(name for crew in order.crews for name in crew.rigs)
    faults += [
        Fault("crews", f"{name} is named by {number} crews; a rig goes with one", name)
        for name, number in counted.items()
        if number > 1
    ]
    for crew in order.crews:
        faults += [
            Fault(f"crew {crew.key}", f"{name} is not on the list of rigs", name)
            for name in crew.rigs
            if name not in order.rigs
        ]
        if crew.end <= crew.start:
            faults.append(Fault(f"crew {crew.key}", "its shift ends before it starts"))
    if faults:
        raise InputError(*faults)


def _crew_days(order: ShiftOrder, first: dt.date) -> tuple[CrewDay, ...]:
    """Every crew's open days, the allowance taken off the end, day by day."""
    spare = round(order.allowance / 60)
    found = [
        CrewDay(crew, day, minute(crew.start), minute(crew.end) - spare)
        for crew in order.crews
        for day in working_days(crew, order.calendar, first, order.until)
    ]
    return tuple(sorted(found, key=lambda one: (one.day, one.crew.key)))


def _kept(order: ShiftOrder) -> tuple[Shift, ...]:
    """The shifts that are frozen."""
    if order.before is None or order.frozen_until is None:
        return ()
    return tuple(one for one in order.before.shifts if one.day <= order.frozen_until)


# ------------------------------------------------------------ portions


def portions(jobs: Sequence[Job]) -> list[list[Job]]:
    """Whole segments together, urgent ones first; a segment with too many is cut along the main."""
    most = WHOLE if len(jobs) <= WHOLE else PORTION
    by_segment: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        by_segment[job.segment].append(job)
    ordered = sorted(by_segment.values(), key=_urgency)
    made: list[list[Job]] = []
    for members in ordered:
        members.sort(key=lambda job: (job.priority, job.tap, job.lateral))
        for at in range(0, len(members), most):
            part = members[at : at + most]
            if made and len(made[-1]) + len(part) <= most:
                made[-1] += part
            else:
                made.append(part)
    return made


def _urgency(members: Sequence[Job]) -> tuple[dt.date, int, str]:
    """Soonest end of the days left, then priority, then the segment's name."""
    last = min(job.crew_days[-1].day for job in members)
    return last, min(job.priority for job in members), members[0].segment


def _portion(jobs: Sequence[Job], crew_days: Sequence[CrewDay], fixed: Sequence[Run]) -> Solved:
    """Solve a portion; days after those of a first plan that places every job can't improve it."""
    days = sorted({one.day for one in crew_days})
    begun = first_fit(jobs, crew_days, fixed)
    if sum(len(run.placed) for run in begun) == len(jobs):
        wide = days.index(max(run.where.day for run in begun)) + 1
    else:
        wide = len(days)
    window = set(days[:wide])
    shown = [one for one in crew_days if one.day in window and _open(one, jobs, fixed)]
    narrowed = [
        replace(job, crew_days=tuple(d for d in job.crew_days if d.day in window)) for job in jobs
    ]
    solved = solve(narrowed, shown, fixed)
    whole = {job.lateral: job for job in jobs}
    return replace(solved, left_out=tuple(whole[job.lateral] for job in solved.left_out))


def _open(where: CrewDay, jobs: Sequence[Job], fixed: Sequence[Run]) -> bool:
    """Whether a crew's day has room for any of the jobs, or bears on nothing that is fixed."""
    crew = where.crew.key
    taken = sum(
        run.end - run.start
        for run in fixed
        if (run.where.crew.key, run.where.day) == (crew, where.day)
    )
    shortest = min((job.ways[crew].shortest for job in jobs if crew in job.ways), default=0)
    return where.end - where.start - taken >= shortest


def _no_room(job: Job) -> NotScheduled:
    days = job.crew_days
    words = (
        f"Its days, {days[0].day} to {days[-1].day}, are full with laterals that go before it "
        f"({job.last_rule})."
    )
    return NotScheduled(job.lateral, "no room", words, (OFFICE,))


# ------------------------------------------------------------ what is issued


def _shifts(runs: Iterable[Run]) -> list[Shift]:
    """Runs as shifts, day by day, crew by crew."""
    of_day: dict[tuple[dt.date, str], list[Run]] = defaultdict(list)
    for run in runs:
        of_day[run.where.day, run.where.crew.key].append(run)
    return [
        Shift(crew, day, tuple(_set_up(run) for run in sorted(members, key=lambda r: r.start)))
        for (day, crew), members in sorted(of_day.items())
    ]


def _set_up(run: Run) -> SetUp:
    ways = [one.job.ways[run.where.crew.key] for one in run.placed]
    return SetUp(
        segment=run.segment,
        rig=run.rig,
        start=at_minute(run.start),
        ready=at_minute(run.start + max(way.set_up for way in ways)),
        end=at_minute(run.end),
        bypass=any(way.bypass for way in ways),
        turns=tuple(_turns(run)),
    )


def _turns(run: Run) -> Iterable[Turn]:
    one_batch = run.where.crew.mixing is Mixing.ONE_BATCH
    done = 0
    for number, one in enumerate(run.placed, 1):
        way = one.job.ways[run.where.crew.key]
        times = way.times
        size = len(run.placed) if one_batch else 1
        done = done + times.wet_out - (times.mix if number > 1 else 0) if one_batch else 0
        limit = one.mix + (way.off_ice[size - 1] or 0)
        steam_on = one.load + times.launch
        yield Turn(
            lateral=one.job.lateral,
            look=at_minute(one.look),
            mix=at_minute(one.mix),
            on_ice=at_minute(one.mix + (done if one_batch else times.wet_out)),
            load=at_minute(one.load),
            steam_on=at_minute(steam_on),
            steam_off=at_minute(steam_on + way.steam),
            cooled=at_minute(one.load + way.on_rig),
            film=at_minute(one.film),
            restored=at_minute(one.film + times.after),
            off_ice_by=at_minute(min(limit, LATEST)),
            batch=1 if one_batch else number,
            condition=one.job.condition,
        )


def at_minute(minutes: int) -> dt.time:
    """A time of day."""
    return dt.time(minutes // 60, minutes % 60)


def _proof(
    jobs: Sequence[Job], crew_days: Sequence[CrewDay], runs: Sequence[Run], solved: Sequence[Solved]
) -> Proof:
    """What is proven: of one portion all; of several only what holds whatever the order."""
    days = {day: at for at, day in enumerate(sorted({one.day for one in crew_days}))}
    last = max((days[run.where.day] for run in runs), default=-1)
    if len(solved) == 1:
        (one,) = solved
        least, set_ups, optimal = one.last_day_least + 1, one.set_ups_least, one.optimal
    else:
        placed = {p.job.lateral for run in runs for p in run.placed}
        there = [job for job in jobs if job.lateral in placed]
        least, set_ups = _least_days(there, crew_days), len({job.segment for job in there})
        optimal = not jobs
    return Proof(
        optimal=optimal,
        days=last + 1,
        days_least=least,
        set_ups=len(runs),
        set_ups_least=set_ups,
        portions=len(solved),
        solver=_solver_words() if solved else "",
    )


def _least_days(jobs: Sequence[Job], crew_days: Sequence[CrewDay]) -> int:
    """Days without which the rigs' minutes alone do not fit, whatever the order."""
    need = sum(min(way.on_rig for way in job.ways.values()) for job in jobs)
    room = 0
    days = sorted({one.day for one in crew_days})
    for number, day in enumerate(days, 1):
        room += sum(one.end - one.start for one in crew_days if one.day == day)
        if room >= need:
            return number if need else 0
    return len(days)


def _solver_words() -> str:
    from importlib.metadata import version

    return f"OR-Tools {version('ortools')}"
