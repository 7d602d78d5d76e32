"""Deadlines of a wet liner as clock times, from what was entered: mixed, on ice, off ice, warm.

Times are instants in UTC and differences of instants, so that midnight and a change to or from
daylight-saving time move nothing; only showing an instant asks for the project's zone. Every
number a device needs to keep the clock going without network is in `ClockRules`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.engineering.resin_life import (
    GelLaw,
    Phase,
    gel_law,
    life_used,
    longest_phase,
    resin_temperature,
)
from drainwright.errors import Fault, InputError
from drainwright.records.attempt import Attempt
from drainwright.records.field_entry import EntryKind, FieldEvent
from drainwright.records.work_sheet import WorkSheet

MIXED, ON_ICE, OFF_ICE = "mixed", "on_ice", "off_ice"
AT_TAP, SEATED, STEAM_ON = "at_tap", "seated", "steam_on"
RESIN_READINGS = ("resin_temperature", "liner_temperature")
"""Readings that set the resin's temperature anew, the later one wins."""
NO_GEL_TIMES = "the resin of the work sheet has no gel times, so there is no clock for it"


@dataclass(frozen=True, slots=True)
class ClockRules:
    """What the clock goes by: the resin's law, surroundings, the crew's durations; SI."""

    law: GelLaw
    air: float
    ice: float
    lag_air: float
    lag_ice: float
    wet_out: float
    moving: float
    """Loading the carrier, lowering and lining up."""
    inverting: float
    withdrawing: float
    life_seated: float
    """Share of the life used when seated, at most."""
    life_out: float


@dataclass(frozen=True, slots=True)
class ResinClock:
    """How a live resin stands at one moment; instants in UTC, None where no time is left."""

    used: float
    """Share of the life used."""
    temperature: float
    """Of the resin [K]."""
    where: str
    """“in the air” or “on ice”."""
    gels: dt.datetime | None
    """When all of the life is used, staying where it is."""
    off_ice: dt.datetime | None
    at_tap: dt.datetime | None
    seated: dt.datetime | None
    pull_out: dt.datetime | None


def clock_rules(sheet: WorkSheet) -> ClockRules:
    """The rules of a work sheet's clock; `InputError` where its resin has no gel times."""
    resin, value = sheet.resin, sheet.specification.value
    if resin is None or not resin.gel_times:
        raise InputError(Fault("gel_times", NO_GEL_TIMES))
    law = gel_law(
        [point.temperature for point in resin.gel_times],
        [point.time for point in resin.gel_times],
        value("life_energy_low"),
        value("life_energy_high"),
    )
    return ClockRules(
        law=law,
        air=value("air_temperature"),
        ice=value("ice_temperature"),
        lag_air=value("lag_air"),
        lag_ice=value("lag_ice"),
        wet_out=value("wet_out_time"),
        moving=value("load_time") + value("lower_time"),
        inverting=value("invert_time"),
        withdrawing=value("withdraw_time"),
        life_seated=value("life_launch"),
        life_out=value("life_pull"),
    )


def resin_clock(
    rules: ClockRules, events: Sequence[FieldEvent], now: dt.datetime
) -> ResinClock | None:
    """The clock of one attempt at `now`; None before mixing and after the collar is seated.

    The resin starts at the temperature entered at mixing, else the air's; it follows air or ice
    with its lag; a temperature entered later sets it anew.
    """
    attempt = Attempt("", 1, tuple(events)) if events else None
    mixed = attempt.time_of(MIXED) if attempt else None
    if attempt is None or mixed is None or now < mixed or attempt.time_of(SEATED):
        return None
    used, temperature, cold = _until(rules, attempt, mixed, now)
    # not on ice yet: it goes there when the crew's usual time for wet-out is over
    left = rules.wet_out - (now - mixed).total_seconds() if cold is None else 0.0
    wait = max(left, 0.0)
    return _deadlines(rules, now, _State(used, temperature, cold, wait))


@dataclass(frozen=True, slots=True)
class _State:
    used: float
    temperature: float
    cold: bool | None
    """On ice; None before it was put there."""
    wait: float
    """Time in the air before it comes onto the ice [s]."""


def _until(
    rules: ClockRules, attempt: Attempt, mixed: dt.datetime, now: dt.datetime
) -> tuple[float, float, bool | None]:
    """Life used and temperature at `now`, and whether it lies on ice."""
    changes: list[tuple[dt.datetime, float | None, bool | None]] = []
    for event in attempt.events:
        read = next((v for name in RESIN_READINGS if (v := event.value(name)) is not None), None)
        cold = None
        if event.kind is EntryKind.STEP and event.step in (ON_ICE, OFF_ICE):
            cold = event.step == ON_ICE
        if (read is not None or cold is not None) and event.at <= now:
            changes.append((max(event.at, mixed), read, cold))
    at, used, temperature, on_ice = mixed, 0.0, rules.air, None
    for moment, read, cold in [*changes, (now, None, None)]:
        seconds = (moment - at).total_seconds()
        if seconds > 0:
            phase = _phase(rules, seconds, cold=bool(on_ice))
            used += float(life_used(temperature, [phase], rules.law)[-1])
            temperature = float(resin_temperature(temperature, [phase], [seconds])[0])
        at = moment
        temperature = temperature if read is None else read
        on_ice = on_ice if cold is None else cold
    return used, temperature, on_ice


def _phase(rules: ClockRules, seconds: float, *, cold: bool) -> Phase:
    if cold:
        return Phase(seconds, rules.ice, rules.lag_ice)
    return Phase(seconds, rules.air, rules.lag_air)


def _deadlines(rules: ClockRules, now: dt.datetime, state: _State) -> ResinClock:
    air = _phase(rules, 0.0, cold=False)
    cold = state.cold is not False
    here = _phase(rules, 0.0, cold=bool(state.cold))

    def after(phases: Sequence[Phase], share: float, index: int) -> float | None:
        left = share - state.used
        if left <= 0:
            return None
        return longest_phase(state.temperature, phases, rules.law, min(left, 1.0), index)

    off = tap = None
    if cold:
        way = [Phase(state.wait, rules.air, rules.lag_air), _phase(rules, 0.0, cold=True)]
        onward = _phase(rules, rules.moving + rules.inverting, cold=False)
        ice = after([*way, onward], rules.life_seated, 1)
        off = None if ice is None else state.wait + ice
        tap = None if off is None else off + rules.moving
        seated = None if tap is None else tap + rules.inverting
        path = [*way[:1], Phase(ice or 0.0, rules.ice, rules.lag_ice), onward]
    else:
        seated = after([air], rules.life_seated, 0)
        tap = None if seated is None else seated - rules.inverting
        path = [_phase(rules, seated or 0.0, cold=False)]
    more = after([*path, air], rules.life_out, len(path))
    total = sum(phase.duration for phase in path)
    out = None if more is None else total + more - rules.withdrawing
    gels = after([here], 1.0, 0)
    return ResinClock(
        state.used, state.temperature, "on ice" if state.cold else "in the air",
        _later(now, gels), _later(now, off), _later(now, tap), _later(now, seated),
        _later(now, out),
    )  # fmt: skip


def _later(now: dt.datetime, seconds: float | None) -> dt.datetime | None:
    """An instant rounded down to the second, so that no deadline is shown later than it is."""
    return None if seconds is None else now + dt.timedelta(seconds=int(seconds // 1))
