"""One cell to one value: quantities, dates, choices, words; what is wrong, with a guess."""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache, partial
from typing import Any

from drainwright.errors import Fault, InputError, range_text
from drainwright.exchange import fields as f
from drainwright.exchange.fields import Field, fold
from drainwright.exchange.forms import Cell
from drainwright.units import KINDS, parse_in, parse_unit, to_si

_PLAIN = re.compile(r"^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?$")
_GROUPED = re.compile(r"^[-+]?\d{1,3}(?:,\d{3})+(?:\.\d+)?$")
_COMMA = re.compile(r"(?<![\d,.])(\d{1,3}(?:[.\u00a0 ]\d{3})+|\d+),(\d+)(?![\d,])")
_LOOKALIKES = str.maketrans({"O": "0", "o": "0", "l": "1", "I": "1", "S": "5", "B": "8", "Z": "2"})
_SLASHED = re.compile(r"^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})$")
_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ].*)?$")
_WORDED = re.compile(r"^(\d{1,2})[-. ]+([A-Za-z]{3,9})\.?[-, ]+(\d{4})$")
_WORDED_US = re.compile(r"^([A-Za-z]{3,9})\.? +(\d{1,2}),? +(\d{4})$")
_CLOCK = re.compile(
    r"^(\d{1,2}(?:\.\d+)?)(?::([0-5]\d))?\s*(?:o'?\s*clock|h|hrs?)?$", re.IGNORECASE
)
_TIME = re.compile(r"^(\d{1,2}):(\d{2})(?::(\d{2}))?(?:\.\d+)?\s*(am|pm)?$", re.IGNORECASE)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
# how a share is written that no percentage gives exactly
OF_ONE = " of 1"
NO_UNIT = "write the unit into the header"
# what a spreadsheet shows where a formula has no value
_ERRORS = {"#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#CALC!",
           "#FIELD!", "#BLOCKED!", "#UNKNOWN!", "#GETTING_DATA"}  # fmt: skip
_EMPTY = {"", "-", "--", "—", "–", "n/a", "na", "null", "none", "?", "tbd", "unknown"}
_LAST_SERIAL = 80_000  # day 80,000 of a spreadsheet is in 2119
_FIRST_SERIAL = 20_000  # and day 20,000 in 1954


@dataclass(frozen=True, slots=True)
class Habits:
    """How a file writes numbers and dates; words of the mapping file."""

    decimal: str = "."
    date_order: str = ""
    """mdy or dmy for dates such as 4/5/2026; empty where nothing tells."""
    today: dt.date | None = None
    words: Mapping[str, str] = field(default_factory=dict)
    """Cell words of the owner, folded, each with the word to read instead."""


def text_of(cell: Cell) -> str:
    """A cell as text: whole numbers without a decimal point, blanks made single."""
    if isinstance(cell, str):
        plain = cell.isprintable() and "  " not in cell and cell == cell.strip()
        return cell if plain else tidy(cell)
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer() and abs(cell) < 1e15:
        return str(int(cell))
    if isinstance(cell, dt.datetime) and cell.time() == dt.time():
        return cell.date().isoformat()
    return str(cell)


def tidy(text: str) -> str:
    """Text without control characters and outer or doubled blanks; line breaks stay."""
    lines = ["".join(c if c.isprintable() else " " for c in line) for line in text.split("\n")]
    return "\n".join(" ".join(line.split(" ")).strip() for line in lines).strip("\n ")


