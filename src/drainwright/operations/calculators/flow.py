"""`calc flow`: gravity flow before and after lining, by Manning."""

from __future__ import annotations

import math

from drainwright.engineering.gravity_flow import (
    capacity_ratio,
    full_flow,
    full_velocity,
    lined_diameter,
    normal_depth,
    velocity_ratio,
)
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Topic
from drainwright.operations.calculators.pipe_inputs import read_diameter, read_wall
from drainwright.sources import cite

_ROUGHNESS = (0.005, 0.1)
_FULL = "Manning, pipe just full"


def _run(inputs: Inputs) -> Answer:
    diameter = read_diameter(inputs)
    wall = read_wall(inputs, diameter)
    n_host = _read_roughness(inputs, "roughness_host")
    n_liner = _read_roughness(inputs, "roughness_liner")
    slope = inputs.quantity("slope", "share", above=0.0, high=1.0)
    flow = inputs.quantity("flow", "flow", required=False, low=0.0, high=1000.0)
    inputs.close()
    bore = float(lined_diameter(diameter, wall))
    pipes = {"before": (diameter, n_host, slope), "after": (bore, n_liner, slope)}
    ratio = float(capacity_ratio(diameter, wall, n_host, n_liner))
    results: dict[str, Result] = {}
    for when, pipe in pipes.items():
        results[f"capacity_{when}"] = Quantity(float(full_flow(*pipe)), "flow", _FULL)
    results["capacity_ratio"] = Quantity(
        ratio, "ratio", f"n {n_host:.3f} for the host, {n_liner:.3f} for the liner"
    )
    for when, pipe in pipes.items():
        results[f"velocity_full_{when}"] = Quantity(float(full_velocity(*pipe)), "velocity", _FULL)
    cautions = []
    if ratio < 1:
        cautions.append("The lined pipe carries less than the pipe before lining.")
    if not math.isnan(flow):
        for when, pipe in pipes.items():
            cautions += _part_full(results, when, flow, pipe)
    return Answer(
        topic="flow",
        method=f"Manning, n constant with depth; n {n_host:.3f} host, {n_liner:.3f} liner",
        results=results,
        cautions=tuple(cautions),
        sources=(cite("manning"), cite("chow-1959"), cite("najafi", "Table 2.14")),
    )


def _read_roughness(inputs: Inputs, key: str) -> float:
    return inputs.quantity(key, "number", low=_ROUGHNESS[0], high=_ROUGHNESS[1])


def _part_full(
    results: dict[str, Result], when: str, flow: float, pipe: tuple[float, float, float]
) -> list[str]:
    """Depth and velocity of the flow; null with a caution where the pipe runs under pressure."""
    depth = float(normal_depth(flow / float(full_flow(*pipe))))
    lower = "depth over diameter, the lower of two where two carry the flow"
    if math.isnan(depth):
        results[f"depth_ratio_{when}"] = Quantity(None, "ratio", lower)
        results[f"velocity_{when}"] = Quantity(None, "velocity", "part full")
        return [f"The flow is more than the pipe carries part full {when} lining: it backs up."]
    velocity = float(full_velocity(*pipe) * velocity_ratio(depth))
    results[f"depth_ratio_{when}"] = Quantity(depth, "ratio", lower)
    results[f"velocity_{when}"] = Quantity(velocity, "velocity", "part full")
    return []


TOPIC = Topic("flow", "gravity flow before and after lining", _run)
