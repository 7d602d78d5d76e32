"""A plan to begin from: day by day, each crew stays on a segment as long as liners fit.

It is sound but seldom the best; the solver starts from it and improves it.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from drainwright.planning.shift_jobs import CrewDay, Job
from drainwright.records.crew import Mixing


@dataclass(frozen=True, slots=True)
class Placed:
    """One job's place: its crew-day, and times in minutes from midnight."""

    job: Job
    where: CrewDay
    look: int
    mix: int
    load: int
    film: int


@dataclass(frozen=True, slots=True)
class Run:
    """One stay on a main segment, with its jobs in the order of loading."""

    where: CrewDay
    segment: str
    rig: str
    start: int
    end: int
    placed: tuple[Placed, ...]


@dataclass(slots=True)
class _Taken:
    """What is taken already: when mains have a crew, and premises are out of service."""

    mains: dict[tuple[str, dt.date], list[tuple[int, int]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    premises: dict[tuple[str, dt.date], list[tuple[int, int]]] = field(
        default_factory=lambda: defaultdict(list)
    )
    crews: dict[tuple[str, dt.date], list[tuple[int, int]]] = field(
        default_factory=lambda: defaultdict(list)
    )

    def add(self, run: Run) -> None:
        """Take a run's times."""
        day, crew = run.where.day, run.where.crew.key
        self.mains[run.segment, day].append((run.start, run.end))
        self.crews[crew, day].append((run.start, run.end))
        for one in run.placed:
            until = one.film + one.job.ways[crew].times.after
            for name in one.job.premises:
                self.premises[name, day].append((one.load, until))

    def free(self, run: Run) -> bool:
        """Whether nothing of a run is taken."""
        day = run.where.day
        if _meets(run.start, run.end, self.mains[run.segment, day]):
            return False
        return not any(
            _meets(one.load, one.film + one.job.ways[run.where.crew.key].times.after, spans)
            for one in run.placed
            for name in one.job.premises
            for spans in (self.premises[name, day],)
        )


def _meets(low: int, high: int, spans: Sequence[tuple[int, int]]) -> bool:
    return any(low < end and start < high for start, end in spans)


def first_fit(
    jobs: Sequence[Job], crew_days: Sequence[CrewDay], fixed: Sequence[Run] = ()
) -> list[Run]:
    """Runs for as many of `jobs` as fit, in their order, beside runs that are `fixed`."""
    taken = _Taken()
    for run in fixed:
        taken.add(run)
    waiting = list(jobs)
    allowed = {job.lateral: {(one.crew.key, one.day) for one in job.crew_days} for job in jobs}
    found: list[Run] = []
    for where in crew_days:
        place = (where.crew.key, where.day)
        stayed: set[tuple[str, str]] = set()
        for lead in list(waiting):
            if lead not in waiting or place not in allowed[lead.lateral]:
                continue
            key = (lead.segment, lead.ways[where.crew.key].rig)
            begin = max((end for _, end in taken.crews[place]), default=where.start)
            if key in stayed:
                continue
            some = [job for job in waiting if place in allowed[job.lateral]]
            made = _longest(some, where, key, begin, taken)
            if made is not None:
                stayed.add(key)
                taken.add(made)
                found.append(made)
                gone = {one.job.lateral for one in made.placed}
                waiting = [job for job in waiting if job.lateral not in gone]
    return found


def _longest(
    jobs: Sequence[Job], where: CrewDay, key: tuple[str, str], begin: int, taken: _Taken
) -> Run | None:
    """A stay on one segment, a liner added as long as it fits."""
    best: Run | None = None
    members: list[Job] = []
    for job in jobs:
        if (job.segment, job.ways[where.crew.key].rig) != key:
            continue
        made = lay_out([*members, job], where, begin)
        if made is not None and taken.free(made):
            members.append(job)
            best = made
    return best


def lay_out(jobs: Sequence[Job], where: CrewDay, begin: int) -> Run | None:
    """One stay with `jobs` in this order, each as early as it goes; None where it doesn't fit."""
    crew = where.crew
    ways = [job.ways[crew.key] for job in jobs]
    ready = begin + max(way.set_up for way in ways)
    if crew.mixing is Mixing.ONE_BATCH:
        placed = _batch(jobs, where, ready)
    else:
        placed = _each_liner(jobs, where, ready)
    if placed is None:
        return None
    end = max(one.film + way.times.after + way.times.take_down
              for one, way in zip(placed, ways, strict=True))  # fmt: skip
    if end > where.end:
        return None
    return Run(where, jobs[0].segment, ways[0].rig, begin, end, tuple(placed))


def _each_liner(jobs: Sequence[Job], where: CrewDay, ready: int) -> list[Placed] | None:
    """Look and wet-out just in time for loading; the film follows at once."""
    placed: list[Placed] = []
    rig, table = ready, ready
    for job in jobs:
        way = job.ways[where.crew.key]
        times = way.times
        before = times.look + times.wet_out + times.transport
        if not where.crew.wets_out_beside:
            table = rig
        load = max(rig, table + before, job.water[0])
        mix = load - times.transport - times.wet_out
        film = load + way.on_rig
        placed.append(Placed(job, where, mix - times.look, mix, load, film))
        if not _kept(placed[-1], way.off_ice[0]):
            return None
        rig = film if where.crew.wets_out_beside else film + times.after
        # the next liner is looked at while this one cures, before it is filmed
        table = load if _fits_beside(jobs, job, way.on_rig, where) else film + times.after
    return placed


def _fits_beside(jobs: Sequence[Job], job: Job, room: int, where: CrewDay) -> bool:
    at = jobs.index(job) + 1
    if at == len(jobs) or not where.crew.wets_out_beside:
        return False
    times = jobs[at].ways[where.crew.key].times
    return times.look + times.wet_out + times.transport <= room


def _batch(jobs: Sequence[Job], where: CrewDay, ready: int) -> list[Placed] | None:
    """All are looked at, one mix is wet out, then one liner goes in after the other."""
    crew = where.crew
    ways = [job.ways[crew.key] for job in jobs]
    if len({job.resin for job in jobs}) > 1:
        return None
    looked = ready + sum(way.times.look for way in ways)
    mix = looked
    wet = mix + ways[0].times.mix + sum(way.times.wet_out - way.times.mix for way in ways)
    rig = wet + max(way.times.transport for way in ways)
    placed: list[Placed] = []
    look = ready
    for job, way in zip(jobs, ways, strict=True):
        load = max(rig, job.water[0])
        film = load + way.on_rig
        placed.append(Placed(job, where, look, mix, load, film))
        limit = way.off_ice[len(jobs) - 1] if len(jobs) <= len(way.off_ice) else None
        if not _kept(placed[-1], limit):
            return None
        look += way.times.look
        rig = film if crew.wets_out_beside else film + way.times.after
    return placed


def _kept(one: Placed, off_ice: int | None) -> bool:
    """Whether resin, hours and service hold for a liner."""
    after = one.job.ways[one.where.crew.key].times.after
    restored = one.film + after
    return (
        off_ice is not None
        and one.load <= one.mix + off_ice
        and restored <= one.job.water[1]
        and restored - one.load <= one.job.service_out
    )