def is_empty(cell: Cell) -> bool:
    """Whether the cell holds nothing."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


class CellReader:
    """Reads the cells of one column."""

    def __init__(self, column: Field, unit: str, habits: Habits) -> None:
        self.column = column
        self.unit = unit
        self.habits = habits
        self._scale = _scale(column.kind, unit) if column.is_quantity else None
        if column.unit_needed and not unit:
            self._scale = None
        self._read = {
            f.TEXT: self._text,
            f.MATERIAL: self._material,
            f.DATE: self._date,
            f.TIME: self._time,
            f.CHOICE: self._choice,
            f.YES_NO: self._yes_no,
            f.COUNT: self._count,
            f.CLOCK: self._clock,
            f.NAMES: self._names,
        }.get(column.kind, self._quantity)

    def value(self, cell: Cell) -> Any:
        """The value of a cell that is not empty, SI; None for a word that means nothing.

        Raises `InputError` without a place.
        """
        if type(cell) is float and self._scale is not None and cell - cell == 0:
            return self._within(self._scale(cell))
        if isinstance(cell, str):
            if cell.strip() in _ERRORS:
                words = f"the spreadsheet shows {cell.strip()} here, an error of its formula; "
                raise self.fault(words + "write the value, or leave the cell empty", cell)
            if self._means_nothing(cell):
                return None
            if self.habits.words:
                cell = self.habits.words.get(fold(cell), cell)
        return self._read(cell)

    def fault(self, words: str, cell: Cell, guess: str | None = None) -> InputError:
        """A fault of this column."""
        return InputError(Fault(self.column.name, words, text_of(cell)[:200], guess=guess))

    def _means_nothing(self, text: str) -> bool:
        if self.column.kind == f.TEXT or text.strip().casefold() not in _EMPTY:
            return False
        return self.column.kind != f.CHOICE or fold(text) not in _choice_words(self.column)

    # ------------------------------------------------------------ words

    def _text(self, cell: Cell) -> str:
        if self.column.required or not isinstance(cell, str):  # ids are compared
            return text_of(cell)
        return cell.strip() if cell.isprintable() else _CONTROL.sub(" ", cell).strip()

    def _material(self, cell: Cell) -> str:
        text = text_of(cell)
        return f.material_words().get(fold(text), text)

    def _names(self, cell: Cell) -> tuple[str, ...]:
        return tuple(part.strip() for part in text_of(cell).split(";") if part.strip())

    def _yes_no(self, cell: Cell) -> bool:
        word = fold(text_of(cell))
        if word in f.YES or word in f.NO:
            return word in f.YES
        raise self.fault(f"“{text_of(cell)}” is neither yes nor no", cell)

    def _choice(self, cell: Cell) -> Any:
        kind = self.column.choices
        if kind is None:
            return text_of(cell)
        known = _choice_words(self.column)
        word = fold(text_of(cell))
        if word in known:
            return kind(known[word])
        near = difflib.get_close_matches(word, known, n=1, cutoff=0.75)
        guess = f"“{text_of(cell)}” looks like “{known[near[0]]}”" if near else None
        allowed = ", ".join(kind)
        raise self.fault(f"“{text_of(cell)}” is none of {allowed}", cell, guess)

    # ------------------------------------------------------------ days and hours

    def _date(self, cell: Cell) -> dt.date:
        day = self._day(cell)
        today = self.habits.today
        if today is not None and day > today and not _may_lie_ahead(self.column):
            raise self.fault(f"{day.isoformat()} lies in the future", cell)
        return day

    def _day(self, cell: Cell) -> dt.date:
        if isinstance(cell, dt.datetime):
            return cell.date()
        if isinstance(cell, dt.date):
            return cell
        if isinstance(cell, int | float) and not isinstance(cell, bool):
            if _FIRST_SERIAL <= cell < _LAST_SERIAL:
                return dt.date(1899, 12, 30) + dt.timedelta(days=int(cell))
            raise self.fault(f"“{text_of(cell)}” is not a date such as 2026-05-31", cell)
        text = text_of(cell)
        try:
            found = self._written_day(text)
        except ValueError as error:
            raise self.fault(f"“{text}” is no day of the calendar ({error})", cell) from error
        if found is None:
            raise self.fault(f"“{text}” is not a date such as 2026-05-31", cell)
        return found

    def _written_day(self, text: str) -> dt.date | None:
        match = _ISO.match(text)
        if match is not None:
            return dt.date(int(match[1]), int(match[2]), int(match[3]))
        match = _SLASHED.match(text.split(" ", 1)[0])
        if match is not None:
            return self._slashed_day(text, match)
        for form, day, month, year in ((_WORDED, 1, 2, 3), (_WORDED_US, 2, 1, 3)):
            match = form.match(text)
            if match is not None and match[month][:3].lower() in _MONTHS:
                number = _MONTHS.index(match[month][:3].lower()) + 1
                return dt.date(int(match[year]), number, int(match[day]))
        if text.isdigit() and len(text) == 5 and _FIRST_SERIAL <= int(text) < _LAST_SERIAL:
            return dt.date(1899, 12, 30) + dt.timedelta(days=int(text))
        return None

    def _slashed_day(self, text: str, match: re.Match[str]) -> dt.date:
        first, second, year = int(match[1]), int(match[2]), int(match[3])
        year += 2000 if len(match[3]) == 2 else 0
        order = "dmy" if "." in text.split(" ", 1)[0] else self.habits.date_order
        if not order and first <= 12 and second <= 12 and first != second:
            words = f"“{text}” can be read in two ways; write {year}-{first:02d}-{second:02d} or "
            words += f"{year}-{second:02d}-{first:02d}, or say the order in the mapping file"
            raise self.fault(words, text)
        if first > 12 or (order == "dmy" and second <= 12):
            first, second = second, first
        return dt.date(year, first, second)

    def _time(self, cell: Cell) -> dt.time:
        if isinstance(cell, dt.datetime):
            return cell.time().replace(microsecond=0)
        if isinstance(cell, dt.time):
            return cell.replace(microsecond=0, tzinfo=None)
        if isinstance(cell, int | float) and not isinstance(cell, bool) and 0 <= cell < 1:
            seconds = min(round(cell * 86400), 86399)
            return dt.time(seconds // 3600, seconds // 60 % 60, seconds % 60)
        match = _TIME.match(text_of(cell))
        if match is not None:
            hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
            if match[4]:
                hour = hour % 12 + (12 if match[4].lower() == "pm" else 0)
            if hour < 24 and minute < 60 and second < 60:
                return dt.time(hour, minute, second)
        raise self.fault(f"“{text_of(cell)}” is not a time such as 09:30", cell)

    # ------------------------------------------------------------ numbers

    def _clock(self, cell: Cell) -> float:
        if isinstance(cell, dt.time):
            return self._hour(cell.hour + cell.minute / 60, cell)
        if isinstance(cell, dt.datetime):
            return self._hour(cell.hour + cell.minute / 60, cell)
        match = _CLOCK.match(self._dotted(text_of(cell)))
        if match is None:
            raise self.fault(f"“{text_of(cell)}” is no place on the clock (1 to 12)", cell)
        return self._hour(float(match[1]) + int(match[2] or 0) / 60, cell)

    def _hour(self, hour: float, cell: Cell) -> float:
        if not 0 <= hour < 13 or (hour > 12 and hour % 1 == 0):
            raise self.fault(f"“{text_of(cell)}” is no place on the clock (1 to 12)", cell)
        return hour - 12 if hour > 12 else hour or 12.0

    def _count(self, cell: Cell) -> int:
        text = self._dotted(text_of(cell))
        text = re.sub(r"\s*days?$", "", text)
        if not _PLAIN.match(text) or not float(text).is_integer() or len(text) > 15:
            raise self.fault(f"“{text_of(cell)}” is not a whole number", cell, self._guess(text))
        return int(self._within(float(text)))

    def _quantity(self, cell: Cell) -> float:
        if isinstance(cell, bool | dt.date | dt.time | dt.timedelta):
            raise self.fault(f"“{text_of(cell)}” is not a number", cell)
        if isinstance(cell, int | float):
            return self._number(float(cell), cell)
        text = self._dotted(text_of(cell)) if isinstance(cell, str) else ""
        if _PLAIN.match(text):
            return self._number(float(text), cell)
        if text.endswith(OF_ONE) and _PLAIN.match(text.removesuffix(OF_ONE)):
            return self._within(float(text.removesuffix(OF_ONE)))
        try:
            value = parse_in(text, self.column.kind, self.unit, self.column.name)
        except InputError as error:
            words = error.faults[0].message.replace(f"“{text}”", f"“{text_of(cell)}”")
            raise self.fault(words, cell, self._guess(text)) from error
        return self._within(value)

    def _number(self, number: float, cell: Cell) -> float:
        if self._scale is None:
            words = f"“{text_of(cell)}” has no unit; {NO_UNIT}, "
            words += f"such as {self.column.name} [{KINDS[self.column.kind].us_unit}]"
            raise self.fault(words, cell)
        return self._within(self._scale(number))

    def _dotted(self, text: str) -> str:
        """The text with a decimal point and without marks between thousands."""
        if self.habits.decimal == ",":
            return _COMMA.sub(_with_point, text)
        return text.replace(",", "") if _GROUPED.match(text) else text

    def _guess(self, text: str) -> str | None:
        """What the text looks like, where one change of look-alike letters makes a number."""
        changed = re.sub(r"(?<=[\d.,])[OolISBZ]+(?![A-Za-z])|(?<![A-Za-z])[OolISBZ]+(?=[\d.,])",
                         lambda m: m[0].translate(_LOOKALIKES), text)  # fmt: skip
        if self.habits.decimal == "." and changed == text:
            changed = re.sub(r"^(\d+),(\d+)(?=\D*$)", r"\1.\2", text)
        if changed == text:
            return None
        shown, changed = changed, self._dotted(changed)
        try:
            if self.column.is_quantity:
                self._within(parse_in(changed, self.column.kind, self.unit or "", "x"))
            elif not _PLAIN.match(changed):
                return None
        except InputError:
            return None
        return f"“{text}” looks like “{shown}”"

    def _within(self, value: float) -> float:
        c = self.column
        inside = (
            math.isfinite(value)
            and (c.low is None or value >= c.low)
            and (c.high is None or value <= c.high)
            and (c.above is None or value > c.above)
        )
        if inside:
            return value
        least = c.low if c.low is not None else c.above
        unit = KINDS[c.kind].si if c.is_quantity else "1"
        unit = "" if unit == "1" else unit
        words = f"{value:g} {unit}".rstrip() + f" is outside {range_text(least, c.high, unit)}"
        raise InputError(Fault(c.name, words, value, unit, least, c.high))


def _with_point(match: re.Match[str]) -> str:
    return re.sub(r"[.\u00a0 ]", "", match[1]) + "." + match[2]


def _may_lie_ahead(column: Field) -> bool:
    return "expires" in column.name or "due" in column.name


@lru_cache(maxsize=256)
def _scale(kind: str, unit: str) -> Callable[[float], float] | None:
    """What turns a number in `unit` into SI; None where a unit is needed and missing."""
    if not unit:
        return float if KINDS[kind].si == "1" else None
    if unit in (KINDS[kind].us_unit, KINDS[kind].si_unit):  # the full parser is slow to load
        return partial(to_si, unit=unit)
    factor, offset = parse_unit(unit, kind)
    return lambda number: number * factor + offset


_CHOICES: dict[str, dict[str, str]] = {}


def _choice_words(column: Field) -> dict[str, str]:
    """Folded words of a choice, each with its value."""
    kind = column.choices
    if kind is None:
        return {}
    found = _CHOICES.get(kind.__name__)
    if found is None:
        found = {fold(value): value for value in kind}
        found |= {fold(word): value for word, value in column.words.items() if fold(word)}
        _CHOICES[kind.__name__] = found
    return found
