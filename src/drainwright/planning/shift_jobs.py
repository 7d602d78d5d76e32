"""The laterals a crew could line, as jobs in whole minutes; for each other one, why not.

A job's durations are P80: the crew's own where it has any, else the specification's; steam and
cool-down come from the work sheet. A day a job may not use falls out here, rule by rule, so
that a lateral without any day names the rule that took the last one.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from drainwright.planning.crew_times import CrewTimes, crew_times
from drainwright.planning.resin_clock import plan_deadlines
from drainwright.planning.rig_reach import rig_reasons
from drainwright.planning.site import Site
from drainwright.planning.waiting import CAMERA, MAKER, OFFICE, RESIDENT, RIG, waits_on
from drainwright.records.crew import Calendar, Crew, Promise, Wish
from drainwright.records.rig import Rig
from drainwright.records.shift_plan import NotScheduled
from drainwright.records.work_sheet import Fitness, WorkSheet

MOST_IN_A_BATCH = 6
"""Liners out of one mix at most; more pails than that nobody keeps apart."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A lateral with its work sheet and all that bears on its day."""

    sheet: WorkSheet
    site: Site
    material_from: dt.date | None = None
    """First day on which tube, resin and collar are there; None where they never come."""
    material_words: str = ""
    """What is short, where it is."""


@dataclass(frozen=True, slots=True)
class CrewDay:
    """One crew on one working day, in minutes from midnight; `end` is less the allowance."""

    crew: Crew
    day: dt.date
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Way:
    """One crew doing one job: the rig, durations [min], and the resin's limits."""

    rig: str
    times: CrewTimes
    steam: int
    cool: int
    off_ice: tuple[int | None, ...]
    """Minutes from mixing to loading at most, by liners in the batch from one; None: too many."""
    bypass: bool

    @property
    def on_rig(self) -> int:
        """From loading until the carrier is free."""
        return self.times.launch + self.steam + self.cool

    @property
    def set_up(self) -> int:
        """Until the main is ready."""
        times = self.times
        return times.move + times.traffic + (times.bypass if self.bypass else times.plug)

    @property
    def shortest(self) -> int:
        """The shortest shift in which this job alone can be done."""
        times = self.times
        before = self.set_up + times.look + times.wet_out + times.transport
        return before + self.on_rig + times.after + times.take_down


@dataclass(frozen=True, slots=True)
class Job:
    """One lateral to be lined."""

    lateral: str
    segment: str
    tap: float
    resin: str
    premises: tuple[str, ...]
    water: tuple[int, int]
    """Water may be off between these minutes of the day."""
    service_out: int
    """Minutes without service at most."""
    ways: Mapping[str, Way]
    """By crew."""
    crew_days: tuple[CrewDay, ...]
    """All it may use."""
    priority: int
    condition: str
    last_rule: str
    """What ends its days: a date in words."""


@dataclass(frozen=True, slots=True)
class Yard:
    """Crews, their rigs and days, what is promised and wished for."""

    crews: tuple[Crew, ...]
    rigs: Mapping[str, Rig]
    calendar: Calendar
    crew_days: tuple[CrewDay, ...]


