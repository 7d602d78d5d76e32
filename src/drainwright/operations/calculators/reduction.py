"""`calc reduction`: how much less rain-derived flow comes, from storms before and after."""

from __future__ import annotations

import math
from collections.abc import Mapping

from drainwright.engineering.paired_basins import (
    CONTROL_LOG,
    DOUBLE_MASS,
    LOG_RATIO,
    RAIN_LOG,
    RAIN_SLOPE,
    Proof,
    Reduction,
    Storms,
    control_adjusted_slope,
    prove_reduction,
    storms_of,
)
from drainwright.engineering.storms_needed import smallest_change, storms_needed
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Said, Topic
from drainwright.operations.calculators.columns import find, number_column, read_rows
from drainwright.sources import cite

PERIODS = ("before", "after")
_COLUMNS = {
    "period": ("period", "phase", "when"),
    "rain": ("rain", "rainfall", "depth"),
    "treated": ("treated", "target", "relined"),
    "control": ("control", "reference"),
}
_NEEDED = (0.2, 0.3, 0.5)
SEEN = {
    RAIN_SLOPE: "volume per depth of rain, lines through the origin, Fieller's interval",
    RAIN_LOG: "volume at equal rain, one slope of the logarithms",
    CONTROL_LOG: "volume at equal flow of the control, one slope of the logarithms",
    LOG_RATIO: "mean ratio of treated to control, before and after",
    DOUBLE_MASS: "total treated over total control, no interval",
}
"""What each method compares, in words."""


def _run(inputs: Inputs) -> Answer:
    confidence = inputs.quantity("confidence", "share", 0.95, low=0.5, high=0.999)
    periods = read_storms(inputs, "storms")
    inputs.close()
    try:
        before, after = periods
        proof = prove_reduction(before, after, confidence)
    except InputError as error:
        for fault in error.faults:
            inputs.fault("storms", f"{fault.name}: {fault.message}")
        inputs.close()
        raise
    results: dict[str, Result] = {
        "methods": Said([_shown(one) for one in proof.methods], "reduction and its interval"),
        "reported": Said(proof.reported or "none", "the method the program stands by"),
        "why": Said(proof.why),
        **_planning(before, after, proof, confidence),
    }
    return Answer(
        "reduction", f"paired basins, {100 * confidence:g} % intervals", results, (),
        tuple(_cautions(before, after, proof)),
        (cite("clausen-spooner"), cite("fieller"), cite("eugene")),
    )  # fmt: skip


def _shown(one: Reduction) -> Mapping[str, object]:
    numbers = {"reduction": one.reduction, "low": one.low, "high": one.high, "p_value": one.p_value}
    return {"method": one.method} | {
        name: Quantity(None if math.isnan(value) else value, "number")
        for name, value in numbers.items()
    }


def _planning(before: Storms, after: Storms, proof: Proof, confidence: float) -> dict[str, Result]:
    """Storms that such a proof needs, by the scatter of the reported method or the next best."""
    named = proof.reported or RAIN_LOG
    best = next(one for one in proof.methods if one.method == named)
    how = f"in each period, 80 % power, by the scatter of {named}"
    needed = _needed(best.reduction, best.spread)
    results: dict[str, Result] = {
        "storms_needed": Quantity(needed, "number", f"{how}, for the reduction found"),
        "storms_needed_for": Said(
            [
                {
                    "reduction": Quantity(cut, "number"),
                    "storms": Quantity(_needed(cut, best.spread), "number"),
                }
                for cut in _NEEDED
            ],
            how,
        ),
        "smallest_reduction": Quantity(
            smallest_change(
                (best.spread, best.spread), (before.rain.size, after.rain.size), confidence
            ),
            "number", "that these storms can show at all",
        ),
    }  # fmt: skip
    if before.control is not None and after.control is not None:
        results["slope_less_control"] = Quantity(
            control_adjusted_slope(before, after), "number", "rain slope, less the control's own"
        )
        results["interaction"] = Quantity(
            proof.interaction, "number", "p: treated and control as proportional as before"
        )
    return results


def _needed(cut: float, spread: float) -> float | None:
    try:
        return float(storms_needed(cut, max(spread, 1e-6)))
    except InputError:
        return None


def _cautions(before: Storms, after: Storms, proof: Proof) -> list[str]:
    cautions = ["The definition belongs to the number: tell the method beside it."]
    if not proof.reported:
        cautions.append("Without a control basin this is no proof.")
    if any(math.isnan(one.low) for one in proof.methods):
        cautions.append("A method without interval or probability has none (null).")
    for name, one in (("before", before), ("after", after)):
        if one.rain.size < 6:
            cautions.append(f"Only {one.rain.size} storms {name} the work.")
    return cautions


def read_storms(inputs: Inputs, key: str) -> tuple[Storms, ...]:
    """Storms before and after from a CSV file; faults are added to the inputs."""
    header, rows = read_rows(inputs, key)
    if not header:
        return ()
    places = find(header, _COLUMNS)
    missing = [name for name in ("period", "rain", "treated") if name not in places]
    for name in missing:
        inputs.fault(key, f"has no column {name}", ", ".join(header))
    if missing:
        return ()
    periods = []
    for number, row in enumerate(rows, 2):
        place = places["period"]
        cell = row[place].strip().lower() if place < len(row) else ""
        if cell not in PERIODS:
            inputs.fault(key, f"row {number}, column period: “{cell}” is not before or after", cell)
        periods.append(cell)
    names = [name for name in ("rain", "treated", "control") if name in places]
    columns = {name: number_column(inputs, key, rows, places[name], name) for name in names}
    for name in names:
        for number, value in enumerate(columns[name], 2):
            if value <= 0.0:
                inputs.fault(key, f"row {number}, column {name}: {value:g} is not above 0", value)
    found = []
    for period in PERIODS:
        rows_of = [n for n, one in enumerate(periods) if one == period]
        if len(rows_of) < 3:
            inputs.fault(key, f"has {len(rows_of)} storms {period} the work, at least 3 are needed")
        elif not inputs.faults:
            found.append(storms_of(**{n: [columns[n][k] for k in rows_of] for n in names}))
    return tuple(found)


TOPIC = Topic("reduction", "less infiltration, from storms before and after", _run)
