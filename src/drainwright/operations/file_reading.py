"""What the operations on files share: the request, the project's records, one reading."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from drainwright.errors import Fault, InputError
from drainwright.exchange.any_file import SURVEY_TEXT, is_survey_text
from drainwright.exchange.codes import CodeTable, default_code_table, read_code_table
from drainwright.exchange.columns import TABLES
from drainwright.exchange.cross_rows import Known
from drainwright.exchange.en13508 import read_survey_text
from drainwright.exchange.mapping import read_mapping
from drainwright.exchange.tables import TableOptions, read_table
from drainwright.records.lateral import Lateral
from drainwright.records.list_reading import ListMapping
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.survey import Survey, SurveyMethod
from drainwright.storage.protocol import R, ReadSession
from drainwright.units import FOOT, UnitSystem

Progress = Callable[[str, int, int], None]
KINDS = (*TABLES, SURVEY_TEXT)


@dataclass(frozen=True, slots=True)
class ReadRequest:
    """One file to read, and what the user said about it."""

    data: bytes
    file: str
    """Name without folder; it is the origin of what is stored."""
    kind: str = ""
    """What the rows are, such as laterals; empty takes what the header looks like."""
    mapping: bytes | None = None
    mapping_file: str = ""
    use_kept: bool = True
    """Use the mapping kept for a file with this header."""
    codes: bytes | None = None
    """A table of codes that extends EN 13508-2's."""
    codes_file: str = ""
    only_these_codes: bool = False
    accept_clean_rows: bool = False


@dataclass(frozen=True, slots=True)
class FileContent:
    """A file, read and compared with nothing yet."""

    kind: str
    records: tuple[Any, ...] = ()
    given: tuple[Mapping[str, Any], ...] = ()
    marks: tuple[str, ...] = ()
    """What each record's row said, as a short mark."""
    faults: tuple[Fault, ...] = ()
    notices: tuple[Fault, ...] = ()
    recognized: tuple[str, ...] = ()
    """What each column was taken for, in words."""
    left_out: bytes = b""
    left_out_rows: int = 0
    ending: str = ""
    """Of the file that holds what was left out, such as .csv."""
    header: str = ""
    mapping: ListMapping = field(default_factory=ListMapping)
    suggestion: ListMapping = field(default_factory=ListMapping)
    """A mapping that says what was recognized, to be corrected."""
    kinds: Mapping[str, str] = field(default_factory=dict)
    """Kinds of quantities by column, for showing faults."""


@dataclass(frozen=True, slots=True)
class ProjectRecords:
    """The records of a project that a file is checked against."""

    segments: Mapping[str, MainSegment]
    laterals: Mapping[str, Lateral]
    premises: Mapping[str, Premises]
    mappings: tuple[ListMapping, ...]
    revisions: dict[tuple[type, str], int]
    """Revision of each document, to notice that somebody else changed it meanwhile."""


def known_records(session: ReadSession, project: str) -> ProjectRecords:
    """All segments, laterals, premises and mappings of a project."""
    revisions: dict[tuple[type, str], int] = {}
    return ProjectRecords(
        all_of(session, project, MainSegment, revisions),
        all_of(session, project, Lateral, revisions),
        all_of(session, project, Premises, revisions),
        tuple(one.record for one in session.every(project, ListMapping)),
        revisions,
    )


def all_of(
    session: ReadSession, project: str, kind: type[R], revisions: dict[tuple[type, str], int]
) -> dict[str, R]:
    """All documents of one kind by key; their revisions are noted."""
    found: dict[str, R] = {}
    for one in session.every(project, kind):
        found[one.key] = one.record
        revisions[kind, one.key] = one.revision.number
    return found


