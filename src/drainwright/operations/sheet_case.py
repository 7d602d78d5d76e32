"""The case of the cure model for a lateral as its work sheet was issued (read)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from drainwright.acceptance.cure_rules import sheet_number
from drainwright.acceptance.cure_site import SiteCase
from drainwright.errors import InputError
from drainwright.planning.collar import choose_collar, plan_collar
from drainwright.planning.cure_case import CureInputs, cure_case, why_not
from drainwright.planning.cut_length import plan_length
from drainwright.planning.site import Site
from drainwright.planning.stations import plan_stations
from drainwright.records.material import Collar
from drainwright.records.work_sheet import WorkSheet


def case_of(site: Site, sheet: WorkSheet, collars: Sequence[Collar] = ()) -> SiteCase:
    """What planning asked the engine about this lateral, from the sheet's own records."""
    pressure = sheet_number(sheet, "launch.usual")
    if sheet.tube is None or sheet.resin is None or pressure is None:
        return SiteCase(None, "the work sheet has no tube, resin or pressure")
    there = replace(
        site,
        lateral=sheet.lateral,
        segment=sheet.segment,
        survey=sheet.survey,
        specification=sheet.specification,
    )
    try:
        length = plan_length(there)
        collar = choose_collar(there, collars) if collars else None
        inputs = CureInputs(
            there,
            sheet.tube,
            sheet.resin,
            plan_stations(there, length.lined, length.length),
            length.lined,
            pressure,
            plan_collar(there, collar) if collar else None,
        )
        lacks = why_not(inputs)
        return SiteCase(None if lacks else cure_case(inputs), lacks)
    except InputError as error:
        return SiteCase(None, "; ".join(str(fault) for fault in error.faults))
