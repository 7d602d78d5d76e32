"""Surveys written as EN 13508-2 exchange text.

What was read and not changed is written as it was read, in its order; what was changed or
made here is written from the neutral observation by the table of codes.
"""

from __future__ import annotations

import codecs
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drainwright.errors import InputError
from drainwright.exchange import survey_values as values
from drainwright.exchange.codes import CodeTable, Meaning, default_code_table
from drainwright.exchange.en13508 import setting_lines
from drainwright.exchange.fields import fold
from drainwright.exchange.survey_header import DIRECTIONS, Header
from drainwright.exchange.survey_text import column_keys, join_fields
from drainwright.records.survey import Observation, ObservationKind, Survey

SETTINGS = {"A1": "UTF-8", "A2": "en", "A3": ",", "A4": ".", "A5": '"', "A6": "2010"}
HEADER = ("AAA", "AAH", "AAI", "AAK", "ABF", "ABG", "ABH", "ABP", "ABQ", "ACB", "ACD", "ADE")
COLUMNS = tuple("IABCDEFGHJKMN")


def write_survey_text(surveys: Iterable[Survey], table: CodeTable | None = None) -> bytes:
    """The surveys as one exchange text; an unchanged file comes back as it was read."""
    known = table or default_code_table()
    lines: list[str] = []
    last: Mapping[str, str] | None = None
    newline, encoding = "\n", ""
    for survey in surveys:
        settings = survey.settings or SETTINGS
        if last is None:
            newline = settings.get("newline", "\n")
            encoding = settings.get("encoding", "") or _encoding(settings)
        if settings != last:
            lines += setting_lines(dict(settings))
        last = settings
        lines += _SurveyWriter(survey, settings, known).lines()
    text = newline.join([*lines, ""]) if lines else ""
    try:
        return text.encode(encoding or "utf-8")
    except UnicodeEncodeError:  # a remark holds what the announced encoding can't
        first = settings_encoding(lines)
        return newline.join([*first, ""]).encode("utf-8")


def settings_encoding(lines: list[str]) -> list[str]:
    """The same lines with UTF-8 announced."""
    return ["#A1=UTF-8" if line.startswith("#A1=") else line for line in lines]


def _encoding(settings: Mapping[str, str]) -> str:
    name = settings.get("A1", "utf-8").strip().split(":")[0]
    try:
        return codecs.lookup(name).name
    except LookupError:
        return "utf-8"


