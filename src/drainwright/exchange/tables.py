"""Tables of laterals, mains, premises and so on read into records, with every fault at once.

Forgiving in form: any delimiter and encoding, title rows, units where they stand. Strict in
meaning: a number without a unit, a word that is not known, a date that can be read in two
ways is a fault with its file, sheet, row, column, value and what is allowed.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.exchange import fields as f
from drainwright.exchange.cells import NO_UNIT, CellReader, Habits, is_empty, text_of
from drainwright.exchange.columns import (
    SEARCHED_ROWS,
    TABLES,
    Head,
    Recognized,
    count_known,
    find_head,
    header_hash,
)
from drainwright.exchange.cross_rows import Entry, Known, cross_faults
from drainwright.exchange.fields import fold
from drainwright.exchange.forms import (
    Cell,
    Form,
    Judge,
    Opened,
    Sheet,
    csv_of,
    geojson_of,
    open_form,
)
from drainwright.exchange.structures import read_standing, read_structure
from drainwright.exchange.table_records import (
    BUILDERS,
    SurveyRow,
    TableRecord,
    survey_key,
    survey_of,
    survey_row,
)
from drainwright.records.list_reading import ListMapping

ALIASES = {
    "mains": "segments",
    "main segments": "segments",
    "lateral": "laterals",
    "tube": "tubes",
    "resin": "resins",
    "collar": "collars",
    "rig": "rigs",
    "survey": "surveys",
    "contact": "contacts",
    "measurement": "measurements",
}
# sheets of our own templates that hold no rows to read
EXPLAINING = ("how to fill in", "lists")
_COMMA_DECIMAL = re.compile(r"\d,\d{1,2}(?!\d)|\d,\d{4,}|\.\d{3},\d|^[-+]?0,\d")
_POINT_DECIMAL = re.compile(r"\d\.\d{1,2}(?!\d)|\d\.\d{4,}|,\d{3}\.\d|^[-+]?0?\.\d")
_EITHER = re.compile(r"^[-+]?\d{1,3},\d{3}(?!\d)")
_APOSTROPHE = re.compile(r"^'+[=+\-@\t\r]")


@dataclass(frozen=True, slots=True)
class TableOptions:
    """What the caller knows: mappings, today, the way of dates, and the project's records."""

    mapping: ListMapping = field(default_factory=ListMapping)
    kept: tuple[ListMapping, ...] = ()
    """Mappings kept from earlier; one is used where its header stands in the file."""
    today: dt.date | None = None
    date_order: str = ""
    known: Known = field(default_factory=Known)


@dataclass(frozen=True, slots=True)
class TableReading:
    """One table file, read; see `Reading`. `places` gives each record's sheet and row."""

    file: str
    kind: str
    records: tuple[TableRecord, ...]
    faults: tuple[Fault, ...] = ()
    notices: tuple[Fault, ...] = ()
    left_out: bytes = b""
    left_out_rows: int = 0
    form: Form = field(default_factory=lambda: Form("csv"))
    recognized: tuple[Recognized, ...] = ()
    header: str = ""
    """Mark of the header, to find a mapping kept for it."""
    places: tuple[tuple[str, int], ...] = ()
    given: tuple[Mapping[str, Any], ...] = ()
    """What each record's row said, by attribute; for surveys nothing, a survey is whole."""
    mapping: ListMapping = field(default_factory=ListMapping)
    """The mapping that was used."""

    @property
    def kinds(self) -> Mapping[str, str]:
        """Kinds of quantities by column name, for showing faults in a reader's units."""
        return {c.name: c.kind for c in TABLES.get(self.kind, ()) if c.is_quantity}


@dataclass(slots=True)
class _Work:
    """What is gathered while a file is read."""

    kind: str
    file: str
    options: TableOptions
    form: Form
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)
    entries: list[Entry] = field(default_factory=list)
    recognized: list[Recognized] = field(default_factory=list)
    sheets: list[tuple[Sheet, Head]] = field(default_factory=list)
    bad: set[tuple[str, int]] = field(default_factory=set)
    without_unit: dict[tuple[str, str], int] = field(default_factory=dict)
    spoiled: set[str] = field(default_factory=set)
    """Keys of surveys with a row at fault."""


def _guessed(sheets: Sequence[Sheet]) -> str:
    """The kind of table the sheets look like, empty where no header is recognized."""
    tables = tuple(TABLES)
    found = [count_known(s.rows, tables) for s in sheets if fold(s.name) not in EXPLAINING]
    best = max(found, default=(0, "", 0))
    return best[1] if best[0] >= 4 else ""


