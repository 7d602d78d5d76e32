"""`calc flexure`: three-point bending by ASTM D790 or ISO 178."""

from __future__ import annotations

import math

from drainwright.engineering.flexure import (
    STANDARDS,
    STRAIN_MOST,
    Bending,
    Specimen,
    bending_from_curve,
    bending_stress,
    crosshead_rate,
    modulus_from_slope,
)
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Topic
from drainwright.operations.calculators.columns import (
    find,
    header_parts,
    number_column,
    read_rows,
)
from drainwright.sources import cite
from drainwright.units import parse_unit

_COLUMNS = {
    "deflection": ("deflection", "displacement", "extension", "travel", "stroke"),
    "load": ("load", "force"),
}
_KINDS = {"deflection": "small_length", "load": "force"}


def _run(inputs: Inputs) -> Answer:
    standard = inputs.choice("standard", STANDARDS)
    sizes = [
        inputs.quantity(key, "small_length", above=0.0, high=5.0)
        for key in ("span", "width", "depth")
    ]
    by_file = inputs.has("csv")
    curve: dict[str, list[float]] = {}
    slope = load = math.nan
    if by_file:
        for key in ("slope", "peak_load"):
            if inputs.has(key):
                inputs.fault(key, "give either csv, or slope and peak_load", inputs.raw(key))
        curve = _read_curve(inputs)
    else:
        slope = inputs.quantity("slope", "stiffness", above=0.0, high=1e9)
        load = inputs.quantity("peak_load", "force", above=0.0, high=1e7)
    inputs.close()
    bar = Specimen(*sizes)
    bending = _fitted(inputs, curve, bar, standard) if by_file else None
    results = _from_curve(bending, standard) if bending else _from_slope(slope, load, bar)
    results["test_rate"] = Quantity(
        crosshead_rate(bar), "crosshead_speed", "0.01/min × L²/(6 d): outer strain of 1 % a minute"
    )
    source = cite("astm-d790") if standard == STANDARDS[0] else cite("iso-178")
    cautions = _cautions(bar, bending, standard)
    return Answer("flexure", standard, results, (), tuple(cautions), (source,))


def _read_curve(inputs: Inputs) -> dict[str, list[float]]:
    header, rows = read_rows(inputs, "csv")
    if not header:
        return {}
    places = find(header, _COLUMNS)
    curve: dict[str, list[float]] = {}
    for name in _COLUMNS:
        if name not in places:
            inputs.fault("csv", f"has no column {name}", header)
            continue
        unit = header_parts(header[places[name]])[1]
        if not unit:
            inputs.fault("csv", f"column {name} has no unit in its header", header)
            continue
        try:
            factor, _ = parse_unit(unit, _KINDS[name])
        except InputError as error:
            inputs.fault("csv", f"column {name}: {error.faults[0].message}", unit)
            continue
        column = number_column(inputs, "csv", rows, places[name], name)
        curve[name] = [factor * value for value in column]
    return curve


def _fitted(inputs: Inputs, curve: dict[str, list[float]], bar: Specimen, standard: str) -> Bending:
    try:
        return bending_from_curve(curve["deflection"], curve["load"], bar, standard)
    except InputError as error:
        for fault in error.faults:
            inputs.fault("csv", f"{fault.name} {fault.message}")
        raise InputError(*inputs.faults) from error


def _from_curve(bending: Bending, standard: str) -> dict[str, Result]:
    steepest = standard == STANDARDS[0]
    how = "steepest tangent" if steepest else "line between strains 0.0005 and 0.0025"
    return {
        "modulus": Quantity(bending.modulus, "modulus", how),
        "strength": Quantity(bending.strength, "strength", "3 P L/(2 b d²) at the largest load"),
        "strain_at_peak": Quantity(bending.strain_at_peak, "number", "6 s d/L², toe taken off"),
        "modulus_window": Quantity(list(bending.window), "number", "strains of the modulus"),
        "toe": Quantity(bending.toe, "small_length", "taken off the deflection"),
    }


def _from_slope(slope: float, load: float, bar: Specimen) -> dict[str, Result]:
    return {
        "modulus": Quantity(modulus_from_slope(slope, bar), "modulus", "L³ m/(4 b d³)"),
        "strength": Quantity(float(bending_stress(load, bar)), "strength", "3 P L/(2 b d²)"),
        "strain_at_peak": Quantity(None, "number", "needs the curve"),
    }


def _cautions(bar: Specimen, bending: Bending | None, standard: str) -> list[str]:
    cautions = []
    ratio = bar.span / bar.depth
    if not 15.0 <= ratio <= 17.0:
        cautions.append(f"The span is {ratio:.1f} times the depth; about 16 is asked for.")
    if bending is None:
        cautions.append("Without a curve there is no strain at the peak (null).")
        return cautions
    low, high = bending.window
    cautions.append(
        f"The modulus is fitted between strains {low:.5f} and {high:.5f}; it moves by 1 to 3 % "
        "with that window."
    )
    if standard == STANDARDS[0] and bending.strain_at_peak > 0.98 * STRAIN_MOST:
        cautions.append("The strength is taken at 5 % strain at most, as ASTM D790 does.")
    return cautions


TOPIC = Topic("flexure", "three-point bending by ASTM D790 or ISO 178", _run)
