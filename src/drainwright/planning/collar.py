"""The collar in the main: where it lands, what it would cover, and which one is chosen.

Distances along the main count from the segment's upstream manhole; the collar's middle is set
over the tap, less the seam's offset.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least, not_assessed
from drainwright.planning.site import Site
from drainwright.records.material import Collar
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import cite

_GEOMETRY = cite("geometry", "landing = (collar − hole)/2 − position error")


@dataclass(frozen=True, slots=True)
class CollarPlan:
    """One collar over one tap; SI."""

    collar: Collar
    bore: float
    """True inside diameter of the main."""
    hole: float | None
    """Length of the tap hole along the main."""
    upstream_edge: float
    downstream_edge: float
    landing_up: float | None
    landing_down: float | None
    checks: tuple[Check, ...]


def choose_collar(site: Site, collars: Sequence[Collar]) -> Collar | None:
    """The shortest collar made for the main's bore that lands as wanted; None if none fits it.

    Where none lands as wanted the longest that fits the bore is taken, and its check fails.
    """
    bore = site.segment.bore
    fitting = sorted(
        (c for c in collars if abs(bore / c.main_diameter - 1) <= c.stretch + 1e-9),
        key=lambda c: (c.length, c.key),
    )
    for collar in fitting:
        plan = plan_collar(site, collar)
        if all(check.outcome == "met" for check in plan.checks):
            return collar
    return fitting[-1] if fitting else None


def plan_collar(site: Site, collar: Collar) -> CollarPlan:
    """Where a collar lies in the main, and what is left to land on at each side of the hole."""
    tap, hole = site.lateral.tap_distance, site.lateral.tap_hole
    middle = tap - collar.seam_offset
    up, down = middle - collar.length / 2, middle + collar.length / 2
    least = site.specification.value("landing_least")
    source = site.specification.limit("landing_least").source
    if hole is None:
        reason = "the length of the tap hole along the main is not measured"
        check = not_assessed("collar lands on each side", "small_length", source, reason)
        return CollarPlan(collar, site.segment.bore, None, up, down, None, None, (check,))
    error = site.specification.value("position_error")
    landings = (tap - hole / 2 - up - error, down - tap - hole / 2 - error)
    checks = tuple(
        at_least(f"collar lands {side} the tap", landing, least, "small_length", source)
        for side, landing in zip(("upstream of", "downstream of"), landings, strict=True)
    )
    return CollarPlan(collar, site.segment.bore, hole, up, down, *landings, checks)


def mouth_length(site: Site) -> float | None:
    """Length of a fitting's mouth along the main [m]: an ellipse, D / sin(angle)."""
    diameter, angle = site.diameter, site.lateral.tap_angle
    if diameter is None or angle is None or math.sin(angle) <= 0:
        return None
    return diameter / math.sin(angle)


def collar_reasons(site: Site, plan: CollarPlan) -> Iterator[Reason]:
    """What speaks against this collar at this place: landing, neighbors, joints, manholes."""
    error = site.specification.value("position_error")
    low, high = plan.upstream_edge - error, plan.downstream_edge + error
    yield from _landing(plan)
    for other in site.neighbors:
        reach = (other.tap_hole or 0.0) / 2
        if low - reach < other.tap_distance < high + reach:
            words = f"The collar would cover the tap of {other.key}."
            outcome = Fitness.ASK if other.in_use is False else Fitness.STOP
            work = "Another collar or position, or one liner for both."
            yield Reason(outcome, "neighboring tap", words, _GEOMETRY, work=work)
    for joint in site.segment.joints:
        if low < joint < high:
            words = "A joint or repair of the main lies under the collar."
            work = "Look at it from the main; the engineer decides."
            yield Reason(Fitness.ASK, "joint under the collar", words, cite("practice"), work=work)
            break
    if low < 0 or high > site.segment.length:
        words = "The collar would reach into the manhole's wall."
        yield Reason(Fitness.STOP, "manhole", words, _GEOMETRY, work="A shorter collar.")


def _landing(plan: CollarPlan) -> Iterator[Reason]:
    for check in plan.checks:
        if check.outcome == "not assessed":
            words = "The tap hole is not measured, so the collar's landing is not known."
            work = "Measure the hole along the main."
            yield Reason(Fitness.PREPARE, "landing", words, check.source, work=work)
        elif check.outcome == "not met":
            words = f"The {check.name.replace(' lands', ' has too little to land on,')}."
            yield Reason(Fitness.STOP, "landing", words, check.source, work="A longer collar.")


def main_reasons(site: Site, collar: Collar | None) -> Iterator[Reason]:
    """No collar fits the main, or the main itself is lined after the laterals."""
    if collar is None:
        words = "No collar is made for this main's true inside diameter."
        work = "Order one for it; a lined main is smaller than it looks on the list."
        yield Reason(Fitness.PREPARE, "collar", words, cite("geometry"), work=work)
    if site.segment.lining == "to be lined after":
        words = "The main is to be lined after the laterals: its liner will cover this collar."
        work = "Line the main first, or agree with the engineer how the tap is reopened."
        yield Reason(Fitness.ASK, "main lining", words, cite("practice"), work=work)
