"""A shift plan in words: lines for a terminal, and how good it is (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from drainwright.drawing.shift_strip import StripSetUp, StripTurn, draw_shift
from drainwright.operations.schedule import Issued
from drainwright.records.shift_plan import Proof, SetUp, Shift, ShiftPlan, Turn


def proof_words(proof: Proof) -> str:
    """What the solver proved, and what it did not."""
    days = f"{proof.days} working day{'' if proof.days == 1 else 's'}"
    stays = f"{proof.set_ups} set-up{'' if proof.set_ups == 1 else 's'}"
    if not proof.solver:
        return "Nothing to plan."
    if proof.optimal:
        return f"{days}, {stays}: proven best ({proof.solver})."
    said = f"{days} (at least {proof.days_least}), {stays} (at least {proof.set_ups_least})"
    if proof.portions > 1:
        said += f"; planned in {proof.portions} portions, not proven best as a whole"
    else:
        said += "; the limit came before the proof that it is best"
    return f"{said} ({proof.solver})."


def schedule_lines(issued: Issued) -> Iterator[str]:
    """The plan, set-up by set-up, and every lateral without a day."""
    plan = issued.plan
    if plan is None:
        yield "There is no shift plan yet; drainwright shift plan makes one."
        return
    yield f"Shift plan, revision {issued.revision}: {proof_words(plan.proof)}"
    yield from _days(plan)
    if plan.left_out:
        yield "Without a day:"
    for one in plan.left_out:
        waits = f" (waits on: {', '.join(one.waits)})" if one.waits else ""
        yield f"  {one.lateral}: {one.rule}: {one.words}{waits}"


def _days(plan: ShiftPlan) -> Iterator[str]:
    for shift in plan.shifts:
        yield f"{shift.day:%a} {shift.day}  {shift.crew}"
        for stay in shift.set_ups:
            bypass = ", bypass" if stay.bypass else ""
            yield (
                f"  {stay.start:%H:%M}-{stay.end:%H:%M}  segment {stay.segment}, "
                f"{stay.rig}{bypass}, ready {stay.ready:%H:%M}"
            )
            for turn in stay.turns:
                promised = f"; first: {turn.condition}" if turn.condition else ""
                yield (
                    f"    {turn.lateral}: look {turn.look:%H:%M}, mix {turn.mix:%H:%M}, "
                    f"load {turn.load:%H:%M}, steam {turn.steam_on:%H:%M}-{turn.steam_off:%H:%M}, "
                    f"service back {turn.restored:%H:%M}{promised}"
                )


@dataclass(frozen=True, slots=True)
class ShiftStrip:
    """A shift with its drawing."""

    shift: Shift
    drawing: str
    past: bool


def shift_strips(
    plan: ShiftPlan, today: dt.date, href: Callable[[str], str]
) -> tuple[ShiftStrip, ...]:
    """Every shift as a strip along the hours, all of them to one scale."""
    stays = [stay for shift in plan.shifts for stay in shift.set_ups]
    if not stays:
        return ()
    start, end = min(_minute(s.start) for s in stays), max(_minute(s.end) for s in stays)
    found = []
    for number, shift in enumerate(plan.shifts):
        label = f"{shift.crew}, {shift.day}: {', '.join(shift.laterals)}"
        set_ups = [_strip(stay, href) for stay in shift.set_ups]
        drawing = draw_shift(label, start, end, set_ups, f"shift{number}-")
        found.append(ShiftStrip(shift, drawing, shift.day < today))
    return tuple(found)


def _strip(stay: SetUp, href: Callable[[str], str]) -> StripSetUp:
    words = f"segment {stay.segment}, {stay.rig}" + (", bypass" if stay.bypass else "")
    return StripSetUp(
        words, _minute(stay.start), _minute(stay.ready), _minute(stay.end),
        tuple(_liner(turn, stay, href) for turn in stay.turns),
    )  # fmt: skip


def _liner(turn: Turn, stay: SetUp, href: Callable[[str], str]) -> StripTurn:
    looks = sorted(_minute(one.look) for one in stay.turns)
    look = _minute(turn.look)
    until = min([one for one in looks if one > look] + [_minute(turn.mix)])
    wet = max([_minute(one.on_ice) for one in stay.turns
               if one.batch == turn.batch and one.on_ice < turn.on_ice]
              + [_minute(turn.mix)])  # fmt: skip
    return StripTurn(
        turn.lateral,
        (look, min(until, _minute(turn.mix))),
        (wet, _minute(turn.on_ice)),
        (_minute(turn.load), _minute(turn.cooled)),
        (_minute(turn.steam_on), _minute(turn.steam_off)),
        (_minute(turn.film), _minute(turn.restored)),
        href(turn.lateral),
    )


def _minute(at: dt.time) -> int:
    return at.hour * 60 + at.minute
