"""Can this rig reach the tap and carry this tube: hose, cable, clock, opening, room."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.planning.site import Site
from drainwright.records.material import Tube
from drainwright.records.rig import Rig
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import cite

_RIG = cite("geometry", "rig record")


def rig_reasons(site: Site, cut: float | None, tube: Tube | None) -> Iterator[Reason]:
    """Every way in which the rig falls short of this lateral; nothing where no rig is named."""
    if site.rig is None:
        return
    yield from _reach(site, site.rig)
    yield from _openings(site, site.rig)
    if cut is not None and tube is not None:
        yield from _capacity(site.rig, cut, tube)


def _reason(words: str, work: str) -> Reason:
    return Reason(Fitness.PREPARE, "rig", words, _RIG, work=work)


def _reach(site: Site, rig: Rig) -> Iterator[Reason]:
    from_ends = (
        (site.lateral.tap_distance, site.segment.from_depth, site.segment.from_manhole),
        (
            site.segment.length - site.lateral.tap_distance,
            site.segment.to_depth,
            site.segment.to_manhole,
        ),
    )
    needed = {name: along + (depth or 0.0) for along, depth, name in from_ends}
    for what, reach in (("hose", rig.hose_reach), ("cable", rig.cable_reach)):
        if reach is not None and min(needed.values()) > reach:
            words = f"The tap is beyond the rig's {what} from either manhole."
            yield _reason(words, f"A longer {what} or another rig.")


def _openings(site: Site, rig: Rig) -> Iterator[Reason]:
    opening, smallest = site.segment.manhole_opening, rig.smallest_opening
    if opening is not None and smallest is not None and opening < smallest:
        yield _reason("The carrier does not pass the manhole's opening.", "Another rig.")
    bore = site.segment.bore
    too_small = rig.smallest_main is not None and bore < rig.smallest_main - 1e-9
    too_large = rig.largest_main is not None and bore > rig.largest_main + 1e-9
    if too_small or too_large:
        side = "too small" if too_small else "too large"
        yield _reason(f"The main's bore is {side} for the carrier.", "Another rig.")
    clock = site.lateral.tap_clock
    if clock is not None and not _within_clock(clock, rig):
        yield _reason("The tap sits outside the clock range the carrier reaches.", "Another rig.")


def _within_clock(clock: float, rig: Rig) -> bool:
    if rig.clock_from is None or rig.clock_to is None:
        return True
    low, high, at = rig.clock_from % 12, rig.clock_to % 12, clock % 12
    return low <= at <= high if low <= high else at >= low or at <= high


def _capacity(rig: Rig, cut: float, tube: Tube) -> Iterator[Reason]:
    if not rig.capacities:
        return
    holds = [
        entry.length
        for entry in rig.capacities
        if entry.diameter >= tube.diameter - 1e-9 and entry.wall >= tube.wall - 1e-9
    ]
    if not holds:
        yield _reason("The rig's record names no room for a tube of this size and wall.", "Ask.")
    elif cut > max(holds):
        yield _reason("The carrier does not hold a tube of this length.", "Another rig.")
