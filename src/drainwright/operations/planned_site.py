"""The site behind a work sheet, with the rig as it was when the sheet was made (read)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from drainwright.drawing.lateral_drawing import site_of_sheet
from drainwright.errors import NotFoundError
from drainwright.planning.choice import with_choice
from drainwright.planning.site import Site
from drainwright.records.design_choice import DesignChoice
from drainwright.records.material import Collar
from drainwright.records.rig import Rig
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import ReadSession


@dataclass(frozen=True, slots=True)
class Behind:
    """What a work sheet was made from, rig and collars included."""

    sheet: WorkSheet
    site: Site
    collars: tuple[Collar, ...]


def behind_sheet(session: ReadSession, project: str, sheet: WorkSheet) -> Behind:
    """The site of a stored sheet: its snapshot, and the rig in the revision it names."""
    site = replace(site_of_sheet(sheet), rig=_named(session, project, sheet, Rig))
    choice = _named(session, project, sheet, DesignChoice)
    site = replace(with_choice(choice, site, (), ()).site, specification=sheet.specification)
    collars = tuple(stored.record for stored in session.every(project, Collar))
    demo = sheet.project.demo
    return Behind(sheet, site, tuple(one for one in collars if demo or not one.demo))


def _named(session: ReadSession, project: str, sheet: WorkSheet, kind: type[Any]) -> Any:
    """The document of a kind in the revision that the sheet names; None where it names none."""
    for reference in sheet.made_from:
        if reference.document == kind.__name__:
            try:
                return session.get(project, kind, reference.key, reference.revision).record
            except NotFoundError:
                return None
    return None
