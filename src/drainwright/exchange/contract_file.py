"""The contract as a TOML file: read with every fault at once, and an explained empty one."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any, TypeVar

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.records.contract import (
    Contract,
    LengthWay,
    LinedWhen,
    PayItem,
    PayRule,
    PriceChange,
    Work,
)
from drainwright.units import parse

E = TypeVar("E", bound=StrEnum)
_UNITS = ("each", "ft", "m", "h", "gal", "m^3", "lump sum")

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


class _Table:
    """One table of the file; every fault is kept with its place."""

    def __init__(self, values: Mapping[str, Any], place: str, faults: list[Fault]) -> None:
        self.values, self.place, self.faults = dict(values), place, faults
        self.used: set[str] = set()

    def take(self, name: str, of: Callable[[Any], Any], start: Any = None) -> Any:
        """A value read by `of`; `start` where it is not given, None for required."""
        self.used.add(name)
        if name not in self.values:
            if start is None:
                self.fault(name, "is missing")
            return start
        try:
            return of(self.values[name])
        except InputError as error:
            self.faults += [fault.placed(column=self.place) for fault in error.faults]
        except (ValueError, TypeError, InvalidOperation) as error:
            self.fault(name, str(error) or "cannot be read")
        return start

    def fault(self, name: str, words: str) -> None:
        """Keep a fault of a key."""
        self.faults.append(Fault(f"{self.place}{name}", words, self.values.get(name)))

    def unknown(self) -> None:
        """Tell keys that nobody asked for."""
        for name in self.values.keys() - self.used:
            self.fault(name, "is not a key of a contract")


def read_contract(data: bytes, file: str) -> Contract:
    """The contract in a TOML file; `InputError` with every fault of it."""
    try:
        found = tomllib.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(Fault("file", f"is not TOML: {error}", file, file=file)) from error
    faults: list[Fault] = []
    top = _Table(found, "", faults)
    digits = top.take("minor_digits", _digits, 2)
    items = tuple(
        _item(_Table(table, f"items {place}: ", faults), digits)
        for place, table in enumerate(_tables(top, "items"), 1)
    )
    changes = tuple(
        _change(_Table(table, f"changes {place}: ", faults), digits)
        for place, table in enumerate(_tables(top, "changes"), 1)
    )
    values = {
        "name": top.take("name", _text),
        "currency": top.take("currency", _text, "USD"),
        "minor_digits": digits,
        "retainage": top.take("retainage", _share, "0"),
        "variation": top.take("variation", _share, "0.25"),
        "length_way": top.take("length_way", _choice(LengthWay), LengthWay.HORIZONTAL),
        "length_digits": top.take("length_digits", _digits, 1),
        "lined_when": top.take("lined_when", _choice(LinedWhen), LinedWhen.INSTALLED),
        "owner_pays_to_property_line_only": top.take(
            "owner_pays_to_property_line_only", _yes_no, start=False
        ),
        "damages_per_day": top.take("damages_per_day", lambda one: _money(one, digits), 0),
    }
    for name in ("due", "completed", "retainage_released"):
        top.used.add(name)
        if name in found:
            values[name] = top.take(name, _date, dt.date.min)
    top.unknown()
    faults += _double(items, changes)
    raise_if_any(fault.placed(file=file) for fault in faults)
    return Contract(items=items, changes=changes, **values)


def _tables(top: _Table, name: str) -> Sequence[Mapping[str, Any]]:
    top.used.add(name)
    given = top.values.get(name, [])
    if not isinstance(given, list) or not all(isinstance(one, dict) for one in given):
        top.fault(name, f"must be written as [[{name}]]")
        return []
    return given


def _item(table: _Table, digits: int) -> PayItem:
    item = PayItem(
        key=table.take("key", _text),
        words=table.take("words", _text),
        unit=table.take("unit", _unit),
        price=table.take("price", lambda one: _money(one, digits)),
        work=table.take("work", _choice(Work)),
        rule=table.take("rule", _choice(PayRule)),
        first_length=table.take("first_length", _length, 0.0),
        quantity=table.take("quantity", _decimal, ""),
        conditional=table.take("conditional", _yes_no, start=False),
    )
    table.unknown()
    if item.rule is PayRule.BEYOND and not item.first_length:
        table.fault("first_length", "is needed for length beyond the first")
    lengths = (PayRule.BEYOND, PayRule.LENGTH)
    if item.rule in lengths and item.unit not in ("ft", "m", None):
        table.fault("unit", "a length is paid in ft or m")
    return item


def _change(table: _Table, digits: int) -> PriceChange:
    change = PriceChange(
        number=table.take("number", _text),
        item=table.take("item", _text),
        price=table.take("price", lambda one: _money(one, digits)),
        effective=table.take("effective", _date),
        reason=table.take("reason", _text),
    )
    table.unknown()
    return change


def _double(items: Sequence[PayItem], changes: Sequence[PriceChange]) -> list[Fault]:
    keys = [item.key for item in items]
    faults = [
        Fault("items", "the key is used twice", key) for key in {*keys} if keys.count(key) > 1
    ]
    faults += [
        Fault("changes", f"{one.number} names an item that is not there", one.item)
        for one in changes
        if one.item not in keys
    ]
    return faults if items else [*faults, Fault("items", "there is no pay item", "")]


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip():
        raise ValueError("must be text")
    return value.strip()


def _unit(value: Any) -> str:
    if value not in _UNITS:
        raise ValueError(f"must be one of {', '.join(_UNITS)}")
    return str(value)


def _choice(of: type[E]) -> Callable[[Any], E]:
    def read(value: Any) -> E:
        try:
            return of(value)
        except ValueError:
            raise ValueError(f"must be one of {', '.join(of)}") from None

    return read


def _yes_no(value: Any) -> bool:
    if not isinstance(value, bool):
        raise TypeError("must be true or false")
    return value


def _digits(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 4:
        raise ValueError("must be a whole number from 0 to 4")
    return value


def _decimal(value: Any) -> str:
    try:
        found = Decimal(str(value))
    except InvalidOperation:
        raise ValueError("must be a number such as 12.5") from None
    if not found.is_finite() or found < 0:
        raise ValueError("must be 0 or more")
    return str(found)


def _share(value: Any) -> str:
    text = str(value).strip()
    found = Decimal(_decimal(text.removesuffix("%").strip()))
    share = found / 100 if text.endswith("%") else found
    if share > 1:
        raise ValueError("must be at most 100 %")
    return str(share)


def _money(value: Any, digits: int) -> int:
    minor = Decimal(_decimal(value)).scaleb(digits)
    if minor != minor.to_integral_value():
        raise ValueError(f"has more than {digits} decimals")
    return int(minor)


def _length(value: Any) -> float:
    return parse(_text(value), "length", "first_length")


def _date(value: Any) -> dt.date:
    if isinstance(value, dt.datetime) or not isinstance(value, dt.date):
        raise TypeError("must be a date such as 2026-10-01, without quotes")
    return value