def _kept_mapping(sheets: Sequence[Sheet], kind: str, told: TableOptions) -> ListMapping | None:
    """The mapping kept for a header that stands in the file."""
    kept = {
        one.header: one for one in told.kept if one.header and one.kind in ("", kind or one.kind)
    }
    for sheet in sheets if kept else ():
        for row in sheet.rows[:SEARCHED_ROWS]:
            if (mark := header_hash(row)) in kept:
                return kept[mark]
    return None


def _judge(tables: Sequence[str]) -> Judge:
    def judge(rows: Sequence[Sequence[Cell]]) -> tuple[int, int]:
        found, _, number = count_known(rows, tables)
        return found, number

    return judge


def _kind(kind: str) -> str:
    name = ALIASES.get(kind, kind)
    if name not in TABLES:
        raise NotFoundError(f"there is no table of “{kind}”; there are {', '.join(TABLES)}")
    return name


def read_table(
    kind: str, data: bytes, file: str, options: TableOptions | None = None
) -> TableReading:
    """Read a table of one kind from CSV, a spreadsheet or GeoJSON.

    An empty `kind` takes the kind the header looks like. Every fault is told at once;
    `records` are the rows without one. Nothing is stored here.
    """
    told = options or TableOptions()
    table = _kind(kind or told.mapping.kind) if kind or told.mapping.kind else ""
    opened = open_form(data, _judge((table,) if table else tuple(TABLES)))
    if not told.mapping.columns:
        kept = _kept_mapping(opened.sheets, table, told)
        told = replace(told, mapping=kept) if kept is not None else told
    table = table or _kind(told.mapping.kind or _guessed(opened.sheets) or "laterals")
    work = _Work(table, file, told, opened.form, list(opened.faults), list(opened.notices))
    for sheet in opened.sheets:
        _take_sheet(work, sheet, alone=len(opened.sheets) == 1)
    if not work.sheets and not work.faults:
        names = ", ".join(column.name for column in TABLES[table] if column.required)
        words = f"no header was found; a table of {table} has at least the columns {names}"
        work.faults.append(Fault("header", words, row=1))
        work.recognized += _likely_header(opened.sheets)
    for (header, _), more in work.without_unit.items():
        _tell_more(work, header, more)
    # a survey is stored whole or not at all
    work.bad |= {e.place for e in work.entries if e.key in work.spoiled}
    bad, faults, notices = cross_faults(table, work.entries, told.known)
    work.faults += faults
    work.notices += notices
    work.bad |= bad
    return _result(work, opened, data)


def _likely_header(sheets: Sequence[Sheet]) -> list[Recognized]:
    """Columns of the row with the most words, to start a mapping from; none is read."""
    rows = [(sheet.name, row) for sheet in sheets for row in sheet.rows[:SEARCHED_ROWS]]
    name, cells = max(
        rows,
        key=lambda one: sum(isinstance(cell, str) and not is_empty(cell) for cell in one[1]),
        default=("", []),
    )
    why = "its header is not known"
    return [
        Recognized(name, text_of(cell), index, None, why=why)
        for index, cell in enumerate(cells)
        if isinstance(cell, str) and not is_empty(cell)
    ]


def _take_sheet(work: _Work, sheet: Sheet, *, alone: bool) -> None:
    mapping = work.options.mapping
    if fold(sheet.name) in EXPLAINING or (mapping.sheet and sheet.name != mapping.sheet):
        return
    head = find_head(sheet.rows, sheet.numbers, work.kind, mapping, sheet.name)
    name = sheet.name or None
    if head is None:
        if not alone and any(not is_empty(cell) for row in sheet.rows for cell in row):
            words = f"no header of {work.kind} was found; the sheet was not read"
            work.notices.append(Fault("sheet", words, sheet.name, sheet=name))
        return
    work.sheets.append((sheet, head))
    work.recognized += head.columns
    work.faults += [fault.placed(sheet=name) for fault in head.faults]
    work.notices += [notice.placed(sheet=name) for notice in head.notices]
    if head.faults:
        return
    before = len(work.bad)
    habits = _habits(work, sheet, head)
    if len(work.bad) > before:  # the decimal sign is in doubt, and so is every number
        return
    readers = [
        (column.index, column, CellReader(column.field, column.unit, habits))
        for column in head.columns
        if column.field is not None
    ]
    for index in range(head.first, len(sheet.rows)):
        _take_row(work, sheet, head, index, readers)


Readers = Sequence[tuple[int, Recognized, CellReader]]


