"""`calc rtk`: rain-derived flow from unit triangles."""

from __future__ import annotations

import math

from drainwright.engineering.rdii import Triangle, rain_response, triangle_ordinates
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Topic
from drainwright.sources import cite

MOST_STEPS = 200_000


def _run(inputs: Inputs) -> Answer:
    triangles = [_triangle(table) for table in inputs.tables("triangles", required=True)]
    step = inputs.quantity("step", "time", above=0.0, high=86400.0)
    rain = inputs.quantities("rain", "small_length", low=0.0, high=5.0)
    area = inputs.quantity("area", "area", above=0.0, high=1e12)
    total = math.fsum(one.share for one in triangles)
    if total > 1.0:
        inputs.fault("triangles", f"the shares sum to {total:g}: more would run off than fell")
    longest = max((one.end for one in triangles), default=0.0)
    if longest > MOST_STEPS * step:
        inputs.fault("step", f"the longest triangle would take more than {MOST_STEPS} steps")
    inputs.close()
    try:
        ordinates = triangle_ordinates(triangles, step)
        flow = rain_response(ordinates, rain, area)
    except InputError as error:
        inputs.faults += error.faults
        inputs.close()
        raise
    volume = float(flow.sum()) * step
    results = {
        "ordinates": Quantity(
            ordinates.tolist(), "hourly_rate", "averages over each step, by differences of area"
        ),
        "flow": Quantity(flow.tolist(), "storm_flow", "averages over each step, from the first on"),
        "volume": Quantity(volume, "volume", "sum of the flow; R × rain × area"),
    }
    caution = "Triangles are fitted to one basin in one season: wet ground raises R."
    sources = (cite("unit-triangle"), cite("eugene"))
    return Answer("rtk", "unit triangles R, T, K", dict(results), (), (caution,), sources)


def _triangle(table: Inputs) -> Triangle:
    return Triangle(
        table.quantity("R", "share", low=0.0, high=1.0),
        table.quantity("T", "time", above=0.0, high=30 * 86400.0),
        table.quantity("K", "number", above=0.0, high=100.0),
    )


TOPIC = Topic("rtk", "rain-derived flow from unit triangles", _run)