def content_of(
    request: ReadRequest, project: Project, known: ProjectRecords, today: dt.date
) -> FileContent:
    """Read the file; raises `InputError` only where the mapping or code table has faults."""
    if request.kind == SURVEY_TEXT or (
        request.kind in ("", "surveys") and is_survey_text(request.data)
    ):
        return _surveys(request, known, today)
    mapping = ListMapping()
    if request.mapping is not None:
        names = {kind: tuple(f.name for f in fields) for kind, fields in TABLES.items()}
        read = read_mapping(request.mapping, request.mapping_file or "mapping", names)
        if read.faults:
            raise InputError(*read.faults)
        mapping = read.records[0]
    premises = {*known.premises, *(one.address for one in known.premises.values())}
    options = TableOptions(
        mapping=mapping,
        kept=known.mappings if request.use_kept and request.mapping is None else (),
        today=today,
        date_order="mdy" if project.units is UnitSystem.US else "",
        known=Known(known.segments, known.laterals, premises if known.premises else None),
    )
    return _table(request, options)


def _table(request: ReadRequest, options: TableOptions) -> FileContent:
    reading = read_table(request.kind, request.data, request.file, options)
    suggestion = ListMapping(
        kind=reading.kind,
        header=reading.header,
        columns={c.header: c.rule for c in reading.recognized},
        words=dict(reading.mapping.words),
        decimal=reading.mapping.decimal,
        dates=reading.mapping.dates,
        sheet=reading.mapping.sheet,
    )
    return FileContent(
        reading.kind,
        reading.records,
        reading.given,
        tuple(mark_of(one) for one in reading.given)
        or tuple(_survey_mark(one) for one in reading.records),
        reading.faults,
        reading.notices,
        tuple(column.words for column in reading.recognized),
        reading.left_out,
        reading.left_out_rows,
        "." + reading.form.kind,
        reading.header,
        reading.mapping,
        suggestion,
        reading.kinds,
    )


def code_table(request: ReadRequest) -> CodeTable:
    """EN 13508-2's table, with or replaced by the user's; raises `InputError` with faults."""
    if request.codes is None:
        return default_code_table()
    read = read_code_table(request.codes, request.codes_file or "codes")
    if read.faults:
        raise InputError(*read.faults)
    if request.only_these_codes:
        return CodeTable(request.codes_file.rpartition(".")[0] or "own codes", read.records)
    return default_code_table().extended(read.records)


def _surveys(request: ReadRequest, known: ProjectRecords, today: dt.date) -> FileContent:
    pipes = {*known.laterals, *known.segments}
    reading = read_survey_text(request.data, request.file, code_table(request), today, pipes)
    records = []
    notices = list(reading.notices)
    for survey in reading.records:
        one = survey
        if survey.lateral in known.segments and survey.lateral not in known.laterals:
            one = replace(survey, method=SurveyMethod.ALONG_MAIN)
        elif survey.lateral in known.laterals:
            notices += _differences(survey, known.laterals[survey.lateral], request.file)
        records.append(one)
    return FileContent(
        SURVEY_TEXT,
        tuple(records),
        marks=reading.marks,
        faults=reading.faults,
        notices=tuple(notices),
        left_out=reading.left_out,
        left_out_rows=reading.left_out.count(b"#B01="),
        ending=".txt",
    )


def _differences(survey: Survey, lateral: Lateral, file: str) -> list[Fault]:
    """What the survey's header says otherwise than the list; both are kept."""
    found = []
    tap, bore = survey.tap_distance, survey.inside_diameter
    if tap is not None and abs(tap - lateral.tap_distance) > 0.5 * FOOT:
        words = f"the survey of {lateral.key} has its tap at {tap:g} m, the list at "
        words += f"{lateral.tap_distance:g} m"
        found.append(Fault("AAH", words, tap, "m", file=file))
    listed = lateral.inside_diameter
    if bore is not None and listed is not None and abs(bore - listed) > 0.05 * listed:
        words = f"the survey of {lateral.key} has a bore of {bore * 1000:g} mm, the list "
        words += f"{listed * 1000:g} mm"
        found.append(Fault("ACB", words, bore, "m", file=file))
    return found


def mark_of(given: Mapping[str, Any]) -> str:
    """What a row said, as a short mark; equal rows have equal marks."""
    said = repr(sorted(given.items()))
    return hashlib.sha256(said.encode("utf-8", "replace")).hexdigest()[:16]


def _survey_mark(record: Any) -> str:
    return mark_of({"survey": replace(record, file="")})
