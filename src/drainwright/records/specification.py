"""Limits and settings: each lives once, with value, source and mark, and can be changed.

The owner's specification always wins. A limit marked M is shown as "from memory, check your
specification"; a limit without value (None) is not applied.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from drainwright.errors import NotFoundError
from drainwright.sources import Citation, cite
from drainwright.units import KINDS, to_si


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit or setting: SI value of `kind`, what it means, where it comes from."""

    name: str
    value: float | None
    kind: str
    words: str
    source: Citation


@dataclass(frozen=True, slots=True)
class Specification:
    """A project's limits and methods."""

    key: str
    name: str
    wall_method: str
    condition: str
    limits: Mapping[str, Limit]
    basis: str = ""
    """What the specification was started from."""

    def limit(self, name: str) -> Limit:
        """The limit `name`; one that came with a newer program has its starting value.

        Raises `NotFoundError` for a limit nobody knows.
        """
        found = self.limits.get(name) or DEFAULT_LIMITS.get(name)
        if found is None:
            raise NotFoundError(f"the specification has no limit “{name}”")
        return found

    def value(self, name: str) -> float:
        """The SI value of a limit that must have one."""
        value = self.limit(name).value
        if value is None:
            raise NotFoundError(f"the limit “{name}” has no value in this specification")
        return value

    def optional(self, name: str) -> float | None:
        """The SI value of a limit, None where it is not applied."""
        return self.limit(name).value

    def with_limits(self, changes: Mapping[str, tuple[float | None, Citation]]) -> Specification:
        """The same specification with some values and their sources replaced."""
        limits = dict(self.limits)
        for name, (value, source) in changes.items():
            limits[name] = replace(self.limit(name), value=value, source=source)
        return replace(self, limits=limits)


_MEMORY = cite("memory")
_SCOPE = cite("astm-f2561", "scope")


def _limit(
    name: str, number: float | None, unit: str, kind: str, words: str, source: Citation
) -> Limit:
    if kind not in KINDS:
        raise KeyError(kind)
    return Limit(name, None if number is None else to_si(number, unit), kind, words, source)


_ELIGIBILITY = (
    _limit("lateral_diameter_least", 3, "in", "diameter", "smallest lateral", _SCOPE),
    _limit("lateral_diameter_most", 12, "in", "diameter", "largest lateral", _SCOPE),
    _limit("main_diameter_least", 6, "in", "diameter", "smallest main", _SCOPE),
    _limit("main_diameter_most", 24, "in", "diameter", "largest main", _SCOPE),
    _limit("lined_length_most", 150, "ft", "length", "longest lining up the lateral", _SCOPE),
    _limit(
        "tap_open_least", 95, "%", "share", "least open bore at the tap", cite("ramsey", "A6–A11")
    ),
    _limit(
        "bore_loss_most",
        40,
        "%",
        "share",
        "most bore reduction after cleaning",
        cite("astm-f1743", "6.1.3"),
    ),
    _limit("bend_routine", 45, "deg", "angle", "sharpest routine bend", _MEMORY),
    _limit("bend_most", 90, "deg", "angle", "sharpest sweep, stretch fabric only", _MEMORY),
    _limit("size_steps_most", 1, "1", "number", "changes of size in one liner", _MEMORY),
    _limit("offset_most", 1, "in", "small_length", "largest joint offset", _MEMORY),
    _limit("offset_ask_share", 10, "%", "share", "offset of the bore: ask above", _MEMORY),
    _limit("offset_most_share", 25, "%", "share", "offset of the bore: stop above", _MEMORY),
    _limit("ovality_most", 10, "%", "share", "deformation: ask the engineer above", _MEMORY),
    _limit("belly_water_most", 10, "%", "share", "standing water: ask above", _MEMORY),
    _limit("slope_most", 50, "%", "share", "steepest lateral without precautions", _MEMORY),
    _limit("survey_age_most", 60 * 1440, "min", "time", "oldest survey for lining", _MEMORY),
    _limit(
        "length_agreement_share",
        1,
        "%",
        "share",
        "two length measurements agree within this share",
        cite("silver-lake", "6.20.410"),
    ),
    _limit("listed_difference_most", 10, "%", "share", "length off the list: ask above", _MEMORY),
    _limit("length_agreement_least", 0.5, "ft", "length", "… or within this, if larger", _MEMORY),
)

