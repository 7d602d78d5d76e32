"""Records written as CSV or as a spreadsheet, in the form that is read, without loss."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Sequence
from enum import Enum
from typing import Any

from drainwright.errors import NotFoundError
from drainwright.exchange import fields as f
from drainwright.exchange.cells import OF_ONE
from drainwright.exchange.columns import TABLES
from drainwright.exchange.fields import Field
from drainwright.exchange.forms import Cell, Form, csv_of
from drainwright.exchange.structures import write_standing, write_structure
from drainwright.exchange.table_records import MeasuredLength, TableRecord, values_of
from drainwright.records.survey import Survey
from drainwright.units import KINDS, UnitSystem, from_si, to_si

_RUNS = re.compile(r"^'*[=+\-@\t\r]")


def table_rows(kind: str, records: Iterable[TableRecord], system: UnitSystem) -> list[list[Cell]]:
    """Header and rows; only the columns that hold something, required ones always."""
    if kind not in TABLES:
        raise NotFoundError(f"there is no table of “{kind}”; there are {', '.join(TABLES)}")
    rows = [values for record in records for values in values_of(kind, record)]
    columns = [
        column
        for column in TABLES[kind]
        if column.required or any(not _is_nothing(row.get(column.attribute)) for row in rows)
    ]
    header: list[Cell] = [column.title(system) for column in columns]
    writers = [(column.attribute, _writer(column, system)) for column in columns]
    return [
        header,
        *(
            [
                None if _is_nothing(value := row.get(attribute)) else write(value)
                for attribute, write in writers
            ]
            for row in rows
        ),
    ]


def _is_nothing(value: Any) -> bool:
    return value is None or value in ("", (), {})


def write_csv(
    kind: str, records: Iterable[TableRecord], system: UnitSystem, form: Form | None = None
) -> bytes:
    """Records as CSV; UTF-8 with comma and CRLF unless `form` says otherwise."""
    shape = form if form is not None and form.kind == "csv" else Form("csv", newline="\r\n")
    return csv_of(table_rows(kind, records, system), shape)


def write_xlsx(kind: str, records: Iterable[TableRecord], system: UnitSystem) -> bytes:
    """Records as a spreadsheet with one sheet; numbers are numbers, text is text."""
    from drainwright.exchange.workbook import xlsx_of

    return xlsx_of({kind: table_rows(kind, records, system)})


def _writer(column: Field, system: UnitSystem) -> Callable[[Any], Cell]:
    if column.is_quantity:
        unit = column.unit(system)
        return lambda value: quantity_cell(value, column.kind, unit)
    if column.kind in (f.STRUCTURE, f.GEOMETRY):
        return lambda value: safe(write_structure(column, value))
    if column.kind == f.STANDING:
        return lambda value: write_standing(column, value)
    if column.kind == f.NAMES:
        return lambda value: safe("; ".join(value))
    return _plain


def _plain(value: Any) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, str):
        return safe(value)
    if isinstance(value, dt.time):
        return value.isoformat("seconds" if value.second else "minutes")
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value if isinstance(value, int | float | dt.date) else safe(str(value))


def safe(text: str) -> str:
    """Text that a spreadsheet would run as a formula, behind an apostrophe; read back without."""
    return "'" + text if _RUNS.match(text) else text


def quantity_cell(value: float, kind: str, unit: str) -> Cell:
    """An SI value as a number in `unit` that reads back exactly, the shortest there is.

    Where no number in `unit` gives the same value, the cell is text in the SI unit.
    """
    if not unit:
        return _whole(value)
    shown = from_si(value, unit)
    for digits in (6, 10, 15, 16):  # a spreadsheet keeps 16
        number = float(f"{shown:.{digits}g}")
        if to_si(number, unit) == value:
            return _whole(number)
    si = KINDS[kind].si
    return f"{value!r} {si}" if si != "1" else f"{value!r}{OF_ONE}"


def _whole(number: float) -> float | int:
    return int(number) if number.is_integer() and abs(number) < 1e15 else number


def kind_of(record: TableRecord) -> str:
    """The table a record is written into."""
    if isinstance(record, Survey):
        return "surveys"
    if isinstance(record, MeasuredLength):
        return "measurements"
    names = {"MainSegment": "segments", "Premises": "premises"}
    name = type(record).__name__
    return names.get(name, name.lower() + "s")


def columns_of(kind: str, system: UnitSystem) -> Sequence[str]:
    """The headers of a table, in order."""
    return [column.title(system) for column in TABLES[kind]]