def job_of(candidate: Candidate, yard: Yard) -> Job | NotScheduled:
    """The job of a lateral, or why it can't have a day."""
    sheet, key = candidate.sheet, candidate.sheet.lateral.key
    promise = next((one for one in yard.calendar.promises if one.lateral == key), None)
    why = _not_ready(sheet, promise)
    if why is not None:
        return why
    wish = next((one for one in yard.calendar.wishes if one.lateral == key), Wish(key))
    ways: dict[str, Way] = {}
    refused: list[str] = []
    for crew in yard.crews:
        found = _way(candidate, crew, yard.rigs)
        if isinstance(found, Way):
            ways[crew.key] = found
        else:
            refused.append(f"{crew.key}: {found}")
    if not ways:
        rule = "no crew" if not yard.crews else "no crew can line it"
        return NotScheduled(key, rule, " ".join(refused) or "No crew is entered.", (RIG,))
    water = _water(candidate.site)
    service = candidate.site.specification.optional("service_out_most")
    job = Job(
        lateral=key,
        segment=sheet.segment.key,
        tap=sheet.lateral.tap_distance,
        resin=sheet.resin.key if sheet.resin else "",
        premises=_premises(sheet),
        water=water,
        service_out=24 * 60 if service is None else int(service // 60),
        ways=ways,
        crew_days=tuple(one for one in yard.crew_days if one.crew.key in ways),
        priority=wish.priority,
        condition=_condition(promise),
        last_rule="",
    )
    return _with_days(job, candidate, promise, wish)


def _not_ready(sheet: WorkSheet, promise: Promise | None) -> NotScheduled | None:
    """Why a sheet is no plan for a day, whatever the day."""
    key = sheet.lateral.key
    if sheet.outcome is not Fitness.LINE and not (
        sheet.outcome is Fitness.PREPARE and promise is not None
    ):
        words = " ".join(reason.words for reason in sheet.reasons)
        if promise is not None:
            words += f" What {promise.by} promised can't settle that."
        return NotScheduled(key, sheet.outcome.value, words, waits_on("designed", sheet.reasons))
    for name, words in (
        ("steam.hold", "The work sheet has no steam time."),
        ("steam.cool", "The work sheet has no cool-down."),
        ("wetout.mass", "The work sheet has no resin weighed out."),
    ):
        found = sheet.figure(name)
        if found is None or isinstance(found.value, str):
            return NotScheduled(key, "work sheet", words, (OFFICE,))
    return None


def figure_minutes(sheet: WorkSheet, key: str) -> int:
    """A time of the work sheet in whole minutes, rounded up; 0 where it has none."""
    found = sheet.figure(key)
    value = 0.0 if found is None or isinstance(found.value, str) else found.value
    return math.ceil(value / 60 - 1e-9)


def _way(candidate: Candidate, crew: Crew, rigs: Mapping[str, Rig]) -> Way | str:
    """How this crew does the job; in words why it can't."""
    sheet, site = candidate.sheet, candidate.site
    found = sheet.figure("cut.length")
    cut = None if found is None or isinstance(found.value, str) else found.value
    against = ""
    for name in crew.rigs:
        reasons = list(rig_reasons(replace(site, rig=rigs[name]), cut, sheet.tube))
        if not reasons:
            break
        against = " ".join(reason.words for reason in reasons)
    else:
        return against or "It has no rig."
    times = crew_times(crew, site.specification)
    steam, cool = figure_minutes(sheet, "steam.hold"), figure_minutes(sheet, "steam.cool")
    off_ice = _off_ice(site, sheet, times)
    if off_ice[0] is None or off_ice[0] < times.wet_out + times.transport:
        return "The resin does not live long enough for its steps."
    allowed = sheet.figure("main.plugged")
    plugged = (times.invert + steam + cool) * 60
    bypass = allowed is not None and not isinstance(allowed.value, str) and plugged > allowed.value
    if bypass and not crew.bypass:
        return "The main would stay plugged too long, and this crew has no bypass."
    return Way(name, times, steam, cool, off_ice, bypass)


def _off_ice(site: Site, sheet: WorkSheet, times: CrewTimes) -> tuple[int | None, ...]:
    """Minutes from mixing until the last liner must be off the ice, by liners in the batch."""
    if sheet.resin is None or not sheet.resin.gel_times:
        return (None,)
    found: list[int | None] = []
    each = times.wet_out - times.mix
    for number in range(1, MOST_IN_A_BATCH + 1):
        minutes = {
            "wet_out_time": times.mix + number * each,
            "load_time": times.load,
            "lower_time": times.lower,
            "invert_time": times.invert,
        }
        source = site.specification.limit("wet_out_time").source
        specification = site.specification.with_limits(
            {name: (value * 60.0, source) for name, value in minutes.items()}
        )
        deadlines = plan_deadlines(replace(site, specification=specification), sheet.resin)
        found.append(None if deadlines is None else int(deadlines.off_ice // 60))
    return tuple(found)


def _premises(sheet: WorkSheet) -> tuple[str, ...]:
    """Everybody whose water is off: on the lateral, and on live branches of it."""
    branches = (one.premises for one in sheet.lateral.branches if one.live is not False)
    return tuple(dict.fromkeys((*sheet.lateral.premises, *filter(None, branches))))


def _water(site: Site) -> tuple[int, int]:
    """The hours in which water may be off at every premises."""
    low, high = 0, 24 * 60
    for one in site.premises:
        if one.water_off_from is not None:
            low = max(low, minute(one.water_off_from))
        if one.water_off_to is not None:
            high = min(high, minute(one.water_off_to))
    return low, high


def minute(at: dt.time) -> int:
    """Minutes from midnight."""
    return at.hour * 60 + at.minute


def _condition(promise: Promise | None) -> str:
    if promise is None:
        return ""
    what = promise.what or "everything the sheet still asks for"
    return f"{what}, promised by {promise.by}"


Allowed = Callable[[CrewDay], bool]


def _with_days(
    job: Job, candidate: Candidate, promise: Promise | None, wish: Wish
) -> Job | NotScheduled:
    """The job with the crew-days every rule leaves it."""
    days = job.crew_days
    if not days:
        return NotScheduled(
            job.lateral, "working days", "Its crews have no working day in this plan.", (OFFICE,)
        )
    last = f"the plan ends on {days[-1].day}"
    for rule, words, party, allowed in _rules(job, candidate, promise, wish):
        left = tuple(one for one in days if allowed(one))
        if not left:
            return NotScheduled(job.lateral, rule, words, (party,))
        if left[-1].day < days[-1].day:
            last = words
        days = left
    return replace(job, crew_days=days, last_rule=last)


def _rules(
    job: Job, candidate: Candidate, promise: Promise | None, wish: Wish
) -> Sequence[tuple[str, str, str, Allowed]]:
    """Every rule on a day: its name, its words where nothing is left, who can help, the test."""
    site, from_ = candidate.site, candidate.material_from
    expiring = _expiring(site, promise)
    found: list[tuple[str, str, str, Allowed]] = [
        (
            "material",
            candidate.material_words or "Tube, resin or collar is short.",
            MAKER,
            lambda one: from_ is not None and one.day >= from_,
        ),
        (
            "right of entry",
            "; ".join(f"the right of entry of {name} ends {on}" for name, on in expiring),
            RESIDENT,
            lambda one: all(one.day <= on for _, on in expiring),
        ),
        (
            "dig ticket",
            "No utility-locate ticket is valid on a day of the plan.",
            OFFICE,
            lambda one: _may_dig(site, one.day),
        ),
        (
            "residents' days",
            "On every day left somebody on it can't do without water.",
            RESIDENT,
            lambda one: not any(one.day in place.no_days for place in site.premises),
        ),
        _age(site),
        (
            "hours",
            _hours_words(job),
            RESIDENT,
            lambda one: fits_alone(job, one),
        ),
    ]
    if promise is not None:
        words = f"{promise.by} promised it for {promise.on}, after the last day of the plan."
        found.insert(0, ("promise", words, OFFICE, lambda one: one.day >= promise.on))
    if wish.due is not None:
        due = wish.due
        words = f"it is due on {due}"
        found.append(("due date", words, OFFICE, lambda one: one.day <= due))
    return found


def _age(site: Site) -> tuple[str, str, str, Allowed]:
    """A survey that is too old on the day is no survey for lining."""
    oldest = site.specification.optional("survey_age_most")
    if site.survey is None or oldest is None:
        return "survey age", "", CAMERA, lambda _: True
    last = site.survey.date + dt.timedelta(seconds=oldest)
    words = f"the survey of {site.survey.date} is too old after {last}"
    return "survey age", words, CAMERA, lambda one: one.day <= last


def _expiring(site: Site, promise: Promise | None) -> list[tuple[str, dt.date]]:
    """Rights of entry that end; one that has run out already is what a promise renews."""
    return [
        (one.address or one.key, one.entry_expires)
        for one in site.premises
        if one.entry_expires is not None
        and not (promise is not None and site.today is not None and one.entry_expires < site.today)
    ]


def _may_dig(site: Site, day: dt.date) -> bool:
    from drainwright.records.lateral import FarAccess

    if site.lateral.far_access is not FarAccess.NONE:
        return True
    return any(one.valid_from <= day <= one.valid_to for one in site.lateral.dig_tickets)


def fits_alone(job: Job, one: CrewDay) -> bool:
    """Whether the job alone goes into a crew's day, the residents' hours and the time without.

    Loading is put as early as the shift, the hours and the resin allow.
    """
    way = job.ways[one.crew.key]
    times = way.times
    before = one.start + way.set_up + times.look + times.wet_out + times.transport
    load = max(before, job.water[0])
    restored = load + way.on_rig + times.after
    return (
        restored <= min(job.water[1], one.end - times.take_down)
        and way.on_rig + times.after <= job.service_out
    )


def _hours_words(job: Job) -> str:
    least = min(way.on_rig + way.times.after for way in job.ways.values())
    if least > job.service_out:
        return f"Residents would be without service for {least} min, {job.service_out} are allowed."
    shortest = min(way.shortest for way in job.ways.values())
    low, high = (f"{one // 60:02d}:{one % 60:02d}" for one in job.water)
    return (
        f"It takes {shortest} min with its set-up, water off for {least} of them; that goes into "
        f"no shift within the hours {low} to {high}."
    )
