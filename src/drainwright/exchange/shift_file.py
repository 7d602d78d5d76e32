"""Crews, calendar and stock as one TOML file: read with every fault at once, and an example."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.exchange.toml_table import (
    Reader,
    choice,
    date,
    each,
    quantity,
    read_toml,
    record_of,
    text,
    whole,
    yes_no,
)
from drainwright.records.crew import (
    Calendar,
    Crew,
    CrewStep,
    Mixing,
    Promise,
    StepTime,
    Stock,
    StockItem,
    StockKind,
    Wish,
)
from drainwright.units import parse

EXAMPLE = """\
# Crews, calendar and stock: drainwright shift crews STORE FILE
# What is left out keeps the durations of the specification.
[[crews]]
key = "north"
lead = "R. Vale"
rigs = ["rig 1"]
start = 07:00:00
end = 17:00:00
weekdays = [1, 2, 3, 4, 5]         # Monday 1 to Sunday 7
bypass = true                      # has pumps for a bypass of the main
wets_out_beside = true             # wets out the next liner while one cures
mixing = "each liner"              # or "one batch a set-up"
times = [                          # this crew's own; four of five shifts keep p80
  { step = "last look and clean", p80 = "25 min", p50 = "18 min" },
  { step = "mix and wet out", p80 = "20 min" },
]

[calendar]
days_off = [2026-12-24, 2026-12-25]
rain_days = []
rain_allowance = 1                 # of each ten working days one stays open

# Somebody's word that all a lateral still waits on is done before that day.
# [[promises]]
# lateral = "A-01"
# on = 2026-11-30
# by = "R. Vale"
# what = "roots cut and filmed"

# [[wishes]]
# lateral = "A-01"
# priority = 1                     # 1 first, 3 usual
# due = 2026-12-18

[stock]
counted_on = 2026-11-25
waste = "5 %"                      # resin ordered on top

[[stock.items]]
kind = "tube"                      # tube, resin A, resin B, collar, seal
name = "T4-3.0"
on_hand = "300 ft"                 # tube as length, resin as mass, others as number
ordered = "0 ft"
# due = 2026-12-01
lead_time_days = 10
"""
_AMOUNTS = {
    StockKind.TUBE: "length", StockKind.PART_A: "mass", StockKind.PART_B: "mass",
    StockKind.COLLAR: "count", StockKind.SEAL: "count",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class ShiftFile:
    """What the file holds; a part that is left out stays as it is on record."""

    crews: tuple[Crew, ...]
    calendar: Calendar | None
    stock: Stock | None


def read_shift_file(data: bytes, file: str) -> ShiftFile:
    """Crews, calendar and stock of a TOML file; `InputError` with every fault of it."""
    found = read_toml(data, file)
    faults: list[Fault] = []
    known = {"crews", "calendar", "promises", "wishes", "stock"}
    faults += [Fault(key, "is not a table of this file") for key in sorted(found.keys() - known)]
    crews = _records(Crew, _CREW, found.get("crews", []), "crews", faults)
    keys = [crew.key for crew in crews]
    faults += [
        Fault("crews", "the key is used twice", key) for key in {*keys} if keys.count(key) > 1
    ]
    calendar = _calendar(found, faults)
    stock = _stock(found["stock"], faults) if "stock" in found else None
    raise_if_any(fault.placed(file=file) for fault in faults)
    return ShiftFile(crews, calendar, stock)


def _records(
    kind: type[Any], readers: Mapping[str, Reader], given: Any, name: str, faults: list[Fault]
) -> tuple[Any, ...]:
    if not isinstance(given, list):
        faults.append(Fault(name, f"must be written as [[{name}]]"))
        return ()
    found = [
        record_of(kind, readers, one, f"{name} {place}", faults)
        for place, one in enumerate(given, 1)
    ]
    return tuple(one for one in found if one is not None)


def _calendar(found: Mapping[str, Any], faults: list[Fault]) -> Calendar | None:
    if not found.keys() & {"calendar", "promises", "wishes"}:
        return None
    given = found.get("calendar", {})
    plain = record_of(Calendar, _CALENDAR, given, "calendar", faults) or Calendar()
    promises = _records(Promise, _PROMISE, found.get("promises", []), "promises", faults)
    wishes = _records(Wish, _WISH, found.get("wishes", []), "wishes", faults)
    for name, entries in (("promises", promises), ("wishes", wishes)):
        keys = [one.lateral for one in entries]
        faults += [
            Fault(name, "the lateral is named twice", key)
            for key in sorted({*keys})
            if keys.count(key) > 1
        ]
    return Calendar(plain.days_off, plain.rain_days, plain.rain_allowance, promises, wishes)


def _stock(given: Any, faults: list[Fault]) -> Stock | None:
    if not isinstance(given, Mapping):
        faults.append(Fault("stock", "must be a table"))
        return None
    items: list[StockItem] = []
    for place, one in enumerate(given.get("items", []), 1):
        item = record_of(StockItem, _item_readers(one), one, f"stock item {place}", faults)
        items += [item] if item is not None else []
    keys = [(one.kind, one.name) for one in items]
    faults += [
        Fault("stock", "is on the list twice", f"{kind} {name}")
        for kind, name in {*keys}
        if keys.count((kind, name)) > 1
    ]
    head = {key: value for key, value in given.items() if key != "items"}
    plain = record_of(Stock, _STOCK, head, "stock", faults)
    return None if plain is None else Stock(plain.counted_on, tuple(items), plain.waste)


def _item_readers(given: Any) -> Mapping[str, Reader]:
    """How an item's amounts are read depends on what it is."""
    kind = "number"
    if isinstance(given, Mapping) and given.get("kind") in tuple(_AMOUNTS):
        kind = _AMOUNTS[StockKind(given["kind"])]
    amount = _amount(kind)
    return {
        "kind": choice(StockKind), "name": text, "on_hand": amount, "ordered": amount,
        "due": date, "lead_time_days": _days,
    }  # fmt: skip


