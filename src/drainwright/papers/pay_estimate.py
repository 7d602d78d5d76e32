"""The pay estimate on paper: items, quantities, amounts, what is held back and what is due."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from drainwright.acceptance.pay_estimate import Variation
from drainwright.acceptance.quantities import Quantity
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.papers.shown import date_text
from drainwright.records.contract import Contract, LengthWay, Payer, PayEstimate, PayLine
from drainwright.records.project import Project


def pay_estimate_pdf(
    project: Project,
    contract: Contract,
    estimate: PayEstimate,
    variations: Sequence[Variation],
    issue: Issue,
    behind: Sequence[Quantity] = (),
) -> bytes:
    """One pay estimate as PDF, for both signatures, with the quantities `behind` it."""
    system = project.units
    data = {
        **project_head(project, issue, system, f"Pay estimate {estimate.number}"),
        "contract": contract.name,
        "until": date_text(estimate.until, system),
        "way": _ways(contract),
        "lines": [_line(contract, one) for one in estimate.lines],
        "sums": _sums(contract, estimate),
        "due": money_text(contract, estimate.payment),
        "variations": [variation_text(contract, one) for one in variations],
        "entries": str(len(estimate.evidence)),
        "behind": [
            {
                "item": one.item,
                "where": " ".join(filter(None, (one.lateral or one.segment, _share(one)))),
                "quantity": f"{one.amount:,f}",
                "on": date_text(one.on, system),
                "ref": one.ref,
            }
            for one in sorted(behind, key=lambda one: (one.item, one.lateral, one.on, one.ref))
        ],
    }
    return make_pdf("pay_estimate", data, issue.timestamp)


def _share(one: Quantity) -> str:
    return "(property’s share)" if one.payer is Payer.PRIVATE else ""


def money_text(contract: Contract, minor: int) -> str:
    """An amount with thousands marked, such as `1,234.50 USD`."""
    return f"{Decimal(minor).scaleb(-contract.minor_digits):,f} {contract.currency}"


def _ways(contract: Contract) -> str:
    horizontal = contract.length_way is LengthWay.HORIZONTAL
    way = "on the map (horizontal)" if horizontal else contract.length_way.value
    return f"Lengths are measured {way}; liners are paid when {contract.lined_when}."


def _line(contract: Contract, line: PayLine) -> dict[str, Data]:
    item = contract.item(line.item)
    bare = Contract("", (), "", contract.minor_digits)
    return {
        "item": line.item,
        "words": item.words if item else "",
        "unit": item.unit if item else "",
        "price": money_text(bare, line.price).strip(),
        "quantity": f"{Decimal(line.quantity):,f}",
        "this": f"{Decimal(line.quantity) - Decimal(line.previous):,f}",
        "amount": money_text(bare, line.amount).strip(),
        "this_amount": money_text(bare, line.this_amount).strip(),
        "private": line.payer is Payer.PRIVATE,
    }


def _sums(contract: Contract, made: PayEstimate) -> list[Data]:
    share = Decimal(contract.retainage) * 100
    rows: list[tuple[str, int]] = [
        ("Work to date, owner’s share", made.work),
        (f"Retainage, {share.normalize():f} %", -made.retained),
    ]
    if made.damages:
        rows.append(("Liquidated damages", -made.damages))
    rows.append(("Paid before", -made.previous_paid))
    found: list[Data] = [[words, money_text(contract, minor)] for words, minor in rows]
    return found


def variation_text(contract: Contract, one: Variation) -> str:
    """Why an item's price has to be talked about."""
    item = contract.item(one.item)
    unit = item.unit if item else ""
    return (
        f"Item {one.item}: {one.reached:,f} {unit} of {one.contract:,f} in the contract "
        f"({one.share * 100:+.0f} %). The contract asks for a talk about the price."
    )
