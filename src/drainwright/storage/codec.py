"""Records to JSON text and back, exactly.

The text is stored verbatim and hashed, so that it is made by one rule: fields in the order
of their class, mappings in their own order, no blanks, floats in their shortest exact form,
times in UTC. A field that is empty (None, "", no entries) and empty by default is left out:
a survey's forty observations would be mostly empty fields otherwise.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from functools import cache
from operator import attrgetter
from typing import TYPE_CHECKING, Any, TypeVar

from drainwright.errors import Fault, InputError, StorageError
from drainwright.storage.exact_text import NotPlainError, is_empty, writer_of

if TYPE_CHECKING:
    from pydantic import TypeAdapter

T = TypeVar("T")


def encode(record: Any) -> str:
    """The record's JSON text; `InputError` for one that would not come back the same."""
    kind: Any = type(record)
    try:
        text = writer_of(kind)(record)
        text.encode()
    except (NotPlainError, UnicodeEncodeError):
        return _encoded(kind, record)
    return text


def _encoded(kind: Any, record: Any) -> str:
    """The same text by the careful way: made, read back and compared."""
    name = kind.__name__
    try:
        text = json.dumps(
            record, default=_plain, ensure_ascii=False, allow_nan=False, separators=(",", ":")
        )
        text.encode()
    except (ValueError, TypeError) as error:
        raise InputError(Fault(name, f"can't be stored: {error}")) from error
    try:
        back = decode(kind, text)
    except StorageError as error:
        raise InputError(Fault(name, f"can't be stored: {error.__cause__}")) from error
    if back != record:
        names = (one.name for one in _fields(kind))
        odd = [one for one in names if getattr(back, one) != getattr(record, one)]
        raise InputError(
            Fault(name, f"can't be stored: {', '.join(odd)} would come back as something else")
        )
    return text


def decode(kind: type[T], text: str) -> T:
    """The record of a stored text; `StorageError` for a text that does not fit its class."""
    from pydantic import ValidationError

    asked: Any = kind
    adapter: TypeAdapter[tuple[T]] = _adapter(asked)
    try:
        (record,) = adapter.validate_json(f"[{text}]")
    except ValidationError as error:
        message = (
            f"a stored {kind.__name__} does not fit this program;"
            " the file is damaged or was written by a newer drainwright"
        )
        raise StorageError(message) from error
    return record


def sha256(text: str) -> str:
    """The hash of a stored text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _adapter(kind: Any) -> Any:
    # A configuration reaches plain dataclasses only through a type around them. An unknown
    # field must not be dropped in silence: the next put would lose it.
    from pydantic import ConfigDict, TypeAdapter

    return TypeAdapter(tuple[kind], config=ConfigDict(extra="forbid"))


@cache
def _fields(kind: Any) -> tuple[Field[Any], ...]:
    return fields(kind)


@cache
def _kept(kind: Any) -> tuple[tuple[str, bool], ...]:
    """Each field's name, and whether it may be left out when empty."""
    return tuple((one.name, is_empty(_default(one))) for one in _fields(kind))


def _default(one: Field[Any]) -> object:
    if one.default_factory is not MISSING:
        return one.default_factory()
    return one.default


_NUMBERS = (bool, int, float)  # 0 and False say something, "" and () do not


def _plain(value: Any) -> Any:
    """What JSON does not know by itself; text, numbers, tuples and dicts it takes as they are."""
    if is_dataclass(value):
        kind: Any = type(value)
        taken = _getter(kind)(value)
        return {
            name: one
            for (name, drop), one in zip(_kept(kind), taken, strict=True)
            if one or not drop or isinstance(one, _NUMBERS)
        }
    if isinstance(value, Mapping):
        return dict(value)
    if isinstance(value, dt.datetime):
        if value.tzinfo is None:
            raise ValueError(f"the time {value.isoformat()} has no zone")
        return value.astimezone(dt.UTC).isoformat()
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    raise TypeError(f"a {type(value).__name__} has no place in a document")


@cache
def _getter(kind: Any) -> Callable[[Any], tuple[Any, ...]]:
    """Takes all fields of a record at once."""
    names = [name for name, _ in _kept(kind)]
    if len(names) == 1:
        return lambda record: (getattr(record, names[0]),)
    return attrgetter(*names)
