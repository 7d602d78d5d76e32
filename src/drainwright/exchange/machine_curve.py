"""The raw CSV of a bending machine: columns in any order, any sign, units in the header.

Nothing is corrected here but units; what is told of the columns must stand in the file.
"""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.units import parse_unit

_NAMES = {
    "deflection": (
        "deflection", "displacement", "extension", "travel", "stroke", "crosshead", "position",
    ),
    "load": ("load", "force"),
}  # fmt: skip
_KINDS = {"deflection": "small_length", "load": "force"}
_BARE = ("N", "kN", "lbf", "mm", "cm", "m", "in")
_UNIT = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]|[,/]\s*([A-Za-z]+)\s*$")


@dataclass(frozen=True, slots=True)
class MachineCurve:
    """What the machine wrote, in SI: deflection [m] and load [N], in the file's order."""

    deflection: tuple[float, ...]
    load: tuple[float, ...]
    units: tuple[str, str]
    """As the file names them: of the deflection, of the load."""


def read_machine_curve(content: bytes, file: str) -> MachineCurve:
    """The curve in a machine's CSV; `InputError` telling what is missing or can't be read."""
    rows = _rows(_text(content, file), file)
    at, places = _header(rows, file)
    units, first = _units(rows, at, places, file)
    columns: dict[str, list[float]] = {name: [] for name in _NAMES}
    for number, row in enumerate(rows[first:], first + 1):
        cells = [row[place].strip() if place < len(row) else "" for place in places.values()]
        if not any(cells):
            continue
        for name, cell in zip(places, cells, strict=True):
            columns[name].append(_number(cell, name, number, file) * units[name][1])
    told = (units["deflection"][0], units["load"][0])
    return MachineCurve(tuple(columns["deflection"]), tuple(columns["load"]), told)


def _text(content: bytes, file: str) -> str:
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise InputError(Fault("file", "is no text", file, file=file))


def _rows(text: str, file: str) -> list[list[str]]:
    """Cells, split where most of the lines agree; a comma may be a decimal sign."""
    for mark in (";", "\t", ","):
        rows = list(csv.reader(io.StringIO(text), delimiter=mark))
        wide = [row for row in rows if len(row) >= 2]
        if len(wide) >= 2 and any(_place(row, "load") is not None for row in wide):
            return rows
    message = "has no header with deflection and load"
    raise InputError(Fault("curve", message, text[:60], file=file))


def _place(row: Sequence[str], name: str) -> int | None:
    for place, cell in enumerate(row):
        words = re.sub(_UNIT, " ", cell).casefold()
        if any(word in words for word in _NAMES[name]):
            return place
    return None


def _header(rows: Sequence[Sequence[str]], file: str) -> tuple[int, dict[str, int]]:
    for at, row in enumerate(rows):
        places = {name: _place(row, name) for name in _NAMES}
        if None not in places.values() and len(set(places.values())) == 2:
            return at, {name: place for name, place in places.items() if place is not None}
    missing = [name for name in _NAMES if all(_place(row, name) is None for row in rows)]
    message = f"has no column {' and none of '.join(missing) or 'pair'} in its header"
    raise InputError(Fault("curve", message, file, file=file))


def _units(
    rows: Sequence[Sequence[str]], at: int, places: dict[str, int], file: str
) -> tuple[dict[str, tuple[str, float]], int]:
    """The unit of each column, in its header or in the row below it, and the first row of data."""
    found: dict[str, tuple[str, float]] = {}
    below = rows[at + 1] if at + 1 < len(rows) else []
    used_below = False
    for name, place in places.items():
        match = _UNIT.search(rows[at][place])
        unit = (match[1] or match[2]) if match else _last_word(rows[at][place])
        if not unit and place < len(below) and re.search("[A-Za-z]", below[place]):
            unit, used_below = below[place].strip(" []()"), True
        if not unit:
            raise InputError(
                Fault("curve", f"column {name} has no unit in its header", file, file=file)
            )
        try:
            found[name] = (unit, parse_unit(unit, _KINDS[name])[0])
        except InputError as error:
            message = f"column {name}: {error.faults[0].message}"
            raise InputError(Fault("curve", message, unit, file=file)) from error
    skips = used_below or (bool(below) and not _is_number(below[places["load"]]))
    return found, at + (2 if skips else 1)


def _last_word(cell: str) -> str:
    """A unit behind the name without any mark, such as “Load kN”."""
    words = cell.split()
    return words[-1] if len(words) > 1 and words[-1] in _BARE else ""


def _is_number(cell: str) -> bool:
    try:
        _plain(cell)
    except ValueError:
        return False
    return True


def _plain(cell: str) -> float:
    text = cell.strip().replace("−", "-").replace("\u00a0", "")
    if "," in text and "." not in text:
        text = text.replace(",", ".")
    return float(text.replace(",", ""))


def _number(cell: str, name: str, row: int, file: str) -> float:
    try:
        value = _plain(cell)
    except ValueError:
        message = "is no number"
        raise InputError(Fault(name, message, cell, file=file, row=row, column=name)) from None
    if not math.isfinite(value):
        raise InputError(Fault(name, "is no number", cell, file=file, row=row, column=name))
    return value
