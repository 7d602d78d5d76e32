"""`calc tightness`: tests with air and water."""

from __future__ import annotations

import math
from itertools import pairwise

from drainwright.checks import Check, Outcome, at_least, at_most, not_assessed
from drainwright.engineering.tightness import (
    METHODS,
    PRESSURE_MOST,
    TightnessTest,
    air_or_water_test,
    allowed_water,
    fall_of,
    groundwater_raise,
)
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Topic
from drainwright.operations.calculators.pipe_inputs import MOST_WATER, read_diameter
from drainwright.sources import Citation, cite

_SOURCES: dict[str, Citation] = {
    "ncpi": cite("cortland-1978"),
    "astm-c828": cite("astm-c828", "X1, X2"),
    "astm-f1417": cite("astm-f1417", "Table 2"),
    "hold": cite("owner"),
}
_SEVERAL = {
    "ncpi": "times of the sections added",
    "astm-c828": "times of the sections added",
    "astm-f1417": "sections by their mean diameter, weighted with the surface",
}


def _run(inputs: Inputs) -> Answer:
    method = inputs.choice("method", (*METHODS, "hold"))
    diameters, lengths = _sections(inputs, required=method != "hold")
    held = _held(inputs, hold=method == "hold")
    water = inputs.quantity("water_above_pipe", "length", 0.0, low=0.0, high=MOST_WATER)
    least = inputs.quantity("minimum_time", "time", 0.0, low=0.0, high=86400.0)
    readings = inputs.pairs("readings", ("time", "pressure"), required=False)
    _judge_readings(inputs, readings)
    test = held if method == "hold" else _by_method(inputs, method, diameters, lengths)
    inputs.close()
    if test is None:
        raise InputError(*inputs.faults)
    wet = method == "en1610-w"
    raised = 0.0 if wet else groundwater_raise(water)
    start = test.start_pressure + raised
    time = max(test.test_time, least)
    source = _SOURCES.get(method, cite("en1610"))
    shown = start if raised == 0 else min(start, max(PRESSURE_MOST, test.start_pressure))
    results: dict[str, Result] = {
        "test_time": Quantity(time, "seconds", _how(method, time > test.test_time)),
        "start_pressure": Quantity(
            shown, "pressure", "of the method, raised 0.43 psi per ft of groundwater"
        ),
        "allowed_drop": Quantity(test.allowed_drop, "pressure", "within the test time"),
    }
    if wet:
        how = "0.15 L/m² of wetted surface"
        results["allowed_water"] = Quantity(allowed_water(diameters, lengths), "volume", how)
    checks = _ceiling(start) if raised > 0 else []
    if readings:
        checks += _readings(readings, TightnessTest(time, shown, test.allowed_drop), source)
    return Answer(
        "tightness",
        f"{method}: time, start pressure and drop belong together",
        results,
        tuple(checks),
        tuple(_cautions(method, water, len(set(diameters)), start)),
        (source, cite("eldridge")) if raised else (source,),
    )


def _sections(inputs: Inputs, *, required: bool) -> tuple[list[float], list[float]]:
    tables = inputs.tables("sections", required=required)
    diameters = [read_diameter(table, "diameter") for table in tables]
    lengths = [table.quantity("length", "length", above=0.0, high=5000.0) for table in tables]
    return diameters, lengths


def _held(inputs: Inputs, *, hold: bool) -> TightnessTest | None:
    keys = ("start_pressure", "allowed_drop", "time")
    if not hold:
        for key in keys:
            if inputs.has(key):
                inputs.fault(key, "is an input of the method “hold” only", inputs.raw(key))
        return None
    start = inputs.quantity("start_pressure", "pressure", above=0.0, high=PRESSURE_MOST)
    drop = inputs.quantity("allowed_drop", "pressure", low=0.0, high=PRESSURE_MOST)
    time = inputs.quantity("time", "time", above=0.0, high=86400.0)
    if drop > start:
        inputs.fault("allowed_drop", "is more than the start pressure", drop)
    return TightnessTest(time, start, drop)


def _by_method(
    inputs: Inputs, method: str, diameters: list[float], lengths: list[float]
) -> TightnessTest | None:
    if not method or not diameters or any(math.isnan(v) for v in diameters + lengths):
        return None
    try:
        return air_or_water_test(method, diameters, lengths)
    except InputError as error:
        for fault in error.faults:
            inputs.fault("sections", fault.message, fault.value)
        return None


def _judge_readings(inputs: Inputs, readings: list[tuple[float, float]]) -> None:
    times = [time for time, _ in readings]
    if inputs.has("readings") and 0 < len(readings) < 2:
        inputs.fault("readings", "needs two readings or more")
    if any(later <= sooner for sooner, later in pairwise(times)):
        inputs.fault("readings", "its times must rise")
    if any(pressure < 0 for _, pressure in readings):
        inputs.fault("readings", "holds a pressure below 0 (gauge pressures are meant)")


def _how(method: str, by_minimum: bool) -> str:  # noqa: FBT001  which of two texts
    if by_minimum:
        return "the minimum time asked for"
    return "as asked for" if method == "hold" else "rule of the method"


def _ceiling(start: float) -> list[Check]:
    name = "start pressure with groundwater"
    return [at_most(name, start, PRESSURE_MOST, "pressure", cite("eldridge"))]


def _readings(
    readings: list[tuple[float, float]], test: TightnessTest, source: Citation
) -> list[Check]:
    fall = fall_of(readings, test.test_time)
    # a billionth of slack for units that do not come back exactly
    first = fall.first_pressure * (1 + 1e-9)
    begin = at_least("start pressure reached", first, test.start_pressure, "pressure", source)
    name = "pressure drop within the test time"
    slack = 1e-9 * (fall.first_pressure + 1.0)
    if fall.drop > test.allowed_drop + slack:
        drop = Check(name, fall.drop, test.allowed_drop, "pressure", Outcome.NOT_MET, source)
    elif not fall.complete:
        drop = not_assessed(name, "pressure", source, "readings end before the test time")
    else:
        drop = Check(name, fall.drop, test.allowed_drop, "pressure", Outcome.MET, source)
    return [begin, drop]


def _cautions(method: str, water: float, sizes: int, start: float) -> list[str]:
    cautions = ["Nobody in a manhole or in line with a plug while it holds pressure."]
    if sizes > 1:
        told = _SEVERAL.get(method, "the largest diameter counts")
        cautions.append(f"Several diameters: {told}.")
    if method == "en1610-w":
        cautions.append(
            "Fill to between 10 and 50 kPa and keep within 1 kPa by adding water; the water added "
            "is what counts (pressures from memory)."
        )
        if water > 0:
            cautions.append("The groundwater changes nothing in this rule for water.")
    elif start > PRESSURE_MOST and water > 0:
        cautions.append(
            "The groundwater asks for more than 10 psi: lower it, or test in another way."
        )
    return cautions


TOPIC = Topic("tightness", "tightness tests with air and water", _run)
