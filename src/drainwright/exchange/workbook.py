"""Spreadsheet files as sheets of cells, and rows of cells as a spreadsheet file."""

from __future__ import annotations

import datetime as dt
import html
import io
import math
import re
import zipfile
from collections.abc import Mapping, Sequence
from typing import Any

from drainwright.errors import Fault
from drainwright.exchange.forms import Cell, Form, Opened, Sheet

MOST_CELLS = 20_000_000
MOST_BYTES = 400_000_000
_ROW = re.compile(rb'<row [^>]*?\br="(\d+)"')
_CELL = re.compile(rb'\br="([A-Z]{1,3})\d+"')
# a cell whose formula has an error, which the reader gives as an empty one
_ERROR = re.compile(rb'<(?:\w+:)?c\b([^>]*?\bt="e"[^>]*)>(.*?)</(?:\w+:)?c>', re.DOTALL)
_VALUE = re.compile(rb"<(?:\w+:)?v>([^<]*)</")
_PLACE = re.compile(rb'\br="([A-Z]{1,3})(\d+)"')
_TAG = re.compile(rb"<(?:\w+:)?(sheet|Relationship)\b([^>]*)>")
_ATTRIBUTE = re.compile(rb'([\w:]+)="([^"]*)"')


def open_workbook(data: bytes) -> Opened:
    """All visible sheets; values of formulas, dates as dates, merged cells filled downward."""
    opened = Opened(Form("xlsx"))
    too_large = _too_large(data)
    if too_large is not None:
        opened.faults.append(too_large)
        return opened
    from python_calamine import CalamineError, CalamineWorkbook, SheetVisibleEnum

    errors = _errors(data)
    try:
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        for about in book.sheets_metadata:
            if about.visible is SheetVisibleEnum.Visible:
                sheet = _sheet(book.get_sheet_by_name(about.name))
                _put_errors(sheet, errors.get(about.name, ()))
                opened.sheets.append(sheet)
            else:
                words = "the sheet is hidden; it was not read"
                opened.notices.append(Fault("sheet", words, about.name, sheet=about.name))
    except (CalamineError, OSError, ValueError, OverflowError, MemoryError) as error:
        opened.faults.append(Fault("file", f"is not a spreadsheet that can be read: {error}"))
    except BaseException as error:
        if type(error).__name__ != "PanicException":  # the reader's own crash on odd bytes
            raise
        opened.faults.append(Fault("file", "is not a spreadsheet that can be read"))
    if not opened.sheets and not opened.faults:
        opened.faults.append(Fault("file", "has no visible sheet"))
    return opened


def _too_large(data: bytes) -> Fault | None:
    """A cell far outside would make the reader fill memory with empty cells."""
    if data[:2] != b"PK":
        return None
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            if sum(part.file_size for part in parts) > MOST_BYTES:
                return Fault("file", "is too large to be read at once", low=0, high=MOST_BYTES)
            for part in parts:
                sheet = part.filename.startswith("xl/worksheets/")
                if sheet and _area(archive.read(part)) > MOST_CELLS:
                    words = "a cell lies far outside of the list; clear the unused rows and columns"
                    return Fault("sheet", words, part.filename)
    except (zipfile.BadZipFile, OSError, ValueError, RuntimeError, NotImplementedError) as error:
        return Fault("file", f"is not a spreadsheet that can be read: {error}")
    except Exception as error:  # noqa: BLE001  zlib and others on broken bytes
        return Fault("file", f"is not a spreadsheet that can be read: {error}")
    return None


_Errors = Sequence[tuple[int, int, str]]


def _errors(data: bytes) -> Mapping[str, _Errors]:
    """Row, column (from 0) and text of each cell that shows an error, by sheet."""
    if data[:2] != b"PK":
        return {}
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        found = {
            part.filename: told
            for part in archive.infolist()
            if part.filename.startswith("xl/worksheets/")
            and (told := _errors_in(archive.read(part)))
        }
        names = _sheet_names(archive) if found else {}
    return {names.get(part, part): told for part, told in found.items()}


def _errors_in(xml: bytes) -> _Errors:
    found = []
    for match in _ERROR.finditer(xml) if b't="e"' in xml else ():
        place, value = _PLACE.search(match[1]), _VALUE.search(match[2])
        if place is not None and int(place[2]) > 0:
            text = html.unescape(value[1].decode("utf-8", "replace")) if value else "#VALUE!"
            found.append((int(place[2]) - 1, _column_number(place[1]) - 1, text))
    return found


