"""A pay estimate as a spreadsheet: the lines, and every quantity with the entry behind it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from drainwright.acceptance.quantities import Quantity
from drainwright.exchange.forms import Cell
from drainwright.exchange.table_writing import safe
from drainwright.exchange.workbook import xlsx_of
from drainwright.records.contract import Contract, PayEstimate


def pay_workbook(contract: Contract, estimate: PayEstimate, earned: Sequence[Quantity]) -> bytes:
    """The estimate, its quantities, and what the columns mean, as XLSX."""

    def money(minor: int) -> float:
        return float(Decimal(minor).scaleb(-contract.minor_digits))

    head: list[Cell] = [
        "item", "words", "unit", f"price [{contract.currency}]", "paid by", "quantity to date",
        "quantity before", f"amount to date [{contract.currency}]",
        f"this estimate [{contract.currency}]",
    ]  # fmt: skip
    lines: list[list[Cell]] = [head]
    for line in estimate.lines:
        item = contract.item(line.item)
        words, unit = (item.words, item.unit) if item else ("", "")
        lines.append([
            safe(line.item), safe(words), unit, money(line.price), line.payer.value,
            float(line.quantity), float(line.previous), money(line.amount),
            money(line.this_amount),
        ])  # fmt: skip
    sums = (
        ("work to date", estimate.work), ("retainage held", -estimate.retained),
        ("damages", -estimate.damages), ("paid before", -estimate.previous_paid),
        ("payment due", estimate.payment), ("work paid by properties", estimate.private),
    )  # fmt: skip
    lines += [[words, *[None] * 6, money(minor)] for words, minor in sums]
    rows: list[list[Cell]] = [["item", "quantity", "day", "lateral", "segment", "paid by", "entry"]]
    rows += [
        [safe(one.item), float(one.amount), one.on, safe(one.lateral), safe(one.segment),
         one.payer.value, safe(one.ref)]
        for one in earned
    ]  # fmt: skip
    meaning: list[list[Cell]] = [
        ["sheet", "what it holds"],
        ["estimate", f"Pay estimate {estimate.number}, all work up to {estimate.until}"],
        ["quantities", "Each quantity with the field entry or document that tells it"],
        ["amounts", "Quantity to date × price, rounded once, half up"],
    ]
    return xlsx_of({"estimate": lines, "quantities": rows, "meaning": meaning})
