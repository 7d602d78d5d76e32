"""A shift plan in words: lines for a terminal, and how good it is (read)."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.operations.schedule import Issued
from drainwright.records.shift_plan import Proof, ShiftPlan


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
