"""Records of every table at random, from the field lists themselves."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from drainwright.exchange import fields as f
from drainwright.exchange.cells import tidy
from drainwright.exchange.columns import TABLES
from drainwright.exchange.fields import Field
from drainwright.exchange.table_records import BUILDERS, MEASURES, survey_of, survey_row
from drainwright.records.lateral import (
    AddressProof,
    Branch,
    DigTicket,
    LengthMeasurement,
    MeasuringWay,
    PipeSpan,
)
from drainwright.records.material import CureStep, GelTime
from drainwright.records.rig import Gauge, TubeCapacity
from drainwright.records.standing import Knowledge, Standing
from drainwright.units import KINDS

# text as a reader keeps it: no control characters, no blanks around it
_LETTERS = st.characters(
    codec="utf-8", exclude_categories=("Cc", "Cs", "Cf", "Zs", "Zl", "Zp", "Co", "Cn")
)
# fmt: off
_TRICKY = st.sampled_from(["=1+1", "+49 1", "-x", "@a", "'=b", "a,b;c\td|e",
                           'say "hi"', "6\"", "a\nb",
                           "007", "1e5", "TRUE", "2026-04-02", "#x",
                           "n", "''", "sep=,", "é–½"])
# fmt: on


def texts(least: int = 0) -> st.SearchStrategy[str]:
    return st.one_of(st.text(_LETTERS, min_size=max(least, 1), max_size=12), _TRICKY)


def _inside(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False).map(lambda v: v or 0.0)


_DAYS = st.dates(dt.date(1990, 1, 1), dt.date(2026, 4, 1))
_HOURS = st.integers(1, 12).map(float)
_PLACES = _inside(0.0, 100.0)


def _tuples(items: st.SearchStrategy[Any], least: int = 0) -> st.SearchStrategy[Any]:
    return st.lists(items, min_size=least, max_size=3).map(tuple)


_SPANS = st.builds(PipeSpan, _PLACES, _PLACES, _PLACES, texts())
_BRANCHES = st.builds(Branch, _PLACES, st.none() | _HOURS, st.none() | st.booleans(), texts())
_WAYS = st.sampled_from(MeasuringWay)
_LENGTHS = st.builds(
    LengthMeasurement, _WAYS, _PLACES, _PLACES, _PLACES, texts(), st.none() | _DAYS
)
_STANDING = st.builds(Standing, st.sampled_from(Knowledge), texts(), st.none() | _DAYS, texts())
_STRUCTURES: dict[str, st.SearchStrategy[Any]] = {
    "foreign_pipes": _tuples(_PLACES, 1),
    "joints": st.just(()),
    "spans": _tuples(_SPANS),
    "branches": _tuples(_BRANCHES),
    "dig_tickets": _tuples(st.builds(DigTicket, texts(), _DAYS, _DAYS)),
    "lengths": _tuples(_LENGTHS),
    "proof": st.builds(AddressProof, texts(), texts(), _DAYS, texts()),
    "gel_times": _tuples(st.builds(GelTime, _inside(250, 400), _inside(1, 1e5))),
    "schedule": _tuples(st.builds(CureStep, _inside(250, 400), _inside(1, 1e5))),
    "kinetics": st.dictionaries(texts(1), _inside(-1e9, 1e9), max_size=3),
    "capacities": _tuples(st.builds(TubeCapacity, _PLACES, _PLACES, _PLACES)),
    "no_days": _tuples(_DAYS),
    "gauges": _tuples(st.builds(Gauge, texts(), texts(), st.none() | _DAYS, st.none() | _DAYS)),
}
_PLAIN: dict[str, st.SearchStrategy[Any]] = {
    f.TEXT: texts(),
    f.MATERIAL: st.sampled_from(["vitrified clay", "PVC", "cast iron", "Zinkrohr 3"]),
    f.DATE: _DAYS,
    f.TIME: st.builds(dt.time, st.integers(0, 23), st.integers(0, 59), st.integers(0, 59)),
    f.YES_NO: st.booleans(),
    f.COUNT: st.integers(0, 10),
    f.CLOCK: st.one_of(_HOURS, _inside(1.0, 12.0)),
    f.NAMES: st.lists(
        st.text(_LETTERS, min_size=1, max_size=5).filter(lambda t: ";" not in t),
        min_size=1,
        max_size=3,
    ).map(tuple),
    f.GEOMETRY: st.lists(
        st.tuples(_inside(-1e7, 1e7), _inside(-1e7, 1e7)), min_size=1, max_size=4, unique=True
    ).map(tuple),
    f.STANDING: st.dictionaries(texts(1), _STANDING, min_size=1, max_size=2),
}


def _value(column: Field) -> st.SearchStrategy[Any]:
    if column.is_quantity:
        low = column.low if column.low is not None else (column.above or 0.0) + 1e-6
        return _inside(low, column.high if column.high is not None else 1e6)
    if column.kind == f.CHOICE and column.choices is not None:
        return st.sampled_from(column.choices)
    if column.kind == f.TEXT and column.required:  # ids are read without doubled blanks
        return texts(1).map(tidy)
    if column.kind == f.STRUCTURE:
        return _STRUCTURES[column.attribute]
    return _PLAIN[column.kind]


@st.composite
def _values(draw: st.DrawFn, kind: str) -> dict[str, Any]:
    found = {}
    for column in TABLES[kind]:
        if column.required or draw(st.booleans()):
            found[column.attribute] = draw(_value(column))
    if kind == "surveys":
        sizes = [name for name in MEASURES if name in found]
        for name in sizes[1:]:
            del found[name]
    return found


def _consistent(kind: str, record: Any) -> Any:
    """The record without what rows are refused for together."""
    if kind == "laterals":
        return replace(record, cleanout_distance=None, lined_length=None)
    if kind == "segments":
        return replace(record, to_manhole=record.from_manhole + "-2")
    return record


def _record(kind: str, values: dict[str, Any], number: int) -> Any:
    if kind == "surveys":
        return survey_of([survey_row(values)], "f")
    record = _consistent(kind, BUILDERS[kind](values))
    name = "premises" if kind == "contacts" else "lateral" if kind == "measurements" else "key"
    changes: dict[str, Any] = {name: f"{getattr(record, name)}-{number}"}
    if kind == "premises":
        changes["address"] = f"{record.address} {number}"
    if kind == "laterals":
        changes["tap_distance"] = float(number) + 0.1
    return replace(record, **changes)


def records(kind: str) -> st.SearchStrategy[list[Any]]:
    rows = st.lists(_values(kind), min_size=1, max_size=4)
    if kind == "surveys":
        rows = st.lists(_values(kind), min_size=1, max_size=1)
    return rows.map(lambda every: [_record(kind, v, i) for i, v in enumerate(every)])


def assert_same_kinds() -> None:
    """Every quantity of a field list is a kind of number known to the program."""
    for columns in TABLES.values():
        for column in columns:
            if column.is_quantity and column.kind not in KINDS:
                raise AssertionError(column.name)
