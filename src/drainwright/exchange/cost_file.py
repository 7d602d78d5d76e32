"""A contractor's costs as a TOML file: read with every fault at once, and an explained example."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.exchange import toml_table as table
from drainwright.exchange.toml_table import choice, decimal, share, text
from drainwright.records.cost_sheet import Added, CostLine, CostSheet, Per

_LENGTHS, _MASSES, _TIMES = ("ft", "m"), ("lb", "kg"), ("h", "min")
_UNITS = {
    Per.CUT: _LENGTHS,
    Per.LINED: _LENGTHS,
    Per.RESIN: _MASSES,
    Per.STEAM: _TIMES,
    Per.COOL: _TIMES,
}

EXAMPLE = """\
# Your own costs for a job estimate: drainwright estimate STORE FILE
# They stay in this file and never enter the project. The figures here are only an example.
name = "Costs, invented"
currency = "USD"

[[lines]]
key = "1"
words = "Move in and out"
unit = "lump sum"
price = "6200.00"
per = "job"               # job, main segment, lateral, tube cut, lined length, resin mixed,
                          # collar, steam time, cooling time, work before lining

[[lines]]
key = "2"
words = "Crew of 4, set-up on a main segment"
unit = "h"
price = "61.00"
per = "main segment"
each = "8"                # 4 people for 2 hours

[[lines]]
key = "3"
words = "Crew of 4 while steam flows"
unit = "h"
price = "61.00"
per = "steam time"
each = "4"                # hours of work for each hour of steam

[[lines]]
key = "4"
words = "Tube, 4 in"
unit = "ft"
price = "14.20"
per = "tube cut"
each = "1.05"             # 5 % waste
# tube = "T4-3.0"         # counts only laterals that get this tube

[[lines]]
key = "5"
words = "Root cutting"
unit = "h"
price = "140.00"
per = "work before lining"
work = "roots"            # the rule of the work, as `drainwright show` names it
each = "1.5"

[[added]]
words = "Overhead"
share = "12 %"
"""


def read_costs(data: bytes, file: str) -> CostSheet:
    """The costs in a TOML file; `InputError` with every fault of it."""
    top = table.read_toml(data, file)
    faults: list[Fault] = []
    readers_of_a_line = _line(table.money(table.minor_digits(top)))
    lines = []
    given_lines = table.tables_of(top, "lines", faults)
    for place, given in enumerate(given_lines, 1):
        lines.append(table.record_of(CostLine, readers_of_a_line, given, f"lines {place}", faults))
        faults += _of_one_line(given, f"lines {place}: ")
    added = [
        table.record_of(Added, {"words": text, "share": share}, given, f"added {place}", faults)
        for place, given in enumerate(table.tables_of(top, "added", faults), 1)
    ]
    readers: dict[str, table.Reader] = {
        "name": text,
        "currency": text,
        "minor_digits": table.digits,
        "lines": lambda _: tuple(line for line in lines if line),
        "added": lambda _: tuple(one for one in added if one),
    }
    found = table.record_of(CostSheet, readers, top, "", faults)
    keys = [str(one["key"]) for one in given_lines if isinstance(one, Mapping) and "key" in one]
    twice = sorted({key for key in keys if keys.count(key) > 1})
    faults += [Fault("lines", "the key is used twice", key) for key in twice]
    if "lines" in top and not given_lines:
        faults.append(Fault("lines", "there is no cost", ""))
    raise_if_any(fault.placed(file=file) for fault in faults)
    if found is None:
        raise InputError(Fault("file", "is not a list of costs", file, file=file))
    return found


def _line(money: table.Reader) -> dict[str, table.Reader]:
    return {
        "key": text,
        "words": text,
        "unit": text,
        "price": money,
        "per": choice(Per),
        "each": decimal,
        "tube": text,
        "work": text,
    }


def _of_one_line(given: Any, place: str) -> list[Fault]:
    """What keys of one line ask of one another."""
    if not isinstance(given, Mapping):
        return []
    faults, per, unit = [], given.get("per"), given.get("unit")
    units = next((units for kind, units in _UNITS.items() if kind == per), ())
    if units and "unit" in given and unit not in units:
        told = f"“{per}” is counted in {' or '.join(units)}"
        faults.append(Fault(f"{place}unit", told, str(unit)))
    if "tube" in given and per in (Per.JOB, Per.SEGMENT):
        faults.append(
            Fault(f"{place}tube", "does not go with a cost of many laterals", given["tube"])
        )
    if (per == Per.WORK) != ("work" in given):
        told = "goes with “work before lining”, and only with it"
        faults.append(Fault(f"{place}work", told, str(given.get("work", ""))))
    return faults
