"""`calc resin-fit`: a resin's law from gel times and calorimeter runs, with its errors."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from drainwright.engineering.dsc import Run, checked_run, isoconversional_energy
from drainwright.engineering.kinetics import GAS_CONSTANT
from drainwright.engineering.resin_data import arrhenius
from drainwright.engineering.resin_fit import (
    FitSettings,
    GelPrediction,
    ResinFit,
    fit_hold,
    fit_resin,
    predicted_gel_times,
)
from drainwright.engineering.resin_life import GelLaw, gel_law, gel_time
from drainwright.errors import ConvergenceError, InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Said, Topic
from drainwright.operations.calculators.columns import (
    find,
    header_parts,
    number_column,
    read_rows,
)
from drainwright.operations.calculators.kinetics import read_glass
from drainwright.sources import cite
from drainwright.units import parse_unit

_COLUMNS = {
    "time": ("time", "t"),
    "temperature": ("temperature", "temp", "ts", "tr"),
    "heat flow": ("flow", "heatflow", "dsc", "signal"),
}
_KINDS = {"time": "time", "temperature": "temperature", "heat flow": "power"}
PREDICTED = [273.15 + 5.0 * step for step in range(1, 13)]
"""5, 10 … 60 °C."""
LEVELS = np.linspace(0.1, 0.9, 9)
_ONE_POINT = (44e3, 57e3)
_ENERGY = ("E1", "E2")


def _run(inputs: Inputs) -> Answer:
    found = read_fit(inputs)
    return found if isinstance(found, Answer) else _from_runs(found)


def read_fit(inputs: Inputs) -> ResinFit | Answer:
    """The fit of the runs; the answer from gel times alone where there are no runs."""
    gel_times = inputs.pairs("gel_times", ("temperature", "time"), required=False)
    runs = _runs(inputs)
    gel = inputs.quantity("gel_conversion", "ratio", required=False, above=0.0, high=1.0)
    heat = inputs.quantity("heat_of_reaction", "specific_energy", required=False, above=0.0)
    margin = inputs.quantity("margin", "temperature_difference", 15.0, low=0.0, high=60.0)
    glass = read_glass(inputs)
    for temperature, time in gel_times:
        if time <= 0 or not 230 <= temperature <= 420:
            inputs.fault("gel_times", "each needs a time above 0 and −43 to 147 °C", time)
    if not gel_times and not inputs.has("dsc"):
        inputs.fault("gel_times", "give gel times, dsc runs, or both")
    if len(runs) == 1 and math.isnan(heat):
        inputs.fault("heat_of_reaction", "is needed beside a single run")
    if runs and gel_times and math.isnan(gel):
        inputs.fault("gel_conversion", "is needed beside gel times and runs")
    inputs.close()
    if not runs:
        return _from_gel_times(inputs, gel_times, margin)
    settings = FitSettings(None if math.isnan(gel) else gel, glass=glass, margin=margin)
    try:
        if len(runs) == 1:
            return fit_hold(runs[0], heat, settings)
        return fit_resin(runs, gel_times, settings)
    except InputError as error:
        for fault in error.faults:
            inputs.fault(fault.name, fault.message, fault.value)
        raise InputError(*inputs.faults) from error
    except ConvergenceError as error:
        inputs.fault("dsc", str(error))
        raise InputError(*inputs.faults) from error


# ---------------------------------------------------------------- reading


def _runs(inputs: Inputs) -> list[Run]:
    found = []
    for table in inputs.tables("dsc"):
        mass = table.quantity("mass", "mass", above=0.0)
        columns = _columns(table)
        if len(columns) < len(_COLUMNS) or math.isnan(mass):
            continue
        if any(math.isnan(value) for column in columns.values() for value in column):
            continue
        try:
            time, temperature, flow = columns.values()
            found.append(checked_run(table.text("file"), time, temperature, flow, mass))
        except InputError as error:
            for fault in error.faults:
                row = "" if fault.row is None else f"row {fault.row + 1}: "
                table.fault("file", row + fault.message, fault.value)
    return found


def _columns(table: Inputs) -> dict[str, list[float]]:
    """Time, temperature and heat flow in SI, in this order."""
    header, rows = read_rows(table, "file")
    places = find(header, _COLUMNS)
    found: dict[str, list[float]] = {}
    for name in _COLUMNS if header else ():
        if name not in places:
            table.fault("file", f"has no column {name}", header)
            continue
        unit = header_parts(header[places[name]])[1]
        try:
            factor, offset = parse_unit(unit, _KINDS[name]) if unit else (math.nan, 0.0)
        except InputError as error:
            table.fault("file", f"column {name}: {error.faults[0].message}", unit)
            continue
        if not unit:
            table.fault("file", f"column {name} has no unit in its header", header)
            continue
        column = number_column(table, "file", rows, places[name], name)
        found[name] = [factor * value + offset for value in column]
    return found


# ---------------------------------------------------------------- answers


def _from_gel_times(
    inputs: Inputs, gel_times: Sequence[tuple[float, float]], margin: float
) -> Answer:
    temperatures, times = zip(*gel_times, strict=True)
    try:
        law = gel_law(temperatures, times, *_ONE_POINT)
    except InputError as error:
        for fault in error.faults:
            inputs.fault("gel_times", fault.message, fault.value)
        raise InputError(*inputs.faults) from error
    several = len({round(one, 1) for one in temperatures})
    scatter: float | None = None
    cautions = []
    if several > 2:
        scatter = arrhenius(temperatures, -np.log(times), np.full(len(times), 0.05))[2]
    else:
        cautions.append("An energy from fewer than three temperatures has no standard error.")
    if several == 1:
        cautions.append("One temperature only: the energy is taken on the safe side, not fitted.")
    energies = {"E toward the cold": law.energy_colder, "E toward the warm": law.energy_warmer}
    if several > 1:
        energies = {"E": law.energy_colder}
    left = np.log(gel_time(temperatures, law) / np.asarray(times))
    span = (min(temperatures), max(temperatures))
    predictions = [_by_gel_law(law, one, scatter, span, margin) for one in PREDICTED]
    results: dict[str, Result] = {
        "model": Said("gel law", "ln t = ln t0 + E/R (1/T − 1/T0)"),
        "constants": Said([_energy(name, one, scatter) for name, one in energies.items()]),
        "gel_residuals": Quantity(left.tolist(), "number", "ln of computed over stated"),
        "predicted_gel_times": _predicted(predictions),
    }
    cautions += _refusals(predictions)
    return Answer("resin-fit", "gel law", results, (), tuple(cautions), (cite("arrhenius"),))


def _by_gel_law(
    law: GelLaw, at: float, scatter: float | None, span: tuple[float, float], margin: float
) -> GelPrediction:
    low, high = span
    if not low - margin <= at <= high + margin:
        return GelPrediction(at, None, None, None, "refused: beyond the margin")
    standing = "within the data" if low <= at <= high else "extrapolated"
    time = float(gel_time(at, law))
    if scatter is None:
        return GelPrediction(at, time, None, None, standing)
    wide = math.exp(1.96 * scatter / GAS_CONSTANT * abs(1 / at - 1 / law.temperature))
    return GelPrediction(at, time, time / wide, time * wide, standing)


def _from_runs(fit: ResinFit) -> Answer:
    law = fit.kinetics
    hold = "r" in fit.names
    results: dict[str, Result] = {
        "model": Said("kamal with a ceiling, one temperature" if hold else "kamal")
    }
    results["constants"] = Said(
        [
            _fitted(name, value, error)
            for name, value, error in zip(fit.names, fit.values, fit.errors, strict=True)
        ]
    )
    if not hold:
        for place in (0, 1):
            results[f"A{place + 1}"] = Said(f"{law.A[place]:.9g} 1/s")
    results["reference_temperature"] = Quantity(fit.reference, "temperature", "of k1 and k2")
    results["heat_of_reaction"] = Quantity(fit.heat_of_reaction, "specific_energy")
    results["heat_error"] = Quantity(fit.heat_error, "specific_energy", "standard error")
    results["correlation"] = Quantity(fit.correlation.tolist(), "number", ", ".join(fit.names))
    results["runs"] = Said([_beside(one) for one in fit.runs])
    if fit.gel_residuals:
        results["gel_residuals"] = Quantity(
            list(fit.gel_residuals), "number", "ln of computed over stated"
        )
    cautions = [f"{one.reacted.run.name}: {one.suspicious}" for one in fit.runs if one.suspicious]
    if len(fit.runs) > 1:
        results["isoconversional_energy"] = _by_conversion(fit)
    if fit.settings.gel_conversion is None:
        cautions.append("Without gel_conversion no gel time is predicted.")
    else:
        predictions = predicted_gel_times(fit, PREDICTED)
        results["predicted_gel_times"] = _predicted(predictions)
        cautions += _refusals(predictions)
    sources = (cite("kamal-1973"), cite("astm-e2070"), cite("friedman-1964"))
    return Answer(
        "resin-fit", "least squares of the heat flow", results, (), tuple(cautions), sources
    )


def _fitted(name: str, value: float, error: float) -> Mapping[str, Result]:
    """A constant as `calc kinetics` takes it, as text with its unit."""
    if name.startswith("ln "):
        rate = math.exp(value)
        return _constant(name.removeprefix("ln "), f"{rate:.9g} 1/s", f"{rate * error:.4g} 1/s")
    if name in _ENERGY:
        return _energy(name, value, error)
    return _constant(name, f"{value:.9g}", f"{error:.4g}")


def _energy(name: str, value: float, error: float | None) -> Mapping[str, Result]:
    told = "not known" if error is None else f"{error / 1e3:.4g} kJ/mol"
    return _constant(name, f"{value / 1e3:.9g} kJ/mol", told)


def _constant(name: str, value: str, error: str) -> Mapping[str, Result]:
    return {"name": Said(name), "value": Said(value), "standard_error": Said(error)}


def _beside(one: Any) -> Mapping[str, Result]:
    return {
        "file": Said(one.reacted.run.name),
        "kind": Said("hold" if one.reacted.run.isothermal else "heating"),
        "residual": Quantity(one.residual, "number"),
        "own_heat": Quantity(one.own_heat, "specific_energy"),
        "suspicious": Said(one.suspicious or "no"),
    }


def _by_conversion(fit: ResinFit) -> Said:
    energies, _ = isoconversional_energy([one.reacted for one in fit.runs], LEVELS)
    told = ["not told" if math.isnan(one) else f"{one / 1e3:.4g} kJ/mol" for one in energies]
    rows = [
        {"conversion": Quantity(float(level), "number"), "energy": Said(words)}
        for level, words in zip(LEVELS, told, strict=True)
    ]
    return Said(rows, "activation energy by conversion alone, without a rate law")


def _predicted(predictions: Sequence[GelPrediction]) -> Said:
    return Said(
        [
            {
                "temperature": Quantity(one.temperature, "temperature"),
                "time": Quantity(one.time, "time"),
                "low": Quantity(one.low, "time"),
                "high": Quantity(one.high, "time"),
                "standing": Said(one.standing),
            }
            for one in predictions
        ],
        "95 % interval from the errors of the constants alone",
    )


def _refusals(predictions: Sequence[GelPrediction]) -> list[str]:
    words = []
    if any(one.standing.startswith("refused") for one in predictions):
        words.append("No gel time is given beyond the data's temperatures and the margin (null).")
    if any(one.standing == "extrapolated" for one in predictions):
        words.append("Gel times marked extrapolated lie outside the data's temperatures.")
    return words


TOPIC = Topic("resin-fit", "a resin's law from gel times and calorimeter runs", _run)
