"""Finding the header row, recognizing its columns, and the units that go with them."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from drainwright.errors import Fault, InputError
from drainwright.exchange.cells import is_empty, text_of
from drainwright.exchange.field_lists import (
    CONTACTS,
    LATERALS,
    MEASUREMENTS,
    PREMISES,
    SEGMENTS,
)
from drainwright.exchange.field_lists_works import COLLARS, RESINS, RIGS, SURVEYS, TUBES
from drainwright.exchange.fields import Field, fold
from drainwright.exchange.forms import Cell
from drainwright.exchange.mapping import rule_for
from drainwright.records.list_reading import ColumnRule, ListMapping
from drainwright.units import KINDS, parse_unit

TABLES: Mapping[str, tuple[Field, ...]] = {
    "laterals": LATERALS,
    "segments": SEGMENTS,
    "premises": PREMISES,
    "contacts": CONTACTS,
    "measurements": MEASUREMENTS,
    "surveys": SURVEYS,
    "tubes": TUBES,
    "resins": RESINS,
    "collars": COLLARS,
    "rigs": RIGS,
}
SEARCHED_ROWS = 40
_BRACKETED = re.compile(r"^(.*?)\s*[\[(]([^\])]*)[\])]\s*$", re.DOTALL)
# the end of the main that a header counts from
_END = re.compile(r"\b(ds|us|downstream|upstream)\b")
_UNIT_WORDS = {
    "ft", "feet", "foot", "in", "inch", "inches", "mm", "cm", "m", "meter", "meters", "metre",
    "psi", "psig", "kpa", "bar", "mpa", "deg", "degf", "degc", "f", "c", "percent", "pct", "lb",
    "kg", "min", "minutes", "h", "hours", "gpm", "cfm", "kw", "hp",
}  # fmt: skip
_PLAIN_UNITS = {"feet": "ft", "foot": "ft", "inches": "in", "inch": "in", "meters": "m",
                "meter": "m", "metre": "m", "percent": "%", "pct": "%", "kpa": "kPa", "mpa": "MPa",
                "degf": "degF", "degc": "degC", "f": "degF", "c": "degC", "kw": "kW",
                "minutes": "min", "hours": "h", "decimal feet": "ft", "ft.": "ft", "in.": "in",
                "°f": "degF", "°c": "degC"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Recognized:
    """One column of a sheet, and what it was taken for."""

    sheet: str
    header: str
    """The header as it stands in the file."""
    index: int
    """Place of the column, from 0."""
    field: Field | None
    """None for a column that is not read."""
    unit: str = ""
    why: str = ""
    """By our name, by a synonym, by the mapping file, or why it is not read."""

    @property
    def rule(self) -> ColumnRule:
        """What a mapping file would say of this column."""
        return ColumnRule(self.field.name if self.field is not None else "", self.unit)

    @property
    def words(self) -> str:
        """What was recognized, as a line for a preview."""
        if self.field is None:
            return f"“{self.header}”: not read ({self.why})"
        unit = f" in {self.unit}" if self.unit else ""
        return f"“{self.header}”: {self.field.name}{unit} ({self.why})"


@dataclass(slots=True)
class Head:
    """The header of one sheet: where it stands, its columns, and where the data begin."""

    row: int
    """Index of the header among the sheet's rows."""
    first: int
    """Index of the first row of data."""
    columns: list[Recognized]
    faults: list[Fault]
    notices: list[Fault]


@lru_cache(maxsize=16)
def _names(table: str) -> Mapping[str, tuple[int, Field]]:
    """Folded names and synonyms, with their rank: 0 our name, then synonyms in order."""
    found: dict[str, tuple[int, Field]] = {}
    for column in TABLES[table]:
        for rank, name in enumerate((column.name, *column.synonyms)):
            known = found.get(fold(name))
            if known is None or rank == 0:
                found[fold(name)] = (rank, column)
    return found


