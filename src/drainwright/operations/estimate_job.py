"""A job estimate from the work sheets, a contractor's own costs and the contract (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from drainwright.acceptance.evidence import planned_evidence
from drainwright.acceptance.pay_estimate import money, pay_estimate
from drainwright.acceptance.quantities import quantities
from drainwright.errors import NotFoundError
from drainwright.planning.estimate import COUNTED, JobEstimate, job_estimate
from drainwright.records.contract import Contract, Work
from drainwright.records.cost_sheet import CostSheet
from drainwright.records.project import Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


@dataclass(frozen=True, slots=True)
class ContractValue:
    """What the contract pays for the counted laterals."""

    contract: Contract
    amount: int
    by_quantity: tuple[str, ...]
    """Items taken at the contract's own quantity, since no work sheet tells them."""
    not_foreseen: tuple[str, ...]
    """Items with no quantity either; they are not in the amount."""


@dataclass(frozen=True, slots=True)
class Estimated:
    """A job estimate, what the contract pays for the same, and both as files."""

    costs: CostSheet
    estimate: JobEstimate
    value: ContractValue | None
    pdf: bytes
    xlsx: bytes


def costs_example() -> str:
    """An explained file of costs to start from."""
    from drainwright.exchange.cost_file import EXAMPLE

    return EXAMPLE


def estimate_job(
    store: RecordStore, project: str, data: bytes, file: str, *, by: str, at: dt.datetime
) -> Estimated:
    """Price all planned laterals with the costs in a file; nothing is kept in the project.

    Raises `InputError` with every fault of the file, and where no lateral is planned.
    """
    from drainwright.exchange.cost_file import read_costs
    from drainwright.exchange.estimate_workbook import estimate_workbook
    from drainwright.papers.job_estimate import job_estimate_pdf
    from drainwright.papers.sheet_head import Issue

    costs = read_costs(data, file)
    with store.read() as session:
        about = session.get(project, Project, project).record
        sheets = [stored.record for stored in session.every(project, WorkSheet)]
        try:
            contract = session.get(project, Contract, "contract").record
        except NotFoundError:
            contract = None
    if not sheets:
        raise NotFoundError("no lateral is planned yet: drainwright plan")
    made = job_estimate(costs, sheets)
    value = None if contract is None else contract_value(contract, sheets, at.date())
    issue = Issue(0, at, by)
    pdf = job_estimate_pdf(about, costs, made, issue, _words(value))
    return Estimated(costs, made, value, pdf, estimate_workbook(costs, made))


def contract_value(contract: Contract, sheets: Sequence[WorkSheet], on: dt.date) -> ContractValue:
    """What the contract pays, owner and properties together, if the counted laterals are lined."""
    evidence = [
        one
        for sheet in sheets
        if sheet.outcome in COUNTED
        for one in planned_evidence(sheet.lateral, sheet, on)
    ]
    told = {one.work for one in evidence}
    made = pay_estimate(contract, quantities(contract, evidence), (), dt.date.max)
    amount = sum(line.amount for line in made.lines)
    by_quantity, not_foreseen = [], []
    for item in contract.items:
        if item.work in told:
            continue
        if item.quantity:
            by_quantity.append(item.key)
            amount += money(Decimal(item.quantity), contract.price(item, on))
        elif item.work not in (Work.COLLAR, Work.CLEANOUT, Work.TAP):
            not_foreseen.append(item.key)
    return ContractValue(contract, amount, tuple(by_quantity), tuple(not_foreseen))


def _words(value: ContractValue | None) -> tuple[str, ...]:
    """What the paper says of the contract."""
    from drainwright.papers.pay_estimate import money_text

    if value is None:
        return ()
    told = [f"The contract pays {money_text(value.contract, value.amount)} for these laterals."]
    if value.by_quantity:
        told.append(f"At the contract’s own quantity: item {', '.join(value.by_quantity)}.")
    if value.not_foreseen:
        told.append(f"Not told by work sheets and not in it: item {', '.join(value.not_foreseen)}.")
    return tuple(told)