def _sheet_names(archive: zipfile.ZipFile) -> Mapping[str, str]:
    """The name of each sheet by the part that holds it."""
    parts: dict[str, str] = {}
    names: dict[str, str] = {}
    for file in ("xl/_rels/workbook.xml.rels", "xl/workbook.xml"):
        xml = archive.read(file) if file in archive.namelist() else b""
        for tag, inside in _TAG.findall(xml):
            told = {name.decode("utf-8", "replace").rpartition(":")[2].lower():
                    html.unescape(value.decode("utf-8", "replace"))
                    for name, value in _ATTRIBUTE.findall(inside)}  # fmt: skip
            if tag == b"Relationship":
                target = told.get("target", "")
                parts[told.get("id", "")] = target[1:] if target[:1] == "/" else f"xl/{target}"
            elif told.get("id", "") in parts:
                names[parts[told["id"]]] = told.get("name", "")
    return names


def _put_errors(sheet: Sheet, errors: _Errors) -> None:
    """Show the errors where they stand, so that each is told as a fault."""
    for row, column, text in errors:
        if row < len(sheet.rows):
            cells = sheet.rows[row]
            cells += [None] * (column + 1 - len(cells))
            cells[column] = text


def _area(xml: bytes) -> int:
    rows = max((int(number) for number in _ROW.findall(xml)), default=0)
    letters = set(_CELL.findall(xml))
    columns = max((_column_number(name) for name in letters), default=0)
    return rows * columns


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _sheet(sheet: Any) -> Sheet:
    rows: list[list[Cell]] = sheet.to_python(skip_empty_area=False)
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ():
        if top >= len(rows) or left >= len(rows[top]) or left != right:
            continue  # a merged title stays in its first cell
        for number in range(top + 1, min(bottom + 1, len(rows))):
            rows[number][left] = rows[top][left]
    return Sheet(sheet.name, rows, range(1, len(rows) + 1))


def xlsx_of(sheets: Mapping[str, Sequence[Sequence[Cell]]]) -> bytes:
    """Sheets of cells as a spreadsheet file; text is text, never a formula."""
    import xlsxwriter

    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, BOOK_OPTIONS)
    day = book.add_format({"num_format": "yyyy-mm-dd"})
    for name, rows in sheets.items():
        page = book.add_worksheet(sheet_name(name))
        for row, cells in enumerate(rows):
            for column, cell in enumerate(cells):
                write_cell(page, row, column, cell, day)
        _make_readable(page, rows)
    book.close()
    return buffer.getvalue()


def _make_readable(page: Any, rows: Sequence[Sequence[Cell]]) -> None:
    """Columns as wide as their texts, up to a limit; a table's head stays and can filter."""
    for column in range(max(map(len, rows), default=0)):
        texts = [str(cells[column]) for cells in rows if len(cells) > column and cells[column]]
        page.set_column(column, column, min(max(map(len, texts), default=8), 60) + 2)
    if rows and len(rows[0]) > 1:
        page.freeze_panes(1, 1)
        page.autofilter(0, 0, max(len(rows) - 1, 0), len(rows[0]) - 1)


BOOK_OPTIONS = {
    "in_memory": True,
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "strings_to_numbers": False,
    # the same rows give the same bytes
    "default_date_format": "yyyy-mm-dd",
}


def sheet_name(name: str) -> str:
    """A name that a spreadsheet accepts."""
    plain = re.sub(r"[\[\]:*?/\\]", " ", name).strip("' ")[:31]
    return plain or "Sheet1"


def write_cell(page: Any, row: int, column: int, cell: Cell, day: Any) -> None:
    """One cell with its own type."""
    if cell is None or cell == "":
        return
    if isinstance(cell, bool):
        page.write_boolean(row, column, cell)
    elif isinstance(cell, int | float):
        if math.isfinite(cell) and abs(cell) < 1e15 and float(f"{cell:.16g}") == cell:
            page.write_number(row, column, cell)
        else:
            page.write_string(row, column, repr(cell))
    elif isinstance(cell, dt.datetime | dt.date):
        if cell.year >= 1900:
            page.write_datetime(row, column, cell, day)
        else:
            page.write_string(row, column, cell.isoformat())
    elif isinstance(cell, dt.time | dt.timedelta):
        page.write_string(row, column, str(cell))
    else:
        page.write_string(row, column, cell[:32767])
