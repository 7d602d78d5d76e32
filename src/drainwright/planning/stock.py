"""What scheduled laterals take out of the stock, when it runs short, and by when to order."""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from drainwright.records.crew import Stock, StockItem, StockKind
from drainwright.records.work_sheet import WorkSheet

Material = tuple[StockKind, str]
UNITS = {
    StockKind.TUBE: "length",
    StockKind.PART_A: "mass",
    StockKind.PART_B: "mass",
    StockKind.COLLAR: "count",
    StockKind.SEAL: "count",
}
"""Kind of the amounts of each material."""


@dataclass(frozen=True, slots=True)
class CallOff:
    """One material: what is needed and there, and the order that is missing."""

    kind: StockKind
    name: str
    needed: float
    on_hand: float
    ordered: float
    due: dt.date | None
    to_order: float
    first_short: dt.date | None
    """First day on which it does not do; None where all is there in time."""
    order_by: dt.date | None
    """None where nothing is to be ordered, or no lead time is known."""
    laterals: tuple[str, ...]


def needs(sheet: WorkSheet, waste: float) -> Mapping[Material, float]:
    """What one lateral takes: m of tube, kg of resin with its waste, pieces of collar and seal."""
    found: dict[Material, float] = {}
    if sheet.tube is not None:
        found[StockKind.TUBE, sheet.tube.key] = _value(sheet, "cut.length")
    if sheet.resin is not None:
        for kind, figure in ((StockKind.PART_A, "wetout.part_a"),
                             (StockKind.PART_B, "wetout.part_b")):  # fmt: skip
            found[kind, sheet.resin.key] = _value(sheet, figure) * (1 + waste)
    collar = sheet.figure("collar.name")
    if collar is not None:
        found[StockKind.COLLAR, str(collar.value)] = 1.0
    seals = sheet.figure("seal.places")
    if seals is not None:
        name, _, places = str(seals.value).partition(":")
        found[StockKind.SEAL, name] = 3.0 if "far end" in places else 2.0
    return {material: amount for material, amount in found.items() if amount > 0}


def _value(sheet: WorkSheet, key: str) -> float:
    found = sheet.figure(key)
    return 0.0 if found is None or isinstance(found.value, str) else found.value


def call_off(
    planned: Sequence[tuple[dt.date, WorkSheet]], stock: Stock | None
) -> tuple[CallOff, ...]:
    """Every material of the planned laterals; all of it is short where no stock is entered.

    Deliveries count from their day on; what is short is ordered in one lot for its first day.
    """
    by_material: dict[Material, list[tuple[dt.date, str, float]]] = defaultdict(list)
    leads: dict[Material, int] = {}
    for day, sheet in sorted(planned, key=lambda one: (one[0], one[1].lateral.key)):
        for material, amount in needs(sheet, stock.waste if stock else 0.0).items():
            by_material[material].append((day, sheet.lateral.key, amount))
        if sheet.tube is not None and sheet.tube.lead_time_days is not None:
            leads[StockKind.TUBE, sheet.tube.key] = sheet.tube.lead_time_days
    return tuple(
        _line(material, uses, stock, leads.get(material))
        for material, uses in sorted(by_material.items())
    )


def _line(
    material: Material,
    uses: Sequence[tuple[dt.date, str, float]],
    stock: Stock | None,
    lead: int | None,
) -> CallOff:
    kind, name = material
    item = (stock.item(kind, name) if stock else None) or StockItem(kind, name, 0.0)
    lead = item.lead_time_days if item.lead_time_days is not None else lead
    needed, first_short = 0.0, None
    for day, _, amount in uses:
        needed += amount
        there = item.on_hand + (item.ordered if item.due is not None and item.due <= day else 0.0)
        if first_short is None and needed > there + 1e-9:
            first_short = day
    short = max(0.0, needed - item.on_hand - item.ordered)
    by = None
    if short > 1e-9 and first_short is not None and lead is not None:
        by = first_short - dt.timedelta(days=lead)
    return CallOff(
        kind, name, needed, item.on_hand, item.ordered, item.due, short if short > 1e-9 else 0.0,
        first_short, by, tuple(dict.fromkeys(key for _, key, _ in uses)),
    )  # fmt: skip


def material_days(
    sheets: Sequence[WorkSheet], stock: Stock | None, today: dt.date
) -> Mapping[str, tuple[dt.date | None, str]]:
    """First day on which each lateral's material is there, and what is short in words.

    Laterals take from the stock in the order given: what is on hand first, then what is on
    order, then what an order made today would bring. Without a stock list nothing is held up.
    """
    if stock is None:
        return {sheet.lateral.key: (today, "") for sheet in sheets}
    used: dict[Material, float] = defaultdict(float)
    found: dict[str, tuple[dt.date | None, str]] = {}
    for sheet in sheets:
        day: dt.date | None = today
        words = ""
        for material, amount in needs(sheet, stock.waste).items():
            used[material] += amount
            lead = sheet.tube.lead_time_days if sheet.tube else None
            one = _there(stock.item(*material), material, used[material], (today, lead))
            if one is None:
                day, words = None, _short(material)
                break
            if day is not None and one > day:
                day, words = one, f"{_name(material)} comes on {one}."
        found[sheet.lateral.key] = (day, words)
    return found


def _there(
    item: StockItem | None, material: Material, used: float, asked: tuple[dt.date, int | None]
) -> dt.date | None:
    """The day on which so much has come; None where nobody knows."""
    today, lead = asked
    if material[0] is not StockKind.TUBE:
        lead = None
    if item is not None:
        if used <= item.on_hand + 1e-9:
            return today
        if item.due is not None and used <= item.on_hand + item.ordered + 1e-9:
            return max(item.due, today)
        lead = item.lead_time_days if item.lead_time_days is not None else lead
    return None if lead is None else today + dt.timedelta(days=lead)


def _short(material: Material) -> str:
    return f"{_name(material)} is short, and no lead time is entered."


def _name(material: Material) -> str:
    kind, name = material
    return f"{kind.value} {name}"


def late(lines: Sequence[CallOff], today: dt.date) -> Iterator[CallOff]:
    """Orders whose last day has passed."""
    yield from (one for one in lines if one.order_by is not None and one.order_by < today)
