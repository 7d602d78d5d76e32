"""Every rule of a shift plan held against a plan as issued; knows nothing of the solver.

It works from the records alone: minutes are counted here anew, nothing of the model is called.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

from drainwright.planning.resin_clock import plan_deadlines
from drainwright.planning.rig_reach import rig_reasons
from drainwright.planning.shift import ShiftOrder
from drainwright.planning.shift_jobs import Candidate
from drainwright.records.crew import Crew, CrewStep, Mixing
from drainwright.records.lateral import FarAccess
from drainwright.records.shift_plan import SetUp, Shift, ShiftPlan, Turn
from drainwright.records.work_sheet import Fitness

SPECIFIED = {
    CrewStep.MOVE: "move_time", CrewStep.TRAFFIC: "traffic_time", CrewStep.PLUG: "plug_time",
    CrewStep.BYPASS: "bypass_time", CrewStep.TAKE_DOWN: "take_down_time",
    CrewStep.LOOK: "look_time", CrewStep.WET_OUT: "wet_out_time", CrewStep.MIX: "mix_time",
    CrewStep.TRANSPORT: "transport_time", CrewStep.LOAD: "load_time",
    CrewStep.LOWER: "lower_time", CrewStep.INVERT: "invert_time", CrewStep.FILM: "film_time",
    CrewStep.RESTORE: "restore_time",
}  # fmt: skip
Span = tuple[int, int, str]


def minutes(at: dt.time) -> int:
    return at.hour * 60 + at.minute


def takes(crew: Crew, one: Candidate, step: CrewStep) -> int:
    own = [time.p80 for time in crew.times if time.step is step]
    seconds = own[0] if own else one.site.specification.value(SPECIFIED[step])
    return math.ceil(seconds / 60)


def of_sheet(one: Candidate, key: str) -> int:
    found = one.sheet.figure(key)
    assert found is not None
    assert not isinstance(found.value, str)
    return math.ceil(found.value / 60)


def broken(plan: ShiftPlan, order: ShiftOrder) -> list[str]:
    """Every rule the plan breaks, in words; nothing for a sound plan."""
    known = {one.sheet.lateral.key: one for one in order.candidates}
    crews = {crew.key: crew for crew in order.crews}
    new = [s for s in plan.shifts if not order.frozen_until or s.day > order.frozen_until]
    found = list(_once(plan, order))
    away: dict[str, list[Span]] = defaultdict(list)
    mains: dict[tuple[str, dt.date], list[Span]] = defaultdict(list)
    for shift in new:
        crew = crews[shift.crew]
        found += _day(shift, crew, order)
        for set_up in shift.set_ups:
            found += _set_up(shift, set_up, crew, known)
            span = (minutes(set_up.start), minutes(set_up.end), shift.crew)
            mains[set_up.segment, shift.day].append(span)
            for turn in set_up.turns:
                one = known[turn.lateral]
                found += _turn(shift, set_up, turn, crew, one)
                found += _consent(shift, turn, one, order)
                base = shift.day.toordinal() * 1440
                for place in _places(one):
                    away[place].append(
                        (base + minutes(turn.load), base + minutes(turn.restored), turn.lateral)
                    )
    for place, spans in away.items():
        found += [f"{place} is out of service twice: {a}, {b}" for a, b in _overlaps(spans)]
    for main, spans in mains.items():
        found += [f"two crews on {main}: {a}, {b}" for a, b in _overlaps(spans)]
    return found


def _places(one: Candidate) -> set[str]:
    branches = {b.premises for b in one.sheet.lateral.branches if b.live is not False}
    return {*one.sheet.lateral.premises, *branches} - {""}


def _overlaps(spans: list[Span]) -> Iterator[tuple[str, str]]:
    for first, second in combinations(spans, 2):
        if first[0] < second[1] and second[0] < first[1]:
            yield first[2], second[2]


def _once(plan: ShiftPlan, order: ShiftOrder) -> Iterator[str]:
    planned = [turn.lateral for _, _, turn in plan.turns()]
    told = [one.lateral for one in plan.left_out]
    every = {one.sheet.lateral.key for one in order.candidates}
    if len(planned) != len(set(planned)):
        yield "a lateral is planned twice"
    if set(planned) & set(told):
        yield "a lateral is planned and left out"
    if not every <= {*planned, *told}:
        yield f"nobody tells of {every - {*planned, *told}}"
    yield from (f"{one.lateral} is left out without words" for one in plan.left_out
                if not (one.rule and one.words and one.waits))  # fmt: skip


def _day(shift: Shift, crew: Crew, order: ShiftOrder) -> Iterator[str]:
    day, calendar = shift.day, order.calendar
    if not order.first_day <= day <= order.until:
        yield f"{day} is outside the plan"
    if day.isoweekday() not in crew.weekdays:
        yield f"{shift.crew} does not work on {day:%A}"
    if day in (*calendar.days_off, *calendar.rain_days, *crew.days_off):
        yield f"{day} is a day off"
    spans = [(minutes(s.start), minutes(s.end), s.segment) for s in shift.set_ups]
    yield from (f"two set-ups at once: {a}, {b}" for a, b in _overlaps(spans))
    if min(low for low, _, _ in spans) < minutes(crew.start):
        yield f"{shift.crew} begins too early on {day}"
    if max(high for _, high, _ in spans) > minutes(crew.end) - order.allowance / 60:
        yield f"{shift.crew} has no allowance left on {day}"
    stays = [(s.segment, s.rig) for s in shift.set_ups]
    if len(stays) != len(set(stays)):
        yield f"{shift.crew} comes back to a segment on {day} and pays it twice"


def _set_up(shift: Shift, set_up: SetUp, crew: Crew, known: dict[str, Candidate]) -> Iterator[str]:
    name = f"{shift.crew} {shift.day} {set_up.segment}"
    if not set_up.turns:
        yield f"{name}: a set-up for nothing"
        return
    rig: list[Span] = [
        (minutes(t.load), minutes(t.cooled), f"{t.lateral} on the rig") for t in set_up.turns
    ]
    one = known[set_up.turns[0].lateral]
    look, wet = takes(crew, one, CrewStep.LOOK), takes(crew, one, CrewStep.WET_OUT)
    table = [(minutes(t.look), minutes(t.look) + look, f"look {t.lateral}") for t in set_up.turns]
    table += [(minutes(t.film), minutes(t.restored), f"film {t.lateral}") for t in set_up.turns]
    if crew.mixing is Mixing.EACH_LINER:
        table += [(minutes(t.mix), minutes(t.on_ice), f"mix {t.lateral}") for t in set_up.turns]
        if any(minutes(t.on_ice) - minutes(t.mix) != wet for t in set_up.turns):
            yield f"{name}: the wet-out takes {wet} min"
    else:
        yield from _one_batch(name, set_up, crew, known)
        last = max(minutes(t.on_ice) for t in set_up.turns)
        table.append((minutes(set_up.turns[0].mix), last, "batch"))
    together = [rig, table] if crew.wets_out_beside else [[*rig, *table]]
    for spans in together:
        yield from (f"{name}: at once: {a}, {b}" for a, b in _overlaps(spans))
    plug = CrewStep.BYPASS if set_up.bypass else CrewStep.PLUG
    needed = sum(takes(crew, one, step) for step in (CrewStep.MOVE, CrewStep.TRAFFIC, plug))
    if minutes(set_up.ready) - minutes(set_up.start) < needed:
        yield f"{name}: the set-up takes {needed} min"
    if any(minutes(t.look) < minutes(set_up.ready) for t in set_up.turns):
        yield f"{name}: looked before the set-up was ready"
    down = takes(crew, one, CrewStep.TAKE_DOWN)
    if max(minutes(t.restored) for t in set_up.turns) + down > minutes(set_up.end):
        yield f"{name}: no time to take down"


def _one_batch(name: str, set_up: SetUp, crew: Crew, known: dict[str, Candidate]) -> Iterator[str]:
    if len({t.mix for t in set_up.turns}) != 1:
        yield f"{name}: one batch is mixed once"
    resins = [known[t.lateral].sheet.resin for t in set_up.turns]
    if any(resin != resins[0] for resin in resins):
        yield f"{name}: two resins in one batch"
    one = known[set_up.turns[0].lateral]
    wet, mix = takes(crew, one, CrewStep.WET_OUT), takes(crew, one, CrewStep.MIX)
    needed = mix + len(set_up.turns) * (wet - mix)
    last = max(minutes(t.on_ice) for t in set_up.turns)
    if last - minutes(set_up.turns[0].mix) < needed:
        yield f"{name}: the batch takes {needed} min"
    if any(minutes(t.load) < last for t in set_up.turns):
        yield f"{name}: a liner is loaded before the batch is wet out"


def _turn(shift: Shift, set_up: SetUp, turn: Turn, crew: Crew, one: Candidate) -> Iterator[str]:
    name = turn.lateral
    launch = sum(takes(crew, one, s) for s in (CrewStep.LOAD, CrewStep.LOWER, CrewStep.INVERT))
    steam, cool = of_sheet(one, "steam.hold"), of_sheet(one, "steam.cool")
    order = (
        ("look", turn.look, turn.mix, takes(crew, one, CrewStep.LOOK)),
        ("transport", turn.on_ice, turn.load, takes(crew, one, CrewStep.TRANSPORT)),
        ("launch", turn.load, turn.steam_on, launch),
        ("steam", turn.steam_on, turn.steam_off, steam),
        ("cool-down", turn.steam_off, turn.cooled, cool),
        ("carrier out", turn.cooled, turn.film, 0),
        ("film and restore", turn.film, turn.restored,
         takes(crew, one, CrewStep.FILM) + takes(crew, one, CrewStep.RESTORE)),
    )  # fmt: skip
    for what, start, end, least in order:
        if minutes(end) - minutes(start) < least:
            yield f"{name}: {what} takes {least} min"
    if set_up.segment != one.sheet.segment.key:
        yield f"{name} lies on {one.sheet.segment.key}"
    if set_up.rig not in crew.rigs:
        yield f"{name}: {crew.key} does not run {set_up.rig}"
    batch = len([t for t in set_up.turns if t.batch == turn.batch])
    limit = _off_ice(crew, one, batch)
    if limit is None or minutes(turn.load) - minutes(turn.mix) > limit / 60:
        yield f"{name}: the resin is too old when it is loaded"
    plugged = steam + cool + takes(crew, one, CrewStep.INVERT)
    if plugged > of_sheet(one, "main.plugged") and not (set_up.bypass and crew.bypass):
        yield f"{name}: the main is plugged for {plugged} min"


def _off_ice(crew: Crew, one: Candidate, batch: int) -> float | None:
    wet, mix = takes(crew, one, CrewStep.WET_OUT), takes(crew, one, CrewStep.MIX)
    given = {
        "wet_out_time": mix + batch * (wet - mix),
        "load_time": takes(crew, one, CrewStep.LOAD),
        "lower_time": takes(crew, one, CrewStep.LOWER),
        "invert_time": takes(crew, one, CrewStep.INVERT),
    }
    spec = one.site.specification
    source = spec.limit("load_time").source
    spec = spec.with_limits({name: (value * 60.0, source) for name, value in given.items()})
    assert one.sheet.resin is not None
    found = plan_deadlines(replace(one.site, specification=spec), one.sheet.resin)
    return None if found is None else found.off_ice


def _consent(shift: Shift, turn: Turn, one: Candidate, order: ShiftOrder) -> Iterator[str]:
    name, day = turn.lateral, shift.day
    out = minutes(turn.restored) - minutes(turn.load)
    if out > one.site.specification.value("service_out_most") / 60:
        yield f"{name}: {out} min without service"
    promise = [p for p in order.calendar.promises if p.lateral == name]
    wish = [w for w in order.calendar.wishes if w.lateral == name and w.due]
    yield from _residents(shift, turn, one, promised=bool(promise))
    if one.sheet.outcome is not Fitness.LINE and not promise:
        yield f"{name} is not ready"
    if promise and (day < promise[0].on or not turn.condition):
        yield f"{name}: planned before what was promised, or without saying it"
    if wish and wish[0].due and day > wish[0].due:
        yield f"{name}: after its due date"
    if one.material_from is None or day < one.material_from:
        yield f"{name}: material is not there on {day}"
    tickets = one.site.lateral.dig_tickets
    if one.site.lateral.far_access is FarAccess.NONE and not any(
        t.valid_from <= day <= t.valid_to for t in tickets
    ):
        yield f"{name}: no utility-locate ticket on {day}"
    rigs = [order.rigs[r] for crew in order.crews if crew.key == shift.crew for r in crew.rigs]
    if all(list(rig_reasons(replace(one.site, rig=rig), None, None)) for rig in rigs):
        yield f"{name}: out of reach"


def _residents(shift: Shift, turn: Turn, one: Candidate, *, promised: bool) -> Iterator[str]:
    name, day = turn.lateral, shift.day
    for place in one.site.premises:
        if place.water_off_from and turn.load < place.water_off_from:
            yield f"{name}: water off too early at {place.key}"
        if place.water_off_to and turn.restored > place.water_off_to:
            yield f"{name}: water off too late at {place.key}"
        if day in place.no_days:
            yield f"{name}: {place.key} needs water on {day}"
        if place.entry_expires and day > place.entry_expires and not promised:
            yield f"{name}: no right of entry on {day}"