def _take_row(work: _Work, sheet: Sheet, head: Head, index: int, readers: Readers) -> None:
    row, number = sheet.rows[index], sheet.numbers[index]
    if not any(not is_empty(cell) for cell in row) or _is_header(row, sheet, head):
        return
    values, faults = _values(row, readers)
    width = len(sheet.rows[head.row])
    if work.form.kind == "csv" and any(not is_empty(cell) for cell in row[width:]):
        words = f"has {len(row)} cells, the header has {width}; text with “{work.form.delimiter}” "
        faults.append(Fault("row", words + "needs quotation marks", row=number))
    record: TableRecord | SurveyRow | None = None
    if not faults:
        try:
            record = survey_row(values) if work.kind == "surveys" else BUILDERS[work.kind](values)
        except InputError as error:
            faults += error.faults
    name = sheet.name or None
    if record is None:
        work.bad.add((sheet.name, number))
        if work.kind == "surveys":
            work.spoiled.add(survey_key(values) or _last_key(work))
        for fault in faults:
            if not _again(work, fault):
                work.faults.append(fault.placed(sheet=name, row=number))
        whole = work.kind not in ("measurements", "surveys")  # there a key has several parts
        key = values.get(TABLES[work.kind][0].attribute, "") if whole else ""
    else:
        key = record.key
    work.entries.append(Entry(record, sheet.name, number, key, values))


def _last_key(work: _Work) -> str:
    return next((e.key for e in reversed(work.entries) if e.record is not None), "")


def _again(work: _Work, fault: Fault) -> bool:
    """Whether a missing unit was told for this column already."""
    if NO_UNIT not in fault.message:
        return False
    key = (fault.column or "", fault.name)
    work.without_unit[key] = work.without_unit.get(key, 0) + 1
    return work.without_unit[key] > 1


def _tell_more(work: _Work, header: str, more: int) -> None:
    for place, fault in enumerate(work.faults):
        if fault.column == header and NO_UNIT in fault.message and more > 1:
            words = f"{fault.message} (and so in {more - 1} more rows)"
            work.faults[place] = replace(fault, message=words)


def _is_header(row: Sequence[Cell], sheet: Sheet, head: Head) -> bool:
    """Whether the header stands here again, as it does on every printed page."""
    header = sheet.rows[head.row]
    places = [column.index for column in head.columns if column.field is not None][:3]
    return all(place < len(row) and row[place] == header[place] for place in places)


def _values(row: Sequence[Cell], readers: Readers) -> tuple[dict[str, Any], list[Fault]]:
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    late: list[tuple[Recognized, CellReader, str]] = []
    width = len(row)
    for index, column, reader in readers:
        cell = row[index] if index < width else None
        if cell is None or (isinstance(cell, str) and not cell.strip()):
            if reader.column.required:
                faults.append(Fault(reader.column.name, "is empty", column=column.header))
            continue
        try:
            if reader.column.kind in (f.STRUCTURE, f.GEOMETRY):
                text = _safe(cell) if isinstance(cell, str) else text_of(cell)
                value = read_structure(reader.column, text.strip(), column.unit)
            elif reader.column.kind == f.STANDING:
                late.append((column, reader, text_of(cell)))
                continue
            else:
                value = reader.value(_safe(cell) if isinstance(cell, str) else cell)
            if value is not None and not (reader.column.required and value == ""):
                values[reader.column.attribute] = value
            elif reader.column.required:
                faults.append(Fault(reader.column.name, "is empty", column=column.header))
        except InputError as error:
            faults += [fault.placed(column=column.header) for fault in error.faults]
    for column, reader, text in late:
        try:
            values["standing"] = read_standing(reader.column, text, list(values))
        except InputError as error:
            faults += [fault.placed(column=column.header) for fault in error.faults]
    return values, faults


