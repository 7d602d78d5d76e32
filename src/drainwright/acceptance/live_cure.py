"""The state of a running cure: what is still needed, what would shorten it, what is wrong."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from drainwright.acceptance.cure_estimate import Question, drive_of, estimate, watched_of
from drainwright.acceptance.cure_log import BLIND, NO_COLLAR, NOT_COMPARED, along_of
from drainwright.acceptance.cure_priors import Learned, priors_of, with_learned
from drainwright.acceptance.cure_rules import (
    StepReached,
    exhaust_reached,
    exhaust_rule,
    maker_steps,
    sheet_number,
)
from drainwright.acceptance.cure_series import (
    Array,
    Phases,
    Readings,
    Told,
    phases_of,
    readings_of,
)
from drainwright.acceptance.cure_site import SiteCase
from drainwright.acceptance.live_alarms import SILENT, PressureWindow, Seen, alarms_of
from drainwright.engineering.driven_cure import layout_of
from drainwright.records.cure_log import CureLog, Reads
from drainwright.records.live_cure import CureAlong, LiveAlarm, LiveCure
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, show

HORIZON = 10_800.0
"""The estimate looks this far ahead; what is not cured then counts as never [s]."""
EARLIEST = 300.0
"""Before this long with steam nothing is estimated [s]."""
CELLS = 8
"""Cells along the lateral: enough for a moment's answer."""
ONE_SIDED = 1.644854
NOT_A_SUBSTITUTE = "The estimate never shortens the maker’s schedule."


@dataclass(frozen=True, slots=True)
class LiveInputs:
    """A running cure: the work sheet as issued, the log so far, and the moment."""

    sheet: WorkSheet
    log: CureLog
    now: dt.datetime
    told: Told
    site: SiteCase = field(default_factory=lambda: SiteCase(None, "no case is given"))
    learned: Mapping[str, Learned] = field(default_factory=dict)
    logs_learned: int = 0
    start: tuple[float, ...] = ()
    """Where the estimate a moment ago ended; empty for the first."""

    @property
    def system(self) -> UnitSystem:
        """Units of the project."""
        return self.sheet.project.units


@dataclass(frozen=True, slots=True)
class LiveStep:
    """The state, and where its estimate ended, for the next moment."""

    state: LiveCure
    end: tuple[float, ...] = ()


def live_state(given: LiveInputs) -> LiveCure:
    """What the crew is told at this moment."""
    return live_step(given).state


def live_step(given: LiveInputs) -> LiveStep:
    """What the crew is told at this moment, and where the estimate ended."""
    readings = readings_of(given.log)
    phases = phases_of(readings, given.told)
    running = _running(given, phases)
    maker, exhaust = _maker_left(given, readings, running), _exhaust_left(given, readings, running)
    ahead = _ahead(given, readings, running)
    parts = {"maker": maker, "exhaust": exhaust}
    unsure = ahead is not None and ahead.left_sure is None
    if ahead is not None and not unsure:
        parts["estimate"] = ahead.left_sure
    governed, left = ("estimate", None) if unsure else _longest(parts)
    state = LiveCure(
        lateral=given.log.lateral,
        now=given.now,
        steam_on=None if running.steam_on is None else given.log.at(running.steam_on),
        steam_off=None if running.steam_off is None else given.log.at(running.steam_off),
        maker_left=maker,
        exhaust_left=exhaust,
        cure_left=ahead.left if ahead else None,
        cure_left_sure=ahead.left_sure if ahead else None,
        never=ahead is not None and ahead.left is None,
        left=left,
        governed_by=governed,
        done=maker == 0.0 and left == 0.0,
        cure_now=ahead.least_now if ahead else None,
        least_place=ahead.place if ahead else "",
        along=ahead.along if ahead else None,
        alarms=tuple(_alarms(given, readings, running)),
        shorten=tuple(_shorten(given, readings, running, ahead)),
        leaves_out=(NOT_A_SUBSTITUTE, *_unseen(given, readings)),
        logs_learned=given.logs_learned,
    )
    return LiveStep(state, ahead.end if ahead else given.start)


@dataclass(frozen=True, slots=True)
class _Ahead:
    """The estimate now and ahead, as steam stands."""

    left: float | None
    left_sure: float | None
    least_now: tuple[float, float, float]
    place: str
    along: CureAlong
    end: tuple[float, ...]


def _ahead(given: LiveInputs, readings: Readings, phases: Phases) -> _Ahead | None:
    """When the least cured place reaches its target; None where nothing can be estimated."""
    case, target = given.site.case, given.sheet.specification.limit("target_cure").value
    if case is None or target is None or phases.steam_on is None or readings.seconds.size < 12:
        return None
    now = float(readings.seconds[-1])
    until = now if phases.steam_off is not None else now + HORIZON
    drive = drive_of(readings, phases, case, until)
    if drive is None or now - phases.steam_on < EARLIEST:
        return None
    watched = watched_of(readings, phases, layout_of(case, CELLS).columns)
    priors = with_learned(priors_of(case), given.learned)
    start = np.array(given.start) if given.start else None
    question = Question(case, drive, watched, priors)
    found = estimate(question, start=start, most=2 if given.start else 4, cells=CELLS)
    at = int(np.searchsorted(drive.times, now - phases.steam_on))
    at = min(at, drive.times.size - 1)
    along, least, place = along_of(found, at)
    ahead = slice(at, drive.times.size)
    best = np.array([band[0].min() for band in found.bands(ahead)])
    sure = np.array([band[1].min() for band in found.bands(ahead, ONE_SIDED)])
    left, left_sure = (_reached(drive.times[at:], v, target) for v in (best, sure))
    return _Ahead(left, left_sure, least, place, along, tuple(float(v) for v in found.z))


