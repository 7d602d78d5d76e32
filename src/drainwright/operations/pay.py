"""Contract, agreed work and pay estimates (write); quantities with the entry behind each (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from drainwright.acceptance.evidence import Evidence, lined_evidence
from drainwright.acceptance.pay_estimate import Variation, pay_estimate, variations
from drainwright.acceptance.quantities import Quantity, quantities
from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.operations.field_attempts import field_attempts
from drainwright.records.acceptance import Acceptance, AcceptanceStep
from drainwright.records.contract import (
    AgreedWork,
    Contract,
    Payer,
    PayEstimate,
    PayItem,
    Work,
)
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.tightness_report import TightnessReport
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession, RecordStore, Saved


@dataclass(frozen=True, slots=True)
class Earned:
    """What the contract pays for up to now."""

    contract: Contract
    quantities: tuple[Quantity, ...]
    variations: tuple[Variation, ...]
    estimates: tuple[PayEstimate, ...]


@dataclass(frozen=True, slots=True)
class Estimated:
    """A pay estimate that was made, with its contract and its paper."""

    contract: Contract
    estimate: PayEstimate
    pdf: bytes
    xlsx: bytes
    due: str
    """What is due now, as text."""
    varied: tuple[str, ...]
    """Items whose quantity left the contract's by more than it may, in words."""


def contract_example() -> str:
    """An explained contract file to start from."""
    from drainwright.exchange.contract_file import EXAMPLE

    return EXAMPLE


def take_contract(
    store: RecordStore, project: str, data: bytes, file: str, *, by: str, at: dt.datetime,
    reason: str = "",
) -> Saved:  # fmt: skip
    """Read a contract file into the project; `InputError` with every fault of it."""
    from drainwright.exchange.contract_file import read_contract

    contract = read_contract(data, file)
    with store.write(by=by, at=at, origin=file, reason=reason) as session:
        return session.put(project, contract, expected=None)


def agree_work(store: RecordStore, project: str, work: AgreedWork, *, at: dt.datetime) -> Saved:
    """Keep work that was agreed by name; an amount that is no number is an `InputError`."""
    try:
        finite = Decimal(work.amount).is_finite()
    except InvalidOperation:
        finite = False
    faults = [] if finite else [Fault("amount", "must be a number such as 2.5", work.amount)]
    if not work.reason.strip():
        faults.append(Fault("reason", "say what was agreed with whom", work.reason))
    with store.write(by=work.by, at=at, origin="agreed", reason=work.reason) as session:
        contract = _contract(session, project)
        if contract.item(work.item) is None:
            known = ", ".join(item.key for item in contract.items)
            faults.append(Fault("item", f"must be one of {known}", work.item))
        if faults:
            raise InputError(*faults)
        return session.put(project, work, expected=None)


def earned(store: RecordStore, project: str) -> Earned:
    """Every quantity with the entry behind it, and the estimates so far."""
    with store.read() as session:
        return _earned(session, project)


def make_estimate(
    store: RecordStore, project: str, until: dt.date, *, by: str, at: dt.datetime
) -> Estimated:
    """Make, keep and print the next pay estimate, for all work up to a day."""
    with store.write(by=by, at=at, origin="pay estimate", reason=f"up to {until}") as session:
        found = _earned(session, project)
        made = pay_estimate(found.contract, found.quantities, found.estimates, until)
        about = session.get(project, Project, project).record
        session.put(project, made, expected=0)
    return _papers(about, found, made, by, at)


def estimate_again(store: RecordStore, project: str, number: int) -> Estimated:
    """A kept estimate as PDF and spreadsheet once more; `NotFoundError` for an unknown one."""
    with store.read() as session:
        stored = session.get(project, PayEstimate, str(number))
        found = _earned(session, project)
        about = session.get(project, Project, project).record
    revision = stored.revision
    return _papers(about, found, stored.record, revision.by, revision.at)


def _papers(
    about: Project, found: Earned, made: PayEstimate, by: str, at: dt.datetime
) -> Estimated:
    from drainwright.exchange.pay_workbook import pay_workbook
    from drainwright.papers.pay_estimate import money_text, pay_estimate_pdf, variation_text
    from drainwright.papers.sheet_head import Issue

    contract, behind = found.contract, set(made.evidence)
    counted = [one for one in found.quantities if one.on <= made.until and one.ref in behind]
    return Estimated(
        contract,
        made,
        pay_estimate_pdf(about, contract, made, found.variations, Issue(1, at, by), counted),
        pay_workbook(contract, made, counted),
        money_text(contract, made.payment),
        tuple(variation_text(contract, one) for one in found.variations),
    )


