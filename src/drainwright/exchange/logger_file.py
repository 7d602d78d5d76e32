"""A logger's file as a table: times in UTC and numbers by column, each with its row.

The delimiter, the header, a row of units and the form of dates and numbers are found; what
can't be read is a fault with its row. A sensor that reads open is not a fault of the file.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from drainwright.errors import Fault
from drainwright.exchange.forms import decode
from drainwright.exchange.logger_columns import (
    OPEN,
    OPEN_NUMBERS,
    TimeColumns,
    find_times,
    unit_of,
)
from drainwright.exchange.logger_times import (
    TimeHabits,
    Times,
    elapsed_unit,
    is_clock,
    is_date,
    read_elapsed,
    read_moments,
)

_DELIMITERS = (",", ";", "\t", "|")
_NUMBER = re.compile(r"^[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?$")
_STARTED = re.compile(r"\b(start(?:ed)?|begin|first sample)\b", re.IGNORECASE)
MOST_FAULTS = 50


@dataclass(slots=True)
class Column:
    """One column of numbers; None where the sensor was open or the cell empty."""

    header: str
    unit: str
    values: list[float | None] = field(default_factory=list)
    open_rows: list[int] = field(default_factory=list)
    """Rows in which the sensor read open."""


@dataclass(slots=True)
class LoggerTable:
    """A logger's file, read; nothing of it is usable where there are faults."""

    file: str
    moments: list[dt.datetime] = field(default_factory=list)
    rows: list[int] = field(default_factory=list)
    columns: list[Column] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)


def read_logger(data: bytes, file: str, habits: TimeHabits) -> LoggerTable:
    """Take a logger's file apart."""
    table = LoggerTable(file)
    text, encoding = decode(data)
    if encoding not in ("utf-8", "utf-8-sig"):
        table.notices.append(Fault("encoding", f"the file is not UTF-8; it was read as {encoding}"))
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not text.strip():
        table.faults.append(Fault("file", "is empty"))
        return _placed(table)
    delimiter = _delimiter(lines)
    rows = _rows(lines, delimiter)
    first = _first_data(rows)
    if first is None:
        table.faults.append(Fault("file", "holds no row with a time and numbers"))
        return _placed(table)
    header, units = _head(rows, first)
    body = [(number, row) for number, row in rows[first:] if any(cell.strip() for cell in row)]
    _cut_last(body, table)
    times = find_times(header, [row for _, row in body])
    if times is None:
        words = "no column holds a time: a date, a time of day, or an elapsed time by its header"
        table.faults.append(Fault("time", words))
        return _placed(table)
    started = _started(rows[:first], habits) or habits.start
    moments = _moments(times, header, body, habits, started)
    table.faults += moments.faults
    table.notices += moments.notices
    _fill(table, (header, units), body, times, moments.moments)
    return _placed(table)


def _placed(table: LoggerTable) -> LoggerTable:
    hidden = len(table.faults) - MOST_FAULTS
    if hidden > 0:
        table.faults = table.faults[:MOST_FAULTS]
        table.faults.append(Fault("file", f"has {hidden} more faults"))
    table.faults = [one.placed(file=table.file) for one in table.faults]
    table.notices = [one.placed(file=table.file) for one in table.notices]
    return table


def _delimiter(lines: Sequence[str]) -> str:
    """The delimiter that takes most lines into the same number of parts; else blanks."""
    sample = [line for line in lines[:200] if line.strip()]
    best, score = "", (0, 0)
    for delimiter in _DELIMITERS:
        widths = [line.count(delimiter) + 1 for line in sample if delimiter in line]
        if not widths:
            continue
        usual = max(set(widths), key=widths.count)
        found = (widths.count(usual), usual)
        if delimiter == "," and ";" in "".join(sample) and best == ";":
            continue
        if found > score:
            best, score = delimiter, found
    if delimiter_is_decimal(sample, best):
        others = [d for d in (";", "\t") if sum(d in line for line in sample) > len(sample) / 2]
        best = others[0] if others else best
    return best if score[0] >= 2 else " "


def delimiter_is_decimal(sample: Sequence[str], best: str) -> bool:
    """Whether the commas are decimal commas: another delimiter stands between them."""
    return best == "," and sum(";" in line or "\t" in line for line in sample) > len(sample) / 2


def _rows(lines: Sequence[str], delimiter: str) -> list[tuple[int, list[str]]]:
    if delimiter == " ":
        return [(n, re.split(r"\s{2,}|\t| ", line.strip())) for n, line in enumerate(lines, 1)]
    found = []
    for number, line in enumerate(lines, 1):
        try:
            cells = next(csv.reader(io.StringIO(line), delimiter=delimiter), [])
        except csv.Error:
            cells = line.split(delimiter)
        found.append((number, [cell.strip() for cell in cells]))
    return found