def _reached(times: Array, cure: Array, target: float) -> float | None:
    """Time from the first moment until a cure reaches the target [s]; None where it does not."""
    if cure[0] >= target:
        return 0.0
    above = np.flatnonzero(cure >= target)
    if not above.size:
        return None
    k = int(above[0])
    share = (target - cure[k - 1]) / max(cure[k] - cure[k - 1], 1e-12)
    return float(times[k - 1] + share * (times[k] - times[k - 1]) - times[0])


def _unseen(given: LiveInputs, readings: Readings) -> Iterator[str]:
    """What the estimate does not see, or why there is none."""
    if given.site.case is None:
        yield f"The cure is not estimated: {given.site.lacks}."
        return
    yield NOT_COMPARED
    if readings.one(Reads.EXHAUST) is None or given.site.case.gas.vent_diameter is None:
        yield BLIND
    if not readings.all_of(Reads.COLLAR):
        yield NO_COLLAR


def _running(given: LiveInputs, phases: Phases) -> Phases:
    """Steam counts as shut only when somebody said so: a cold gas is a boiler stop until then."""
    if phases.steam_off is None or given.told.steam_off is not None:
        return phases
    return Phases(phases.steam_on, None, None, phases.air_shut, phases.clock_error, phases.hot)


def _maker_left(given: LiveInputs, readings: Readings, phases: Phases) -> float | None:
    """Still needed by the maker's schedule; None where there is none."""
    schedule = given.sheet.resin.schedule if given.sheet.resin else ()
    if not schedule:
        return None
    steps: Sequence[StepReached] = maker_steps(readings, phases, schedule)
    return sum(step.left for step in steps)


def _exhaust_left(given: LiveInputs, readings: Readings, phases: Phases) -> float | None:
    """Still needed by the rule of the exhaust; None where there is no rule or no exhaust."""
    rule = exhaust_rule(given.sheet)
    found = None if rule is None else exhaust_reached(readings, phases, rule)
    if rule is None or found is None:
        return None
    return max(rule.wait - found.reached, 0.0)


def _longest(parts: dict[str, float | None]) -> tuple[str, float | None]:
    known = {name: value for name, value in parts.items() if value is not None}
    if not known:
        return "", None
    name = max(known, key=lambda one: known[one])
    return name, known[name]


def _window(sheet: WorkSheet) -> PressureWindow:
    return PressureWindow(
        sheet_number(sheet, "pressure.steam_least"), sheet_number(sheet, "pressure.steam_most")
    )


def _alarms(given: LiveInputs, readings: Readings, phases: Phases) -> Iterator[LiveAlarm]:
    silent = (given.now - given.log.end).total_seconds()
    if given.log.seconds and silent > SILENT:
        words = f"The logger has not written for {silent / 60:.0f} min: read the gauges by hand."
        yield LiveAlarm("log stopped", words, given.log.end)
    if phases.steam_off is not None:
        return
    seen: list[Seen] = list(alarms_of(readings, phases, _window(given.sheet), given.system))
    seen += _late_exhaust(given, readings, phases)
    for one in seen:
        yield LiveAlarm(one.key, one.words, given.log.at(one.since), one.position)


def _late_exhaust(given: LiveInputs, readings: Readings, phases: Phases) -> Iterator[Seen]:
    """The exhaust is not at its reading by the time of the trouble card."""
    rule, limit = exhaust_rule(given.sheet), sheet_number(given.sheet, "steam.trouble")
    if rule is None or limit is None or phases.steam_on is None:
        return
    found = exhaust_reached(readings, phases, rule)
    passed = float(readings.seconds[-1]) - phases.steam_on
    if found is not None and found.steady_at is None and passed > limit:
        reading = show(rule.reading, "temperature", given.system).text
        words = (
            f"Trouble card: {passed / 60:.0f} min after steam on the exhaust does not stand at "
            f"{reading}."
        )
        yield Seen("exhaust late", words, phases.steam_on + limit)


def _shorten(
    given: LiveInputs, readings: Readings, phases: Phases, ahead: _Ahead | None
) -> Iterator[str]:
    """What would bring the end nearer, of what the log shows."""
    gas, exhaust = readings.one(Reads.GAS_IN), readings.one(Reads.EXHAUST)
    if phases.steam_on is None or gas is None or gas.last is None:
        return
    schedule = given.sheet.resin.schedule if given.sheet.resin else ()
    coldest = gas.last if exhaust is None or exhaust.last is None else min(gas.last, exhaust.last)
    if schedule and coldest < schedule[-1].temperature:
        wanted = show(schedule[-1].temperature, "temperature", given.system).text
        yield f"The maker’s last step counts only from {wanted} at the coldest reading."
    if exhaust is not None and exhaust.last is not None and gas.last - exhaust.last > 10.0:
        yield "More steam or a wider vent: the far end is colder than what goes in."
    if ahead is None or ahead.left_sure == 0.0:
        return
    if ahead.place.startswith("collar"):
        yield (
            "The collar is last: steam, not air, in the carrier’s bladder; keep the water of the "
            "main away from it."
        )
    elif "bottom" in ahead.place:
        yield "The bottom is last: let condensate drain."
    gauge, most = readings.one(Reads.PRESSURE), _window(given.sheet).most
    if gauge is not None and gauge.last is not None and most and gauge.last < 0.85 * most:
        top = show(most, "pressure", given.system).text
        yield f"A higher pressure makes the steam hotter; at most {top} is allowed."
