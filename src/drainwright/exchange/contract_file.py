"""The contract as a TOML file: read with every fault at once, and an explained empty one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.exchange import toml_table as table
from drainwright.exchange.toml_table import choice, date, decimal, quantity, share, text, yes_no
from drainwright.records.contract import (
    Contract,
    LengthWay,
    LinedWhen,
    PayItem,
    PayRule,
    PriceChange,
    Work,
)

_UNITS = ("each", "ft", "m", "h", "gal", "m^3", "lump sum")
_OF_LENGTH = (PayRule.LENGTH, PayRule.BEYOND)

EXAMPLE = """\
# The contract: drainwright pay contract STORE FILE
# Prices are what the contract says, as text. The figures here are only an example.
name = "Lateral lining, invented town"
currency = "USD"
retainage = "5 %"
length_way = "horizontal"          # or "along the pipe"
lined_when = "installed"           # or "accepted"
owner_pays_to_property_line_only = false
variation = "25 %"                 # beyond it, talk about the price
# due = 2026-12-01
# damages_per_day = "500.00"
# retainage_released = 2027-01-15

[[items]]
key = "1"
words = "Line lateral, with the first 20 ft"
unit = "each"                      # each, ft, m, h, gal, m^3, lump sum
price = "4125.00"
work = "lateral lined"             # what the record tells; see the guide
rule = "each"                      # each, length, length beyond the first,
quantity = "40"                    # each main segment, amount

[[items]]
key = "2"
words = "Lining beyond the first 20 ft"
unit = "ft"
price = "94.37"
work = "lateral lined"
rule = "length beyond the first"
first_length = "20 ft"
conditional = true

# [[changes]]
# number = "CO-1"
# item = "1"
# price = "4300.00"
# effective = 2026-10-01
# reason = "agreed"
"""


def read_contract(data: bytes, file: str) -> Contract:
    """The contract in a TOML file; `InputError` with every fault of it."""
    top = table.read_toml(data, file)
    faults: list[Fault] = []
    money = table.money(table.minor_digits(top))
    items = []
    for place, given in enumerate(table.tables_of(top, "items", faults), 1):
        items.append(table.record_of(PayItem, _item(money), given, f"items {place}", faults))
        faults += _of_one_item(given, f"items {place}: ")
    changes = [
        table.record_of(PriceChange, _change(money), given, f"changes {place}", faults)
        for place, given in enumerate(table.tables_of(top, "changes", faults), 1)
    ]
    readers = _contract(money) | {
        "items": lambda _: tuple(item for item in items if item),
        "changes": lambda _: tuple(change for change in changes if change),
    }
    contract = table.record_of(Contract, readers, top, "", faults)
    faults += _double(top)
    raise_if_any(fault.placed(file=file) for fault in faults)
    if contract is None:
        raise InputError(Fault("file", "is not a contract", file, file=file))
    return contract


def _contract(money: table.Reader) -> dict[str, table.Reader]:
    return {
        "name": text,
        "currency": text,
        "minor_digits": table.digits,
        "retainage": share,
        "retainage_released": date,
        "length_way": choice(LengthWay),
        "length_digits": table.digits,
        "lined_when": choice(LinedWhen),
        "owner_pays_to_property_line_only": yes_no,
        "variation": share,
        "due": date,
        "completed": date,
        "damages_per_day": money,
    }


def _item(money: table.Reader) -> dict[str, table.Reader]:
    return {
        "key": text,
        "words": text,
        "unit": _unit,
        "price": money,
        "work": choice(Work),
        "rule": choice(PayRule),
        "first_length": quantity("length", "first_length"),
        "quantity": decimal,
        "conditional": yes_no,
    }


def _change(money: table.Reader) -> dict[str, table.Reader]:
    return {"number": text, "item": text, "price": money, "effective": date, "reason": text}


def _unit(value: Any) -> str:
    if value not in _UNITS:
        raise ValueError(f"must be one of {', '.join(_UNITS)}")
    return str(value)


def _of_one_item(given: Any, place: str) -> list[Fault]:
    """What keys of one item ask of one another."""
    if not isinstance(given, Mapping):
        return []
    faults, rule, unit = [], given.get("rule"), given.get("unit")
    if rule == PayRule.BEYOND and not given.get("first_length"):
        faults.append(Fault(f"{place}first_length", "is needed for length beyond the first", ""))
    if rule in _OF_LENGTH and unit in _UNITS and unit not in ("ft", "m"):
        faults.append(Fault(f"{place}unit", "a length is paid in ft or m", str(unit)))
    return faults


def _double(top: Mapping[str, Any]) -> list[Fault]:
    items, changes = (
        [one for one in table.tables_of(top, name, []) if isinstance(one, Mapping)]
        for name in ("items", "changes")
    )
    keys = [str(one.get("key", "")) for one in items]
    faults = [
        Fault("items", "the key is used twice", key)
        for key in sorted({*keys})
        if keys.count(key) > 1
    ]
    faults += [
        Fault("changes", f"{one.get('number')} names an item that is not there", str(one["item"]))
        for one in changes
        if "item" in one and one["item"] not in keys
    ]
    return faults if items else [*faults, Fault("items", "there is no pay item", "")]
