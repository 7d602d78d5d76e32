"""Columns of a CSV file that a calculator reads: any order, any delimiter, headers with units."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping

from drainwright.operations.calculators.base import Inputs

_HEADER = re.compile(r"^\s*(?P<name>.*?)\s*(?:[\[(](?P<unit>[^\])]*)[\])]|,\s*(?P<other>\S+))?\s*$")


def header_parts(cell: str) -> tuple[str, str]:
    """Name and unit of a header such as `Load [N]`, `load (lbf)` or `load, N`."""
    found = _HEADER.match(cell)
    if found is None:
        return cell.strip().lower(), ""
    return found["name"].strip().lower(), (found["unit"] or found["other"] or "").strip()


def read_rows(inputs: Inputs, key: str) -> tuple[list[str], list[list[str]]]:
    """Header and rows of the CSV file named by `key`; faults are added to the inputs."""
    name = inputs.text(key)
    if not name:
        return [], []
    if inputs.folder is None:
        inputs.fault(key, "files can't be read here; use the command line", name)
        return [], []
    try:
        text = (inputs.folder / name).read_text("utf-8-sig")
    except (OSError, ValueError) as error:
        inputs.fault(key, f"“{name}” can't be read: {type(error).__name__}", name)
        return [], []
    first = text.split("\n", 1)[0]
    delimiter = max((",", ";", "\t"), key=first.count)
    if delimiter == "," and re.search(r"[;\t]", first):
        delimiter = ";" if ";" in first else "\t"
    try:
        rows = [row for row in csv.reader(text.splitlines(), delimiter=delimiter) if any(row)]
    except csv.Error as error:
        inputs.fault(key, f"“{name}” is no table: {error}", name)
        return [], []
    if len(rows) < 2:
        inputs.fault(key, f"“{name}” holds no rows under a header", name)
        return [], []
    if delimiter != ",":
        rows[1:] = [[re.sub(r"^(\s*[-+]?\d*),(\d+)", r"\1.\2", c) for c in row] for row in rows[1:]]
    return rows[0], rows[1:]


def number_column(
    inputs: Inputs, key: str, rows: list[list[str]], place: int, name: str
) -> list[float]:
    """The numbers of one column; a fault for each cell that holds none."""
    values = []
    for number, row in enumerate(rows, 2):
        cell = row[place].strip() if place < len(row) else ""
        try:
            value = float(cell)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            inputs.fault(key, f"row {number}, column {name}: “{cell}” is not a number", cell)
        values.append(value)
    return values


def find(header: list[str], names: Mapping[str, tuple[str, ...]]) -> dict[str, int]:
    """Places of the wanted columns by their names, each under any of its words."""
    found: dict[str, int] = {}
    for place, cell in enumerate(header):
        title = header_parts(cell)[0]
        for wanted, words in names.items():
            if wanted not in found and any(word in title.split() for word in words):
                found[wanted] = place
                break
    return found