_F1216 = cite("astm-f1216", "X1")
_WALL = (
    _limit("safety_factor", 2, "1", "number", "safety factor N", _F1216),
    _limit("enhancement", 7, "1", "number", "enhancement factor K", _F1216),
    _limit("poisson_ratio", 0.3, "1", "number", "Poisson's ratio", _F1216),
    _limit("stiffness_least", 0.093, "psi", "pressure", "least E I / D³", cite("najafi", "p. 111")),
    _limit("ratio_without_water_most", 100, "1", "number", "largest D/t without water", _MEMORY),
    _limit("ovality", 2, "%", "share", "ovality where not measured", _MEMORY),
    _limit("retention", 50, "%", "share", "long-term over initial modulus", cite("sf-3301")),
    _limit("modulus_least", 250_000, "psi", "modulus", "least initial modulus", cite("najafi")),
    _limit("strength_least", 4_500, "psi", "strength", "least initial strength", cite("najafi")),
    _limit("soil_weight", 120, "lbf/ft^3", "unit_weight", "weight of soil", cite("sf-3301")),
    _limit("soil_modulus", 1000, "psi", "modulus", "modulus of soil reaction", cite("sf-3301")),
    _limit("live_load", 0, "psi", "pressure", "live load at the crown", _MEMORY),
    _limit("cover", None, "ft", "length", "cover over the crown; empty: the depth", _MEMORY),
    _limit("water_above_invert", None, "ft", "length", "groundwater; empty: the site's", _MEMORY),
    _limit("assumed_depth", 10, "ft", "length", "depth of the invert, if unknown", _MEMORY),
    _limit("assumed_water_depth", 5, "ft", "length", "water below ground, if unknown", _MEMORY),
    _limit("minimum_wall", None, "mm", "wall", "least wall whatever the design says", _MEMORY),
    _limit("wall_any_point", 87.5, "%", "share", "least wall at a point", cite("astm-d5813")),
)

_FLOW = (
    _limit(
        "roughness_liner", 0.010, "1", "number", "Manning n of the liner", cite("najafi", "2.14")
    ),
    _limit("roughness_host", 0.013, "1", "number", "Manning n of the host", cite("najafi", "2.13")),
    _limit("capacity_ratio_least", None, "1", "ratio", "least capacity after / before", _MEMORY),
)

_MAKING = (
    _limit(
        "void_fraction", 0.87, "1", "ratio", "resin share of the wall", cite("inspector-training")
    ),
    _limit("excess", 8, "%", "share", "resin for shrinkage and migration", _MEMORY),
    _limit("ratio_tolerance", 2, "%", "share", "mixing ratio within", _MEMORY),
    _limit("ratio_refuse", 5, "%", "share", "mixing ratio: refuse beyond", _MEMORY),
    _limit("suction_first", 25, "ft", "length", "first suction point", cite("ramsey")),
    _limit("suction_next", 75, "ft", "length", "next suction points ahead", cite("ramsey")),
    _limit("coating", 0.4, "mm", "wall", "thickness of one coating", _MEMORY),
    _limit("coatings", 2, "1", "number", "coatings between the rollers", _MEMORY),
    _limit("gap_factor", 2, "1", "number", "roller gap over finished wall, both plies", _MEMORY),
    _limit("connection_allowance", 3, "in", "small_length", "tube inside the collar seam", _MEMORY),
    _limit("trim_allowance", 9, "in", "small_length", "end to trim back", _MEMORY),
    _limit("end_gap", 0, "in", "small_length", "liner ends short of the cleanout by", _MEMORY),
    _limit("life_launch", 75, "%", "share", "resin life used when seated, at most", _MEMORY),
    _limit("life_pull", 85, "%", "share", "resin life used when pulled out, at most", _MEMORY),
)

