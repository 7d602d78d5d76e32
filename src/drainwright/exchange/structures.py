"""Cells that hold more than one value: steps, capacities, distances, geometry, standings.

Each can be typed in words; what words can't hold without loss is JSON.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Mapping
from dataclasses import fields as record_fields
from typing import Any, cast

from drainwright.errors import Fault, InputError
from drainwright.exchange.fields import GEOMETRY, Field, fold
from drainwright.records.project import Point
from drainwright.records.standing import Knowledge, Standing
from drainwright.units import KINDS, parse_in

_NUMBER_WITH_UNIT = re.compile(
    r"\s*([-+]?\d[\d.,/]*\s*[^\d\s,;:/+-][^\s,;:]*|[-+]?\d[\d.]*)[\s,:x×]*"
)
_WKT = re.compile(
    r"^\s*(?:srid=\d+;)?\s*(multi)?(linestring|point)\s*z?m?\s*"
    r"\(([-+\d.eE,\s()]+)\)\s*$",
    re.IGNORECASE,
)
_KNOWN = {word.value: word for word in Knowledge} | {
    "memory": Knowledge.MEMORY,
    "estimated": Knowledge.ASSUMED,
    "estimate": Knowledge.ASSUMED,
    "assumption": Knowledge.ASSUMED,
    "surveyed": Knowledge.MEASURED,
    "field": Knowledge.MEASURED,
    "manufacturer": Knowledge.MAKER,
    "data sheet": Knowledge.MAKER,
}


def read_structure(column: Field, text: str, unit: str) -> Any:
    """The value of a structured cell; raises `InputError` without a place."""
    if text[:1] in "[{" and column.kind != GEOMETRY:
        return _from_json(column, text)
    if column.kind == GEOMETRY:
        return _geometry(column, text)
    if not column.parts:
        raise _fault(column, f"“{text[:60]}” is not JSON, which this column needs", text)
    items = [part for part in re.split(r"[;\n]", text) if part.strip()]
    if column.parts == ("length",) and len(items) == 1 and unit:
        items = items[0].split(",")
    read = [_item(column, item, unit) for item in items]
    if column.parts == ("length",):
        return tuple(numbers[0] for numbers in read)
    kind = column.structure.__args__[0]
    names = [entry.name for entry in record_fields(kind)]
    return tuple(kind(**dict(zip(names, numbers, strict=False))) for numbers in read)


def _item(column: Field, item: str, unit: str) -> list[float]:
    found = [match for match in _NUMBER_WITH_UNIT.findall(item) if match.strip()]
    rest = _NUMBER_WITH_UNIT.sub("", item).strip()
    if len(found) != len(column.parts) or rest not in ("", "@", "at"):
        words = f"“{item.strip()[:60]}” is not {' and '.join(column.parts)} with their units, "
        words += f"such as {column.example or '12.5 ft; 18 ft'}"
        raise _fault(column, words, item)
    return [
        parse_in(text, kind, unit if kind == "length" and len(column.parts) == 1 else "",
                 column.name)
        for text, kind in zip(found, column.parts, strict=True)
    ]  # fmt: skip


def _fault(column: Field, words: str, value: str) -> InputError:
    return InputError(Fault(column.name, words, value[:200]))


def _from_json(column: Field, text: str) -> Any:
    from pydantic import TypeAdapter, ValidationError

    try:
        # the constructors of frozen dataclasses check nothing by themselves
        return TypeAdapter(column.structure).validate_json(text)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"])
        words = f"is not what this column holds: {place} {first['msg']}".replace("  ", " ")
        raise _fault(column, words, text) from error


def write_structure(column: Field, value: Any) -> str:
    """The value as text that reads back the same: in words where they suffice, else JSON."""
    if column.kind == GEOMETRY:
        points = ", ".join(f"{x!r} {y!r}" for x, y in value)
        return f"LINESTRING ({points})" if len(value) > 1 else f"POINT ({points})"
    if column.parts and value:
        words = "; ".join(_words(column, item) for item in value)
        try:
            if read_structure(column, words, "") == value:
                return words
        except InputError:
            pass
    from pydantic import TypeAdapter

    return TypeAdapter(column.structure).dump_json(value).decode("utf-8")


def _words(column: Field, item: Any) -> str:
    if column.parts == ("length",):
        numbers = [item]
    else:
        numbers = [getattr(item, entry.name) for entry in record_fields(item)]
    pairs = zip(numbers, column.parts, strict=False)
    return " ".join(f"{number!r} {KINDS[kind].si}" for number, kind in pairs)


# ---------------------------------------------------------------- geometry


def _geometry(column: Field, text: str) -> tuple[Point, ...]:
    match = _WKT.match(text)
    try:
        if match is not None:
            parts = re.findall(r"[^()]+", match[3])
            lines = [
                [[float(number) for number in point.split()] for point in part.split(",")]
                for part in parts
                if part.strip(" ,")
            ]
        else:
            lines = _shape(json.loads(text))
        return _joined(lines)
    except (ValueError, TypeError, IndexError, KeyError, RecursionError, OverflowError) as error:
        words = "is not a line or point as WKT or GeoJSON"
        raise _fault(column, words, text) from error


def _shape(shape: Any) -> list[list[list[float]]]:
    kind, coordinates = shape["type"], shape["coordinates"]
    if kind == "Point":
        return [[coordinates]]
    if kind == "LineString":
        return [coordinates]
    if kind == "MultiLineString":
        return list(coordinates)
    raise ValueError(kind)


def _joined(lines: list[list[list[float]]]) -> tuple[Point, ...]:
    """The parts of a line in one: each turned so that it begins where the last ended."""
    points: list[Point] = []
    for line in lines:
        part = [(float(point[0]), float(point[1])) for point in line]
        if any(number - number != 0 for point in part for number in point):
            raise ValueError("not finite")
        if points and part and _far(points[-1], part[-1]) < _far(points[-1], part[0]):
            part.reverse()
        points += [point for point in part if not points or point != points[-1]]
    return tuple(points)


def _far(one: Point, other: Point) -> float:
    return float(abs(one[0] - other[0]) + abs(one[1] - other[1]))


# ---------------------------------------------------------------- standing


def read_standing(column: Field, text: str, names: list[str]) -> dict[str, Standing]:
    """How the values `names` are known: one word for all of them, or JSON by name."""
    if text.startswith("{"):
        return cast("dict[str, Standing]", _from_json(_with(column), text))
    word, _, by = text.partition(" by ")
    on: dt.date | None = None
    by, _, day = by.partition(" on ")
    known = _KNOWN.get(fold(word))
    if known is None:
        words = f"“{text[:60]}” is none of {', '.join(Knowledge)}"
        raise _fault(column, words, text)
    if day.strip():
        try:
            on = dt.date.fromisoformat(day.strip())
        except ValueError as error:
            raise _fault(column, f"“{day.strip()[:20]}” is not a date", text) from error
    return {name: Standing(known, by.strip(), on) for name in names}


def write_standing(column: Field, value: Mapping[str, Standing]) -> str:
    """Standings by name, as JSON."""
    from pydantic import TypeAdapter

    return TypeAdapter(_with(column).structure).dump_json(dict(value)).decode("utf-8")


def _with(column: Field) -> Field:
    return Field(column.name, column.attribute, column.kind, structure=dict[str, Standing])
