"""A survey typed by hand: what kinds there are, what is typed read, and what is odd about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from drainwright.errors import InputError
from drainwright.records.survey import Observation, ObservationKind
from drainwright.units import UnitSystem, kind_unit, parse_in, parse_number, show

Kind = ObservationKind
COLUMNS = ("distance", "until", "kind", "measure", "clock", "clock_to", "joint", "remark", "still")
"""What a row of the grid is made of, as typed."""
_WORDS = {Kind.ABANDONED: "camera stopped", Kind.INTRUDING_TAP: "pipe sticking in"}
_NEEDS_SIZE = (Kind.ROOTS, Kind.BEND, Kind.OFFSET, Kind.DEFORMATION, Kind.DEPOSIT, Kind.OBSTACLE)
_MORE_GRADES = {Kind.BEND: ("hard",), Kind.ROOTS: ("fine", "tap root")}
_PLURALS = {"share": 1.0, "angle": 3.1416}
"""The largest size that can be meant, by kind."""


@dataclass(frozen=True, slots=True)
class Known:
    """A kind that can be typed: its word, its grades, and the kind of number it is measured in."""

    kind: ObservationKind
    word: str
    grades: Mapping[str, str]
    """Grade: kind of number for it, "" for none."""
    measure: str


@dataclass(frozen=True, slots=True)
class Odd:
    """Something about one cell: `wrong` can't be kept, else it is only told."""

    row: int
    column: str
    words: str
    wrong: bool = True


@dataclass(frozen=True, slots=True)
class TypedRow:
    """One row as typed; `base` is what it was read from, if it was on record."""

    cells: Mapping[str, str]
    base: Observation | None = None

    def cell(self, name: str) -> str:
        """What was typed, without blanks around it."""
        return self.cells.get(name, "").strip()

    @property
    def empty(self) -> bool:
        """Whether nothing was typed at all."""
        return not any(self.cell(name) for name in COLUMNS)


def vocabulary(meanings: Sequence[tuple[str, str, str]]) -> tuple[Known, ...]:
    """The kinds that can be typed, from a table's kinds, grades and kinds of number."""
    found = []
    for kind in Kind:
        if kind is Kind.UNKNOWN:
            continue
        grades = {g: m for k, g, m in meanings if k == kind.value and g}
        grades |= {grade: "" for grade in _MORE_GRADES.get(kind, ()) if grade not in grades}
        plain = [m for k, g, m in meanings if k == kind.value and m]
        word = _WORDS.get(kind, kind.value.replace("_", " "))
        found.append(Known(kind, word, grades, plain[0] if plain else ""))
    return tuple(found)


def kind_of(text: str, known: Sequence[Known]) -> tuple[Known, str] | str:
    """A kind and its grade by their beginnings, such as `ro` or `crack, op`; else what is wrong."""
    word, _, more = (part.strip().lower() for part in text.partition(","))
    fitting = [one for one in known if one.word == word]
    fitting = fitting or [one for one in known if one.word.startswith(word)]
    if not word or not fitting:
        return f"“{text}” is no kind that is known"
    if len(fitting) > 1:
        return f"“{text}” could be {' or '.join(one.word for one in fitting)}"
    found = fitting[0]
    grades = [grade for grade in found.grades if more and grade.startswith(more)]
    return found, (grades[0] if len(grades) == 1 else more)


def typed_of(seen: Observation, known: Sequence[Known], system: UnitSystem) -> dict[str, str]:
    """The cells of an observation, as they would be typed."""
    word = next((one.word for one in known if one.kind is seen.kind), seen.kind.value)
    size = ""
    if seen.measure is not None and seen.measure_kind:
        shown = show(seen.measure, seen.measure_kind, system)
        size = f"{shown.value:.4g} {shown.unit_text}".strip()
    return {
        "distance": _length_text(seen.distance, system),
        "until": _length_text(seen.running_to, system),
        "kind": f"{word}, {seen.grade}" if seen.grade else word,
        "measure": size,
        "clock": _plain(seen.clock_from),
        "clock_to": _plain(seen.clock_to),
        "joint": "j" if seen.at_joint else "",
        "remark": seen.remark,
        "still": seen.still,
    }


def _length_text(value: float | None, system: UnitSystem) -> str:
    if value is None:
        return ""
    return f"{show(value, 'length', system).value:.2f}"


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def read_rows(
    rows: Sequence[TypedRow], known: Sequence[Known], system: UnitSystem, zero: float
) -> tuple[tuple[tuple[int, Observation], ...], tuple[Odd, ...]]:
    """What was typed as observations with their rows, and everything odd.

    `zero` is what the counter read at the tap [m]; it comes off typed distances. A cell that
    still reads as its observation on record keeps that value to the last digit.
    """
    found: list[tuple[int, Observation]] = []
    odd: list[Odd] = []
    for number, row in enumerate(rows):
        if row.empty:
            continue
        reader = _Reader(number, row, tuple(known), system, zero)
        seen = reader.observation()
        odd.extend(reader.odd)
        if seen is not None:
            found.append((number, seen))
            odd.extend(_odd(number, seen))
    odd.extend(_together(found))
    return tuple(found), tuple(odd)


