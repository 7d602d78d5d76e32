"""Empty, explained tables to be filled in: a spreadsheet with lists to choose from, or CSV."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from drainwright.errors import NotFoundError
from drainwright.exchange import fields as f
from drainwright.exchange.columns import TABLES
from drainwright.exchange.fields import Field
from drainwright.exchange.forms import Form, csv_of
from drainwright.exchange.workbook import BOOK_OPTIONS
from drainwright.records.standing import Knowledge
from drainwright.units import UnitSystem, from_si

FILLED_ROWS = 2000
GUIDE = "how to fill in"
LISTS = "lists"
_KINDS = {
    f.TEXT: "text",
    f.MATERIAL: "text; VCP, CI, PVC, clay and so on are known",
    f.DATE: "a date, best as 2026-05-31",
    f.TIME: "a time such as 09:30",
    f.CHOICE: "one of the list",
    f.YES_NO: "yes or no",
    f.COUNT: "a whole number",
    f.CLOCK: "a place on the clock, 1 to 12",
    f.NAMES: "ids with ; between",
    f.GEOMETRY: "WKT or GeoJSON",
    f.STANDING: "one of the list, or with by whom: measured by Ruiz on 2026-05-31",
}


def _fields(kind: str) -> tuple[Field, ...]:
    if kind not in TABLES:
        raise NotFoundError(f"there is no table of “{kind}”; there are {', '.join(TABLES)}")
    return TABLES[kind]


def choices_of(column: Field) -> tuple[str, ...]:
    """The words a column's list offers; empty for none."""
    if column.choices is not None:
        return tuple(choice.value for choice in column.choices)
    if column.kind == f.YES_NO:
        return ("yes", "no")
    return tuple(word.value for word in Knowledge) if column.kind == f.STANDING else ()


def example_of(column: Field, system: UnitSystem) -> str:
    """An example in the reader's unit; examples are kept in US units."""
    unit, us = column.unit(system), column.unit(UnitSystem.US)
    if unit == us or not column.example:
        return column.example
    from drainwright.units import to_si

    return f"{from_si(to_si(float(column.example), us), unit):.4g}"


def allowed(column: Field, system: UnitSystem) -> str:
    """What may stand in the column, in words."""
    if not column.is_quantity:
        return _KINDS.get(column.kind, "as in the example, or JSON")
    unit = column.unit(system)
    shown = [
        None if bound is None else f"{from_si(bound, unit) if unit else bound:.4g}"
        for bound in (column.low, column.above, column.high)
    ]
    parts = [
        f"{word} {bound}"
        for word, bound in zip(("at least", "more than", "at most"), shown, strict=True)
        if bound is not None
    ]
    number = f"a number in {unit}, or with its own unit" if unit else "a number"
    return "; ".join([number, ", ".join(parts)]) if parts else number


def template_csv(kind: str, system: UnitSystem) -> bytes:
    """A CSV with the explanations above the header, to be read as it stands."""
    columns = _fields(kind)
    rows: list[list[str]] = [
        [f"# drainwright: {kind}. Lines above the header are not read; fill in below it."]
    ]
    for column in columns:
        need = "required" if column.required else "may be empty"
        words = [f"# {column.title(system)}: {need}", column.help, allowed(column, system)]
        offered = choices_of(column)
        words += [" / ".join(offered)] if offered else []
        example = example_of(column, system)
        words += [f"for example {example}"] if example else []
        rows.append(["; ".join(word for word in words if word)])
    rows.append([column.title(system) for column in columns])
    return csv_of(rows, Form("csv", newline="\r\n", encoding="utf-8-sig"))


def template_xlsx(kind: str, system: UnitSystem) -> bytes:
    """A spreadsheet: the table with lists to choose from, how to fill it in, and the lists."""
    import xlsxwriter

    columns = _fields(kind)
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer, BOOK_OPTIONS)
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    need = book.add_format({"bold": True, "bottom": 2, "text_wrap": True, "valign": "top"})
    table, guide, lists = (book.add_worksheet(name) for name in (kind, GUIDE, LISTS))
    _lists(lists, columns)
    listed = 0
    for index, column in enumerate(columns):
        table.write_string(0, index, column.title(system), need if column.required else head)
        table.set_column(index, index, max(12, len(column.title(system)) + 2))
        offered = choices_of(column)
        if offered:
            letter = _letter(listed)
            source = f"={LISTS}!${letter}$2:${letter}${len(offered) + 1}"
            table.data_validation(1, index, FILLED_ROWS, index, _choice(column, source))
            listed += 1
        elif column.help:
            note = {"validate": "any", "input_title": column.name[:32],
                    "input_message": column.help[:255]}  # fmt: skip
            table.data_validation(1, index, FILLED_ROWS, index, note)
    table.freeze_panes(1, 1)
    _guide(guide, columns, system, head)
    book.close()
    return buffer.getvalue()


def _choice(column: Field, source: str) -> dict[str, Any]:
    return {
        "validate": "list",
        "source": source,
        "input_title": column.name[:32],
        "input_message": column.help[:255],
        "error_type": "warning",
        "error_title": "not in the list",
        "error_message": "Other words are read only where they are known.",
    }


def _letter(index: int) -> str:
    return chr(ord("A") + index)


def _lists(page: Any, columns: Sequence[Field]) -> None:
    offered = [(column, choices_of(column)) for column in columns if choices_of(column)]
    for index, (column, words) in enumerate(offered):
        page.write_string(0, index, f"list of {column.name}")
        for row, word in enumerate(words, 1):
            page.write_string(row, index, word)


def _guide(page: Any, columns: Sequence[Field], system: UnitSystem, head: Any) -> None:
    titles = ("column", "needed", "what it is", "what may stand there", "example",
              "other headers that are understood")  # fmt: skip
    for index, title in enumerate(titles):
        page.write_string(0, index, title, head)
    for row, column in enumerate(columns, 1):
        offered = choices_of(column)
        may = " / ".join(offered) if offered else allowed(column, system)
        cells = (
            column.title(system),
            "required" if column.required else "",
            column.help,
            may,
            example_of(column, system),
            ", ".join(column.synonyms),
        )
        for index, cell in enumerate(cells):
            page.write_string(row, index, cell)
    for index, width in enumerate((24, 10, 48, 48, 18, 60)):
        page.set_column(index, index, width)
    page.freeze_panes(1, 1)
