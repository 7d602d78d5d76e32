"""How long steam flows: the maker's schedule now, the simulation beside it where it is known.

Every way of finding the hold answers with the same `SteamPlan`, so that sheets and pages need
not know which one spoke.
"""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.planning.site import Site
from drainwright.records.material import CureStep, Resin
from drainwright.sources import Citation, cite

CAUTION_MAKER_ONLY = (
    "Steam time is the resin maker's schedule alone; it does not know this pipe, its soil or its "
    "water. Read the sensors before you shut steam."
)


@dataclass(frozen=True, slots=True)
class SteamPlan:
    """Steam schedule and let-down of one lateral; SI."""

    steps: tuple[CureStep, ...]
    hold: float | None
    """Steam time from steam on [s]; None where the maker gives no schedule."""
    letdown: float
    """Warmest wall at which pressure may be let down [K]."""
    source: Citation
    cautions: tuple[str, ...] = ()


def by_maker_schedule(site: Site, resin: Resin) -> SteamPlan:
    """The steam plan by the resin maker's schedule."""
    limits = ("letdown_temperature", "letdown_temperature_steam")
    letdown = min(site.specification.value(name) for name in limits)
    if not resin.schedule:
        caution = "The resin maker's cure schedule is not entered: ask for the letter."
        return SteamPlan((), None, letdown, cite("maker"), (caution,))
    hold = sum(step.time for step in resin.schedule)
    return SteamPlan(resin.schedule, hold, letdown, cite("maker"), (CAUTION_MAKER_ONLY,))