_CLOCK = (
    _limit(
        "life_energy_low",
        44.3,
        "kJ/mol",
        "molar_energy",
        "one gel time, toward the cold",
        cite("trade-press", "two gel times"),
    ),
    _limit(
        "life_energy_high",
        57,
        "kJ/mol",
        "molar_energy",
        "one gel time, toward the warm",
        cite("maker", "life halves per 10 °C, two makers' notes"),
    ),
    _limit("air_temperature", 75, "degF", "temperature", "air and carrier", _MEMORY),
    _limit("ice_temperature", 38, "degF", "temperature", "on ice", _MEMORY),
    _limit("lag_ice", 20, "min", "time", "resin follows ice with this lag", _MEMORY),
    _limit("lag_air", 30, "min", "time", "resin follows air with this lag", _MEMORY),
    _limit("wet_out_time", 25, "min", "time", "mixing, wet-out, rolling, P80", _MEMORY),
    _limit("load_time", 10, "min", "time", "loading the carrier, P80", _MEMORY),
    _limit("lower_time", 15, "min", "time", "lowering and lining up, P80", _MEMORY),
    _limit("invert_time", 8, "min", "time", "inverting and seating, P80", _MEMORY),
    _limit("withdraw_time", 8, "min", "time", "pulling out again, P80", _MEMORY),
)

_SHIFT = (
    _limit("move_time", 30, "min", "time", "moving the rig to a segment, P80", _MEMORY),
    _limit("traffic_time", 20, "min", "time", "traffic control, P80", _MEMORY),
    _limit("plug_time", 15, "min", "time", "plugging the main, P80", _MEMORY),
    _limit("bypass_time", 45, "min", "time", "setting up a bypass, P80", _MEMORY),
    _limit("take_down_time", 30, "min", "time", "taking a set-up down, P80", _MEMORY),
    _limit("look_time", 30, "min", "time", "last look and cleaning, P80", _MEMORY),
    _limit("mix_time", 10, "min", "time", "of the wet-out, weighing and mixing, P80", _MEMORY),
    _limit("transport_time", 10, "min", "time", "transport on ice, P80", _MEMORY),
    _limit("film_time", 30, "min", "time", "filming and testing, P80", _MEMORY),
    _limit("restore_time", 10, "min", "time", "restoring service, P80", _MEMORY),
    _limit("day_allowance", 30, "min", "time", "kept free at the end of a shift", _MEMORY),
)

_LAUNCH = (
    _limit("host_pressure_most", None, "psi", "pressure", "inside the host, at most", _MEMORY),
    _limit("pressure_margin", 2, "psi", "pressure", "above the groundwater's pressure", _MEMORY),
    _limit("usual_pressure", 7, "psi", "pressure", "usual launch pressure", cite("practice")),
    _limit("landing_least", 3, "in", "small_length", "collar landing on each side", _MEMORY),
    _limit("cable_off_most", 6, "in", "small_length", "cable off its mark, at most", _MEMORY),
    _limit("position_error", 0.5, "in", "small_length", "error of the carrier's place", _MEMORY),
)

