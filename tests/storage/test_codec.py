"""Records to text and back: every kind, exactly."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass, replace
from enum import Enum
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.errors import InputError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.storage.codec import _encoded, decode, encode, sha256
from drainwright.storage.exact_text import NotPlainError, writer_of
from drainwright.storage.kinds import KINDS
from tests.storage.samples import ONE_OF_EACH, lateral, project, work_sheet

PLAIN: dict[Any, st.SearchStrategy[Any]] = {
    str: st.text(max_size=4),
    bool: st.booleans(),
    int: st.integers(-(2**53), 2**53),
    float: st.floats(allow_nan=False, allow_infinity=False),
    dt.date: st.dates(),
    dt.time: st.times().map(lambda time: time.replace(fold=0)),
    dt.datetime: st.datetimes(timezones=st.just(dt.UTC)),
    type(None): st.none(),
}


def anything(kind: Any) -> st.SearchStrategy[Any]:
    """Every value a field of this type can hold."""
    if kind in PLAIN:
        return PLAIN[kind]
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (types.UnionType, typing.Union):
        return st.one_of([anything(one) for one in inner])
    if origin is tuple and inner[-1] is ...:
        return st.lists(anything(inner[0]), max_size=2).map(tuple)
    if origin is tuple:
        return st.tuples(*map(anything, inner))
    if origin in (dict, Mapping):
        return st.dictionaries(anything(inner[0]), anything(inner[1]), max_size=2)
    if is_dataclass(kind):
        hints, make = get_type_hints(kind), typing.cast("Callable[..., Any]", kind)
        return st.builds(make, **{one.name: anything(hints[one.name]) for one in fields(kind)})
    assert issubclass(kind, Enum), kind
    return st.sampled_from(kind)


@pytest.mark.parametrize("name", KINDS)
def test_every_record_comes_back_exactly(name: str) -> None:
    kind: Any = KINDS[name].record

    @settings(max_examples={"work_sheet": 10, "survey": 25}.get(name, 50))
    @given(anything(kind))
    def check(record: Any) -> None:
        text = encode(record)
        back = decode(kind, text)
        assert back == record
        assert encode(back) == text  # tells −0.0 from 0.0, which == does not

    check()


@pytest.mark.parametrize("record", ONE_OF_EACH, ids=lambda record: type(record).__name__)
def test_the_text_is_plain_json_without_empty_fields(record: Any) -> None:
    text = encode(record)
    told = json.loads(text)
    assert text == json.dumps(told, ensure_ascii=False, separators=(",", ":"))
    assert sha256(text) == hashlib.sha256(text.encode("utf-8")).hexdigest()
    optional = {one.name for one in fields(record) if one.default in (None, "", ())}
    assert all(told[name] not in (None, "", []) for name in optional & set(told))


def test_the_order_of_fields_is_that_of_the_class() -> None:
    told = json.loads(encode(project(elevation=3.0, town="Oakton")))
    assert list(told) == [one.name for one in fields(Project) if one.name in told]
    assert told["zone"] == "America/Chicago"  # a default that is no emptiness is written out


def test_times_are_written_in_utc() -> None:
    told = json.loads(encode(work_sheet(lateral("L-1"))))
    assert told["issued_at"] == "2026-05-04T12:00:00+00:00"


@pytest.mark.parametrize(
    "text",
    [
        '{"key":"L-1","segment":"S","tap_distance":1.0,"invented":1}',
        '{"key":"L-1","segment":"S"}',
        '{"key":"L-1","segment":"S","tap_distance":"far"}',
        '{"key":"L-1","segment":"S","tap_distance":1.0,"tap_kind":"invented"}',
        '{"key":"L-1",',
        "",
    ],
)
def test_a_text_that_does_not_fit_is_refused_not_mended(text: str) -> None:
    with pytest.raises(StorageError, match="newer drainwright") as caught:
        decode(Lateral, text)
    assert caught.value.__cause__ is not None


@pytest.mark.parametrize("name", KINDS)
def test_the_quick_way_and_the_careful_way_write_the_same(name: str) -> None:
    kind: Any = KINDS[name].record

    @settings(max_examples={"work_sheet": 5}.get(name, 20))
    @given(anything(kind))
    def check(record: Any) -> None:
        assert writer_of(kind)(record) == _encoded(kind, record)

    check()


@pytest.mark.parametrize(
    "odd",
    [
        {"tap_distance": True},
        {"tap_distance": 2**60},
        {"address": None},
        {"material": ()},
        {"premises": ["a list"]},
        {"spans": ({"start": 1.0},)},
        {"standing": types.MappingProxyType({})},
        {"tap_kind": "wye"},
        {"cleanout_distance": float("nan")},
    ],
    ids=str,
)
def test_what_is_not_plain_takes_the_careful_way(odd: dict[str, Any]) -> None:
    with pytest.raises(NotPlainError):
        writer_of(Lateral)(replace(lateral("L-1"), **odd))


def test_text_that_is_no_unicode_is_refused() -> None:
    with pytest.raises(InputError, match="can't be stored"):
        encode(lateral("L-1", address="\ud800"))
