"""EN 13508-2 exchange text read into surveys: several a file, nothing dropped untold.

References
----------
EN 13508-2, exchange format and code tables, after public files that reproduce them (S2).
"""

from __future__ import annotations

import datetime as dt
import difflib
import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from drainwright.errors import Fault
from drainwright.exchange.codes import CodeTable, default_code_table
from drainwright.exchange.fields import fold
from drainwright.exchange.reading import Reading
from drainwright.exchange.survey_header import FIELD_NAMES, Header
from drainwright.exchange.survey_rows import Cache, RowReader, row_notices
from drainwright.exchange.survey_text import SETTINGS, Block, Text, split_text
from drainwright.records.survey import Observation, ObservationKind, Survey


@dataclass(frozen=True, slots=True)
class _Context:
    file: str
    table: CodeTable
    today: dt.date | None
    pipes: Mapping[str, str] | None
    cache: Cache


def read_survey_text(
    data: bytes,
    file: str,
    table: CodeTable | None = None,
    today: dt.date | None = None,
    pipes: Collection[str] | None = None,
) -> Reading[Survey]:
    """Read an exchange text; `table` gives the meaning of codes, EN 13508-2's by default.

    The lateral of each survey is the pipe reference as written (AAA). With `pipes`, keys of
    laterals and mains, it is the key that the reference names, and one that names none is a
    fault. With `today`, a survey dated later is a fault.
    """
    text = split_text(data)
    known = None if pipes is None else {fold(pipe): pipe for pipe in pipes}
    context = _Context(file, table or default_code_table(), today, known, {})
    surveys: list[tuple[Block, Survey]] = []
    for block in text.blocks:
        survey = _survey(block, context)
        if survey is not None:
            surveys.append((block, survey))
    _duplicates(surveys)
    bad = [block for block in text.blocks if block.faults or text.unreadable]
    good = [(block, survey) for block, survey in surveys if not block.faults]
    good = [] if text.unreadable else good
    clean = tuple(survey for _, survey in good)
    return Reading(
        file,
        clean,
        _placed(file, text.faults, (block.faults for block in text.blocks)),
        _placed(file, text.notices, (block.notices for block in text.blocks)),
        _left_out(text, bad, data),
        tuple(_mark(block, context.table) for block, _ in good),
    )


def _mark(block: Block, table: CodeTable) -> str:
    said = [*block.settings.items(), table.mark, *block.lines]
    return hashlib.sha256(repr(said).encode("utf-8", "replace")).hexdigest()[:16]


def _placed(
    file: str, own: Sequence[Fault], others: Iterable[Sequence[Fault]]
) -> tuple[Fault, ...]:
    found = [*own, *(fault for group in others for fault in group)]
    found.sort(key=lambda fault: fault.row or 0)
    return tuple(fault.placed(file=file) for fault in found)


def _survey(block: Block, context: _Context) -> Survey | None:
    decimal = block.settings.get("A4", ".")
    decimal = decimal if decimal in (".", ",") else "."
    header = Header(block.header, decimal, context.table)
    told = header.interpreted()
    _check_header(block, header, told, context)
    told["lateral"] = _pipe(block, told["lateral"], context)
    seen = RowReader(block, context.table, decimal, context.cache).observations()
    row_notices(block, seen, told["expected_length"])
    if block.faults:
        return None
    return Survey(
        **told,
        length=_inspected(seen),
        code_system=header.text("ABB") or header.text("ABA") or context.table.system,
        observations=seen,
        header=block.header,
        columns=block.columns,
        header_lines=tuple(block.header_lines),
        settings=block.settings,
        file=context.file,
    )


def _pipe(block: Block, name: str, context: _Context) -> str:
    """The key of the pipe that the survey names, compared without case and punctuation."""
    if context.pipes is None or not name:
        return name
    if fold(name) in context.pipes:
        return context.pipes[fold(name)]
    near = difflib.get_close_matches(fold(name), context.pipes, n=1, cutoff=0.8)
    guess = f"“{name}” looks like “{context.pipes[near[0]]}”" if near else None
    words = f"there is no lateral “{name}” in the project"
    line = block.places.get("AAA", block.line)
    block.faults.append(Fault("AAA", words, name, row=line, column="AAA", guess=guess))
    return name


def _check_header(block: Block, header: Header, told: dict[str, object], context: _Context) -> None:
    faults = list(header.faults)
    if not told["lateral"]:
        words = "the pipe reference is empty; it says which lateral was surveyed"
        faults.append(Fault("AAA", words, column="AAA"))
    day = told["date"]
    if not header.text("ABF"):
        faults.append(Fault("ABF", "the date of the survey is empty", column="ABF"))
    if context.today is not None and isinstance(day, dt.date) and day > context.today:
        words = f"the survey is dated {day.isoformat()}, later than today"
        faults.append(Fault("ABF", words, header.text("ABF"), column="ABF"))
    block.faults += [fault.placed(row=_line(block, fault)) for fault in faults]
    block.notices += [notice.placed(row=_line(block, notice)) for notice in header.notices]
    for name, line in block.places.items():
        if name not in FIELD_NAMES:
            words = "this header field is not known here; it is kept"
            value = block.header[name]
            block.notices.append(Fault(name, words, value, row=line, column=name))


def _line(block: Block, fault: Fault) -> int:
    return block.places.get(fault.column or "", block.line)


def _inspected(seen: Sequence[Observation]) -> float | None:
    """The distance of the finish node, else the farthest that was seen."""
    ends = [one.distance for one in seen if one.kind is ObservationKind.FINISH]
    far = [max(one.distance, one.running_to or 0.0) for one in seen]
    return ends[-1] if ends else max(far, default=None)


def _duplicates(surveys: Sequence[tuple[Block, Survey]]) -> None:
    seen: dict[str, Block] = {}
    for block, survey in surveys:
        first = seen.setdefault(survey.key, block)
        if first is not block:
            words = f"this survey stands twice, first in line {first.line}: {survey.key}"
            block.faults.append(Fault("survey", words, row=block.line))


def _left_out(text: Text, bad: Sequence[Block], data: bytes) -> bytes:
    """Settings and lines of the surveys with faults, a file of the same form."""
    if text.unreadable or (text.faults and not text.blocks):
        return data
    lines: list[str] = []
    settings: dict[str, str] = {}
    for block in bad:
        lines += setting_lines(block.settings) if block.settings != settings else []
        settings = block.settings
        lines += block.lines
        lines += [] if block.lines[-1].startswith("#Z") else ["#Z"]
    lines += text.stray
    if not lines:
        return b""
    newline = (bad[0].settings if bad else {}).get("newline", "\n")
    return newline.join([*lines, ""]).encode(text.encoding, "replace")


def setting_lines(settings: dict[str, str]) -> list[str]:
    """The #A lines (and unknown ones kept with them), in their order."""
    own = ("newline", "encoding")
    return [f"#{name}={value}" for name, value in settings.items() if name not in own]


__all__ = ["SETTINGS", "read_survey_text", "setting_lines"]
