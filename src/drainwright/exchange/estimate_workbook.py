"""A job estimate as a spreadsheet: costs, laterals, and what is left out."""

from __future__ import annotations

from decimal import Decimal

from drainwright.exchange.forms import Cell
from drainwright.exchange.table_writing import safe
from drainwright.exchange.workbook import xlsx_of
from drainwright.planning.estimate import JobEstimate
from drainwright.records.cost_sheet import CostSheet


def estimate_workbook(costs: CostSheet, made: JobEstimate) -> bytes:
    """The estimate as XLSX."""

    def money(minor: int) -> float:
        return float(Decimal(minor).scaleb(-costs.minor_digits))

    unit = f"[{costs.currency}]"
    lines: list[list[Cell]] = [
        ["cost", "words", "counted by", "unit", f"price {unit}", "quantity", f"amount {unit}"]
    ]
    for one in made.lines:
        line = one.line
        lines.append([
            safe(line.key), safe(line.words), line.per.value, safe(line.unit), money(line.price),
            float(one.quantity), money(one.amount),
        ])  # fmt: skip
    sums = [("all costs", made.cost), *((w, amount) for w, _, amount in made.added)]
    lines += [[safe(words), *[None] * 5, money(minor)] for words, minor in sums]
    lines.append(["total", *[None] * 5, money(made.total)])
    laterals: list[list[Cell]] = [
        ["lateral", "segment", "outcome", "lined length [m]", f"its own {unit}",
         f"part of set-ups and job {unit}", "in the sum"]
    ]  # fmt: skip
    laterals += [
        [safe(one.lateral), safe(one.segment), one.outcome.value, one.lined, money(one.own),
         money(one.part), "yes" if one.counted else "no"]
        for one in made.laterals
    ]  # fmt: skip
    left: list[list[Cell]] = [["lateral", "why it has no price"]]
    left += [[safe(lateral), why] for lateral, why in made.left_out]
    return xlsx_of({"costs": lines, "laterals": laterals, "left out": left})