def _is_data(row: Sequence[str]) -> bool:
    """A row of readings: a time, or at least two plain numbers and hardly any words."""
    filled = [cell for cell in row if cell]
    numbers = sum(bool(_NUMBER.match(cell)) or cell.casefold() in OPEN for cell in filled)
    timed = any(is_date(cell) or is_clock(cell) for cell in filled)
    others = len(filled) - numbers
    return (timed and numbers >= 1) or (numbers >= 2 and others == 0)


def _first_data(rows: Sequence[tuple[int, list[str]]]) -> int | None:
    """Index of the first row of readings that another one follows."""
    for at in range(len(rows) - 1):
        if _is_data(rows[at][1]) and any(_is_data(row) for _, row in rows[at + 1 : at + 4]):
            return at
    return None


def _head(rows: Sequence[tuple[int, list[str]]], first: int) -> tuple[list[str], list[str]]:
    """The header above the readings, and the units in a row below it or within it."""
    width = len(rows[first][1])
    above = [row for _, row in rows[:first] if any(row)]
    units = [""] * width
    if len(above) > 1 and all(unit_of(cell) and len(cell) <= 6 for cell in above[-1] if cell):
        units = [unit_of(cell) for cell in above.pop()]
    if not above or sum(bool(cell) for cell in above[-1]) < max(width - 1, 1):
        return [f"column {n}" for n in range(1, width + 1)], [*units, *([""] * width)][:width]
    header = [*above[-1], *([""] * width)][:width]
    units = [*units, *([""] * width)][:width]
    return header, [unit or unit_of(text) for unit, text in zip(units, header, strict=True)]


def _cut_last(body: list[tuple[int, list[str]]], table: LoggerTable) -> None:
    """A last row that breaks off was being written when the file was taken; it is left out."""
    if len(body) > 2 and len(body[-1][1]) < len(body[-2][1]):
        number, _ = body.pop()
        table.notices.append(Fault("row", "breaks off and was left out", row=number))


def _started(preamble: Sequence[tuple[int, list[str]]], habits: TimeHabits) -> dt.datetime | None:
    """The start that a line above the header names."""
    for number, row in preamble:
        line = " ".join(cell for cell in row if cell)
        if not _STARTED.search(line):
            continue
        digit = re.search(r"\d", line)
        text = line[digit.start() :] if digit else ""
        found = read_moments([(text.strip(), "")], [number], habits).moments
        if found and found[0] is not None:
            return found[0]
    return None


def _moments(
    times: TimeColumns,
    header: Sequence[str],
    body: Sequence[tuple[int, list[str]]],
    habits: TimeHabits,
    started: dt.datetime | None,
) -> Times:
    rows = [number for number, _ in body]
    if times.date is not None:
        cells = [(_cell(row, times.date), _cell(row, times.clock)) for _, row in body]
        return read_moments(cells, rows, habits)
    spans = [_cell(row, times.elapsed) for _, row in body]
    unit = elapsed_unit(header[times.elapsed or 0])
    return read_elapsed(spans, rows, unit, started)


def _cell(row: Sequence[str], at: int | None) -> str:
    return row[at] if at is not None and at < len(row) else ""


def _fill(
    table: LoggerTable,
    head: tuple[list[str], list[str]],
    body: Sequence[tuple[int, list[str]]],
    times: TimeColumns,
    moments: Sequence[dt.datetime | None],
) -> None:
    """The numbers of every column that is no time, row by row."""
    header, units = head
    places = [
        at
        for at in range(len(header))
        if at not in times.used and (header[at] or any(_cell(row, at) for _, row in body[:20]))
    ]
    places = [at for at in places if not _counts_rows(header[at], [_cell(r, at) for _, r in body])]
    columns = {at: Column(header[at] or f"column {at + 1}", units[at]) for at in places}
    for (number, row), moment in zip(body, moments, strict=True):
        if len(row) < max(places, default=0) + 1:
            words = f"has {len(row)} cells of {len(header)}"
            table.faults.append(Fault("row", words, ",".join(row)[:60], row=number))
            continue
        if moment is None:
            continue
        table.moments.append(moment)
        table.rows.append(number)
        for at, column in columns.items():
            column.values.append(_number(row[at], column, number, table))
    table.columns = list(columns.values())


def _counts_rows(header: str, cells: Sequence[str]) -> bool:
    """Whether a column only numbers the readings."""
    if header.casefold().strip(" .#") not in ("", "no", "nr", "record", "sample", "index", "scan"):
        return False
    try:
        numbers = [int(cell) for cell in cells[:50]]
    except ValueError:
        return False
    return all(b - a == 1 for a, b in pairwise(numbers))


def _number(text: str, column: Column, row: int, table: LoggerTable) -> float | None:
    plain = text.strip()
    if not plain:
        return None
    if plain.casefold() in OPEN:
        column.open_rows.append(row)
        return None
    if not _NUMBER.match(plain):
        table.faults.append(
            Fault(column.header, "is not a number", plain[:40], row=row, column=column.header)
        )
        return None
    value = float(plain.replace(",", "."))
    if value in OPEN_NUMBERS:
        column.open_rows.append(row)
        return None
    return value
