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
    required: bool = False


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
_BLADDER = AskedReading("bladder_pressure", "Carrier bladder pressure", "pressure")
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
        (AskedReading("plugged_at", "Main plugged or bypassed"),),
    ),
    FieldStep(
        "last_look",
        "Last look after cleaning, length measured again",
        (AskedReading("length", "Length measured again", "length", required=True),),
    ),
    FieldStep("seals", "Seals placed, photo taken", (AskedReading("seal_lot", "Seal lot"),)),
    FieldStep("sensors", "Sensors placed", (AskedReading("sensor_places", "Where they sit"),)),
    FieldStep(
        "steam_ready",
        "Boiler hot, standby air runs, exhaust stack open",
        caution="Steam burns. Stack 6 ft, 15 ft kept clear.",
    ),
    FieldStep(
        "mixed",
        "A and B together",
        (
            AskedReading("part_a", "Part A weighed", "mass", required=True),
            AskedReading("part_b", "Part B weighed", "mass", required=True),
            AskedReading("lot_a", "Lot A", required=True),
            AskedReading("lot_b", "Lot B", required=True),
            AskedReading("tube_lot", "Tube lot", required=True),
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
        (_TUBE, _BLADDER, _FRONT),
        caution="Tube under pressure: nobody in line with the carrier or the cap.",
    ),
    FieldStep("half", "Half mark at the reference point", (_FRONT, _TUBE)),
    FieldStep(
        "seated",
        "Seated mark at the reference point; collar seated",
        (AskedReading("cable", "Cable at the reference point", "length", required=True), _TUBE),
        deadline="deadline.seated",
    ),
    FieldStep(
        "steam_on",
        "Steam on",
        (_TUBE, AskedReading("gas_temperature", "Gas in", "temperature")),
        caution="Look inside the house before and during steam.",
    ),
    FieldStep(
        "exhaust_steady",
        "Exhaust at temperature and steady",
        (_EXHAUST, _WALL_TOP, _WALL_BOTTOM, _TUBE),
    ),
    FieldStep("air_on", "Air on and shown", (_TUBE,)),
    FieldStep("steam_shut", "Steam shut", (_TUBE, _EXHAUST)),
    FieldStep(
        "soak_back",
        "Cooling air shut, 10 min for the heat to soak back",
        (_WALL_TOP, _WALL_BOTTOM, _TUBE),
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
        "post_tv", "Post-lining TV looked at on site", (AskedReading("video", "Video file"),)
    ),
)
