"""Observation rows of the exchange text turned into neutral observations."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from drainwright.errors import Fault, InputError
from drainwright.exchange.codes import CodeTable, Meaning
from drainwright.exchange.survey_text import Block, Row
from drainwright.exchange.survey_values import clock, counter, number, pair
from drainwright.records.survey import Observation, ObservationKind


class _Known(NamedTuple):
    """What the table says of one code with its characterisations."""

    meaning: Meaning | None
    kind: ObservationKind
    grade: str
    measure: str
    code: str
    column: str
    """Column to tell a notice about, empty for none."""
    words: str


Cache = dict[tuple[str, str, str], _Known]


@dataclass(slots=True)
class RowReader:
    """Reads the rows of one survey; collects faults and notices on its block."""

    block: Block
    table: CodeTable
    decimal: str
    cache: Cache = field(default_factory=dict)
    """What the table says, by code and characterisations; shared by a file's surveys."""

    def observations(self) -> tuple[Observation, ...]:
        """All observations, running defects joined to one each, in the order of the rows."""
        found: list[Observation] = []
        running: dict[int, int] = {}
        for index, row in enumerate(self.block.rows, 1):
            seen = self._observation(index, row)
            if seen is None:
                continue
            mark = self._mark(row)
            if mark is None:
                found.append(seen)
            elif mark[0] == "A":
                if mark[1] in running:
                    self._unclosed(found[running[mark[1]]], mark[1])
                running[mark[1]] = len(found)
                found.append(seen)
            elif mark[1] in running:
                place = running.pop(mark[1])
                found[place] = self._joined(found[place], seen, row)
            else:
                words = f"ends running defect {mark[1]}, which did not begin before"
                self._notice(row, "J", words, row.fields["J"])
                found.append(seen)
        for name, place in running.items():
            self._unclosed(found[place], name)
        return tuple(found)

    def _notice(self, row: Row, name: str, words: str, value: object = None) -> None:
        self.block.notices.append(Fault(name, words, value, row=row.line, column=name))

    def _unclosed(self, seen: Observation, name: int) -> None:
        row = self.block.rows[seen.row - 1]
        self._notice(row, "J", f"running defect {name} ({seen.code}) has no end", f"A{name}")

    def _mark(self, row: Row) -> tuple[str, int] | None:
        text = row.fields.get("J", "").strip()
        if not text:
            return None
        mark = pair(text)
        if mark is None or mark[0] not in "AB":
            self._notice(row, "J", "is not the mark of a running defect (A1, B1); kept", text)
            return None
        return mark

    def _joined(self, begin: Observation, end: Observation, row: Row) -> Observation:
        if begin.code != end.code:
            words = f"ends {begin.code} with another code, {end.code}"
            self._notice(row, "A", words, end.code)
        if end.distance < begin.distance:
            words = "the running defect ends before it begins"
            self._notice(row, "I", words, row.fields.get("I"))
        sizes = [size for size in (begin.measure, end.measure) if size is not None]
        same = begin.measure_kind == end.measure_kind
        return replace(
            begin,
            running_to=end.distance,
            end_raw=row.fields,
            end_row=end.row,
            measure=max(sizes) if same and sizes else begin.measure,
        )

    def _observation(self, index: int, row: Row) -> Observation | None:
        fields = row.fields
        given = fields.get
        code, first, second = (
            given("A", "").strip(),
            given("B", "").strip(),
            given("C", "").strip(),
        )
        known = self._known(row, code, first, second)
        faults: list[Fault] = []
        if not code:
            faults.append(Fault("A", "the main code is empty", column="A"))
        distance = self._number(fields, "I", faults)
        if distance is None and not faults:
            faults.append(Fault("I", "the distance is empty", column="I"))
        hours = [
            self._number(fields, column, faults) if column in fields else None for column in "GH"
        ]
        measure = self._measure(fields, known.meaning, faults)
        if faults or distance is None:
            self.block.faults += [fault.placed(row=row.line) for fault in faults]
            return None
        joint = given("K", "").strip()
        if joint not in ("", "A"):
            self._notice(row, "K", "is not a joint mark (A); kept", joint)
        return Observation(
            known.kind,
            distance,
            measure,
            known.measure if measure is not None else "",
            known.grade,
            hours[0],
            hours[1],
            None,
            joint == "A",
            given("F", ""),
            given("M", ""),
            given("N", ""),
            known.code,
            fields,
            index,
        )

    def _known(self, row: Row, code: str, first: str, second: str) -> _Known:
        known = self.cache.get((code, first, second))
        if known is None:
            known = self.cache[code, first, second] = _look_up(self.table, code, first, second)
        if known.column:
            self._notice(row, known.column, known.words, code if known.column == "A" else first)
        return known

    def _number(self, fields: dict[str, str], column: str, faults: list[Fault]) -> float | None:
        text = fields.get(column, "")
        if not text.strip():
            return None
        try:
            if column in ("G", "H"):
                return clock(text, self.decimal, column)
            return number(text, self.decimal, column)
        except InputError as error:
            faults += [fault.placed(column=column) for fault in error.faults]
            return None

    def _measure(
        self, fields: dict[str, str], meaning: Meaning | None, faults: list[Fault]
    ) -> float | None:
        if meaning is None or not meaning.measure or meaning.column not in fields:
            return None
        value = self._number(fields, meaning.column, faults)
        if value is None:
            return None
        return meaning.to_si(value)


