"""Make the cure record of a lateral as PDF (read)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from drainwright.operations.print_papers import file_name, write_file
from drainwright.papers.cure_record import CureFacts, cure_record_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.records.cure_log import CureLog, log_key
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession, RecordStore
from drainwright.units import UnitSystem


@dataclass(frozen=True, slots=True)
class CureRecordPaper:
    """The paper with a file name without ending."""

    name: str
    content: bytes


def cure_record(
    session: ReadSession,
    project: str,
    lateral: str,
    attempt: int = 1,
    *,
    system: UnitSystem | None = None,
) -> CureRecordPaper:
    """The record of a judged cure; `NotFoundError` where it was not judged."""
    key = log_key(lateral, attempt)
    verdict = session.get(project, CureVerdict, key)
    log = session.get(project, CureLog, key)
    sheet = session.get(project, WorkSheet, lateral)
    issue = Issue(verdict.revision.number, verdict.revision.at, verdict.revision.by)
    facts = CureFacts(sheet.record, log.record, verdict.record, issue)
    name = f"{file_name(lateral)} cure record" + ("" if attempt == 1 else f" {attempt}")
    return CureRecordPaper(name, cure_record_pdf(facts, system=system))


def print_cure_record(
    store: RecordStore, project: str, lateral: str, attempt: int, folder: Path
) -> tuple[Path, dt.datetime | None]:
    """Write the record into a folder; the path, and when its verdict was made."""
    with store.read() as session:
        paper = cure_record(session, project, lateral, attempt)
        made = session.get(project, CureVerdict, log_key(lateral, attempt)).revision.at
    path = folder / f"{paper.name}.pdf"
    write_file(path, paper.content)
    return path, made
