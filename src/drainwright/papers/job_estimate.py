"""The job estimate on paper: costs, what is added, and what each lateral comes to."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.planning.estimate import JobEstimate
from drainwright.records.cost_sheet import CostSheet
from drainwright.records.project import Project
from drainwright.units import show


def job_estimate_pdf(
    project: Project, costs: CostSheet, made: JobEstimate, issue: Issue, contract: Sequence[str]
) -> bytes:
    """A job estimate as PDF; `contract` is what is said of the contract, may be empty."""

    def money(minor: int) -> str:
        return f"{Decimal(minor).scaleb(-costs.minor_digits):,f}"

    counted = [one for one in made.laterals if one.counted]
    apart = [one for one in made.laterals if not one.counted]
    rows: list[Data] = [
        {
            "lateral": one.lateral,
            "segment": one.segment,
            "outcome": one.outcome.value,
            "lined": show(one.lined, "length", project.units).text,
            "own": money(one.own),
            "part": money(one.part) if one.counted else "",
            "all": money(one.own + one.part) if one.counted else "",
        }
        for one in (*counted, *apart)
    ]
    lines: list[Data] = [
        {
            "key": one.line.key,
            "words": one.line.words,
            "per": one.line.per.value,
            "unit": one.line.unit,
            "price": money(one.line.price),
            "quantity": f"{one.quantity:,f}",
            "amount": money(one.amount),
        }
        for one in made.lines
    ]
    sums: list[Data] = [["All costs", money(made.cost)]]
    for words, share, amount in made.added:
        sums.append([f"{words}, {(Decimal(share) * 100).normalize():f} %", money(amount)])
    data = {
        **project_head(project, issue, project.units, "Job estimate"),
        "costs": costs.name,
        "currency": costs.currency,
        "lines": lines,
        "sums": sums,
        "total": f"{money(made.total)} {costs.currency}",
        "laterals": rows,
        "counted": _count(len(counted), "lateral"),
        "apart": len(apart),
        "left_out": [f"{lateral}: {why}" for lateral, why in made.left_out],
        "nothing": list(made.nothing),
        "contract": list(contract),
    }
    return make_pdf("job_estimate", data, issue.timestamp)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")