class _Reader:
    """Reads one row."""

    def __init__(
        self, number: int, row: TypedRow, known: tuple[Known, ...], system: UnitSystem, zero: float
    ) -> None:
        self.number, self.row, self.known, self.system, self.zero = number, row, known, system, zero
        self.was = typed_of(row.base, known, system) if row.base else {}
        self.odd: list[Odd] = []

    def observation(self) -> Observation | None:
        """The observation; None where a cell can't be read."""
        base = self.row.base
        if base is not None and all(self.row.cell(c) == self.was[c].strip() for c in COLUMNS):
            return base
        distance = self._length("distance", base.distance if base else None)
        if distance is None and not self.odd:
            self._wrong("distance", "is missing")
        until = self._length("until", base.running_to if base else None)
        named = self._kind()
        if named is None or distance is None:
            return None
        kind, grade, measured = named
        size, size_kind = self._measure(kind, measured)
        clocks = self._clock("clock"), self._clock("clock_to")
        if any(one.wrong for one in self.odd):
            return None
        made = base or Observation(kind, distance)
        if base is not None and (base.kind, base.grade) != (kind, grade):
            made = replace(made, code="")  # the code as read says something else
        return replace(
            made, kind=kind, distance=distance, measure=size, measure_kind=size_kind, grade=grade,
            clock_from=clocks[0], clock_to=clocks[1], running_to=until,
            at_joint=self.row.cell("joint").lower() not in ("", "n", "no"),
            remark=self.row.cell("remark"), still=self.row.cell("still"),
        )  # fmt: skip

    def _wrong(self, column: str, words: str) -> None:
        self.odd.append(Odd(self.number, column, words))

    def _unchanged(self, column: str) -> bool:
        return bool(self.was) and self.row.cell(column) == self.was[column].strip()

    def _length(self, column: str, recorded: float | None) -> float | None:
        text = self.row.cell(column)
        if self._unchanged(column) or not text:
            return recorded if text else None
        try:
            return parse_in(text, "length", kind_unit("length", self.system), column) - self.zero
        except InputError:
            self._wrong(column, f"“{text}” is no distance")
            return None

    def _kind(self) -> tuple[ObservationKind, str, str] | None:
        """Kind, grade and kind of number."""
        base, text = self.row.base, self.row.cell("kind")
        if base is not None and self._unchanged("kind"):
            known = next((one for one in self.known if one.kind is base.kind), None)
            measured = known.grades.get(base.grade) or known.measure if known else ""
            return base.kind, base.grade, base.measure_kind or measured
        found = kind_of(text, self.known) if text else "is missing"
        if isinstance(found, str):
            self._wrong("kind", found)
            return None
        one, grade = found
        return one.kind, grade, one.grades.get(grade) or one.measure

    def _measure(self, kind: ObservationKind, measured: str) -> tuple[float | None, str]:
        base, text = self.row.base, self.row.cell("measure")
        if not text:
            return None, base.measure_kind if base is not None and base.measure is None else ""
        if base is not None and self._unchanged("measure") and base.kind is kind:
            return base.measure, base.measure_kind
        if not measured:
            self._wrong("measure", "this kind has no size; write it as a remark")
            return None, ""
        try:
            size = parse_in(text, measured, kind_unit(measured, self.system), "measure")
        except InputError:
            unit = show(0.0, measured, self.system).unit_text
            self._wrong("measure", f"“{text}” is no size in {unit}")
            return None, ""
        most = _PLURALS.get(measured)
        if size < 0 or (most is not None and size > most):
            self._wrong("measure", f"“{text}” can’t be meant")
        return size, measured

    def _clock(self, column: str) -> float | None:
        text = self.row.cell(column)
        if not text:
            return None
        hour = parse_number(text)
        if hour is None or not 0 < hour <= 12:
            self._wrong(column, f"“{text}” is no place on a clock, 1 to 12")
            return None
        return hour


def _odd(number: int, seen: Observation) -> Iterator[Odd]:
    """What is odd about one observation by itself."""
    if seen.kind in _NEEDS_SIZE and seen.measure is None:
        yield Odd(number, "measure", "its size is not given", wrong=False)
    if seen.running_to is not None and seen.running_to < seen.distance:
        yield Odd(number, "until", "ends before it begins")
    if seen.clock_to is not None and seen.clock_from is None:
        yield Odd(number, "clock", "tells where it ends on the clock, not where it begins")
    if seen.distance < -0.3:
        yield Odd(number, "distance", "lies inside the main", wrong=False)


def _together(found: Sequence[tuple[int, Observation]]) -> Iterator[Odd]:
    """What is odd about rows beside each other."""
    before = None
    for number, seen in found:
        if before is not None and seen.distance < before - 1e-9:
            yield Odd(number, "distance", "lies before the row above it", wrong=False)
        before = seen.distance
        if any(
            other.kind is seen.kind and abs(other.distance - seen.distance) < 0.01
            for earlier, other in found
            if earlier < number
        ):
            yield Odd(number, "kind", "stands there twice", wrong=False)