def _look_up(table: CodeTable, code: str, first: str, second: str) -> _Known:
    meaning = table.find(code, first, second)
    if meaning is not None and meaning.kind in ("material", "purpose"):
        meaning = None
    column = words = ""
    if code and not table.knows(code):
        column, words = "A", f"“{code}” is not in the table of {table.system}; kept and shown raw"
    elif code and not table.names(code, first):
        column, words = "B", f"characterisation “{first}” of {code} is not in the table; kept"
    return _Known(
        meaning,
        ObservationKind(meaning.kind) if meaning else ObservationKind.UNKNOWN,
        meaning.grade if meaning else "",
        meaning.measure if meaning else "",
        " ".join(part for part in (code, first, second) if part),
        column,
        words,
    )


def row_notices(block: Block, seen: Iterable[Observation], length: float | None) -> None:
    """Tell what is odd in the run of distances, counters and end nodes; nothing is changed."""
    rows = block.rows
    finish: float | None = None
    last = video = float("-inf")
    end = length if length is not None else float("inf")
    places: list[tuple[int, float, ObservationKind, dict[str, str]]] = []
    for one in seen:
        places.append((one.row, one.distance, one.kind, one.raw))
        if one.end_row and one.running_to is not None:
            places.append((one.end_row, one.running_to, one.kind, one.end_raw))
    places.sort(key=lambda place: place[0])
    tell = block.notices.append
    for index, distance, kind, raw in places:
        line, text = rows[index - 1].line, raw.get("I")
        if distance < 0:
            tell(Fault("I", "lies before the zero of the survey", text, row=line, column="I"))
        if distance < last:
            words = f"the distance decreases, from {last:g} m above"
            tell(Fault("I", words, text, row=line, column="I"))
        if distance > end + 0.005:
            words = f"lies beyond the pipe, which is {end:g} m long by the header (ABQ)"
            tell(Fault("I", words, text, row=line, column="I"))
        if finish is not None and distance > finish + 0.005:
            words = f"lies beyond the finish node at {finish:g} m"
            tell(Fault("I", words, text, row=line, column="I"))
        if kind is ObservationKind.FINISH:
            finish = distance
        last = distance
        count = counter(raw.get("N", ""))
        if count is not None:
            if count < video:
                tell(Fault("N", "the video counter decreases", raw["N"], row=line, column="N"))
            video = count
    _end_nodes(block, {kind for _, _, kind, _ in places})


def _end_nodes(block: Block, kinds: set[ObservationKind]) -> None:
    if ObservationKind.START not in kinds:
        words = "the survey has no start node"
        block.notices.append(Fault("BCD", words, row=block.line))
    if ObservationKind.FINISH not in kinds and ObservationKind.ABANDONED not in kinds:
        words = "the survey has no finish node and was not marked as abandoned (BDC)"
        block.notices.append(Fault("BCE", words, row=block.line))
