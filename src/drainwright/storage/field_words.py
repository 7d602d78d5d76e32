"""What the fields of records are called by people, and what kind of number each holds."""

from __future__ import annotations

from typing import Any

CLOCK = "clock"
"""A place around a pipe, in hours."""
WORDS = {
    "crs": "coordinate system",
    "far_access": "access at the far end",
    "inside_diameter": "inside diameter",
    "on": "date",
    "proof": "proof of the address",
    "spans": "stretches of other size",
    "tap_clock": "clock position of the tap",
    "way": "way of measuring",
    "zone": "time zone",
}
"""Where the field's own name, with blanks, would not do."""
_SINGULAR = {
    "branches": "branch",
    "premises": "premises",
    "capacities": "capacity",
    "geometry": "point",
    "spans": "stretch of other size",
}
# the same field means the same kind of number wherever it stands, but for what follows below
_KINDS = {
    "length": (
        "elevation length from_depth to_depth joints geometry lowest_opening tap_distance"
        " tap_depth far_depth riser water_depth cleanout_distance lined_length property_line"
        " start end reading offset rise distance foreign_pipes running_to expected_length"
        " hose_reach cable_reach vent_hose_length position positions"
        " water_above_pipe water_above_invert groundwater"
    ),
    "diameter": (
        "inside_diameter diameter main_diameter largest_host smallest_host manhole_opening"
        " smallest_opening smallest_main largest_main hose_bore cap_vent"
    ),
    "wall": "wall liner_wall host_wall coating chart_gap",
    "small_length": "tap_hole lap seam_offset position_error wrinkle span width depth curved",
    "angle": "tap_angle largest_bend",
    "share": (
        "slope ovality retention length_change stretch cure cure_low cure_high collar_cure"
        " water_level main_reduced share waste"
    ),
    "ratio": "void_fraction cutting_factor",
    "number": "ratio_a ratio_b kinetics air_supply score error on_hand ordered",
    "pressure": "starting_pressure maximum_pressure bladder_maximum_pressure allowed_drop",
    "velocity": "speed",
    "volume": "water_added",
    "modulus": "modulus",
    "strength": "strength long_term_strength",
    "temperature": "temperature maximum_gas_temperature bladder_maximum_temperature",
    "time": "time clock_offset p80 p50",
    "seconds": "seconds from_second to_second",
    "temperature_difference": "misfit",
    "mass": "mass",
    "mass_per_length": "chart_mass",
    "density": "density density_a density_b",
    "specific_energy": "heat_of_reaction",
    "power": "boiler_power",
    "conductivity": "soil_heat_conductivity",
    CLOCK: "tap_clock clock clock_from clock_to",
}
_KIND_OF = {name: kind for kind, names in _KINDS.items() for name in names.split()}
# what the last word of a name tells, where the whole name does not stand above
_BY_LAST_WORD = {
    "length distance depth reach riser": "length",
    "diameter bore opening": "diameter",
    "angle bend": "angle",
    "wall": "wall",
    "share ovality": "share",
    "pressure": "pressure",
    "temperature": "temperature",
    "time": "time",
    "mass": "mass",
    "density": "density",
    "modulus": "modulus",
    "strength": "strength",
    "power": "power",
    "clock": CLOCK,
}
_LAST_WORD = {word: kind for words, kind in _BY_LAST_WORD.items() for word in words.split()}
# numbers whose kind is told by a field beside them: class, field, the field that tells
_TOLD = {
    ("Limit", "value"): "kind",
    ("Figure", "value"): "kind",
    ("FigureInput", "value"): "kind",
    ("Check", "demand"): "kind",
    ("Check", "capacity"): "kind",
    ("Observation", "measure"): "measure_kind",
    ("Series", "values"): "kind",
    **{("Estimated", name): "kind" for name in ("prior", "value", "low", "high")},
}


def words_of(field: str) -> str:
    """A field's name as people say it."""
    return WORDS.get(field, field.replace("_", " "))


def one_of(field: str) -> str:
    """The name of one entry of a field that holds several."""
    if field in _SINGULAR:
        return _SINGULAR[field]
    return words_of(field).removesuffix("s")


def kind_of_number(owner: type[Any], field: str) -> str | None:
    """The kind of the number in a field: a kind of `units.KINDS`, or `CLOCK`.

    Beginning with a dot it names the field beside it that tells the kind; None where the
    field is not known here.
    """
    told = _TOLD.get((owner.__name__, field))
    if told:
        return f".{told}"
    return _KIND_OF.get(field) or _LAST_WORD.get(field.rpartition("_")[2])
