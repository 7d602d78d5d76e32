"""Writers of JSON text prepared once for each class, for records that hold what their class says.

A record whose every value is exactly of its field's type comes back the same, so that nothing
has to be decoded to find out. Whatever is not plain (an int too long, a list for a tuple, a
number that is none) raises `NotPlainError`, and the codec takes its careful way.
"""

from __future__ import annotations

import datetime as dt
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from enum import Enum
from functools import cache
from json.encoder import encode_basestring
from math import isfinite
from operator import attrgetter
from typing import Any, get_args, get_origin, get_type_hints

Writer = Callable[[Any], str]
_LONGEST = 2**53


class NotPlainError(Exception):
    """The value has to take the careful way."""


@cache
def writer_of(kind: Any) -> Writer:
    """What writes a value of a class or another type of a field."""
    if kind in _SIMPLE:
        return _SIMPLE[kind]
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (types.UnionType, typing.Union):
        return _optional(inner)
    if origin is tuple and len(inner) == 2 and inner[1] is ...:
        return _sequence(writer_of(inner[0]))
    if origin is tuple and inner:
        return _fixed(tuple(map(writer_of, inner)))
    if origin in (dict, Mapping) and inner and inner[0] is str:
        return _mapping(writer_of(inner[1]))
    if isinstance(kind, type) and issubclass(kind, Enum):
        return _choice(kind)
    return _record(kind) if is_dataclass(kind) else _never


def _never(_: Any) -> str:
    raise NotPlainError


def _text(value: Any) -> str:
    if type(value) is not str:
        raise NotPlainError
    return encode_basestring(value)


def _float(value: Any) -> str:
    if type(value) is not float:
        return _int(value)  # 1 for 1.0
    if not isfinite(value):
        raise NotPlainError
    return float.__repr__(value)


def _int(value: Any) -> str:
    if type(value) is not int or not -_LONGEST <= value <= _LONGEST:
        raise NotPlainError
    return int.__repr__(value)


def _bool(value: Any) -> str:
    if value is True:
        return "true"
    if value is False:
        return "false"
    raise NotPlainError


def _none(value: Any) -> str:
    if value is not None:
        raise NotPlainError
    return "null"


def _day(value: Any) -> str:
    if type(value) is not dt.date:
        raise NotPlainError
    return f'"{value.isoformat()}"'


def _hour(value: Any) -> str:
    if type(value) is not dt.time or value.tzinfo is not None:
        raise NotPlainError
    return f'"{value.isoformat()}"'


def _moment(value: Any) -> str:
    if type(value) is not dt.datetime or value.tzinfo is not dt.UTC:
        raise NotPlainError
    return f'"{value.isoformat()}"'


_SIMPLE: dict[Any, Writer] = {
    str: _text,
    float: _float,
    int: _int,
    bool: _bool,
    type(None): _none,
    dt.date: _day,
    dt.time: _hour,
    dt.datetime: _moment,
}


def _optional(inner: tuple[Any, ...]) -> Writer:
    """One type or None, or plain types that JSON tells apart."""
    others = [one for one in inner if one is not type(None)]
    if len(others) == 1:
        write = writer_of(others[0])
        return lambda value: "null" if value is None else write(value)
    if not set(inner) <= {str, float, bool, type(None)}:
        return _never
    told: dict[Any, Writer] = {one: _SIMPLE[one] for one in inner}
    return lambda value: told.get(type(value), _never)(value)


def _choice(kind: type[Enum]) -> Writer:
    if not all(type(one.value) is str for one in kind):
        return _never
    told = {one: encode_basestring(one.value) for one in kind}

    def write(value: Any) -> str:
        if type(value) is not kind:
            raise NotPlainError
        return told[value]

    return write


def _sequence(one: Writer) -> Writer:
    def write(value: Any) -> str:
        if type(value) is not tuple:
            raise NotPlainError
        return "[" + ",".join(map(one, value)) + "]"

    return write


def _fixed(each: tuple[Writer, ...]) -> Writer:
    def write(value: Any) -> str:
        if type(value) is not tuple or len(value) != len(each):
            raise NotPlainError
        return "[" + ",".join(one(part) for one, part in zip(each, value, strict=True)) + "]"

    return write


def _mapping(one: Writer) -> Writer:
    def write(value: Any) -> str:
        if type(value) is not dict:
            raise NotPlainError
        return "{" + ",".join([f"{_text(name)}:{one(part)}" for name, part in value.items()]) + "}"

    return _texts if one is _text else write


def _texts(value: Any) -> str:
    """A mapping from text to text, as surveys hold by the thousand."""
    if type(value) is not dict or not {*map(type, value), *map(type, value.values())} <= _STRING:
        raise NotPlainError
    told = map(encode_basestring, value.values())
    names = map(encode_basestring, value)
    return "{" + ",".join(map(_COLON, zip(names, told, strict=True))) + "}"


_STRING = {str}
_COLON = ":".join


def _record(kind: Any) -> Writer:
    hints = get_type_hints(kind)
    plan = tuple(_field(one, hints[one.name]) for one in fields(kind))
    names = [one.name for one in fields(kind)]
    if len(names) < 2 or not all(one.init for one in fields(kind)):
        return _never
    values_of = attrgetter(*names)

    def write(record: Any) -> str:
        if type(record) is not kind:
            raise NotPlainError
        parts = []
        for (head, empty, put), value in zip(plan, values_of(record), strict=True):
            if value is empty:  # None, "" and () are one each
                continue
            if put is _text and type(value) is str and value:  # most are; saves a call
                parts.append(head + encode_basestring(value))
                continue
            if not value and empty is not _FILLED and type(value) not in _NUMBERS:
                # false and zero say something: only what is empty as its default is left out
                if value == empty and type(value) is type(empty):
                    continue
                raise NotPlainError
            parts.append(head + put(value))
        return "{" + ",".join(parts) + "}"

    return write


_FILLED = object()
"""The default of a field that is never left out."""
_NUMBERS = (bool, int, float)


def _field(one: Field[Any], hint: Any) -> tuple[str, object, Writer]:
    """How a field begins, the emptiness it is left out with, and what writes it."""
    default = one.default_factory() if one.default_factory is not MISSING else one.default
    empty = default if is_empty(default) else _FILLED
    return f"{encode_basestring(one.name)}:", empty, writer_of(hint)


def is_empty(value: object) -> bool:
    """Whether a default says nothing."""
    return value is None or (isinstance(value, str | tuple | Mapping) and not value)
