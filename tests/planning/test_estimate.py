"""A job estimate against sums made by hand from round numbers."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from drainwright.planning.estimate import job_estimate
from drainwright.records.cost_sheet import Added, CostLine, CostSheet, Per
from drainwright.records.work_sheet import Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.units import FOOT
from tests.planning.test_design import made

pytestmark = pytest.mark.analytic
LINED = made()
POUND = 0.45359237


def sheet(
    key: str, segment: str, outcome: Fitness = Fitness.LINE, rule: str = "", **values: float
) -> WorkSheet:
    """A work sheet with 40 ft of tube, 20 lb of resin, 2 h of steam and 1 h of cooling."""
    wanted = {
        "cut.length": 40 * FOOT, "length.lined": 38 * FOOT, "wetout.mass": 20 * POUND,
        "steam.hold": 7200.0, "steam.cool": 3600.0,
    } | {name.replace("_", "."): value for name, value in values.items()}  # fmt: skip
    kept = tuple(figure for figure in LINED.figures if figure.key not in wanted)
    figures = kept + tuple(replace(kept[0], key=name, value=it) for name, it in wanted.items())
    why = Reason(outcome, rule, "seen", cite("practice", "", "P"), work="Do it.") if rule else None
    return replace(
        LINED, lateral=replace(LINED.lateral, key=key),
        segment=replace(LINED.segment, key=segment),
        outcome=outcome, figures=figures, reasons=(why,) if why else (),
    )  # fmt: skip


TUBE = LINED.tube.key if LINED.tube else ""
COSTS = CostSheet(
    "round",
    (
        CostLine("job", "move", "lump sum", 90_000, Per.JOB),
        CostLine("set", "set-up", "h", 5_000, Per.SEGMENT, "8"),
        CostLine("lat", "crew", "h", 5_000, Per.LATERAL, "10"),
        CostLine("tube", "tube", "ft", 1_000, Per.CUT, "1.05", TUBE),
        CostLine("none", "other tube", "ft", 1_000, Per.CUT, "1", "no such tube"),
        CostLine("line", "lined", "ft", 100, Per.LINED),
        CostLine("resin", "resin", "lb", 500, Per.RESIN),
        CostLine("collar", "collar", "each", 30_000, Per.COLLAR),
        CostLine("steam", "steam", "h", 5_000, Per.STEAM, "4"),
        CostLine("cool", "cool", "h", 5_000, Per.COOL, "4"),
        CostLine("roots", "roots", "h", 10_000, Per.WORK, "1.5", work="roots"),
    ),
    (Added("overhead", "0.10"), Added("profit", "0.05")),
)
# own: crew 500 + tube 42 ft 420 + lined 38 + resin 100 + collar 300 + steam 8 h 400 + cool 4 h 200
OWN = 195_800


def test_a_job_of_three_laterals_by_hand() -> None:
    sheets = [
        sheet("A-1", "A"),
        sheet("A-2", "A", Fitness.PREPARE, "roots"),
        sheet("B-1", "B"),
        sheet("B-2", "B", Fitness.ASK, "roots"),
        sheet("B-3", "B", Fitness.STOP, "structure"),
    ]
    random.Random(1).shuffle(sheets)
    found = job_estimate(COSTS, sheets)
    amounts = {one.line.key: one.amount for one in found.lines}
    assert amounts == {
        "job": 90_000, "set": 2 * 8 * 5_000, "lat": 150_000, "tube": 126_000, "none": 0,
        "line": 11_400, "resin": 30_000, "collar": 90_000, "steam": 120_000, "cool": 60_000,
        "roots": 15_000,
    }  # fmt: skip
    assert found.cost == 90_000 + 80_000 + 3 * OWN + 15_000
    assert [amount for _, _, amount in found.added] == [77_240, 38_620]
    assert found.total == 772_400 + 77_240 + 38_620
    assert found.nothing == ("none",)
    assert found.left_out == (("B-3", "do not line"),)
    costs = {one.lateral: (one.own, one.part, one.counted) for one in found.laterals}
    assert costs == {
        "A-1": (OWN, 30_000 + 20_000, True),
        "A-2": (OWN + 15_000, 50_000, True),
        "B-1": (OWN, 30_000 + 40_000, True),
        "B-2": (OWN + 15_000, 0, False),
    }
    assert sum(own + part for own, part, counted in costs.values() if counted) == found.cost


def test_sixty_feet_instead_of_thirty_five_has_its_price() -> None:
    short, long = (
        job_estimate(COSTS, [sheet("A-1", "A", cut_length=feet * FOOT)]).cost for feet in (35, 60)
    )
    assert long - short == 25 * 1_050  # 25 ft of tube at 10.00 with 5 % waste


def test_without_a_make_up_there_is_no_price() -> None:
    bare = replace(sheet("A-1", "A"), figures=())
    found = job_estimate(COSTS, [bare])
    assert (found.total, found.laterals) == (0, ())
    assert found.left_out == (("A-1", "the work sheet has no make-up"),)