def header_hash(cells: Sequence[Cell]) -> str:
    """A name for a header, the same for files with the same columns in the same order."""
    plain = "\x1f".join(fold(text_of(cell)) for cell in cells).rstrip("\x1f")
    return hashlib.sha256(plain.encode("utf-8")).hexdigest()[:16]


def count_known(rows: Sequence[Sequence[Cell]], tables: Sequence[str]) -> tuple[int, str, int]:
    """The most columns recognized in one row: how many, of which table, in which row."""
    best = (0, tables[0], 0)
    for number, row in enumerate(rows[:SEARCHED_ROWS]):
        texts = [text_of(cell) for cell in row if isinstance(cell, str) and cell.strip()]
        for table in tables if texts else ():
            found = _recognizable(texts, table)
            if found > best[0]:
                best = (found, table, number)
    return best


def _recognizable(texts: Sequence[str], table: str) -> int:
    known = {column.name: column for column in _found(texts, table)}
    required = sum(column.required for column in known.values())
    return 2 * len(known) + required


def _found(texts: Sequence[str], table: str) -> Iterator[Field]:
    for text in texts:
        found = _match(text, table)
        if found is not None:
            yield found[1]


def _match(text: str, table: str) -> tuple[int, Field, str] | None:
    """Rank, field and unit of a header; None where it is not known."""
    if len(text) > 80:
        return None
    names = _names(table)
    whole = names.get(fold(text))
    bracketed = _BRACKETED.match(text)
    if bracketed is not None:
        inner = names.get(fold(bracketed[1]))
        if inner is not None and (whole is None or inner[1].is_quantity):
            return (*inner, bracketed[2].strip())
    if whole is not None:
        return (*whole, "")
    words = fold(text).split(" ")
    if len(words) > 1 and words[-1] in _UNIT_WORDS:
        short = names.get(" ".join(words[:-1]))
        if short is not None and (short[1].is_quantity or short[1].parts):
            return (*short, words[-1])
    return None


def find_head(
    rows: Sequence[Sequence[Cell]],
    numbers: Sequence[int],
    table: str,
    mapping: ListMapping,
    sheet: str,
) -> Head | None:
    """The header among the first rows; None where none is recognized."""
    row = _header_row(rows, table, mapping)
    if row is None:
        return None
    faults: list[Fault] = []
    notices: list[Fault] = []
    columns = [
        _column(sheet, index, text_of(cell), table, mapping)
        for index, cell in enumerate(rows[row])
        if not is_empty(cell)
    ]
    columns = _without_doubles(columns, numbers[row], faults)
    columns, first = _with_units_row(columns, rows, row)
    for column in columns:
        wrong = _unit_fault(column)
        if wrong is not None:
            faults.append(wrong.placed(row=numbers[row]))
        end = _END.search(fold(column.header)) if column.field is not None else None
        if end is not None and column.field is not None and column.field.name == "tap distance":
            words = "taps count from the from-manhole of their main; see that this is the "
            words += "downstream one" if end[0][0] == "d" else "upstream one"
            notices.append(Fault("tap distance", words, row=numbers[row], column=column.header))
        if column.field is None:
            words = f"this column is not read: {column.why}"
            notices.append(Fault(column.header, words, row=numbers[row], column=column.header))
    present = {column.field.name for column in columns if column.field is not None}
    names = ", ".join(text_of(cell) for cell in rows[row] if not is_empty(cell))
    among = f" among: {names[:300]}"  # told once
    for field in TABLES[table]:
        if field.required and field.name not in present:
            words = f"no column for it was found{among}"
            among = " either"
            faults.append(Fault(field.name, words, row=numbers[row]))
    return Head(row, first, columns, faults, notices)


def _header_row(rows: Sequence[Sequence[Cell]], table: str, mapping: ListMapping) -> int | None:
    if mapping.columns:
        named = {fold(name) for name in mapping.columns}
        for number, row in enumerate(rows[:SEARCHED_ROWS]):
            if any(isinstance(cell, str) and fold(cell) in named for cell in row):
                return number
    found, _, number = count_known(rows, (table,))
    return number if found >= 2 else None