@dataclass(slots=True)
class _SurveyWriter:
    survey: Survey
    settings: Mapping[str, str]
    table: CodeTable

    @property
    def decimal(self) -> str:
        return self.settings.get("A4", ".")

    def lines(self) -> list[str]:
        """Header, columns, rows and the end of one survey."""
        header = self._header()
        shape = self.survey.header_lines or (tuple(header),)
        rest = tuple(name for name in header if not any(name in names for names in shape))
        found = []
        for number, names in enumerate((*shape, rest) if rest else shape, 1):
            found.append(f"#B{number:02d}={self._join(names)}")
            found.append(self._join([header.get(name, "") for name in names]))
        columns = self._columns()
        found.append(f"#C={self._join(columns)}")
        keys = column_keys(columns)
        found += [self._join([row.get(key, "") for key in keys]) for row in self._rows()]
        return [*found, "#Z"]

    def _join(self, fields: Iterable[str]) -> str:
        separator = self.settings.get("A3", ",")
        return join_fields(list(fields), separator, self.settings.get("A5", '"'))

    def _header(self) -> dict[str, str]:
        """The fields as read, those that say something else now replaced."""
        given = dict(self.survey.header)
        told = Header(given, self.decimal, self.table).interpreted()
        for name, attribute, text in self._told():
            if name == "AAA" and fold(self.survey.lateral) == fold(told[attribute]):
                continue  # the reference as written names the same pipe
            coded = name in ("ABP", "ACD")  # a word that this table can't say stays as it was
            if told[attribute] != getattr(self.survey, attribute) and (text or not coded):
                given[name] = text
        if not self.survey.header:
            return {name: given.get(name, "") for name in HEADER}
        return given

    def _told(self) -> Iterable[tuple[str, str, str]]:
        s = self.survey
        bore = None if s.inside_diameter is None else s.inside_diameter * 1000
        directions = {word: letter for letter, word in DIRECTIONS.items()}
        material, purpose = self.table.code_for("material", s.material), s.purpose.value
        reason = self.table.code_for("purpose", purpose)
        same = material is not None and material.grade == s.material
        yield "AAA", "lateral", s.lateral
        yield "AAH", "tap_distance", self._number(s.tap_distance)
        yield "AAI", "tap_clock", self._number(s.tap_clock)
        yield "AAK", "direction", directions.get(s.direction, s.direction)
        yield "ABF", "date", s.date.isoformat()
        yield "ABG", "time", _time(s)
        yield "ABH", "by", s.by
        known = reason is not None and reason.grade == purpose
        yield "ABP", "purpose", reason.characterisation if reason and known else ""
        yield "ABQ", "expected_length", self._number(s.expected_length)
        yield "ACB", "inside_diameter", self._number(bore)
        yield "ACD", "material", material.characterisation if material and same else s.material
        yield "ADE", "remark", s.remark

    def _number(self, value: float | None) -> str:
        return "" if value is None else values.number_text(value, self.decimal)

    def _columns(self) -> tuple[str, ...]:
        return self.survey.columns or COLUMNS

    def _rows(self) -> list[dict[str, str]]:
        """All rows in the order in which they were read, new ones where they belong."""
        rows: list[tuple[float, dict[str, str]]] = []
        pairs = _Pairs(self.survey.observations)
        place = 0.0
        for index, seen in enumerate(self.survey.observations):
            place = float(seen.row) if seen.row else place + 1e-4
            rows.append((place, self._row(seen, pairs.begin(index, seen))))
        for index, seen in enumerate(self.survey.observations):
            mark = pairs.end(index, seen)
            if seen.running_to is None or not mark:
                continue
            if seen.end_row:
                place = float(seen.end_row)
            else:
                before = [rows[i][0] for i, one in enumerate(self.survey.observations)
                          if one.distance <= seen.running_to]  # fmt: skip
                place = max([rows[index][0], *before]) + 5e-5
            rows.append((place, self._end_row(seen, mark)))
        rows.sort(key=lambda row: row[0])
        return [row for _, row in rows]

    def _row(self, seen: Observation, mark: str) -> dict[str, str]:
        row = dict(seen.raw)
        if not row or seen.code != " ".join(_codes(row)):
            self._code(row, seen)
        self._places(row, seen, seen.distance)
        if mark != row.get("J", ""):
            _put(row, "J", mark)
        self._measure(row, seen)
        for column, text in (("F", seen.remark), ("M", seen.still), ("N", seen.video)):
            if row.get(column, "") != text:
                _put(row, column, text)
        if seen.at_joint != (row.get("K", "").strip() == "A"):
            _put(row, "K", "A" if seen.at_joint else "")
        return row

    def _end_row(self, seen: Observation, mark: str) -> dict[str, str]:
        if seen.end_raw:
            row = dict(seen.end_raw)
            if self._read(row, "I") != seen.running_to:
                _put(row, "I", self._number(seen.running_to))
            return row
        row = {key: value for key, value in self._row(seen, mark).items() if key in "ABCDEGH"}
        return {**row, "I": self._number(seen.running_to), "J": mark}

    def _meaning(self, row: Mapping[str, str]) -> Meaning | None:
        return self.table.find(*(row.get(column, "").strip() for column in "ABC"))

    def _code(self, row: dict[str, str], seen: Observation) -> None:
        if seen.code:
            parts = seen.code.split(" ")
        else:
            meaning = self.table.code_for(seen.kind.value, seen.grade)
            if meaning is None:
                meaning = self.table.code_for(ObservationKind.REMARK.value)
            if meaning is None:
                return
            parts = [meaning.code, *meaning.characterisation.replace("*", "").split(" ")]
        for column, text in zip("ABC", [*parts, "", "", ""][:3], strict=True):
            _put(row, column, text)

    def _places(self, row: dict[str, str], seen: Observation, distance: float) -> None:
        if self._read(row, "I") != distance:
            _put(row, "I", self._number(distance))
        for column, hour in (("G", seen.clock_from), ("H", seen.clock_to)):
            if (self._read(row, column) or (None if not row.get(column) else 12.0)) != hour:
                _put(row, column, self._number(hour))

    def _measure(self, row: dict[str, str], seen: Observation) -> None:
        meaning = self._meaning(row)
        if seen.measure is None or meaning is None or seen.measure_kind != meaning.measure:
            return
        given = (self._read(data, meaning.column) for data in (row, seen.end_raw))
        if seen.measure in [None if size is None else meaning.to_si(size) for size in given]:
            return
        _put(row, meaning.column, self._number(meaning.from_si(seen.measure)))

    def _read(self, row: Mapping[str, str], column: str) -> float | None:
        text = row.get(column, "").strip()
        try:
            return values.number(text, self.decimal, column) if text else None
        except InputError:
            return None


class _Pairs:
    """Marks of running defects: those read are kept, new ones take free numbers."""

    def __init__(self, seen: Iterable[Observation]) -> None:
        every = list(seen)
        marks = [values.pair(one.raw.get("J", "")) for one in every]
        used = {mark[1] for mark in marks if mark}
        free = (number for number in range(1, 10_000) if number not in used)
        self._numbers: dict[int, int] = {}
        for index, (one, mark) in enumerate(zip(every, marks, strict=True)):
            if mark is not None and mark[0] == "A":
                self._numbers[index] = mark[1]
            elif one.running_to is not None:
                self._numbers[index] = next(free)

    def begin(self, index: int, seen: Observation) -> str:
        """The mark of the row that begins, or what was there."""
        if index in self._numbers:
            mark = f"A{self._numbers[index]}"
            given = seen.raw.get("J", "")
            return given if values.pair(given) == ("A", self._numbers[index]) else mark
        return seen.raw.get("J", "")

    def end(self, index: int, seen: Observation) -> str:
        """The mark of the row that ends; empty where none does."""
        if index not in self._numbers or seen.running_to is None:
            return ""
        return f"B{self._numbers[index]}"


def _codes(row: Mapping[str, str]) -> list[str]:
    parts = (row.get(column, "").strip() for column in "ABC")
    return [part for part in parts if part]


def _put(row: dict[str, str], column: str, text: str) -> None:
    if text:
        row[column] = text
    else:
        row.pop(column, None)


def _time(survey: Survey) -> str:
    if survey.time is None:
        return ""
    return survey.time.isoformat("seconds" if survey.time.second else "minutes")
