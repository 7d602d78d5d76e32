"""The table that turns a code system's codes into neutral observations.

The table of EN 13508-2 comes with the program; a user extends it with rows of their own or
replaces it by another code system's. Rows whose kind is `material` or `purpose` translate
values of header fields.
"""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from drainwright.errors import Fault, InputError
from drainwright.exchange.reading import Reading
from drainwright.records.survey import ObservationKind, SurveyPurpose
from drainwright.sources import MARKS
from drainwright.units import KINDS, parse_unit, to_si

COLUMNS = (
    "code",
    "characterisation",
    "kind",
    "grade",
    "measured in",
    "measure",
    "unit",
    "words",
    "mark",
)
ANY = "*"


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one code with one characterisation means in plain words."""

    code: str
    characterisation: str
    """Characterisation 1, or `A B` for both; `*` stands for any other."""
    kind: str
    """An `ObservationKind`, or `material` or `purpose` for a header value."""
    grade: str = ""
    column: str = ""
    """The column that holds the measure, such as D."""
    measure: str = ""
    """Kind of the measure as in `units.KINDS`."""
    unit: str = ""
    words: str = ""
    mark: str = "M"

    def to_si(self, size: float) -> float:
        """A size in the unit of the table, in SI (15 digits: 35 % is 0.35)."""
        factor, offset = _scale(self.unit, self.measure)
        return float(f"{size * factor + offset:.15g}")

    def from_si(self, size: float) -> float:
        """A size in SI, in the unit of the table."""
        factor, offset = _scale(self.unit, self.measure)
        return (size - offset) / factor


@lru_cache(maxsize=64)
def _scale(unit: str, measure: str) -> tuple[float, float]:
    if unit in _shown(measure):  # the full unit parser is slow to load
        zero = to_si(0.0, unit)
        return to_si(1.0, unit) - zero, zero
    return parse_unit(unit, measure)


def _shown(measure: str) -> tuple[str, str]:
    return KINDS[measure].us_unit, KINDS[measure].si_unit


class CodeTable:
    """Meanings by code and characterisation."""

    def __init__(self, system: str, meanings: Iterable[Meaning]) -> None:
        self.system = system
        self._rows: dict[tuple[str, str], Meaning] = {}
        for meaning in meanings:
            self._rows[meaning.code, meaning.characterisation] = meaning
        self._mark = ""
        self._named: dict[str, set[str]] = {code: set() for code, _ in self._rows}
        for code, key in self._rows:
            if key != ANY:
                self._named[code].add(key.split(" ")[0])

    @property
    def mark(self) -> str:
        """A short mark of what the table says; equal tables have equal marks."""
        if not self._mark:
            said = repr((self.system, self.meanings)).encode("utf-8", "replace")
            self._mark = hashlib.sha256(said).hexdigest()[:16]
        return self._mark

    @property
    def meanings(self) -> tuple[Meaning, ...]:
        """Every row of the table."""
        return tuple(self._rows.values())

    def knows(self, code: str) -> bool:
        """Whether the code stands in the table at all."""
        return code in self._named

    def find(self, code: str, first: str = "", second: str = "") -> Meaning | None:
        """The row for both characterisations, else the first, else any; None for none."""
        both = f"{first} {second}".strip()
        for key in (both, first, ANY):
            meaning = self._rows.get((code, key))
            if meaning is not None:
                return meaning
        return None

    def names(self, code: str, first: str) -> bool:
        """Whether a given characterisation is named by the table, where the table names any."""
        named = self._named.get(code)
        return not first or not named or first in named

    def code_for(self, kind: str, grade: str = "") -> Meaning | None:
        """The first row with this kind and grade, else the first with the kind."""
        rows = [row for row in self._rows.values() if row.kind == kind]
        same = [row for row in rows if row.grade == grade]
        plain = [row for row in rows if row.characterisation == ANY]
        return next(iter(same or plain or rows), None)

    def extended(self, meanings: Iterable[Meaning]) -> CodeTable:
        """The same table with rows added or replaced."""
        return CodeTable(self.system, (*self.meanings, *meanings))


@lru_cache(maxsize=1)
def default_code_table() -> CodeTable:
    """The table of EN 13508-2 that comes with the program."""
    name = "en13508_2.csv"
    data = files("drainwright.exchange").joinpath(name).read_bytes()
    return CodeTable("EN 13508-2", read_code_table(data, name).records)


def read_code_table(data: bytes, file: str) -> Reading[Meaning]:
    """Read a code table from CSV (UTF-8, comma); every fault is told with its row."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return Reading(file, (), (Fault("encoding", f"is not UTF-8 text: {error}", file=file),))
    rows = csv.reader(io.StringIO(text))
    found: list[Meaning] = []
    faults: list[Fault] = []
    try:
        header = [cell.strip().lower() for cell in next(rows, [])]
        faults += _header_faults(header, file)
        for cells in rows if not faults else ():
            if any(cell.strip() for cell in cells):
                entry = dict(zip(header, (cell.strip() for cell in cells), strict=False))
                wrong = list(_row_faults(entry))
                faults += [fault.placed(file=file, row=rows.line_num) for fault in wrong]
                found += [] if wrong else [_meaning(entry)]
    except csv.Error as error:
        faults.append(Fault("row", str(error), file=file, row=rows.line_num))
    return Reading(file, tuple(found), tuple(faults))


