"""One lateral with its surveys and its work sheet (read)."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.errors import NotFoundError
from drainwright.records.lateral import Lateral
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, RecordStore, Revision


@dataclass(frozen=True, slots=True)
class LateralView:
    """What is on record about one lateral."""

    lateral: Lateral
    revision: int
    surveys: tuple[Survey, ...]
    sheet: WorkSheet | None
    sheet_revision: int
    history: tuple[Revision, ...]


def show_lateral(store: RecordStore, project: str, key: str) -> LateralView:
    """The lateral `key`; `NotFoundError` where there is none."""
    with store.read() as session:
        stored = session.get(project, Lateral, key)
        surveys = tuple(s.record for s in session.every(project, Survey, Filters(lateral=key)))
        try:
            sheet = session.get(project, WorkSheet, key)
        except NotFoundError:
            sheet = None
        return LateralView(
            lateral=stored.record,
            revision=stored.revision.number,
            surveys=surveys,
            sheet=sheet.record if sheet else None,
            sheet_revision=sheet.revision.number if sheet else 0,
            history=session.history(project, Lateral, key),
        )
