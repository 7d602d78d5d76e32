"""Quantities for payment: from evidence and the contract's rules, with the entry behind each."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drainwright.acceptance.evidence import Evidence
from drainwright.records.contract import (
    AgreedWork,
    Contract,
    LengthWay,
    LinedWhen,
    Payer,
    PayItem,
    PayRule,
    Work,
)
from drainwright.units import from_si

_LINER = (Work.LINED, Work.COLLAR)
_UNITS = {"ft": "ft", "m": "m", "h": "h", "hour": "h", "gal": "gal", "min": "min", "m^3": "m^3"}


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity of one item earned on a day, and what tells so."""

    item: str
    amount: Decimal
    on: dt.date
    payer: Payer
    ref: str
    lateral: str = ""
    segment: str = ""


def quantities(
    contract: Contract, evidence: Iterable[Evidence], agreed: Iterable[AgreedWork] = ()
) -> tuple[Quantity, ...]:
    """Every quantity that evidence and agreements earn, nothing twice.

    The same entry, lateral or segment counts once for an item, however often it is given and
    in whatever order. A liner counts from the day it was cured, or accepted where the contract
    says so.
    """
    given: dict[tuple[Work, str, str], Evidence] = {}
    for one in sorted(
        evidence, key=lambda one: (one.on, one.lateral, one.ref, one.length, one.amount)
    ):
        given.setdefault((one.work, one.ref, one.lateral), one)
    found: list[Quantity] = []
    for item in contract.items:
        earned = (_earned(contract, one) for one in given.values() if one.work is item.work)
        found += _of_item(contract, item, [one for one in earned if one is not None])
    known = {item.key for item in contract.items}
    found += (
        Quantity(one.item, Decimal(one.amount), one.on, Payer.PUBLIC, one.key, one.lateral)
        for one in {one.key: one for one in sorted(agreed, key=_told)}.values()
        if one.item in known
    )
    return tuple(sorted(found, key=lambda one: (one.on, one.item, one.lateral, one.ref)))


def _told(one: AgreedWork) -> tuple[str, dt.date, str]:
    return one.key, one.on, one.amount


def rounded(value: float | Decimal, digits: int) -> Decimal:
    """A quantity rounded half up to decimals."""
    exact = Decimal(repr(value)) if isinstance(value, float) else value
    return exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)


def _earned(contract: Contract, one: Evidence) -> tuple[dt.date, Evidence] | None:
    """The day on which evidence counts; None while it does not."""
    if one.work in _LINER and contract.lined_when is LinedWhen.ACCEPTED:
        return None if one.accepted is None else (one.accepted, one)
    return one.on, one


def _of_item(
    contract: Contract, item: PayItem, earned: Sequence[tuple[dt.date, Evidence]]
) -> Iterator[Quantity]:
    seen: set[str] = set()
    for on, one in sorted(earned, key=lambda pair: (pair[0], pair[1].lateral, pair[1].ref)):
        once = _once(item, one)
        if once in seen:
            continue
        seen.add(once)
        for payer, amount in _amounts(contract, item, one):
            if amount:
                yield Quantity(item.key, amount, on, payer, one.ref, one.lateral, one.segment)


def _once(item: PayItem, one: Evidence) -> str:
    """What an item counts once by."""
    if item.rule is PayRule.SEGMENT:
        return one.segment
    if one.work in _LINER:
        return one.lateral
    return f"{one.ref} {one.lateral}"


def _amounts(contract: Contract, item: PayItem, one: Evidence) -> Iterator[tuple[Payer, Decimal]]:
    """The quantity, split at the property line where the owner pays to it only."""
    split = contract.owner_pays_to_property_line_only
    if item.rule in (PayRule.EACH, PayRule.SEGMENT):
        yield Payer.PUBLIC, Decimal(1)
    elif item.rule is PayRule.AMOUNT:
        yield Payer.PUBLIC, rounded(from_si(one.amount, _unit(item)), 2)
    else:
        length = one.horizontal if contract.length_way is LengthWay.HORIZONTAL else one.length
        first = item.first_length if item.rule is PayRule.BEYOND else 0.0
        whole = rounded(from_si(max(0.0, length - first), _unit(item)), contract.length_digits)
        public = length * one.public if split else length
        part = rounded(from_si(max(0.0, public - first), _unit(item)), contract.length_digits)
        part = min(part, whole)
        yield Payer.PUBLIC, part
        yield Payer.PRIVATE, whole - part


def _unit(item: PayItem) -> str:
    return _UNITS.get(item.unit, "1")
