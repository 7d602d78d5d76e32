"""Plan laterals: from the records to a work sheet each, stored as a revision (write)."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

from drainwright.errors import InputError
from drainwright.operations.site_of import Gathered, Gatherer
from drainwright.planning.design import design
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore, WriteSession


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
    seconds a lateral. A sheet equal to the stored one but for its time keeps its revision.
    Computing holds no transaction; each sheet names the revisions it was made from. Raises
    `NotFoundError` for a key that is not there.
    """
    with store.read() as session:
        gatherer = Gatherer(session, project, at.date())
        wanted = keys or [stored.record.key for stored in session.every(project, Lateral)]
        sites = [gatherer.gather(key) for key in wanted]
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        designed = list(pool.map(partial(_designed, gatherer, draws=draws), sites))
    with store.write(by=by, at=at, origin="", reason="planned") as session:
        done = []
        for key, (sheet, faults) in zip(wanted, designed, strict=True):
            if sheet is None:
                done.append(Planned(key, None, 0, changed=False, faults=faults))
                continue
            done.append(_kept(session, project, replace(sheet, issued_at=at, issued_by=by)))
            if progress:
                progress(key)
    return done


def _designed(
    gatherer: Gatherer, gathered: Gathered, *, draws: int
) -> tuple[WorkSheet | None, tuple[str, ...]]:
    """The sheet of one lateral with the revisions it was made from, or the faults in its way."""
    try:
        sheet = design(
            gathered.site, gathered.tubes, gathered.resins, gathered.collars, draws=draws
        )
    except InputError as error:
        return None, tuple(str(fault) for fault in error.faults)
    materials = gatherer.material_revisions(sheet.tube, sheet.resin)
    return replace(sheet, made_from=(*gathered.revisions, *materials)), ()


def _kept(session: WriteSession, project: str, sheet: WorkSheet) -> Planned:
    """Store a sheet, unless the stored one differs from it only by who made it and when."""
    key = sheet.lateral.key
    revision = session.revision_of(project, WorkSheet, key)
    if revision:
        last = session.get(project, WorkSheet, key, revision).record
        if replace(sheet, issued_at=last.issued_at, issued_by=last.issued_by) == last:
            return Planned(key, last, revision, changed=False)
    saved = session.put(project, sheet, expected=None)
    return Planned(key, sheet, saved.revision, changed=True)