def _amount(kind: str) -> Callable[[Any], float]:
    def read(value: Any) -> float:
        if kind in ("count", "number"):
            if isinstance(value, bool) or not isinstance(value, int | float) or value < 0:
                raise ValueError("must be a number from 0")
            return float(value)
        found = parse(text(value), kind, "amount")
        if found < 0:
            raise ValueError("must not be less than 0")
        return found

    return read


def _days(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError("must be a whole number of days from 0")
    return value


def _share(value: Any) -> float:
    found = parse(text(value), "share", "waste")
    if not 0 <= found <= 1:
        raise ValueError("must be 0 to 100 %")
    return found


def _clock(value: Any) -> dt.time:
    if not isinstance(value, dt.time):
        raise TypeError("must be a time such as 07:00:00, without quotes")
    return value.replace(second=0, microsecond=0)


def _list(of: Reader) -> Callable[[Any], tuple[Any, ...]]:
    def read(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, Sequence) or isinstance(value, str):
            raise TypeError("must be a list")
        return tuple(of(one) for one in value)

    return read


def _weekday(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 7:
        raise ValueError("must be days from 1 (Monday) to 7 (Sunday)")
    return value


def _allowance(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 9:
        raise ValueError("must be 0 to 9 of ten days")
    return value


def _duration(value: Any) -> float:
    found = quantity("time", "duration")(value)
    if not 0 <= found <= 86400:
        raise InputError(Fault("duration", "must be 0 to 24 h", str(value)))
    return found


_STEP = {"step": choice(CrewStep), "p80": _duration, "p50": _duration}
_CREW: Mapping[str, Reader] = {
    "key": text, "rigs": _list(text), "lead": text, "start": _clock, "end": _clock,
    "weekdays": _list(_weekday), "days_off": _list(date), "times": each(StepTime, _STEP),
    "bypass": yes_no, "wets_out_beside": yes_no, "mixing": choice(Mixing),
}  # fmt: skip
_CALENDAR: Mapping[str, Reader] = {
    "days_off": _list(date), "rain_days": _list(date), "rain_allowance": _allowance,
}  # fmt: skip
_PROMISE: Mapping[str, Reader] = {"lateral": text, "on": date, "by": text, "what": text}
_WISH: Mapping[str, Reader] = {"lateral": text, "priority": whole, "due": date}
_STOCK: Mapping[str, Reader] = {"counted_on": date, "waste": _share}
