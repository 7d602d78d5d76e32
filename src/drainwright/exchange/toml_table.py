"""Reading TOML tables into records, with every fault and its place at once."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, fields
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from drainwright.errors import Fault, InputError
from drainwright.units import parse

T = TypeVar("T")
E = TypeVar("E", bound=StrEnum)
Reader = Callable[[Any], Any]


def read_toml(data: bytes, file: str) -> Mapping[str, Any]:
    """The tables of a TOML file; `InputError` where it is none."""
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError(Fault("file", f"is not TOML: {error}", file, file=file)) from error


def record_of(
    kind: type[T], readers: Mapping[str, Reader], given: Any, place: str, faults: list[Fault]
) -> T | None:
    """A record from one table; None, with faults told, where it can't be made.

    A field without a default must be there; a key nobody reads is a fault.
    """
    if not isinstance(given, Mapping):
        faults.append(Fault(place, "must be a table", str(given)[:60]))
        return None
    before, of = len(faults), f"{place}: " if place else ""
    parts: dict[str, Any] = {}
    known: Any = kind
    for one in fields(known):
        if one.name not in readers:
            continue
        if one.name in given:
            _read(parts, one.name, readers[one.name], given[one.name], (of, faults))
        elif one.default is MISSING and one.default_factory is MISSING:
            faults.append(Fault(f"{of}{one.name}", "is missing", ""))
    faults += [
        Fault(f"{of}{key}", "is not a key of this table", str(given[key])[:60])
        for key in sorted(given.keys() - readers.keys())
    ]
    return kind(**parts) if len(faults) == before else None


def _read(
    parts: dict[str, Any], name: str, of: Reader, value: Any, told: tuple[str, list[Fault]]
) -> None:
    of_place, faults = told
    try:
        parts[name] = of(value)
    except InputError as error:
        faults += [Fault(f"{of_place}{name}: {f.name}", f.message, f.value) for f in error.faults]
    except (ValueError, TypeError, KeyError) as error:
        words = str(error) or "cannot be read"
        faults.append(Fault(f"{of_place}{name}", words, str(value)[:60]))


def tables_of(top: Mapping[str, Any], name: str, faults: list[Fault]) -> Sequence[Any]:
    """The tables written as [[name]]; none, with a fault told, where it is something else."""
    given = top.get(name, [])
    if isinstance(given, list):
        return given
    faults.append(Fault(name, f"must be written as [[{name}]]", str(given)[:60]))
    return []


def text(value: Any) -> str:
    """Text that is not empty."""
    if not isinstance(value, str) or not value.strip():
        raise ValueError("must be text")
    return value.strip()


def yes_no(value: Any) -> bool:
    """True or false."""
    if not isinstance(value, bool):
        raise TypeError("must be true or false")
    return value


def whole(value: Any) -> int:
    """A whole number from 1."""
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise ValueError("must be a whole number from 1")
    return value


def number(value: Any) -> float:
    """A plain number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError("must be a number")
    return float(value)


def decimal(value: Any) -> str:
    """A decimal of 0 or more, kept as text."""
    try:
        found = Decimal(str(value))
    except InvalidOperation:
        raise ValueError("must be a number such as 12.5") from None
    if isinstance(value, bool) or not found.is_finite() or found < 0:
        raise ValueError("must be 0 or more")
    return str(found)


def share(value: Any) -> str:
    """A share such as “5 %” or 0.05, as a decimal of at most 1."""
    written = str(value).strip()
    found = Decimal(decimal(written.removesuffix("%").strip()))
    part = found / 100 if written.endswith("%") else found
    if part > 1:
        raise ValueError("must be at most 100 %")
    return str(part)


def digits(value: Any) -> int:
    """How many decimals."""
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 4:
        raise ValueError("must be a whole number from 0 to 4")
    return value


def minor_digits(top: Mapping[str, Any]) -> int:
    """Decimals of a file's money; 2 where they can't be read, which is told with its other keys."""
    try:
        return digits(top.get("minor_digits", 2))
    except ValueError:
        return 2


def money(decimals: int) -> Callable[[Any], int]:
    """An amount of money, in minor units of so many decimals."""

    def read(value: Any) -> int:
        minor = Decimal(decimal(value)).scaleb(decimals)
        if minor != minor.to_integral_value():
            raise ValueError(f"has more than {decimals} decimals")
        return int(minor)

    return read


def date(value: Any) -> dt.date:
    """A day."""
    if isinstance(value, dt.datetime) or not isinstance(value, dt.date):
        raise TypeError("must be a date such as 2026-11-18, without quotes")
    return value


def moment(zone: str) -> Callable[[Any], dt.datetime]:
    """A time; one without offset is on the project's own clock."""

    def read(value: Any) -> dt.datetime:
        if not isinstance(value, dt.datetime):
            raise TypeError("must be a time such as 2026-11-18T09:12:00, without quotes")
        local = value if value.tzinfo else value.replace(tzinfo=ZoneInfo(zone))
        return local.astimezone(dt.UTC)

    return read


def quantity(kind: str, name: str = "value") -> Callable[[Any], float]:
    """A number with its unit as text, such as “4 psi”; in SI."""

    def read(value: Any) -> float:
        return parse(text(value), kind, name)

    return read


def choice(of: type[E]) -> Callable[[Any], E]:
    """One of a few words."""

    def read(value: Any) -> E:
        try:
            return of(value)
        except ValueError:
            raise ValueError(f"must be one of {', '.join(of)}") from None

    return read


def each(kind: type[T], readers: Mapping[str, Reader]) -> Callable[[Any], tuple[T, ...]]:
    """A list of small tables."""

    def read(value: Any) -> tuple[T, ...]:
        if not isinstance(value, Sequence) or isinstance(value, str):
            raise TypeError("must be a list of tables")
        faults: list[Fault] = []
        found = [
            record_of(kind, readers, one, str(place), faults) for place, one in enumerate(value, 1)
        ]
        if faults:
            raise InputError(*faults)
        return tuple(one for one in found if one is not None)

    return read
