"""A job estimate: what work sheets call for, counted and priced with a contractor's own costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drainwright.records.cost_sheet import CostLine, CostSheet, Per
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import from_si

COUNTED = (Fitness.LINE, Fitness.PREPARE)
"""Outcomes whose laterals are in the sum; those the engineer is asked about stand apart."""
_FIGURES = {
    Per.CUT: "cut.length",
    Per.LINED: "length.lined",
    Per.RESIN: "wetout.mass",
    Per.STEAM: "steam.hold",
    Per.COOL: "steam.cool",
}
_NEEDED = ("cut.length", "wetout.mass")
"""Without these figures a lateral can't be priced."""


@dataclass(frozen=True, slots=True)
class EstimateLine:
    """One cost with what was counted for it; the amount is rounded once, half up."""

    line: CostLine
    quantity: Decimal
    """In the line's unit, to 2 decimals."""
    amount: int


@dataclass(frozen=True, slots=True)
class LateralCost:
    """What one lateral costs: its own, and its part of set-ups and of the job."""

    lateral: str
    segment: str
    outcome: Fitness
    lined: float
    """Lined length [m]."""
    own: int
    part: int
    """Of main segments and the job, in equal parts; 0 for a lateral that is not counted."""
    counted: bool


@dataclass(frozen=True, slots=True)
class JobEstimate:
    """The estimate of a job."""

    lines: tuple[EstimateLine, ...]
    cost: int
    added: tuple[tuple[str, str, int], ...]
    """Words, share, amount."""
    total: int
    laterals: tuple[LateralCost, ...]
    left_out: tuple[tuple[str, str], ...]
    """Laterals without a price, and why."""
    nothing: tuple[str, ...]
    """Keys of costs for which nothing was counted."""


def job_estimate(costs: CostSheet, sheets: Iterable[WorkSheet]) -> JobEstimate:
    """Count and price everything the work sheets call for.

    Laterals to line, at once or after preparing, make the sum. One that the engineer is asked
    about is priced on its own and not counted; one that is not lined, or lacks its make-up, is
    left out with the reason.
    """
    priced, left_out = _sorted_out(sheets)
    counted = [sheet for sheet in priced if sheet.outcome in COUNTED]
    lines = tuple(_line(line, counted) for line in costs.lines)
    cost = sum(line.amount for line in lines)
    sharing = Counter(sheet.segment.key for sheet in counted)
    added = tuple(
        (one.words, one.share, _rounded(Decimal(one.share) * cost)) for one in costs.added
    )
    return JobEstimate(
        lines,
        cost,
        added,
        cost + sum(amount for _, _, amount in added),
        tuple(_lateral(costs, sheet, sharing, len(counted)) for sheet in priced),
        left_out,
        tuple(line.line.key for line in lines if not line.quantity),
    )


def _sorted_out(
    sheets: Iterable[WorkSheet],
) -> tuple[list[WorkSheet], tuple[tuple[str, str], ...]]:
    priced: list[WorkSheet] = []
    left_out: list[tuple[str, str]] = []
    for sheet in sorted(sheets, key=lambda one: one.lateral.key):
        if sheet.outcome is Fitness.STOP:
            left_out.append((sheet.lateral.key, Fitness.STOP.value))
        elif any(sheet.figure(key) is None for key in _NEEDED):
            left_out.append((sheet.lateral.key, "the work sheet has no make-up"))
        else:
            priced.append(sheet)
    return priced, tuple(left_out)


def _line(line: CostLine, counted: Sequence[WorkSheet]) -> EstimateLine:
    if line.per is Per.JOB:
        count = Decimal(1 if counted else 0)
    elif line.per is Per.SEGMENT:
        count = Decimal(len({sheet.segment.key for sheet in counted}))
    else:
        count = sum((_count(line, sheet) for sheet in counted), Decimal(0))
    quantity = (count * Decimal(line.each)).quantize(Decimal("0.01"), ROUND_HALF_UP)
    return EstimateLine(line, quantity, _rounded(quantity * line.price))


def _count(line: CostLine, sheet: WorkSheet) -> Decimal:
    """How often a lateral counts for a cost that is no set-up and no matter of the whole job."""
    if line.tube and (sheet.tube is None or sheet.tube.key != line.tube):
        return Decimal(0)
    if line.per in _FIGURES:
        figure = sheet.figure(_FIGURES[line.per])
        if figure is None or isinstance(figure.value, str):
            return Decimal(0)
        return Decimal(repr(from_si(figure.value, line.unit)))
    if line.per is Per.COLLAR:
        return Decimal(sheet.figure("collar.name") is not None)
    if line.per is Per.WORK:
        return Decimal(any(one.rule == line.work and one.work for one in sheet.reasons))
    return Decimal(1)


def _lateral(
    costs: CostSheet, sheet: WorkSheet, sharing: Mapping[str, int], counted: int
) -> LateralCost:
    """One lateral's cost; `sharing` is how many counted laterals share each main segment."""
    own = part = Decimal(0)
    inside = sheet.outcome in COUNTED
    for line in costs.lines:
        price = Decimal(line.each) * line.price
        if line.per is Per.JOB:
            part += price / counted if inside else 0
        elif line.per is Per.SEGMENT:
            part += price / sharing[sheet.segment.key] if inside else 0
        else:
            own += _count(line, sheet) * price
    lined = sheet.figure("length.lined")
    length = float(lined.value) if lined and not isinstance(lined.value, str) else 0.0
    return LateralCost(
        sheet.lateral.key,
        sheet.segment.key,
        sheet.outcome,
        length,
        _rounded(own),
        _rounded(part),
        inside,
    )


def _rounded(minor: Decimal) -> int:
    return int(minor.quantize(Decimal(1), ROUND_HALF_UP))
