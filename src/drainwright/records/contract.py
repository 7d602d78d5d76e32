"""The contract: pay items with their rules, retainage, dates; and the pay estimates made from it.

Money is in integer minor units (cents) of the contract's currency. Quantities are decimals.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class Work(StrEnum):
    """What is paid for, as the record can tell it."""

    LINED = "lateral lined"
    COLLAR = "collar set in the main"
    TV = "TV inspection"
    TEST = "tightness test"
    CLEANOUT = "cleanout built"
    ROOTS = "root cutting"
    TAP = "protruding tap removed"
    GROUT = "grout placed"
    SERVICE = "service restored"
    OTHER = "by agreement"
    """Told by a person with a reason: mobilization, restoration, work by the hour."""


class PayRule(StrEnum):
    """How the quantity of an item follows from the work."""

    EACH = "each"
    """One for each entry of the work; a lined lateral once for all its attempts."""
    LENGTH = "length"
    """Lined length."""
    BEYOND = "length beyond the first"
    """Lined length of each lateral less the length that the price of another item holds."""
    SEGMENT = "each main segment"
    """One for each main segment on which the work was done, once for the whole contract."""
    AMOUNT = "amount"
    """Sum of what was read or agreed: hours, gallons, shares of a lump sum."""


class LengthWay(StrEnum):
    """How length is paid."""

    HORIZONTAL = "horizontal"
    ALONG = "along the pipe"


class LinedWhen(StrEnum):
    """When a lined lateral is paid."""

    INSTALLED = "installed"
    ACCEPTED = "accepted"


class Payer(StrEnum):
    """Who pays a share."""

    PUBLIC = "owner"
    PRIVATE = "property"


@dataclass(frozen=True, slots=True)
class PayItem:
    """One pay item of the schedule of values."""

    key: str
    words: str
    unit: str
    """Such as each, ft, h, gal, lump sum; lengths are m or ft."""
    price: int
    """Minor units for one unit."""
    work: Work
    rule: PayRule
    first_length: float = 0.0
    """Length that another item's price holds, for `PayRule.BEYOND` [m]."""
    quantity: str = ""
    """Estimated quantity of the contract, a decimal; "" for none."""
    conditional: bool = False
    """A conditional item may vary without a change of its price."""


@dataclass(frozen=True, slots=True)
class PriceChange:
    """A change order: a new price of an item for work from a date on."""

    number: str
    item: str
    price: int
    effective: dt.date
    reason: str


@dataclass(frozen=True, slots=True)
class Contract:
    """What the owner pays for and when; its key is always “contract”."""

    name: str
    items: tuple[PayItem, ...]
    currency: str = "USD"
    minor_digits: int = 2
    retainage: str = "0"
    """Share held back, a decimal such as 0.05."""
    retainage_released: dt.date | None = None
    length_way: LengthWay = LengthWay.HORIZONTAL
    length_digits: int = 1
    """Decimals to which each lateral's length is rounded, half up, before it is paid."""
    lined_when: LinedWhen = LinedWhen.INSTALLED
    owner_pays_to_property_line_only: bool = False
    variation: str = "0.25"
    """Share by which a quantity may leave the contract's before a price adjustment is due."""
    due: dt.date | None = None
    completed: dt.date | None = None
    damages_per_day: int = 0
    changes: tuple[PriceChange, ...] = ()
    key: str = "contract"

    def item(self, key: str) -> PayItem | None:
        """The pay item with this key."""
        return next((one for one in self.items if one.key == key), None)

    def price(self, item: PayItem, on: dt.date) -> int:
        """The item's price for work of a day."""
        price = item.price
        for change in sorted(self.changes, key=lambda one: one.effective):
            if change.item == item.key and change.effective <= on:
                price = change.price
        return price


@dataclass(frozen=True, slots=True)
class AgreedWork:
    """Work that no reading tells, agreed by name: its key is given by the person who enters it."""

    key: str
    item: str
    amount: str
    """A decimal in the item's unit; negative to take back."""
    on: dt.date
    by: str
    reason: str
    lateral: str = ""


@dataclass(frozen=True, slots=True)
class PayLine:
    """One item at one price in one estimate; money in minor units, quantities as decimals."""

    item: str
    price: int
    payer: Payer
    quantity: str
    """To date."""
    previous: str
    amount: int
    """To date."""
    previous_amount: int

    @property
    def this_amount(self) -> int:
        """What this estimate adds."""
        return self.amount - self.previous_amount


@dataclass(frozen=True, slots=True)
class PayEstimate:
    """A pay estimate as issued: everything to date, and what was paid before."""

    number: int
    until: dt.date
    lines: tuple[PayLine, ...]
    retained: int
    """Held back to date."""
    damages: int
    """Liquidated damages to date."""
    previous_paid: int
    """Sum of all earlier estimates' payments."""
    private: int = 0
    """Work to date that properties pay; not part of the payment."""
    evidence: tuple[str, ...] = ()
    """The entries behind the quantities to date."""

    @property
    def key(self) -> str:
        """Its number, as text."""
        return str(self.number)

    @property
    def work(self) -> int:
        """The owner's share of the work to date."""
        return sum(line.amount for line in self.lines if line.payer is Payer.PUBLIC)

    @property
    def payment(self) -> int:
        """What is due now; negative where more was paid than earned."""
        return self.work - self.retained - self.damages - self.previous_paid
