"""What a column of a file can be taken for, and what stands in it (read; needs no store)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from drainwright.exchange.any_file import SURVEY_TEXT, is_survey_text
from drainwright.exchange.cells import is_empty, text_of
from drainwright.exchange.columns import SEARCHED_ROWS, TABLES, count_known
from drainwright.exchange.forms import Cell, Sheet, open_form
from drainwright.exchange.templates import allowed
from drainwright.units import UnitSystem

TABLE_KINDS = tuple(TABLES)
MOST_SAMPLED = 4 * 1024 * 1024
"""Larger files are read once, without samples."""
_SAMPLES = 3


@dataclass(frozen=True, slots=True)
class FieldLine:
    """A field that a column can be read as."""

    name: str
    required: bool
    allowed: str
    """What may stand in its cells, in words and in the reader's units."""
    quantity: bool


def table_fields(kind: str, system: UnitSystem) -> tuple[FieldLine, ...]:
    """The fields of one kind of table; none for a kind that is no table."""
    return tuple(
        FieldLine(one.name, one.required, allowed(one, system), one.is_quantity)
        for one in TABLES.get(kind, ())
    )


def sample_cells(data: bytes, headers: Iterable[str]) -> Mapping[str, tuple[str, ...]]:
    """The first cells below each header that are not empty; nothing for a very large file."""
    wanted = frozenset(headers)
    if not wanted or len(data) > MOST_SAMPLED or is_survey_text(data):
        return {}
    found: dict[str, tuple[str, ...]] = {}
    for sheet in open_form(data, _judge).sheets:
        row = _header_row(sheet, wanted)
        for index, cell in enumerate(sheet.rows[row] if row is not None else ()):
            header = text_of(cell)
            if header in wanted and header not in found:
                found[header] = _below(sheet, row or 0, index)
    return found


def _judge(rows: Sequence[Sequence[Cell]]) -> tuple[int, int]:
    found, _, number = count_known(rows, TABLE_KINDS)
    return found, number


def _header_row(sheet: Sheet, wanted: frozenset[str]) -> int | None:
    """The row in which most of the headers stand."""
    counted = [
        sum(text_of(cell) in wanted for cell in row if not is_empty(cell))
        for row in sheet.rows[:SEARCHED_ROWS]
    ]
    best = max(counted, default=0)
    return counted.index(best) if best else None


def _below(sheet: Sheet, row: int, index: int) -> tuple[str, ...]:
    cells = (one[index] for one in sheet.rows[row + 1 : row + 200] if index < len(one))
    texts = [text_of(cell)[:40] for cell in cells if not is_empty(cell)]
    return tuple(dict.fromkeys(texts))[:_SAMPLES]


READ_KINDS = (*TABLE_KINDS, SURVEY_TEXT)
"""Kinds of file that can be read."""
