"""The proof report: how much less rain-derived flow comes, how it was found, what it is worth."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from drainwright.drawing.paired_chart import Cloud, draw_clouds
from drainwright.engineering.paired_basins import (
    CONTROL_LOG,
    DOUBLE_MASS,
    LOG_RATIO,
    RAIN_LOG,
    RAIN_SLOPE,
    Proof,
    Reduction,
    Storms,
)
from drainwright.papers.paper import Data, Svg, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.records.project import Project
from drainwright.units import UnitSystem

SEEN = {
    RAIN_SLOPE: "Volume per depth of rain: lines through the origin, Fieller's interval.",
    RAIN_LOG: "Volume at equal rain: one slope of the logarithms for both periods.",
    CONTROL_LOG: "Volume at equal flow of the control basin: one slope of the logarithms for both"
    " periods (analysis of covariance).",
    LOG_RATIO: "Mean ratio of treated to control, after against before (before-after/control-"
    "impact).",
    DOUBLE_MASS: "Total treated over total control, after against before; it has no interval.",
}
"""What each method's number means."""


@dataclass(frozen=True, slots=True)
class Worth:
    """The user's own figures for money; nothing is assumed."""

    annual: float
    """Rain-derived volume of a year before the work, in `unit`."""
    unit: str
    price: Decimal
    """For one `unit`."""
    currency: str
    years: float = 0.0
    rate: float = 0.0
    factor: float = 0.0
    """Present worth of 1 a year over those years."""


@dataclass(frozen=True, slots=True)
class ProofCase:
    """What the report is made from."""

    before: Storms
    after: Storms
    proof: Proof
    confidence: float
    units: dict[str, str]
    """Units that the file's header names, by column."""
    file: str
    sha256: str
    needed: int | None
    """Storms in each period for 80 % power at the scatter found."""
    worth: Worth | None = None


def proof_report_pdf(
    project: Project, case: ProofCase, issue: Issue, *, system: UnitSystem | None = None
) -> bytes:
    """The report as PDF; without a control basin it says that nothing is proved."""
    data = proof_report_data(project, case, issue, system or project.units)
    return make_pdf("proof_report", data, issue.timestamp)


def proof_report_data(
    project: Project, case: ProofCase, issue: Issue, system: UnitSystem
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    proof = case.proof
    best = next((one for one in proof.methods if one.method == proof.reported), None)
    return {
        **project_head(project, issue, system, "Proof report"),
        "headline": _headline(best, case.confidence),
        "definition": SEEN[best.method] if best else "",
        "why": proof.why,
        "methods": [_row(one, one is best) for one in proof.methods],
        "confidence": f"{100 * case.confidence:g} %",
        "chart": Svg(_chart(case)),
        "storms": list(_storms(case)),
        "heads": [_title(name, case.units) for name in _columns(case)],
        "counts": f"{case.before.rain.size} storms before, {case.after.rain.size} after",
        "needed": f"{case.needed}" if case.needed else "",
        "money": list(_money(best, case.worth)),
        "source": f"{case.file}, sha256 {case.sha256[:16]}",
        "control": case.before.control is not None,
    }


def _percent(share: float) -> str:
    return "" if math.isnan(share) else f"{100 * share:.1f} %"


def _headline(best: Reduction | None, confidence: float) -> str:
    if best is None:
        return "No reduction is reported: there is no control basin."
    return (
        f"Rain-derived flow fell by {_percent(best.reduction)}"
        f" ({100 * confidence:g} % sure: {_percent(best.low)} to {_percent(best.high)})."
    )


def _row(one: Reduction, reported: bool) -> Data:  # noqa: FBT001  a row's own state
    p = (
        ""
        if math.isnan(one.p_value)
        else f"{one.p_value:.3f}"
        if one.p_value >= 0.001
        else "< 0.001"
    )
    return {
        "method": one.method,
        "meaning": SEEN[one.method],
        "reduction": _percent(one.reduction),
        "interval": f"{_percent(one.low)} to {_percent(one.high)}"
        if not math.isnan(one.low)
        else "none",
        "p": p or "none",
        "reported": reported,
    }


def _columns(case: ProofCase) -> tuple[str, ...]:
    with_control = case.before.control is not None and case.after.control is not None
    return ("rain", "treated", "control") if with_control else ("rain", "treated")


def _title(name: str, units: dict[str, str]) -> str:
    unit = units.get(name, "")
    return f"{name}, {unit}" if unit else name


def _storms(case: ProofCase) -> Iterator[Data]:
    for period, storms in (("before", case.before), ("after", case.after)):
        columns = [getattr(storms, name) for name in _columns(case)]
        for number, row in enumerate(zip(*columns, strict=True), 1):
            yield [f"{period} {number}", *(f"{value:g}" for value in row)]


def _chart(case: ProofCase) -> str:
    beside = "control" if case.before.control is not None else "rain"
    pairs = [
        (storms.control if beside == "control" and storms.control is not None else storms.rain,
         storms.treated)
        for storms in (case.before, case.after)
    ]  # fmt: skip
    # one slope for both periods, as the methods have it: within-period sums of the logarithms
    products = squares = 0.0
    for across, up in pairs:
        x, y = np.log(across) - np.log(across).mean(), np.log(up) - np.log(up).mean()
        products, squares = products + float(x @ y), squares + float(x @ x)
    slope = products / squares if squares else 1.0
    clouds = [
        Cloud(name, across.tolist(), up.tolist(), slope)
        for name, (across, up) in zip(("before", "after"), pairs, strict=True)
    ]
    titles = _title(f"{beside} basin" if beside == "control" else beside, {}), "treated basin"
    units = case.units
    return draw_clouds(
        clouds[0], clouds[1],
        (titles[0] + (f", {units[beside]}" if units.get(beside) else ""),
         titles[1] + (f", {units['treated']}" if units.get("treated") else "")),
    )  # fmt: skip


def _money(best: Reduction | None, worth: Worth | None) -> Iterator[Data]:
    """Lines of a small table: label, number; nothing without the user's own figures."""
    if best is None or worth is None:
        return
    yield ["rain-derived volume of a year before", f"{worth.annual:,.2f} {worth.unit}"]
    yield ["price given", f"{worth.price:,} {worth.currency} for 1 {worth.unit}"]
    for label, share in (("kept out a year", best.reduction), ("at least", best.low),
                         ("at most", best.high)):  # fmt: skip
        saved = Decimal(repr(share * worth.annual)) * worth.price
        volume = f"{share * worth.annual:,.2f} {worth.unit}"
        text = f"{volume}, {saved:,.0f} {worth.currency}"
        if worth.factor:
            present = saved * Decimal(repr(worth.factor))
            over = f"over {worth.years:g} years at {100 * worth.rate:g} %"
            text += f"; {over}: {present:,.0f} {worth.currency}"
        yield [label, text]
