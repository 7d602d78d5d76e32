"""One portion of a shift plan as a constraint program, solved by CP-SAT (OR-Tools).

A job is on one crew-day or on none. All jobs of a crew-day that share a main segment and a rig
form one run: set-up, jobs, take-down. Runs of a crew-day and liners on a rig follow each other;
looking, mixing, wetting out and filming go on beside a cure where the crew has the people.

Aims, one after the other, each kept while the next is sought: most jobs by priority, earliest
last day, fewest set-ups, urgent laterals first; then the times of each day are drawn together.
One worker, a fixed seed and a limit counted in the solver's own steps, not in seconds: the same
input gives the same plan on any machine.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from drainwright.errors import ConvergenceError, Fault, InputError
from drainwright.planning.shift_jobs import CrewDay, Job
from drainwright.planning.shift_start import Placed, Run, first_fit
from drainwright.records.crew import Mixing

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

WORK = 2.0
"""Work the solver may spend on one aim, in its own deterministic measure (about seconds)."""
DAY = 24 * 60


@dataclass(frozen=True, slots=True)
class Solved:
    """Runs of one portion, and what the solver proved of them."""

    runs: tuple[Run, ...]
    left_out: tuple[Job, ...]
    last_day: int
    """Index of the last working day used, from 0; -1 for none."""
    last_day_least: int
    set_ups_least: int
    optimal: bool


@dataclass(slots=True)
class _Parts:
    """Variables of the model."""

    model: cp_model.CpModel
    jobs: Sequence[Job]
    crew_days: Sequence[CrewDay]
    on: dict[tuple[int, int], Any] = field(default_factory=dict)
    """Job number and crew-day number: is it there?"""
    look: list[Any] = field(default_factory=list)
    mix: list[Any] = field(default_factory=list)
    load: list[Any] = field(default_factory=list)
    film: list[Any] = field(default_factory=list)
    runs: dict[tuple[int, str, str], tuple[Any, Any, Any]] = field(default_factory=dict)
    """Crew-day, segment, rig: is it there, start, end."""
    members: dict[tuple[int, str, str], list[int]] = field(default_factory=dict)
    used: list[Any] = field(default_factory=list)
    """Working days, in order: is this one or a later one used?"""
    at_tap: dict[int, list[Any]] = field(default_factory=lambda: defaultdict(list))
    at_table: dict[int, list[Any]] = field(default_factory=lambda: defaultdict(list))


def solver() -> Any:
    """The module of CP-SAT; `InputError` with what to install where it is not there."""
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        words = "planning shifts needs OR-Tools: pip install drainwright[plan]"
        raise InputError(Fault("plan", words)) from error
    return cp_model


def solve(
    jobs: Sequence[Job], crew_days: Sequence[CrewDay], fixed: Sequence[Run] = (), work: float = WORK
) -> Solved:
    """Place `jobs` on `crew_days` beside runs that are `fixed`; days are counted in `crew_days`.

    Raises `ConvergenceError` where no plan at all was found within the limit.
    """
    parts = _model(jobs, crew_days, fixed)
    model, days = parts.model, day_numbers(crew_days)
    placed = {at: sum(parts.on[at, k] for k in _days(parts, at)) for at in range(len(jobs))}
    weights = {at: _weight(job) for at, job in enumerate(jobs)}
    _hint(parts, first_fit(jobs, crew_days, fixed))
    search = _Search(model, work)
    value = sum(weights[at] * placed[at] for at in placed)
    search.step(value, largest=True)
    model.add(value == search.value)
    last = sum(parts.used) - 1
    search.step(last)
    model.add(last == search.value)
    last_least, last_found = search.bound, search.value
    set_ups = sum(literal for literal, _, _ in parts.runs.values())
    search.step(set_ups)
    model.add(set_ups == search.value)
    set_ups_least = search.bound
    proven = search.proven
    early = sum(
        weights[at] * days[crew_days[k].day] * literal for (at, k), literal in parts.on.items()
    )
    search.step(early, share=0.1)
    for (at, k), literal in parts.on.items():
        model.add(literal == search.boolean(parts.on[at, k]))
    search.step(_tightness(parts), share=0.02)
    runs = tuple(_runs(parts, search))
    there = {one.job.lateral for run in runs for one in run.placed}
    left = tuple(job for job in jobs if job.lateral not in there)
    return Solved(runs, left, last_found, last_least, set_ups_least, proven)


def _hint(parts: _Parts, runs: Sequence[Run]) -> None:
    """Give the solver a plan to begin from."""
    model = parts.model
    number = {job.lateral: at for at, job in enumerate(parts.jobs)}
    where = {(one.crew.key, one.day): k for k, one in enumerate(parts.crew_days)}
    there: set[tuple[int, str, str]] = set()
    on: set[tuple[int, int]] = set()
    for run in runs:
        k = where[run.where.crew.key, run.where.day]
        key = (k, run.segment, run.rig)
        model.add_hint(parts.runs[key][1], run.start)
        model.add_hint(parts.runs[key][2], run.end)
        there.add(key)
        for one in run.placed:
            at = number[one.job.lateral]
            on.add((at, k))
            for times, value in ((parts.look, one.look), (parts.mix, one.mix),
                                 (parts.load, one.load), (parts.film, one.film)):  # fmt: skip
                model.add_hint(times[at], value)
    for place, literal in parts.on.items():
        model.add_hint(literal, place in on)
    for key, (literal, _, _) in parts.runs.items():
        model.add_hint(literal, key in there)


def day_numbers(crew_days: Iterable[CrewDay]) -> Mapping[object, int]:
    """Working days of any crew, numbered from 0."""
    return {day: at for at, day in enumerate(sorted({one.day for one in crew_days}))}


def _weight(job: Job) -> int:
    """Priority 1 weighs most."""
    return max(1, 10 - 2 * (job.priority - 1))


class _Search:
    """Seeks one aim after the other, each from the solution before."""

    def __init__(self, model: cp_model.CpModel, work: float) -> None:
        cp_model_ = solver()
        self._cp, self._model = cp_model_, model
        self._solver = cp_model_.CpSolver()
        self._solver.parameters.num_workers = 1
        self._solver.parameters.random_seed = 1
        self._work = work
        self.value = self.bound = 0
        self.proven = True

    def step(self, aim: Any, *, largest: bool = False, share: float = 1.0) -> None:
        """Seek the least (or largest) `aim`; `value`, `bound` and `proven` tell what came.

        `share` of the work may be spent on it.
        """
        model, found = self._model, self._solver
        found.parameters.max_deterministic_time = self._work * share
        if largest:
            model.maximize(aim)
        else:
            model.minimize(aim)
        state = found.solve(model)
        if state not in (self._cp.OPTIMAL, self._cp.FEASIBLE):
            raise ConvergenceError(
                "no shift plan was found within the solver's limit; plan fewer laterals at once"
            )
        self.value = round(found.objective_value)
        bound = found.best_objective_bound
        self.bound = math.floor(bound + 1e-6) if largest else math.ceil(bound - 1e-6)
        self.proven = self.proven and state == self._cp.OPTIMAL
        model.clear_hints()  # type: ignore[no-untyped-call]
        for index in range(len(model.proto.variables)):
            variable = model.get_int_var_from_proto_index(index)
            model.add_hint(variable, found.value(variable))

    def of(self, variable: Any) -> int:
        """The value of a variable in the last solution."""
        return int(self._solver.value(variable))

    def boolean(self, variable: Any) -> int:
        """1 or 0."""
        return int(self._solver.boolean_value(variable))


# ------------------------------------------------------------ the model


def _model(jobs: Sequence[Job], crew_days: Sequence[CrewDay], fixed: Sequence[Run]) -> _Parts:
    parts = _Parts(solver().CpModel(), jobs, crew_days)
    for at, job in enumerate(jobs):
        _job(parts, at, job)
    for (k, segment, rig), members in parts.members.items():
        _run(parts, k, (segment, rig), members)
    _one_after_the_other(parts, fixed)
    _neighbors(parts, fixed)
    _room(parts, fixed)
    return parts


def _days(parts: _Parts, at: int) -> list[int]:
    return [k for (job, k) in parts.on if job == at]


def _job(parts: _Parts, at: int, job: Job) -> None:
    """Times of one job, and where it may be."""
    model = parts.model
    low, high = job.water
    look = model.new_int_var(0, DAY, f"look{at}")
    mix = model.new_int_var(0, DAY, f"mix{at}")
    load = model.new_int_var(max(low, 0), DAY, f"load{at}")
    film = model.new_int_var(0, DAY, f"film{at}")
    for times, one in ((parts.look, look), (parts.mix, mix), (parts.load, load),
                       (parts.film, film)):  # fmt: skip
        times.append(one)
    allowed = {(one.crew.key, one.day) for one in job.crew_days}
    for k, where in enumerate(parts.crew_days):
        if (where.crew.key, where.day) not in allowed:
            continue
        on = parts.on[at, k] = model.new_bool_var(f"on{at},{k}")
        way = job.ways[where.crew.key]
        times_, rig = way.times, way.on_rig
        model.add(film >= load + rig).only_enforce_if(on)
        model.add(film + times_.after <= high).only_enforce_if(on)
        model.add(film + times_.after - load <= job.service_out).only_enforce_if(on)
        table = [(look, times_.look), (film, times_.after)]
        if where.crew.mixing is Mixing.EACH_LINER:
            model.add(mix >= look + times_.look).only_enforce_if(on)
            model.add(load >= mix + times_.wet_out + times_.transport).only_enforce_if(on)
            model.add(load <= mix + (way.off_ice[0] or 0)).only_enforce_if(on)
            table.append((mix, times_.wet_out))
        for start, size in table:
            parts.at_table[k].append(
                model.new_optional_fixed_size_interval_var(start, size, on, "")
            )
        parts.at_tap[k].append(model.new_optional_fixed_size_interval_var(load, rig, on, ""))
        parts.members.setdefault((k, job.segment, way.rig), []).append(at)
    model.add_at_most_one(parts.on[at, k] for k in _days(parts, at))


def _run(parts: _Parts, k: int, place: tuple[str, str], members: Sequence[int]) -> None:
    """Set-up before the first look, take-down after the last film, one stay a day."""
    model, where = parts.model, parts.crew_days[k]
    name = f"{k},{place}"
    there = model.new_bool_var(f"run{name}")
    start = model.new_int_var(where.start, where.end, f"start{name}")
    end = model.new_int_var(where.start, where.end, f"end{name}")
    parts.runs[k, place[0], place[1]] = (there, start, end)
    model.add_bool_or([parts.on[at, k] for at in members]).only_enforce_if(there)
    for at in members:
        way = parts.jobs[at].ways[where.crew.key]
        on = parts.on[at, k]
        model.add_implication(on, there)
        model.add(parts.look[at] >= start + way.set_up).only_enforce_if(on)
        model.add(parts.film[at] + way.times.after + way.times.take_down <= end).only_enforce_if(on)
    if where.crew.mixing is Mixing.ONE_BATCH:
        _batch(parts, k, there, members)


def _batch(parts: _Parts, k: int, there: Any, members: Sequence[int]) -> None:
    """One mix for all liners of a run: mixed once, wet out one after the other."""
    model, crew = parts.model, parts.crew_days[k].crew
    start = model.new_int_var(0, DAY, f"batch{k}")
    first = parts.jobs[members[0]].ways[crew.key].times
    on = {at: parts.on[at, k] for at in members}
    each = {at: _each(parts.jobs[at], crew.key) for at in members}
    size = model.new_int_var(0, DAY, f"batchsize{k}")
    model.add(size == first.mix * there + sum(each[at] * on[at] for at in members))
    end = model.new_int_var(0, 2 * DAY, f"batchend{k}")
    parts.at_table[k].append(model.new_optional_interval_var(start, size, end, there, ""))
    more = [model.new_bool_var(f"more{k},{n}") for n in range(2, len(members) + 1)]
    for n, literal in enumerate(more, 2):  # at least n liners
        model.add(sum(on.values()) >= n).only_enforce_if(literal)
        model.add(sum(on.values()) < n).only_enforce_if(~literal)
    for at in members:
        way = parts.jobs[at].ways[crew.key]
        times = way.times
        model.add(parts.mix[at] == start).only_enforce_if(on[at])
        model.add(start >= parts.look[at] + times.look).only_enforce_if(on[at])
        model.add(parts.load[at] >= end + times.transport).only_enforce_if(on[at])
        model.add(parts.load[at] <= start + (way.off_ice[0] or 0)).only_enforce_if(on[at])
        for n, literal in enumerate(more, 2):
            limit = way.off_ice[n - 1] if n <= len(way.off_ice) else None
            if limit is None:
                model.add_bool_or([~literal, ~on[at]])
            else:
                model.add(parts.load[at] <= start + limit).only_enforce_if([on[at], literal])
        for other in members:
            if other < at and parts.jobs[other].resin != parts.jobs[at].resin:
                model.add_bool_or([~on[at], ~on[other]])


def _each(job: Job, crew: str) -> int:
    """Wetting out one liner of a batch, without the mixing."""
    return job.ways[crew].times.wet_out - job.ways[crew].times.mix


def _one_after_the_other(parts: _Parts, fixed: Sequence[Run]) -> None:
    """Runs of a crew; liners on its rig; its table; one crew at a time on a main segment."""
    model = parts.model
    runs: dict[int, list[Any]] = defaultdict(list)
    mains: dict[tuple[str, object], list[Any]] = defaultdict(list)
    for (k, segment, _), (there, start, end) in parts.runs.items():
        size = model.new_int_var(0, DAY, "")
        one = model.new_optional_interval_var(start, size, end, there, "")
        runs[k].append(one)
        mains[segment, parts.crew_days[k].day].append(one)
    for run in fixed:
        one = model.new_fixed_size_interval_var(run.start, run.end - run.start, "")
        mains[run.segment, run.where.day].append(one)
        for k, where in enumerate(parts.crew_days):
            if (where.crew.key, where.day) == (run.where.crew.key, run.where.day):
                runs[k].append(one)
    for k, where in enumerate(parts.crew_days):
        model.add_no_overlap(runs[k])
        if where.crew.wets_out_beside:
            model.add_no_overlap(parts.at_tap[k])
            model.add_no_overlap(parts.at_table[k])
        else:
            model.add_no_overlap([*parts.at_tap[k], *parts.at_table[k]])
    for together in mains.values():
        model.add_no_overlap(together)


def _neighbors(parts: _Parts, fixed: Sequence[Run]) -> None:
    """Laterals that share premises or a wye are never out of service at the same time."""
    model = parts.model
    sharing: dict[str, list[int]] = defaultdict(list)
    for at, job in enumerate(parts.jobs):
        for name in job.premises:
            sharing[name].append(at)
    taken: dict[str, list[tuple[object, int, int]]] = defaultdict(list)
    for run in fixed:
        for one in run.placed:
            until = one.film + one.job.ways[run.where.crew.key].times.after
            for name in one.job.premises:
                taken[name].append((run.where.day, one.load, until))
    for name, members in sharing.items():
        if len(members) + len(taken[name]) < 2:
            continue
        days = sorted({parts.crew_days[k].day for at in members for k in _days(parts, at)})
        for day in days:
            model.add_no_overlap(
                [*_out_of_service(parts, members, day),
                 *(model.new_fixed_size_interval_var(low, high - low, "")
                   for on, low, high in taken[name] if on == day)]
            )  # fmt: skip


def _out_of_service(parts: _Parts, members: Sequence[int], day: object) -> list[Any]:
    """From loading to service restored, of each member that may be lined on that day."""
    model, found = parts.model, []
    for at in members:
        for k in _days(parts, at):
            where = parts.crew_days[k]
            if where.day != day:
                continue
            after = parts.jobs[at].ways[where.crew.key].times.after
            size = model.new_int_var(0, DAY, "")
            load, end = parts.load[at], parts.film[at] + after
            found.append(model.new_optional_interval_var(load, size, end, parts.on[at, k], ""))
    return found


def _room(parts: _Parts, fixed: Sequence[Run]) -> None:
    """Days in use, and what follows from the rest said outright: the room of a day and a run.

    The solver would find these sums and counts by trying; with them its bounds are good.
    """
    model, days = parts.model, day_numbers(parts.crew_days)
    parts.used = [model.new_bool_var(f"used{at}") for at in range(len(days))]
    for sooner, later in pairwise(parts.used):
        model.add_implication(later, sooner)
    taken: dict[tuple[str, object], int] = defaultdict(int)
    for run in fixed:
        taken[run.where.crew.key, run.where.day] += run.end - run.start
    for k, where in enumerate(parts.crew_days):
        crew, used = where.crew.key, parts.used[days[where.day]]
        room = where.end - where.start - taken[crew, where.day]
        on = {at: parts.on[at, k] for at in range(len(parts.jobs)) if (at, k) in parts.on}
        rig = {at: parts.jobs[at].ways[crew].on_rig for at in on}
        around = {
            key: min(_around(parts.jobs[at].ways[crew]) for at in members)
            for key, members in parts.members.items()
            if key[0] == k
        }
        if not on:
            continue
        most = _most(rig.values(), room - min(around.values()))
        model.add(sum(on.values()) <= most * used)
        spent = sum(rig[at] * literal for at, literal in on.items())
        spent += sum(size * parts.runs[key][0] for key, size in around.items())
        model.add(spent <= max(room, 0) * used)
        for key, size in around.items():
            there, members = parts.runs[key][0], parts.members[key]
            most = _most([rig[at] for at in members], room - size)
            model.add(sum(on[at] for at in members) <= most * there)


def _most(sizes: Iterable[int], room: int) -> int:
    """How many go into the room at most, the smallest first."""
    count = 0
    for size in sorted(sizes):
        room -= size
        if room < 0:
            break
        count += 1
    return count


def _around(way: Any) -> int:
    times = way.times
    before = way.set_up + times.look + times.wet_out + times.transport
    return int(before + times.after + times.take_down)


# ------------------------------------------------------------ what came out


def _tightness(parts: _Parts) -> Any:
    """Short days, liners early, and mixing and looking no earlier than they need to be."""
    ends = sum(end for _, _, end in parts.runs.values())
    starts = sum(start for _, start, _ in parts.runs.values())
    late = sum(parts.mix) + sum(parts.look)
    return 20 * ends + 10 * sum(parts.load) + 10 * sum(parts.film) - 2 * late - starts


def _runs(parts: _Parts, search: _Search) -> Iterable[Run]:
    for (k, segment, rig), (there, start, end) in parts.runs.items():
        if not search.boolean(there):
            continue
        where = parts.crew_days[k]
        placed = [
            Placed(
                parts.jobs[at], where, search.of(parts.look[at]), search.of(parts.mix[at]),
                search.of(parts.load[at]), search.of(parts.film[at]),
            )
            for at in parts.members[k, segment, rig]
            if search.boolean(parts.on[at, k])
        ]  # fmt: skip
        placed.sort(key=lambda one: one.load)
        yield Run(where, segment, rig, search.of(start), search.of(end), tuple(placed))
