"""One planned lateral for the tests of cure logs; planned once a run."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from drainwright.planning.design import design
from drainwright.planning.site import Site
from drainwright.records.material import CureStep
from drainwright.records.rig import Rig
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import INCH
from tests.planning.sites import site
from tests.planning.test_design import COLLAR, TUBES
from tests.planning.test_steam_plan import CURING

DEMO_STEPS = (CureStep(338.7, 1200.0), CureStep(355.4, 3600.0))
"""About 20 min at 150 °F, then 60 min at 180 °F."""
RESIN = replace(CURING, schedule=DEMO_STEPS)
RIG = Rig("rig 1", cap_vent=0.25 * INCH, boiler_power=60e3)


@cache
def place() -> Site:
    return site(rig=RIG)


@cache
def sheet() -> WorkSheet:
    """The work sheet, with the rule of the exhaust and the printed steam time."""
    made = design(place(), TUBES, (RESIN,), (COLLAR,))
    assert made.figure("steam.after_exhaust") is not None
    return made
