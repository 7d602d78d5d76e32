"""The finished wall: readings against the specified wall, by the rule of the specification."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Proof, Subject
from drainwright.checks import Check, at_least, not_assessed
from drainwright.engineering.wall_readings import WallSummary, wall_summary
from drainwright.records.specimen import WallReading
from drainwright.sources import cite

_POINT_RULES = (("ASTM D5813", 0.875, 0.0), ("EN ISO 11296-4", 0.80, 0.003))
"""Rule, least share of the wall at a point, and least wall [m]; both from memory."""


def readings_of(case: Case) -> tuple[WallReading, ...]:
    """Every reading of the wall that is on record."""
    given = sorted(case.walls, key=lambda one: one.number)
    return tuple(reading for one in given for reading in one.readings)


def finished_wall(case: Case) -> Subject:
    """Count, mean and least reading; what the other rule would say stands beside it."""
    read = readings_of(case)
    specified = case.figure("wall.installed")
    if not read or specified is None:
        why = "no reading of the wall" if not read else "the work sheet has no wall"
        check = not_assessed("wall of the liner", "wall", case.source("wall_any_point"), why)
        return Subject("wall", "Wall", (check,))
    summary = wall_summary([one.wall for one in read], specified)
    checks = tuple(_checks(case, summary, specified))
    proofs = tuple(
        Proof(f"{len(one.readings)} readings, {one.on}, by {one.by}, {one.how or 'way not told'}",
              f"wall_readings {one.key}")
        for one in sorted(case.walls, key=lambda one: one.number)
    )  # fmt: skip
    return Subject("wall", "Wall", checks, proofs, tuple(_by_rules(summary, case)))


def _checks(case: Case, summary: WallSummary, specified: float) -> Iterator[Check]:
    value, source = case.specification.value, case.source
    count = float(summary.count)
    yield at_least(
        "readings of the wall", count, value("wall_count_least"), "count",
        source("wall_count_least"),
    )  # fmt: skip
    mean = value("wall_mean_least") * specified
    yield at_least("mean wall", summary.mean, mean, "wall", source("wall_mean_least"))
    share = value("wall_any_point")
    note = f"{100 * summary.least_share:.1f} % of the specified wall, {100 * share:g} % asked for"
    yield at_least(
        "least wall", summary.least, share * specified, "wall", source("wall_any_point"), note
    )
    least = case.specification.optional("minimum_wall")
    if least is not None:
        yield at_least("least wall, absolute", summary.least, least, "wall", source("minimum_wall"))
    needed = case.figure("wall.required")
    if needed is not None:
        yield at_least(
            "mean wall, for the design", summary.mean, needed, "wall", cite("owner", "work sheet")
        )


def _by_rules(summary: WallSummary, case: Case) -> Iterator[str]:
    needed = case.figure("wall.required") or 0.0
    for rule, share, least in _POINT_RULES:
        kept = summary.least_share >= share and summary.least >= least
        kept = kept and (summary.mean >= needed if least else summary.mean_share >= 1)
        words = "kept" if kept else "not kept"
        yield f"By the rule of {rule} (from memory): {words}."
