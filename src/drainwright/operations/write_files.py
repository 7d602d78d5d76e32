"""Write a project's records as a file that can be read back (read)."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from drainwright.errors import NotFoundError
from drainwright.exchange.any_file import SURVEY_TEXT
from drainwright.exchange.codes import write_code_table
from drainwright.exchange.columns import TABLES
from drainwright.exchange.en13508_writing import write_survey_text
from drainwright.exchange.table_records import Contact, MeasuredLength, TableRecord
from drainwright.exchange.table_writing import write_csv, write_xlsx
from drainwright.operations.file_reading import ReadRequest, code_table
from drainwright.records.lateral import Lateral
from drainwright.records.material import Resin, Tube
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment
from drainwright.records.rig import Rig
from drainwright.records.survey import Survey
from drainwright.storage.protocol import ReadSession, RecordStore
from drainwright.units import UnitSystem

_RECORDS: Mapping[str, type[Any]] = {
    "laterals": Lateral,
    "segments": MainSegment,
    "premises": Premises,
    "contacts": Premises,
    "measurements": Lateral,
    "surveys": Survey,
    "tubes": Tube,
    "resins": Resin,
    "rigs": Rig,
    SURVEY_TEXT: Survey,
}
CODES = "codes"
KINDS = (*TABLES, SURVEY_TEXT, CODES)


def write_file(
    store: RecordStore,
    project: str,
    kind: str,
    *,
    form: str,
    units: UnitSystem,
    keys: Collection[str] = (),
    codes: bytes | None = None,
) -> bytes:
    """Records of one kind as `csv`, `xlsx` or, for surveys, `txt` (exchange text).

    `keys` chooses laterals (for surveys, those of the laterals named), or other records by
    their own key; none means all. The kind `codes` is the table of codes, as CSV.
    """
    if kind == CODES:
        return write_code_table(code_table(ReadRequest(b"", "", codes=codes)))
    if kind == "surveys" and form == "txt":
        kind = SURVEY_TEXT
    if kind not in _RECORDS:
        raise NotFoundError(f"there is no list of “{kind}”; there are {', '.join(KINDS)}")
    if form not in (("txt",) if kind == SURVEY_TEXT else ("csv", "xlsx")):
        raise NotFoundError(
            f"{kind} can't be written as {form}; choose csv, xlsx, or txt (surveys)"
        )
    with store.read() as session:
        records = _chosen(session, project, kind, keys)
    if kind == SURVEY_TEXT:
        return write_survey_text(records, code_table(ReadRequest(b"", "", codes=codes)))
    rows = _rows(kind, records)
    return write_csv(kind, rows, units) if form == "csv" else write_xlsx(kind, rows, units)


def _chosen(session: ReadSession, project: str, kind: str, keys: Collection[str]) -> list[Any]:
    found = [one.record for one in session.every(project, _RECORDS[kind])]
    if not keys:
        return found
    surveys = kind in ("surveys", SURVEY_TEXT)
    names = {one.lateral if surveys else one.key for one in found}
    missing = [key for key in keys if key not in names]
    if missing:
        raise NotFoundError(f"there is no {', no '.join(missing)} among the {kind}")
    return [one for one in found if (one.lateral if surveys else one.key) in keys]


def _rows(kind: str, records: list[Any]) -> list[TableRecord]:
    if kind == "contacts":
        return [
            Contact(one.key, one.contact, one.phone, one.language, one.remark)
            for one in records
            if one.contact or one.phone
        ]
    if kind == "measurements":
        return [MeasuredLength(one.key, length) for one in records for length in one.lengths]
    return list(records)