def _header_faults(header: list[str], file: str) -> Iterable[Fault]:
    for name in ("code", "kind"):
        if name not in header:
            words = f"this column is missing; the columns are {', '.join(COLUMNS)}"
            yield Fault(name, words, file=file, row=1, column=name)
    for name in header:
        if name and name not in COLUMNS:
            words = f"is not a column of a code table; the columns are {', '.join(COLUMNS)}"
            yield Fault("column", words, name, file=file, row=1, column=name)


def _row_faults(entry: Mapping[str, str]) -> Iterable[Fault]:
    kind = entry.get("kind", "")
    kinds = [*(k.value for k in ObservationKind), "material", "purpose"]
    if not entry.get("code"):
        yield Fault("code", "is empty", column="code")
    if kind not in kinds:
        yield Fault("kind", f"“{kind}” is none of {', '.join(kinds)}", kind, column="kind")
    purposes = [purpose.value for purpose in SurveyPurpose]
    if kind == "purpose" and entry.get("grade") not in purposes:
        words = f"a purpose is one of {', '.join(purposes)}"
        yield Fault("grade", words, entry.get("grade"), column="grade")
    if entry.get("mark", "M") not in {*MARKS, ""}:
        yield Fault("mark", f"is one of {', '.join(MARKS)}", entry["mark"], column="mark")
    measure, unit = entry.get("measure", ""), entry.get("unit", "")
    if measure and measure not in KINDS:
        words = f"“{measure}” is none of {', '.join(sorted(KINDS))}"
        yield Fault("measure", words, measure, column="measure")
    elif measure and unit not in _shown(measure):
        try:
            parse_unit(unit, measure)
        except InputError as error:
            yield Fault("unit", error.faults[0].message, unit, column="unit")


def _meaning(entry: Mapping[str, str]) -> Meaning:
    measure = entry.get("measure", "")
    return Meaning(
        entry["code"],
        entry.get("characterisation", "") or ANY,
        entry["kind"],
        entry.get("grade", ""),
        (entry.get("measured in", "") or "D") if measure else "",
        measure,
        entry.get("unit", "") if measure else "",
        entry.get("words", ""),
        entry.get("mark", "") or "M",
    )


def write_code_table(table: CodeTable) -> bytes:
    """The table as CSV, to be edited and read back."""
    text = io.StringIO()
    out = csv.writer(text, lineterminator="\n")
    out.writerow(COLUMNS)
    for m in table.meanings:
        cells = (m.code, m.characterisation, m.kind, m.grade, m.column, m.measure, m.unit)
        out.writerow((*cells, m.words, m.mark))
    return text.getvalue().encode("utf-8")
