"""`calc night-flow`: base infiltration from the least and the average dry-weather flow."""

from __future__ import annotations

import math

from drainwright.engineering.rdii import (
    minimum_flow_factor,
    stevens_schutzbach,
    wastewater_production,
)
from drainwright.errors import OutOfRangeError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Topic
from drainwright.sources import Citation, cite

METHODS = ("stevens-schutzbach", "minimum-factor", "wastewater-production")
_HOW = {
    METHODS[0]: "0.4 MDF/(1 − 0.6 (MDF/ADF)^(ADF^0.7)), flows in Mgal/d",
    METHODS[1]: "f × MDF",
    METHODS[2]: "ADF − (ADF − MDF)/X",
}
_SOURCES: dict[str, Citation] = {
    METHODS[0]: cite("stevens-schutzbach"),
    METHODS[1]: cite("memory", "minimum-flow factor 0.80 to 0.90"),
    METHODS[2]: cite("memory", "wastewater falls by X at night"),
}


def _run(inputs: Inputs) -> Answer:
    method = inputs.choice("method", METHODS, METHODS[0])
    average = inputs.quantity(
        "average_flow", "plant_flow", required=method != METHODS[1], above=0.0, high=1000.0
    )
    least = inputs.quantity("minimum_flow", "plant_flow", low=0.0, high=1000.0)
    factor = math.nan
    if method == METHODS[0]:
        if inputs.has("factor"):
            inputs.fault("factor", "this method takes none", inputs.raw("factor"))
    else:
        factor = inputs.quantity("factor", "share", above=0.0, high=1.0)
    if least > average:
        inputs.range_fault("minimum_flow", least, 0.0, average)
    inputs.close()
    try:
        found = _infiltration(method, least, average, factor)
    except OutOfRangeError as error:
        inputs.faults += error.faults
        inputs.close()
        raise
    return Answer(
        "night-flow", method, {"base_infiltration": Quantity(found, "plant_flow", _HOW[method])},
        (), tuple(_cautions(method, found, average)), (_SOURCES[method],),
    )  # fmt: skip


def _infiltration(method: str, least: float, average: float, factor: float) -> float:
    if method == METHODS[0]:
        return stevens_schutzbach(least, average)
    if method == METHODS[1]:
        return minimum_flow_factor(least, factor)
    return wastewater_production(least, average, factor)


def _cautions(method: str, found: float, average: float) -> list[str]:
    cautions = ["Dry weather only: several days without rain before and during the measurement."]
    if method == METHODS[0]:
        cautions.append("The formula is not free of units: it depends on the size of the basin.")
        if found > 0.25 * average:
            share = 100 * found / average
            cautions.append(
                f"Infiltration is {share:.0f} % of the flow; the formula is good below 25 %."
            )
    return cautions


TOPIC = Topic("night-flow", "base infiltration from dry-weather flows", _run)
