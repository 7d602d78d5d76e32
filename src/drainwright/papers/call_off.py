"""The call-off list: what the shift plan takes out of the stock, and what to order by when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.papers.shown import date_text
from drainwright.planning.stock import UNITS, CallOff
from drainwright.records.project import Project
from drainwright.units import UnitSystem, show


def call_off_pdf(project: Project, lines: Sequence[CallOff], issue: Issue, today: dt.date) -> bytes:
    """The list as PDF, in the project's units; `PaperError` where it can't be set."""
    return make_pdf("call_off", call_off_data(project, lines, issue, today), issue.timestamp)


def call_off_data(
    project: Project, lines: Sequence[CallOff], issue: Issue, today: dt.date
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    system = project.units
    return {
        **project_head(project, issue, system, "Material call-off"),
        "flipped": True,
        "rows": [
            {
                "texts": list(call_off_texts(one, system)),
                "laterals": ", ".join(one.laterals),
                "order": one.to_order > 0,
                "late": one.order_by is not None and one.order_by < today,
            }
            for one in lines
        ],
    }


def call_off_texts(one: CallOff, system: UnitSystem) -> tuple[str, ...]:
    """Material, needed, on hand, on order, to order, short on, order by."""
    kind = UNITS[one.kind]

    def amount(value: float) -> str:
        return show(value, kind, system).text

    ordered = amount(one.ordered) if one.ordered else ""
    if ordered and one.due is not None:
        ordered += f", due {date_text(one.due, system)}"
    by = date_text(one.order_by, system) if one.order_by else ""
    if one.to_order and not by:
        by = "lead time not known"
    return (
        f"{one.kind.value} {one.name}",
        amount(one.needed),
        amount(one.on_hand),
        ordered,
        amount(one.to_order) if one.to_order else "",
        date_text(one.first_short, system) if one.first_short else "",
        by,
    )
