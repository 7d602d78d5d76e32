"""Plan laterals: from the records to a work sheet each, stored as a revision (write)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from drainwright.errors import InputError
from drainwright.operations.site_of import Gatherer
from drainwright.planning.design import design
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


@dataclass(frozen=True, slots=True)
class Planned:
    """One lateral's sheet with its revision, or the faults that kept it from being planned."""

    lateral: str
    sheet: WorkSheet | None
    revision: int
    changed: bool
    faults: tuple[str, ...] = ()


def plan_laterals(
    store: RecordStore,
    project: str,
    keys: Sequence[str] = (),
    *,
    by: str,
    at: dt.datetime,
    draws: int = 0,
    progress: Callable[[str], None] | None = None,
) -> list[Planned]:
    """Plan the laterals `keys`, or all of the project, and store each sheet that changed.

    With `draws` the steam time is also computed at the specification's confidence, which takes
    seconds a lateral. A sheet equal to the stored one but for its time keeps its revision. Raises
    `NotFoundError` for a key that is not there.
    """
    with store.write(by=by, at=at, origin="", reason="planned") as session:
        gatherer = Gatherer(session, project, at.date())
        wanted = keys or [stored.record.key for stored in session.every(project, Lateral)]
        done: list[Planned] = []
        for key in wanted:
            gathered = gatherer.gather(key)
            try:
                sheet = design(
                    gathered.site,
                    gathered.tubes,
                    gathered.resins,
                    gathered.collars,
                    draws=draws,
                )
            except InputError as error:
                words = tuple(str(fault) for fault in error.faults)
                done.append(Planned(key, None, 0, changed=False, faults=words))
                continue
            materials = gatherer.material_revisions(sheet.tube, sheet.resin)
            sheet = replace(sheet, made_from=(*gathered.revisions, *materials))
            revision = session.revision_of(project, WorkSheet, key)
            if revision:
                last = session.get(project, WorkSheet, key, revision).record
                sheet_as_last = replace(sheet, issued_at=last.issued_at, issued_by=last.issued_by)
                if sheet_as_last == last:
                    done.append(Planned(key, last, revision, changed=False))
                    continue
            sheet = replace(sheet, issued_at=at, issued_by=by)
            saved = session.put(project, sheet, expected=None)
            done.append(Planned(key, sheet, saved.revision, changed=True))
            if progress:
                progress(key)
    return done
