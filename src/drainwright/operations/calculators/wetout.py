"""`calc wetout`: resin of a tube and its collar, its two parts, roller gap, suction points."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from drainwright.engineering.wet_out import (
    Collar,
    Fill,
    collar_resin_mass,
    roller_gap,
    split_by_weight,
    suction_points,
    tube_resin_mass,
)
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Topic
from drainwright.operations.calculators.pipe_inputs import (
    MOST_DIAMETER,
    given,
    read_diameter,
    read_wall,
)
from drainwright.records.specification import Specification, default_specification
from drainwright.sources import Citation, cite

_RATIO = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*:\s*(\d+(?:\.\d+)?)\s*$")
_PART_MOST = 1000.0
_CHART_TOLERANCE = 0.04


@dataclass(frozen=True, slots=True)
class _Given:
    """The inputs, SI; None for what was not given."""

    diameter: float
    wall: float
    length: float
    fill: Fill
    ratio: tuple[float, float]
    chart: float | None
    coating: float | None
    collar: Collar | None
    other_diameter: bool


def _run(inputs: Inputs) -> Answer:
    known = _read(inputs)
    specification = default_specification()
    method = "resin fills the voids, plus an excess: π (D − t) t φ ρ (1 + x)"
    if known.chart is not None:
        method = "tube maker's chart"
    return Answer(
        topic="wetout",
        method=method,
        results=_results(known, specification),
        cautions=tuple(_cautions(known, specification)),
        sources=_sources(known),
    )


# ---------------------------------------------------------------- reading


def _read(inputs: Inputs) -> _Given:
    host = read_diameter(inputs, required=not inputs.has("tube_diameter"))
    tube = read_diameter(inputs, "tube_diameter", required=False)
    diameter = host if math.isnan(tube) else tube
    wall = read_wall(inputs, diameter)
    length = inputs.quantity("length", "length", above=0.0, high=500.0)
    chart = inputs.quantity("chart", "mass_per_length", required=False, above=0.0, high=500.0)
    by_rule = not inputs.has("chart") or inputs.has("collar")
    fill = Fill(
        inputs.quantity("void_fraction", "share", required=by_rule, above=0.0, high=1.0),
        inputs.quantity("excess", "share", required=by_rule, low=0.0, high=0.5),
        inputs.quantity("resin_density", "density", low=500.0, high=3000.0),
    )
    ratio = _read_ratio(inputs)
    coating = inputs.quantity("coating", "thickness", required=False, low=0.0, high=0.005)
    collar = _read_collar(inputs)
    inputs.close()
    differ = not math.isnan(tube) and not math.isnan(host) and tube != host
    return _Given(diameter, wall, length, fill, ratio, given(chart), given(coating), collar, differ)


def _read_ratio(inputs: Inputs) -> tuple[float, float]:
    text = inputs.text("ratio")
    if not isinstance(inputs.raw("ratio"), str):
        return math.nan, math.nan
    match = _RATIO.match(text)
    if match is None:
        inputs.fault("ratio", f"“{text}” is not a ratio by weight such as “4:1”", text)
        return math.nan, math.nan
    part_a, part_b = float(match[1]), float(match[2])
    if not (0 < part_a <= _PART_MOST and 0 < part_b <= _PART_MOST):
        allowed = f"each part above 0 to {_PART_MOST:g}"
        inputs.fault("ratio", f"“{text}” is outside {allowed}", text)
    return part_a, part_b


def _read_collar(inputs: Inputs) -> Collar | None:
    table = inputs.table("collar")
    if table is None:
        return None
    diameter = read_diameter(table, "main_diameter")
    girth = math.pi * (MOST_DIAMETER if math.isnan(diameter) else diameter)
    return Collar(
        main_diameter=diameter,
        length=table.quantity("length", "small_length", above=0.0, high=5.0),
        lap=table.quantity("lap", "small_length", low=0.0, high=girth),
        wall=read_wall(table, diameter),
    )


# ---------------------------------------------------------------- answering


def _results(known: _Given, specification: Specification) -> dict[str, Result]:
    per_length, tube_how = known.chart, "maker's chart"
    if per_length is None:
        per_length = float(tube_resin_mass(known.diameter, known.wall, known.fill))
        tube_how = "π (D − t) t φ ρ (1 + x)"
    collar_mass, collar_how = 0.0, "no collar given"
    if known.collar is not None:
        collar_mass = collar_resin_mass(known.collar, known.fill)
        collar_how = "(π D_main + lap) × length × wall × φ ρ (1 + x)"
    mass = per_length * known.length + collar_mass
    part_a, part_b = split_by_weight(mass, *known.ratio)
    shares = f"{known.ratio[0]:g}:{known.ratio[1]:g} by weight"
    return {
        "resin_volume": Quantity(mass / known.fill.density, "volume", "whole batch"),
        "resin_mass": Quantity(mass, "mass", "whole batch: tube and collar"),
        "mass_per_length": Quantity(per_length, "mass_per_length", f"tube alone, {tube_how}"),
        "part_a": Quantity(part_a, "mass", f"of the whole batch, {shares}"),
        "part_b": Quantity(part_b, "mass", f"of the whole batch, {shares}"),
        "collar_mass": Quantity(collar_mass, "mass", collar_how),
        "roller_gap": _gap(known, specification),
        "suction_points": Quantity(
            suction_points(
                known.length,
                specification.value("suction_first"),
                specification.value("suction_next"),
            ),
            "length",
            "from the resin's entry",
        ),
    }


def _gap(known: _Given, specification: Specification) -> Quantity:
    factor, coatings = specification.value("gap_factor"), specification.value("coatings")
    gap = float(roller_gap(known.wall, known.coating or 0.0, factor, coatings))
    how = f"{factor:g} × wall"
    if known.coating:
        how += f" + {coatings:g} × coating"
    return Quantity(gap, "thickness", how)


def _cautions(known: _Given, specification: Specification) -> list[str]:
    cautions = [
        "Parts are by weight, not by volume.",
        "Roller gap from memory: the maker's chart wins.",
    ]
    if known.coating is None:
        usual = specification.limit("coating")
        cautions.append(
            "No coating is counted in the roller gap; usual are "
            f"{specification.value('coatings'):g} × {1000 * (usual.value or 0):g} mm (from memory)."
        )
    if known.other_diameter:
        cautions.append("The tube's own diameter counts, not the host's: its girth sets the mass.")
    if known.collar is not None:
        cautions.append("The collar belongs to the same batch and is wet out by hand.")
    return cautions + _chart_caution(known)


def _chart_caution(known: _Given) -> list[str]:
    fill = known.fill
    if known.chart is None or math.isnan(fill.void_fraction) or math.isnan(fill.excess):
        return []
    rule = float(tube_resin_mass(known.diameter, known.wall, fill))
    off = known.chart / rule - 1
    if abs(off) <= _CHART_TOLERANCE:
        return []
    more = "more" if off > 0 else "less"
    return [f"The chart gives {abs(off):.0%} {more} resin than the rule; the chart wins."]


def _sources(known: _Given) -> tuple[Citation, ...]:
    sources = [cite("ramsey", "voids filled; suction 25 ft, then 75 ft ahead"), cite("south-bend")]
    if known.chart is not None:
        sources.append(cite("maker", "resin chart"))
    sources.append(cite("memory", "roller gap"))
    if known.collar is not None:
        sources.append(cite("geometry", "collar as it is cut"))
    return tuple(sources)


TOPIC = Topic("wetout", "resin of a tube and its collar", _run)
