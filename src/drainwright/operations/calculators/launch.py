"""`calc launch`: pressure window, end thrust and cable marks of an inversion by air."""

from __future__ import annotations

import math

from drainwright.checks import Check, at_least, at_most, not_assessed
from drainwright.engineering.inversion import (
    cable_marks,
    end_thrust,
    head_limit,
    minimum_pressure,
)
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Topic
from drainwright.operations.calculators.pipe_inputs import (
    MOST_PRESSURE,
    MOST_WATER,
    given,
    read_diameter,
)
from drainwright.records.specification import default_specification
from drainwright.sources import cite

_MAKER = cite("maker", "greatest pressure")


def _run(inputs: Inputs) -> Answer:
    margin_limit = default_specification().limit("pressure_margin")
    diameter = read_diameter(inputs)
    pressure = _read_pressure(inputs, "pressure")
    water = inputs.quantity("water_above_pipe", "length", low=0.0, high=MOST_WATER)
    margin = inputs.quantity("margin", "pressure", margin_limit.value, low=0.0, high=MOST_PRESSURE)
    starting = _read_pressure(inputs, "starting_pressure", required=False)
    most = _read_pressure(inputs, "maximum", required=False)
    length = inputs.quantity("lined_length", "length", required=False, above=0.0, high=500.0)
    inputs.close()
    least = float(minimum_pressure(water, margin, given(starting) or 0.0))
    results: dict[str, Result] = {
        "minimum_pressure": Quantity(
            least, "pressure", "larger of 0.433 psi/ft × water + margin, and the starting pressure"
        ),
        "head_limit": Quantity(
            float(head_limit(pressure, margin)), "length", "(pressure − margin) / 0.433 psi/ft"
        ),
        "end_thrust": Quantity(float(end_thrust(pressure, diameter)), "force", "pressure × π D²/4"),
    }
    if not math.isnan(length):
        results |= _cable(length)
    return Answer(
        topic="launch",
        method="water at 0.433 psi/ft, margin, plain statics; cable counts twice the front",
        results=results,
        checks=(_lower(pressure, least), _upper(pressure, most)),
        cautions=tuple(_cautions(inputs, pressure, margin, (least, most))),
        sources=(cite("practice"), margin_limit.source, cite("geometry", "x_tail = 2 x_front − L")),
    )


def _read_pressure(inputs: Inputs, key: str, *, required: bool = True) -> float:
    return inputs.quantity(key, "pressure", required=required, above=0.0, high=MOST_PRESSURE)


def _cable(length: float) -> dict[str, Result]:
    marks = cable_marks(length)
    return {
        "cable_half": Quantity(marks.half, "length", "cable paid out with the front half way: L"),
        "cable_seated": Quantity(
            marks.seated, "length", "cable paid out with the front at the end: 2 L"
        ),
    }


def _lower(pressure: float, least: float) -> Check:
    return at_least("pressure reaches the minimum", pressure, least, "pressure", cite("practice"))


def _upper(pressure: float, most: float) -> Check:
    name = "pressure stays within the maker's letter"
    if math.isnan(most):
        return not_assessed(name, "pressure", _MAKER, "no maximum was given")
    return at_most(name, pressure, most, "pressure", _MAKER)


def _cautions(
    inputs: Inputs, pressure: float, margin: float, window: tuple[float, float]
) -> list[str]:
    least, most = window
    cautions = ["Take the water over the lowest lined point; nobody in line with the end cap."]
    if not inputs.has("margin"):
        cautions.append("The margin is from memory: check your specification.")
    if math.isnan(most):
        cautions.append("No maximum was given: ask for the makers' letters before air goes on.")
    elif most < least:
        cautions.append("The window is closed: the water needs more pressure than is allowed.")
    if pressure < margin:
        cautions.append("The pressure is below the margin itself: it holds no water back.")
    if inputs.has("lined_length"):
        cautions.append(
            "Cable marks count cable paid out since the start, tied to the tail of a tube stored "
            "straight; of a folded tube only the seated mark counts."
        )
    return cautions


TOPIC = Topic("launch", "pressure window, end thrust and cable marks", _run)