def _column(sheet: str, index: int, header: str, table: str, mapping: ListMapping) -> Recognized:
    rule = rule_for(mapping, header)
    if rule is not None:
        return _by_rule(sheet, index, header, table, rule)
    match = _match(header, table)
    if match is None:
        return Recognized(sheet, header, index, None, why="its header is not known")
    rank, field, unit = match
    why = "our name" if rank == 0 else "a synonym"
    return Recognized(sheet, header, index, field, plain_unit(unit, field), why)


def _by_rule(sheet: str, index: int, header: str, table: str, rule: ColumnRule) -> Recognized:
    fields = {fold(field.name): field for field in TABLES[table]}
    field = fields.get(fold(rule.field)) if rule.field else None
    if field is None:
        return Recognized(sheet, header, index, None, why="so says the mapping file")
    unit = rule.unit
    if not unit:
        match = _BRACKETED.match(header)
        unit = match[2].strip() if match is not None else ""
    return Recognized(sheet, header, index, field, plain_unit(unit, field), "the mapping file")


def plain_unit(unit: str, field: Field) -> str:
    """The unit as we write it, empty where the text is no unit of this column."""
    text = unit.strip().strip("[]()").strip()
    if not text or not (field.is_quantity or field.parts):
        return ""
    return _PLAIN_UNITS.get(text.lower(), text)


def _unit_fault(column: Recognized) -> Fault | None:
    if column.field is None or not column.unit:
        return None
    kind = column.field.kind if column.field.is_quantity else column.field.parts[0]
    if column.unit in (KINDS[kind].us_unit, KINDS[kind].si_unit):
        return None
    try:
        parse_unit(column.unit, kind)
    except InputError as error:
        words = error.faults[0].message
        return Fault(column.field.name, words, column.unit, column=column.header)
    return None


def _without_doubles(
    columns: Sequence[Recognized], row: int, faults: list[Fault]
) -> list[Recognized]:
    """One column for each field: our name wins over a synonym; else it is a fault."""
    chosen: dict[str, Recognized] = {}
    found: list[Recognized] = []
    order = {"the mapping file": 0, "our name": 1, "a synonym": 2}
    for column in sorted(columns, key=lambda c: order.get(c.why, 3)):
        if column.field is None:
            found.append(column)
            continue
        first = chosen.get(column.field.name)
        if first is None:
            chosen[column.field.name] = column
            found.append(column)
            continue
        why = f"“{first.header}” is {first.field.name if first.field else ''} already"
        found.append(replace(column, field=None, unit="", why=why))
        if first.why == column.why:
            words = f"both “{first.header}” and “{column.header}” look like it; "
            words += "say in a mapping file which one is meant"
            faults.append(Fault(column.field.name, words, row=row, column=column.header))
    return sorted(found, key=lambda c: c.index)


def _with_units_row(
    columns: list[Recognized], rows: Sequence[Sequence[Cell]], row: int
) -> tuple[list[Recognized], int]:
    """Units from the row below the header, where that row holds units and nothing else."""
    if row + 1 >= len(rows):
        return columns, row + 1
    below = rows[row + 1]
    texts = {c.index: text_of(below[c.index]) if c.index < len(below) else "" for c in columns}
    given = {
        c.index: plain_unit(texts[c.index], c.field)
        for c in columns
        if c.field is not None and (c.field.is_quantity or c.field.parts) and texts[c.index]
    }
    others = [
        text for index, text in texts.items() if text not in ("", "-", "–") and index not in given
    ]
    if not given or others:
        return columns, row + 1
    units = [(c, given[c.index]) for c in columns if c.index in given]
    if any(_unit_fault(replace(c, unit=unit)) is not None for c, unit in units):
        return columns, row + 1
    changed = [replace(c, unit=given.get(c.index) or c.unit) for c in columns]
    return changed, row + 2
