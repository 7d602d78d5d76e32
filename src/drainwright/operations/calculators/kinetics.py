"""`calc kinetics`: cure at temperatures or along a history."""

from __future__ import annotations

import math
from itertools import pairwise

from drainwright.engineering.kinetics import (
    MODELS,
    Glass,
    Kinetics,
    conversion_along,
    time_to_conversion,
)
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Topic
from drainwright.sources import Citation, cite

_GLASS_KEYS = ("Tg0", "Tg_full", "Tg_lambda", "vitrification_width")


def read_kinetics(inputs: Inputs, *, rates_allowed: bool = False) -> Kinetics | None:
    """The rate law from its named constants; None where they are at fault."""
    before = len(inputs.faults)
    model = inputs.choice("model", MODELS, "kamal")
    count = 2 if model == "kamal" else 3
    given_rates = [key for key in ("k1", "k2", "k3") if inputs.has(key)]
    by_rate = bool(given_rates) and rates_allowed
    if given_rates and not rates_allowed:
        inputs.fault(given_rates[0], "rates at one temperature do not serve here; give A and E")
    factors, energies = [], []
    for number in range(1, count + 1):
        key = f"{'k' if by_rate else 'A'}{number}"
        factors.append(inputs.quantity(key, "rate"))
        energies.append(0.0 if by_rate else inputs.quantity(f"E{number}", "molar_energy"))
    m = n = r = 1.0
    if model == "kamal":
        m, n = inputs.quantity("m", "number"), inputs.quantity("n", "number")
        r = inputs.quantity("r", "number", 1.0, above=0.0, high=1.0)
    glass = read_glass(inputs)
    if len(inputs.faults) > before:
        for key in (*given_rates, "r"):
            inputs.raw(key)
        return None
    try:
        return Kinetics(model, tuple(factors), tuple(energies), m, n, r, glass)
    except InputError as error:
        for fault in error.faults:
            name = fault.name.replace("A", "k") if by_rate and fault.name[0] == "A" else fault.name
            inputs.fault(name, fault.message, fault.value)
        return None


def read_glass(inputs: Inputs) -> Glass | None:
    """Vitrification constants; None where they are not given or at fault."""
    kinds = ("temperature", "temperature", "number", "temperature_difference")
    given = [inputs.has(key) for key in _GLASS_KEYS]
    values = [
        inputs.quantity(key, kind, required=False)
        for key, kind in zip(_GLASS_KEYS, kinds, strict=True)
    ]
    if any(given) and not all(given):
        missing = [key for key, there in zip(_GLASS_KEYS, given, strict=True) if not there]
        inputs.fault(missing[0], f"is missing; vitrification needs {', '.join(_GLASS_KEYS)}")
    if not all(given) or any(math.isnan(value) for value in values):
        return None
    return Glass(*values)


def kinetics_sources(kinetics: Kinetics) -> tuple[Citation, ...]:
    """The works behind a rate law."""
    law = cite("kamal-1973") if kinetics.model == "kamal" else cite("lee-1982")
    return (law, cite("dibenedetto-1987")) if kinetics.glass else (law,)


def _run(inputs: Inputs) -> Answer:
    kinetics = read_kinetics(inputs, rates_allowed=True)
    start = inputs.quantity("start_conversion", "ratio", 0.0, low=0.0, high=1.0)
    histories, asked = _histories(inputs)
    times = inputs.quantities("times", "time", required=not inputs.has("target"), low=0.0)
    target = inputs.quantity("target", "ratio", required=False, above=0.0, high=1.0)
    inputs.close()
    if kinetics is None:
        raise InputError(*inputs.faults)
    results, cautions = {}, []
    if times:
        rows = [
            conversion_along(history, times, kinetics, start_conversion=start).tolist()
            for history in histories
        ]
        how = "rate law integrated along the temperature"
        results["conversion"] = Quantity(rows, "ratio", how)
    if not math.isnan(target):
        reached = [
            time_to_conversion(target, history, kinetics, start_conversion=start)
            for history in histories
        ]
        results["time_to_target"] = Quantity(reached, "time", f"until conversion {target:g}")
        if None in reached:
            cautions.append("The target is never reached at one temperature or more (null).")
    if asked == "history" and times and max(times) > histories[0][-1][0]:
        cautions.append("Times after the history's end: its last temperature is held.")
    return Answer(
        "kinetics", f"{kinetics.model} rate law", results, (), tuple(cautions),
        kinetics_sources(kinetics),
    )  # fmt: skip


def _histories(inputs: Inputs) -> tuple[list[list[tuple[float, float]]], str]:
    by_rate = any(inputs.has(key) for key in ("k1", "k2", "k3"))
    temperatures: list[float] = []
    histories: list[list[tuple[float, float]]] = []
    if inputs.has("history") and inputs.has("temperature"):
        inputs.fault("history", "give either temperature or history, not both")
    if by_rate and inputs.has("history"):
        inputs.fault("history", "rates k1, k2 hold at one temperature; give no history")
    if inputs.has("history"):
        histories = [inputs.pairs("history", ("time", "temperature"))]
        _check_history(inputs, histories[0])
        inputs.raw("temperature")
        return histories, "history"
    temperatures = inputs.quantities("temperature", "temperature", low=150.0, high=700.0)
    if by_rate and len(temperatures) > 1:
        inputs.fault("temperature", "rates k1, k2 hold at one temperature; give exactly one")
    return [[(0.0, value)] for value in temperatures], "temperature"


def _check_history(inputs: Inputs, history: list[tuple[float, float]]) -> None:
    times = [time for time, _ in history]
    if any(b <= a for a, b in pairwise(times)):
        inputs.fault("history", "its times must rise")
    for time, temperature in history:
        if time < 0:
            inputs.fault("history", f"{time:g} s is before the start", time)
        if temperature < 150 or temperature > 700:
            inputs.fault("history", f"{temperature:g} K is outside 150 to 700 K", temperature)


TOPIC = Topic("kinetics", "cure at temperatures or along a history", _run)