def _safe(text: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from running it."""
    return text[1:] if text[:1] == "'" and _APOSTROPHE.match(text) else text


# ---------------------------------------------------------------- habits of the file


def _habits(work: _Work, sheet: Sheet, head: Head) -> Habits:
    mapping = work.options.mapping
    words = mapping.words
    decimal = mapping.decimal or _decimal(work, sheet, head)
    order = mapping.dates or _order_of(sheet, head) or work.options.date_order
    return Habits(decimal, order, work.options.today, words)


def _texts(sheet: Sheet, head: Head, kinds: Sequence[str] | None) -> Iterator[tuple[int, str]]:
    places = [
        column.index
        for column in head.columns
        if column.field is not None
        and (column.field.is_quantity if kinds is None else column.field.kind in kinds)
    ]
    for index in range(head.first, len(sheet.rows)):
        row = sheet.rows[index]
        for place in places:
            if place < len(row) and isinstance(cell := row[place], str) and cell:
                yield index, cell


def _decimal(work: _Work, sheet: Sheet, head: Head) -> str:
    """The decimal sign of the numbers that are text; only the clear ones count."""
    doubtful: tuple[int, str] | None = None
    comma = False
    for index, text in _texts(sheet, head, None):
        if "," not in text:
            if "." in text and _POINT_DECIMAL.search(text):
                return "."
            continue
        if _POINT_DECIMAL.search(text):
            return "."
        if _COMMA_DECIMAL.search(text):
            comma = True
        elif _EITHER.match(text):
            doubtful = doubtful or (index, text)
    if comma:
        return ","
    if doubtful is not None and work.form.delimiter != ",":
        words = f"“{doubtful[1]}” can be read in two ways; say in the mapping file what the "
        words += 'decimal sign is (decimal = "," or ".")'
        row = sheet.numbers[doubtful[0]]
        work.faults.append(Fault("decimal", words, doubtful[1], row=row))
        work.bad |= {(sheet.name, sheet.numbers[index]) for index in range(len(sheet.rows))}
    return "."


def _order_of(sheet: Sheet, head: Head) -> str:
    """The order of day and month, where a date of the file can be read in one way only."""
    found = set()
    for _, text in _texts(sheet, head, (f.DATE,)):
        parts = re.match(r"^(\d{1,2})[/-](\d{1,2})[/-]\d{2,4}\b", text.strip())
        if parts is not None and int(parts[1]) > 12:
            found.add("dmy")
        elif parts is not None and int(parts[2]) > 12:
            found.add("mdy")
    return found.pop() if len(found) == 1 else ""


# ---------------------------------------------------------------- the result


def _result(work: _Work, opened: Opened, data: bytes) -> TableReading:
    doubtful = any(fault.name == "decimal" for fault in work.faults) or any(
        head.faults for _, head in work.sheets
    )
    whole = bool(opened.faults) or doubtful or not work.sheets
    clean = [] if whole else [e for e in work.entries if (e.sheet, e.row) not in work.bad]
    records, places = _records(work, clean)
    work.faults.sort(key=lambda fault: (fault.sheet or "", fault.row or 0))
    header = ""
    if work.sheets:
        sheet, head = work.sheets[0]
        header = header_hash(sheet.rows[head.row])
    return TableReading(
        work.file,
        work.kind,
        tuple(records),
        tuple(fault.placed(file=work.file) for fault in work.faults),
        tuple(notice.placed(file=work.file) for notice in work.notices),
        data if whole else _left_out(work),
        len(work.bad),
        work.form,
        tuple(work.recognized),
        header,
        tuple(places),
        tuple(e.values for e in clean) if work.kind != "surveys" else (),
        work.options.mapping,
    )


def _records(
    work: _Work, clean: Sequence[Entry]
) -> tuple[list[TableRecord], list[tuple[str, int]]]:
    if work.kind != "surveys":
        records = [e.record for e in clean]
        kept = [one for one in records if one is not None and not isinstance(one, SurveyRow)]
        return kept, [(e.sheet, e.row) for e in clean]
    groups: dict[str, list[Entry]] = {}
    for entry in clean:
        groups.setdefault(entry.key, []).append(entry)
    rows = [[e.record for e in g if isinstance(e.record, SurveyRow)] for g in groups.values()]
    surveys: list[TableRecord] = [survey_of(group, work.file) for group in rows]
    return surveys, [(group[0].sheet, group[0].row) for group in groups.values()]


def _left_out(work: _Work) -> bytes:
    """The rows with faults under their header, in the form of the file."""
    if not work.bad:
        return b""
    kept: dict[str, list[Sequence[Cell]]] = {}
    features: list[object] = []
    for sheet, head in work.sheets:
        rows = [
            index
            for index in range(head.first, len(sheet.rows))
            if (sheet.name, sheet.numbers[index]) in work.bad
        ]
        if rows:
            top = sheet.rows[head.row : head.first]
            kept[sheet.name] = [*top, *(sheet.rows[index] for index in rows)]
            features += [sheet.features[index] for index in rows if sheet.features]
    if work.form.kind == "geojson":
        return geojson_of(features)
    if work.form.kind == "csv":
        return csv_of([row for rows in kept.values() for row in rows], work.form)
    from drainwright.exchange.workbook import xlsx_of

    return xlsx_of(kept)