_CURE = (
    _limit("letdown_temperature", 100, "degF", "temperature", "let down below", cite("south-bend")),
    _limit("letdown_temperature_steam", 113, "degF", "temperature", "… for steam", _MEMORY),
    _limit("letdown_below_tg", 15, "K", "temperature_difference", "… and below Tg by", _MEMORY),
    _limit("target_cure", 90, "%", "share", "least cure at the last point", _MEMORY),
    _limit("heat_up", 10, "min", "time", "gas rises to its temperature within", _MEMORY),
    _limit(
        "soil_temperature",
        59,
        "degF",
        "temperature",
        "soil around the pipe",
        cite("farouki", "15 °C usual"),
    ),
    _limit(
        "soil_heat_conductivity",
        1.4,
        "W/m/K",
        "conductivity",
        "of the soil, moist",
        cite("farouki"),
    ),
    _limit(
        "soil_heat_capacity", 2.2e6, "J/m^3/K", "volumetric_heat_capacity", "of the soil", _MEMORY
    ),
    _limit("confidence", 95, "%", "share", "how sure the steam time is to be", _MEMORY),
    _limit("let_down_time", 5, "min", "time", "letting the pressure down takes at least", _MEMORY),
    _limit("soak_back", 10, "min", "time", "still below after cooling air is shut", _MEMORY),
    _limit(
        "exhaust_rise_most", 2, "delta_degF", "temperature_difference", "rise in 5 min", _MEMORY
    ),
    _limit("host_plastic_most", 165, "degF", "temperature", "gas against a PVC host", _MEMORY),
    _limit("main_flow", 10, "gal/min", "flow", "flow in the main while it is plugged", _MEMORY),
    _limit("service_out_most", 480, "min", "time", "residents without service", cite("ramsey")),
)

_POST_TV = (
    _limit("wrinkle_share", 2, "%", "share", "wrinkle along the invert", cite("iso-11296-4")),
    _limit("wrinkle_least", 6, "mm", "small_length", "… or this, if larger", cite("iso-11296-4")),
    _limit(
        "wrinkle_bend_share",
        5,
        "%",
        "share",
        "wrinkle or lift in a bend",
        cite("public-specs", "post-lining TV", "S2"),
    ),
    _limit(
        "wrinkle_collar_share",
        15,
        "%",
        "share",
        "wrinkle at the collar, of the lateral's bore",
        cite("public-specs", "post-lining TV", "S2"),
    ),
    _limit(
        "main_reduced_most",
        15,
        "%",
        "share",
        "collar narrows the main by",
        cite("public-specs", "post-lining TV", "S2"),
    ),
    _limit("tv_speed_most", 1, "ft/s", "velocity", "camera in a lateral", cite("sf-3301")),
    _limit("tv_water_most", 10, "%", "share", "water in the pipe while filming", _MEMORY),
    _limit(
        "tv_delivery_most",
        7 * 1440,
        "min",
        "time",
        "video delivered",
        cite("public-specs", "delivery of video"),
    ),
)

_TIGHTNESS = (
    _limit("tightness_time_least", 2, "min", "time", "least time of an air test", _MEMORY),
    _limit("hold_pressure", 4, "psi", "pressure", "hold: start", cite("olympic-valley")),
    _limit("hold_drop", 0.5, "psi", "pressure", "hold: allowed drop", cite("olympic-valley")),
    _limit("hold_time", 5, "min", "time", "hold: time", cite("olympic-valley")),
    _limit("level_head", 5, "ft", "length", "water level: head", cite("oakland")),
    _limit("level_time", 15, "min", "time", "water level: constant for", cite("oakland")),
)

_PROOF = (
    _limit("end_gap_most", 2, "in", "small_length", "end off its place, at most", cite("sf-3301")),
    _limit("resin_short_most", 5, "%", "share", "resin used below the sheet's mass", _MEMORY),
    _limit("wall_mean_least", 100, "%", "share", "mean wall of the specified", cite("astm-d5813")),
    _limit("wall_count_least", 4, "1", "number", "readings of the wall", _MEMORY),
    _limit("coupon_count_least", 3, "1", "number", "specimens without a plan", _MEMORY),
)

DEFAULT_LIMITS: Mapping[str, Limit] = {
    limit.name: limit
    for limit in (
        *_ELIGIBILITY,
        *_WALL,
        *_FLOW,
        *_MAKING,
        *_CLOCK,
        *_SHIFT,
        *_LAUNCH,
        *_CURE,
        *_POST_TV,
        *_TIGHTNESS,
        *_PROOF,
    )
}


def default_specification() -> Specification:
    """The specification a new project starts with."""
    return Specification(
        key="specification",
        name="Starting specification",
        wall_method="ASTM F1216-09",
        condition="fully deteriorated",
        limits=DEFAULT_LIMITS,
        basis="drainwright defaults",
    )
