"""Rows of a lateral file: tightness readings, walls, coupons, and the design then and now."""

from __future__ import annotations

import math
from collections.abc import Iterator

from drainwright.acceptance.as_built import AsBuilt
from drainwright.acceptance.case import Case
from drainwright.acceptance.coupon_verdict import CouponResults
from drainwright.papers.paper import Data
from drainwright.papers.shown import UNKNOWN, date_text, reading, time_text
from drainwright.units import UnitSystem


def tightness_rows(case: Case, system: UnitSystem) -> Iterator[Data]:
    """Each tightness test with all of its readings."""

    def text(value: float | None, kind: str) -> str:
        return reading(value, kind, system).text

    zone = case.sheet.project.zone
    for one in sorted(case.tightness, key=lambda report: report.number):
        sections = ", ".join(
            f"{text(s.diameter, 'diameter')} × {text(s.length, 'length')}" for s in one.sections
        )
        yield {
            "name": f"test {one.number}, {one.scope}",
            "at": time_text(one.at, zone, system),
            "by": one.by,
            "method": one.method or UNKNOWN,
            "why_not": one.not_isolated,
            "sections": sections,
            "plugs": "; ".join(plug.place for plug in one.plugs),
            "inside": one.inside,
            "gauge": one.gauge,
            "asked": [
                text(one.start_pressure, "pressure"),
                text(one.allowed_drop, "pressure"),
                text(one.test_time, "time"),
            ],
            "readings": [
                [text(r.time, "time"), text(r.pressure, "pressure"),
                 text(r.temperature, "temperature")]
                for r in one.readings
            ],
        }  # fmt: skip


def wall_rows(case: Case, system: UnitSystem) -> Iterator[Data]:
    """Each reading of the wall."""
    for one in sorted(case.walls, key=lambda given: given.number):
        for read in one.readings:
            at = "" if read.distance is None else reading(read.distance, "length", system).text
            clock = "" if read.clock is None else f"{read.clock:g} o’clock"
            wall = reading(read.wall, "wall", system).text
            yield [wall, at, clock, f"{date_text(one.on, system)}, {one.by}"]


def coupon_rows(results: CouponResults, system: UnitSystem) -> Iterator[Data]:
    """Each specimen by both standards, with the window of strain that gave the modulus."""
    flagged = set(results.modulus.outliers) if results.modulus else set()
    place = 0
    for one in results.bent:
        far = one.modulus is not None and place in flagged
        place += one.modulus is not None
        test, bending, other = one.coupon.test, one.bending, one.other
        window = f"{bending.window[0]:.5f}–{bending.window[1]:.5f}" if bending else UNKNOWN
        yield [
            f"{test.number}, {test.sample}",
            test.standard,
            reading(one.modulus, "modulus", system).text + (" (far off)" if far else ""),
            window,
            reading(other.modulus if other else None, "modulus", system).text,
            reading(one.strength, "strength", system).text,
            f"{100 * bending.strain_at_peak:.2f} %" if bending else UNKNOWN,
            reading(bending.toe if bending else None, "thickness", system).text,
        ]


def as_built_rows(found: AsBuilt, system: UnitSystem) -> Iterator[Data]:
    """Each clause at each place: planned and built ratio, and the safety factor left."""
    for one in found.clauses:
        safety = _ratio(one.safety_now) if one.safety_factor > 1 else UNKNOWN
        yield [
            one.place,
            one.clause,
            reading(one.demand_now, one.kind, system).text,
            reading(one.capacity_now, one.kind, system).text,
            _ratio(one.ratio_then),
            _ratio(one.ratio_now),
            safety,
        ]


def _ratio(value: float) -> str:
    """A ratio; one above 100 is only said to be so."""
    if not math.isfinite(value):
        return UNKNOWN
    return f"{value:.2f}" if value < 100 else "> 100"
