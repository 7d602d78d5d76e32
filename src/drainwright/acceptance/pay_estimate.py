"""Pay estimates: work to date at the contract's prices, less retainage, damages and what was paid.

Everything is computed to date and the earlier estimates are taken off, so that late or
withdrawn entries come right in the next estimate and the sum of all is quantities × prices.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from drainwright.acceptance.quantities import Quantity
from drainwright.errors import Fault, InputError
from drainwright.records.contract import Contract, Payer, PayEstimate, PayLine

_Key = tuple[str, int, Payer]


@dataclass(frozen=True, slots=True)
class Variation:
    """An item whose quantity left the contract's by more than it may."""

    item: str
    contract: Decimal
    reached: Decimal

    @property
    def share(self) -> Decimal:
        """Reached over the contract's, less one."""
        return self.reached / self.contract - 1


def money(quantity: Decimal, price: int) -> int:
    """Quantity × price in minor units, rounded once, half up."""
    return int((quantity * price).quantize(Decimal(1), ROUND_HALF_UP))


def pay_estimate(
    contract: Contract,
    earned: Sequence[Quantity],
    earlier: Sequence[PayEstimate],
    until: dt.date,
) -> PayEstimate:
    """The next estimate, for all work up to a day.

    Raises `InputError` where `until` lies before the last estimate's day.
    """
    before = sorted(earlier, key=lambda one: one.number)
    if before and until < before[-1].until:
        allowed = f"{before[-1].until} or later"
        raise InputError(
            Fault("until", f"estimate {before[-1].number} goes further: {allowed}", str(until))
        )
    counted = [one for one in earned if one.on <= until]
    lines = tuple(_lines(contract, counted, before[-1] if before else None))
    work = sum(line.amount for line in lines if line.payer is Payer.PUBLIC)
    return PayEstimate(
        number=before[-1].number + 1 if before else 1,
        until=until,
        lines=lines,
        retained=_retained(contract, work, until),
        damages=_damages(contract, until),
        previous_paid=sum(one.payment for one in before),
        private=sum(line.amount for line in lines if line.payer is Payer.PRIVATE),
        evidence=tuple(sorted({one.ref for one in counted})),
    )


def _lines(
    contract: Contract, counted: Sequence[Quantity], last: PayEstimate | None
) -> Iterator[PayLine]:
    now: dict[_Key, Decimal] = {}
    for one in counted:
        item = contract.item(one.item)
        if item is not None:
            key = (item.key, contract.price(item, one.on), one.payer)
            now[key] = now.get(key, Decimal(0)) + one.amount
    was = {(one.item, one.price, one.payer): one for one in last.lines} if last else {}
    order = {item.key: place for place, item in enumerate(contract.items)}
    for key in sorted({*now, *was}, key=lambda one: (order.get(one[0], len(order)), one)):
        quantity, old = now.get(key, Decimal(0)), was.get(key)
        yield PayLine(
            *key,
            quantity=str(quantity),
            previous=old.quantity if old else "0",
            amount=money(quantity, key[1]),
            previous_amount=old.amount if old else 0,
        )


def _retained(contract: Contract, work: int, until: dt.date) -> int:
    if contract.retainage_released is not None and contract.retainage_released <= until:
        return 0
    return money(Decimal(contract.retainage), work)


def _damages(contract: Contract, until: dt.date) -> int:
    if contract.due is None:
        return 0
    last = min(until, contract.completed) if contract.completed else until
    return max(0, (last - contract.due).days) * contract.damages_per_day


def variations(contract: Contract, earned: Sequence[Quantity]) -> tuple[Variation, ...]:
    """Items, other than conditional ones, whose quantity calls for a talk about the price."""
    allowed = Decimal(contract.variation)
    found: list[Variation] = []
    for item in contract.items:
        planned = Decimal(item.quantity or 0)
        if item.conditional or not planned:
            continue
        reached = sum((one.amount for one in earned if one.item == item.key), Decimal(0))
        one = Variation(item.key, planned, reached)
        if one.share > allowed:
            found.append(one)
    return tuple(found)
