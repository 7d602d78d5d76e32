"""The register of a project's laterals as a spreadsheet (read)."""

from __future__ import annotations

import datetime as dt

from drainwright.exchange.register import Entry, write_register
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


def register_of(store: RecordStore, project: Project, *, at: dt.datetime) -> bytes:
    """Every lateral that is not withdrawn, in the order of the lists, as XLSX."""
    with store.read() as session:
        sheets = {one.key: one for one in session.every(project.key, WorkSheet)}
        entries = []
        for one in session.every(project.key, Lateral):
            sheet = sheets.get(one.key)
            entries.append(
                Entry(
                    one.record,
                    one.stage,
                    one.fitness,
                    one.revision.number,
                    sheet.record if sheet else None,
                    sheet.revision.number if sheet else 0,
                )
            )
    return write_register(project, entries, f"Made {at:%Y-%m-%d %H:%M} UTC, project {project.key}")
