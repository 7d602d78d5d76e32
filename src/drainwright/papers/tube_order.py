"""The tube order sheet: what is bought for many laterals, and the check when it arrives."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head, refuse_demo_resin, size_text
from drainwright.papers.shown import UNKNOWN, date_text, reading
from drainwright.records.material import Tube
from drainwright.records.project import Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import UnitSystem, show


@dataclass(frozen=True, slots=True)
class Ordered:
    """One lateral's work sheet with its revision; `lined` where a liner is in already."""

    sheet: WorkSheet
    revision: int
    lined: bool = False


def tube_order_pdf(
    project: Project,
    orders: Sequence[Ordered],
    issue: Issue,
    *,
    needed_on: dt.date | None = None,
    system: UnitSystem | None = None,
) -> bytes:
    """The order for the tubes of `orders` as PDF.

    A lateral that is not lined, waits for the engineer or has no tube is named apart, with the
    reason. Raises `PaperError` where demo material stands in a real project.
    """
    for order in orders:
        refuse_demo_resin(order.sheet)
    data = tube_order_data(project, orders, issue, needed_on, system or project.units)
    return make_pdf("tube_order", data, issue.timestamp)


def tube_order_data(
    project: Project,
    orders: Sequence[Ordered],
    issue: Issue,
    needed_on: dt.date | None,
    system: UnitSystem,
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    by_tube: dict[str, list[Ordered]] = {}
    left_out: list[Data] = []
    for order in orders:
        why = "lined already" if order.lined else _why_not(order.sheet)
        if why or order.sheet.tube is None:
            left_out.append({"key": order.sheet.lateral.key, "why": why})
        else:
            by_tube.setdefault(order.sheet.tube.key, []).append(order)
    demo = any(o.sheet.tube is not None and o.sheet.tube.demo for o in orders)
    return {
        **project_head(project, issue, system, "Tube order"),
        "flipped": True,
        "demo_material": demo,
        "needed_on": date_text(needed_on, system),
        "groups": [_group(members, needed_on, system) for _, members in sorted(by_tube.items())],
        "collars": list(_collars(by_tube)),
        "left_out": left_out,
    }


def _why_not(sheet: WorkSheet) -> str:
    if sheet.outcome is Fitness.STOP:
        return "do not line"
    if sheet.outcome is Fitness.ASK:
        return "waits for the engineer"
    if sheet.tube is None:
        return "no tube chosen"
    if sheet.figure("cut.length") is None:
        return "no cut length"
    return ""


def _cut(sheet: WorkSheet) -> float:
    figure = sheet.figure("cut.length")
    return float(figure.value) if figure is not None and not isinstance(figure.value, str) else 0.0


def _group(
    members: Sequence[Ordered], needed_on: dt.date | None, system: UnitSystem
) -> dict[str, Data]:
    """One kind of tube: its laterals, their lengths, the total, and when to order."""
    tube = members[0].sheet.tube or Tube("", 0.0, 0.0)
    total = sum(_cut(order.sheet) for order in members)
    lead = tube.lead_time_days
    by = needed_on - dt.timedelta(days=lead) if needed_on and lead is not None else None
    return {
        "tube": tube.key,
        "size": size_text(tube.diameter, system),
        "wall": show(tube.wall, "wall", system).text,
        "lead": _lead_text(lead, by, system),
        "total": reading(total, "length", system).text,
        "count": str(len(members)),
        "rows": [_row(order, system) for order in members],
    }


def _lead_text(lead: int | None, by: dt.date | None, system: UnitSystem) -> str:
    """The lead time and, where the day of need is set, the last day to order."""
    if lead is None:
        return "lead time not known: ask the maker"
    order_by = (
        f", order by {date_text(by, system)}" if by is not None else " before the day of need"
    )
    return f"lead time {lead} days{order_by}"


def _row(order: Ordered, system: UnitSystem) -> dict[str, Data]:
    sheet = order.sheet
    length = reading(_cut(sheet), "length", system)
    collar = sheet.figure("collar.name")
    return {
        "key": sheet.lateral.key,
        "revision": f"rev {order.revision}" if order.revision else "draft",
        "address": sheet.lateral.address,
        "length": length.text,
        "also": length.also,
        "end": str(sheet.lateral.end_form),
        "collar": str(collar.value) if collar else UNKNOWN,
        "prepare": sheet.outcome is Fitness.PREPARE,
    }


def _collars(by_tube: dict[str, list[Ordered]]) -> Iterator[Data]:
    """How many collars of each kind the ordered laterals need."""
    counted: dict[str, int] = {}
    for members in by_tube.values():
        for order in members:
            collar = order.sheet.figure("collar.name")
            if collar is not None:
                counted[str(collar.value)] = counted.get(str(collar.value), 0) + 1
    yield from (f"{name}: {count}" for name, count in sorted(counted.items()))
