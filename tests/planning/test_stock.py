"""Call-off: what is short, from which day on, and by when to order."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from drainwright.planning.stock import call_off, late, material_days, needs
from drainwright.records.crew import Stock, StockItem, StockKind
from drainwright.records.work_sheet import WorkSheet
from tests.planning.shifts import candidate, figure

DAY = dt.date(2026, 12, 1)
LATER = dt.date(2026, 12, 8)


def sheet(key: str) -> WorkSheet:
    one = candidate(key).sheet
    more = (
        figure("wetout.part_a", 10.0, "mass"),
        figure("wetout.part_b", 2.5, "mass"),
        replace(figure("collar.name", 0.0, ""), value="C8"),
        replace(figure("seal.places", 0.0, ""), value="ring: collar, tap and far end; lot"),
    )
    return replace(one, figures=(*one.figures, *more))


def stock(*items: StockItem, waste: float = 0.1) -> Stock:
    return Stock(DAY, items, waste)


@pytest.mark.analytic
def test_one_lateral_takes_tube_resin_with_waste_collar_and_seals() -> None:
    assert needs(sheet("L1"), 0.1) == {
        (StockKind.TUBE, "T"): 12.0,
        (StockKind.PART_A, "slow"): pytest.approx(11.0),
        (StockKind.PART_B, "slow"): pytest.approx(2.75),
        (StockKind.COLLAR, "C8"): 1.0,
        (StockKind.SEAL, "ring"): 3.0,
    }


@pytest.mark.analytic
def test_what_is_short_is_ordered_for_its_first_day() -> None:
    tube = StockItem(StockKind.TUBE, "T", 20.0, lead_time_days=10)
    lines = call_off([(LATER, sheet("L2")), (DAY, sheet("L1"))], stock(tube))
    (line,) = (one for one in lines if one.kind is StockKind.TUBE)
    assert (line.needed, line.to_order, line.first_short) == (24.0, 4.0, LATER)
    assert line.order_by == LATER - dt.timedelta(days=10)
    assert line.laterals == ("L1", "L2")
    assert list(late(lines, DAY)) == [line]
    assert list(late(lines, line.order_by)) == []


@pytest.mark.analytic
def test_a_delivery_counts_from_its_day_on() -> None:
    coming = StockItem(StockKind.TUBE, "T", 12.0, ordered=12.0, due=LATER)
    (line,) = (
        one
        for one in call_off([(DAY, sheet("L1")), (LATER, sheet("L2"))], stock(coming))
        if one.kind is StockKind.TUBE
    )
    assert (line.to_order, line.first_short) == (0.0, None)
    early = call_off([(DAY, sheet("L1")), (DAY, sheet("L2"))], stock(coming))
    assert next(one for one in early if one.kind is StockKind.TUBE).first_short == DAY


def test_without_a_stock_list_all_is_to_be_ordered_and_nothing_is_held_up() -> None:
    lines = call_off([(DAY, sheet("L1"))], None)
    assert all(one.to_order == one.needed for one in lines)
    assert material_days([sheet("L1")], None, DAY) == {"L1": (DAY, "")}


def test_material_is_dealt_out_in_order() -> None:
    everything = [
        StockItem(StockKind.PART_A, "slow", 99.0), StockItem(StockKind.PART_B, "slow", 99.0),
        StockItem(StockKind.COLLAR, "C8", 9), StockItem(StockKind.SEAL, "ring", 30),
    ]  # fmt: skip
    tube = StockItem(StockKind.TUBE, "T", 12.0, ordered=12.0, due=LATER, lead_time_days=30)
    days = material_days([sheet(k) for k in ("L1", "L2", "L3")], stock(*everything, tube), DAY)
    assert [days[key][0] for key in ("L1", "L2", "L3")] == [
        DAY, LATER, DAY + dt.timedelta(days=30),
    ]  # fmt: skip
    never = material_days([sheet("L1"), sheet("L2")], stock(*everything[:3], tube), DAY)
    assert never["L1"][0] is None
    assert "seal ring is short" in never["L1"][1]