@dataclass(frozen=True, slots=True)
class PayLineView:
    """One item on the screen: texts, and every quantity behind it."""

    item: PayItem
    price: str
    quantity: str
    private: str
    amount: str
    varied: str
    behind: tuple[Quantity, ...]


@dataclass(frozen=True, slots=True)
class PaySheet:
    """What the payment page shows."""

    contract: Contract
    lines: tuple[PayLineView, ...]
    estimates: tuple[tuple[PayEstimate, str], ...]
    """Each with what was due, as text."""
    work: str
    """The owner's share of all work so far."""


def pay_sheet(store: RecordStore, project: str) -> PaySheet | None:
    """Items, quantities to date and estimates; None without a contract."""
    from drainwright.papers.pay_estimate import money_text, variation_text

    try:
        found = earned(store, project)
    except NotFoundError:
        return None
    contract = found.contract
    varied = {one.item: variation_text(contract, one) for one in found.variations}
    now = pay_estimate(contract, found.quantities, (), dt.date.max)
    lines = []
    for item in contract.items:
        behind = tuple(one for one in found.quantities if one.item == item.key)
        shares = {
            payer: sum((one.amount for one in behind if one.payer is payer), Decimal(0))
            for payer in Payer
        }
        amount = sum(
            line.amount
            for line in now.lines
            if line.item == item.key and line.payer is Payer.PUBLIC
        )
        private = f"{shares[Payer.PRIVATE]:,f}" if shares[Payer.PRIVATE] else ""
        lines.append(
            PayLineView(
                item, money_text(contract, item.price), f"{shares[Payer.PUBLIC]:,f}", private,
                money_text(contract, amount), varied.get(item.key, ""), behind,
            )
        )  # fmt: skip
    estimates = tuple((one, money_text(contract, one.payment)) for one in found.estimates)
    return PaySheet(contract, tuple(lines), estimates, money_text(contract, now.work))


def _earned(session: ReadSession, project: str) -> Earned:
    contract = _contract(session, project)
    agreed = [stored.record for stored in session.every(project, AgreedWork)]
    found = quantities(contract, evidence(session, project), agreed)
    made = sorted(
        (stored.record for stored in session.every(project, PayEstimate)),
        key=lambda one: one.number,
    )
    return Earned(contract, found, variations(contract, found), tuple(made))


def evidence(session: ReadSession, project: str) -> Iterator[Evidence]:
    """What the record tells was done on every lateral."""
    zone = session.get(project, Project, project).record.zone
    accepted = accepted_laterals(session, project, zone)
    for key, attempts in field_attempts(session, project).items():
        try:
            lateral = session.get(project, Lateral, key).record
            sheet = session.get(project, WorkSheet, key).record
        except NotFoundError:
            continue
        yield from lined_evidence(lateral, sheet, attempts, zone, accepted.get(key))
    yield from _tests(session, project, zone)


def _tests(session: ReadSession, project: str, zone: str) -> Iterator[Evidence]:
    """The first tightness test of each lateral; a test again is at the contractor's cost."""
    made = [one for one in session.every(project, TightnessReport) if one.record.method]
    tested: set[str] = set()
    for stored in sorted(made, key=lambda one: (one.record.at, one.key)):
        lateral, on = stored.record.lateral, stored.record.at.astimezone(ZoneInfo(zone)).date()
        if lateral not in tested:
            tested.add(lateral)
            yield Evidence(Work.TEST, f"tightness report {stored.key}", on, lateral)


def accepted_laterals(session: ReadSession, project: str, zone: str) -> dict[str, dt.date]:
    """The day on which each accepted lateral was signed for."""
    return {
        one.record.lateral: one.record.at.astimezone(ZoneInfo(zone)).date()
        for one in session.every(project, Acceptance)
        if one.record.step is not AcceptanceStep.REFUSED
    }


def _contract(session: ReadSession, project: str) -> Contract:
    try:
        return session.get(project, Contract, "contract").record
    except NotFoundError:
        raise NotFoundError("the project has no contract yet: drainwright pay contract") from None
