"""The crew's steps in the order of the trade, with what is read at each; a project can change them.

A window names the work sheet's figures that a reading is held against.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AskedReading:
    """A reading asked for at a step. `kind` is "" for words, such as a lot."""

    name: str
    words: str
    kind: str = ""
    low: str = ""
    """Key of the work sheet's figure that is the least allowed value."""
    high: str = ""
    """Key of the figure that is the greatest allowed value."""
    required: bool = False
    near: str = ""
    """Key of the figure that the reading should come to."""
    give: str = ""
    """Name of the specification's limit that says how far off it may be."""
    choices: tuple[str, ...] = ()
    """What words may be chosen from; none for free words."""


@dataclass(frozen=True, slots=True)
class FieldStep:
    """One step: what the crew is told, what is read, and the caution."""

    key: str
    words: str
    readings: tuple[AskedReading, ...] = ()
    caution: str = ""
    deadline: str = ""
    """Key of the work sheet's figure, a time from mixing, by which the step must be done."""
    required: bool = True


@dataclass(frozen=True, slots=True)
class FieldSteps:
    """A project's list of steps; its key is always “steps”."""

    steps: tuple[FieldStep, ...]
    key: str = "steps"


_TUBE = AskedReading(
    "tube_pressure", "Tube pressure", "pressure", "launch.minimum", "launch.maximum", required=True
)
_TUBE_STEAM = AskedReading(
    "tube_pressure", "Tube pressure", "pressure", "pressure.steam_least", "pressure.steam_most",
    required=True,
)  # fmt: skip
_TUBE_COOL = AskedReading(
    "tube_pressure", "Tube pressure", "pressure", "pressure.cool_least", "pressure.cool_most",
    required=True,
)  # fmt: skip
_BLADDER = AskedReading(
    "bladder_pressure", "Carrier bladder pressure", "pressure", high="launch.bladder_most"
)
_FRONT = AskedReading("cable", "Cable at the reference point", "length")
_EXHAUST = AskedReading("exhaust_temperature", "Exhaust at the cap", "temperature")
_WALL_TOP = AskedReading("wall_top", "Wall, top", "temperature")
_WALL_BOTTOM = AskedReading("wall_bottom", "Wall, bottom", "temperature")

START_STEPS = (
    FieldStep(
        "permits",
        "Entry and traffic permits on site",
        caution="Confined space: air monitor on, attendant and rescue named.",
    ),
    FieldStep(
        "flow_control",
        "Flow in the main controlled, water off",
        (
            AskedReading("plugged_at", "Main plugged at"),
            AskedReading("bypass", "Bypass runs", choices=("yes", "no")),
        ),
    ),
    FieldStep(
        "last_look",
        "Last look after cleaning, length measured again",
        (
            AskedReading(
                "length",
                "Length measured again",
                "length",
                required=True,
                near="length.measured",
                give="length_agreement",
            ),
        ),
    ),
    FieldStep("seals", "Seals placed, photo taken", (AskedReading("seal_lot", "Seal lot"),)),
    FieldStep("sensors", "Sensors placed", (AskedReading("sensor_places", "Where they sit"),)),
    FieldStep(
        "steam_ready",
        "Boiler hot, standby air runs, exhaust stack open",
        caution="Steam burns. Stack 6 ft (1.8 m), 15 ft (4.6 m) kept clear.",
    ),
    FieldStep(
        "mixed",
        "A and B together",
        (
            AskedReading(
                "part_a",
                "Part A weighed",
                "mass",
                required=True,
                near="wetout.part_a",
                give="ratio_tolerance",
            ),
            AskedReading(
                "part_b",
                "Part B weighed",
                "mass",
                required=True,
                near="wetout.part_b",
                give="ratio_tolerance",
            ),
            AskedReading("lot_a", "Lot A", required=True),
            AskedReading("lot_b", "Lot B", required=True),
            AskedReading("tube_lot", "Tube lot", required=True),
            AskedReading("collar_lot", "Collar lot"),
            AskedReading("bladder_uses", "Bladder used before, times"),
            AskedReading("storage_temperature", "Resin was stored at", "temperature"),
            AskedReading("resin_temperature", "Resin temperature", "temperature"),
        ),
        caution="Resin and hardener sensitize skin: gloves, sleeves, goggles.",
    ),
    FieldStep("witness_cup", "Witness cup poured"),
    FieldStep(
        "wet_out",
        "Tube wet out, rolled, weighed back",
        (
            AskedReading("left_over", "Resin left in pail and rollers", "mass"),
            AskedReading("vacuum", "Vacuum held at", "pressure"),
        ),
    ),
    FieldStep(
        "on_ice",
        "Tube on ice",
        (AskedReading("liner_temperature", "Liner temperature", "temperature"),),
    ),
    FieldStep(
        "off_ice",
        "Off the ice",
        (AskedReading("liner_temperature", "Liner temperature", "temperature"),),
        deadline="deadline.off_ice",
    ),
    FieldStep("at_tap", "Carrier at the tap", deadline="deadline.at_tap"),
    FieldStep("bladder_seated", "Carrier bladder seated", (_BLADDER,)),
    FieldStep(
        "inversion",
        "Inversion starts",
        (
            _TUBE,
            _BLADDER,
            _FRONT,
            AskedReading("cable_reference", "Cable is read at"),
            AskedReading("cable_tied_to", "Cable is tied to", choices=("end cap", "carrier")),
            AskedReading("gauge", "Gauge"),
        ),
        caution="Tube under pressure: nobody in line with the carrier or the cap.",
    ),
    FieldStep(
        "half",
        "Half mark at the reference point",
        (
            AskedReading(
                "cable",
                "Cable at the reference point",
                "length",
                near="launch.cable_half",
                give="cable_off_most",
            ),
            _TUBE,
            _BLADDER,
        ),
    ),
    FieldStep(
        "seated",
        "Seated mark at the reference point; collar seated",
        (
            AskedReading(
                "cable",
                "Cable at the reference point",
                "length",
                required=True,
                near="launch.cable_seated",
                give="cable_off_most",
            ),
            _TUBE,
            _BLADDER,
        ),
        deadline="deadline.seated",
    ),
    FieldStep(
        "steam_on",
        "Steam on",
        (
            _TUBE_STEAM,
            AskedReading("gas_temperature", "Gas in", "temperature", high="steam.gas_limit"),
        ),
        caution="Look inside the house before and during steam.",
    ),
    FieldStep(
        "exhaust_steady",
        "Exhaust at temperature and steady",
        (
            AskedReading(
                "exhaust_temperature", "Exhaust at the cap", "temperature", "steam.exhaust"
            ),
            _WALL_TOP,
            _WALL_BOTTOM,
            AskedReading("gas_temperature", "Gas in", "temperature", high="steam.gas_limit"),
            _TUBE_STEAM,
        ),
    ),
    FieldStep("air_on", "Air on and shown", (_TUBE_COOL,)),
    FieldStep(
        "steam_shut",
        "Steam shut",
        (_TUBE_COOL, _EXHAUST, _WALL_TOP, _WALL_BOTTOM),
        caution="Pressure falls in seconds: the least value counts.",
    ),
    FieldStep(
        "soak_back",
        "Cooling air shut, 10 min for the heat to soak back",
        (
            AskedReading("wall_top", "Wall, top", "temperature", high="steam.letdown"),
            AskedReading("wall_bottom", "Wall, bottom", "temperature", high="steam.letdown"),
            _TUBE_COOL,
        ),
    ),
    FieldStep(
        "let_down",
        "Pressure let down, vented, no suction",
        (
            AskedReading(
                "wall_temperature",
                "Warmest wall",
                "temperature",
                high="steam.letdown",
                required=True,
            ),
        ),
    ),
    FieldStep("bladder_out", "Bladder out"),
    FieldStep(
        "trimmed",
        "End trimmed or cleanout reopened",
        (AskedReading("end_to_cleanout", "Unlined gap to the cleanout", "length"),),
    ),
    FieldStep("restored", "Service restored, residents told"),
    FieldStep(
        "post_tv",
        "Post-lining TV looked at on site",
        (
            AskedReading("video", "Video file"),
            AskedReading("water_level", "Water level today, where seen"),
        ),
    ),
)
