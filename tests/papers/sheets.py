"""Work sheets for tests of papers: numbers given outright, not computed by the program."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import Any

from drainwright.checks import at_least, at_most, not_assessed
from drainwright.records.material import Resin, Tube
from drainwright.records.standing import Knowledge
from drainwright.records.survey import Observation, ObservationKind
from drainwright.records.work_sheet import (
    DocumentRef,
    Figure,
    FigureInput,
    Fitness,
    Reason,
    WorkSheet,
)
from drainwright.sources import Citation, cite
from tests.planning.sites import FOOT, INCH, bend, seen, share, site

PSI, POUND = 6894.757293168361, 0.45359237
F1216 = cite("astm-f1216", "X1.2")
MEMORY = cite("memory")
RAMSEY = cite("ramsey")
ISSUED = dt.datetime(2026, 11, 25, 14, 5, tzinfo=dt.UTC)
Kind = ObservationKind


def _figure(
    key: str, label: str, value: float | str, kind: str = "", source: Citation = F1216, **more: Any
) -> Figure:
    return Figure(key, label, value, kind, more.get("how", ""), source, more.get("inputs", ()))


_WATER = FigureInput("water below ground", 5 * FOOT, "length", Knowledge.ASSUMED)
_LIFE = FigureInput("resin life used, at most", 0.75, "share", Knowledge.MEMORY)
_SIZE = FigureInput("inside diameter", 4 * INCH, "diameter", Knowledge.MEASURED)

FIGURES = (
    _figure("length.measured", "tap to cleanout", 40.8 * FOOT, "length", cite("geometry")),
    _figure("length.uncertainty", "known within", 0.4 * FOOT, "length", cite("silver-lake")),
    _figure("length.lined", "lined length", 39.8 * FOOT, "length", cite("geometry")),
    _figure("length.gap", "unlined to the cleanout", 1.0 * FOOT, "length", cite("geometry")),
    _figure("cut.length", "cut length", 40.5 * FOOT, "length", cite("practice")),
    _figure("cut.connection", "of it, inside the collar seam", 3 * INCH, "small_length", MEMORY),
    _figure("cut.end", "of it, at the end", 6 * INCH, "small_length", MEMORY),
    _figure(
        "wall.required",
        "wall, needed",
        0.00167,
        "wall",
        how="t = D / (1 + (2 K E_L C / (P N (1 − ν²)))^(1/3))",
        inputs=(_SIZE, _WATER),
    ),
    _figure("wall.governing", "governed by", "water, X1.1"),
    _figure("wall.installed", "wall after stretch", 0.0030, "wall", inputs=(_SIZE,)),
    _figure(
        "wall.close_fit_pressure",
        "close-fit buckling pressure",
        40 * PSI,
        "pressure",
        cite("glock-1977"),
    ),
    _figure("wall.station", "governing station", "tap"),
    _figure("flow.ratio", "flow after / before", 1.10, "share", cite("manning")),
    _figure("flow.roughness", "n of liner", 0.010, "number", cite("chow-1959")),
    _figure("tube.name", "tube", "T-4-3.0", "", cite("maker")),
    _figure("resin.name", "resin", "R-30", "", cite("maker")),
    _figure("wetout.volume", "resin A + B", 3.9e-3 * 4, "volume", RAMSEY),
    _figure("wetout.mass", "resin A + B", 35.7 * POUND, "mass", RAMSEY),
    _figure(
        "wetout.mass_per_length", "for each foot", 0.88 * POUND / FOOT, "mass_per_length", RAMSEY
    ),
    _figure("wetout.part_a", "part A", 28.6 * POUND, "mass", cite("maker")),
    _figure("wetout.part_b", "part B", 7.1 * POUND, "mass", cite("maker")),
    _figure("wetout.collar_mass", "for the collar, of it", 2.0 * POUND, "mass", cite("geometry")),
    _figure("wetout.roller_gap", "roller gap", 0.0068, "wall", MEMORY),
    _figure("wetout.suction_points", "suction points", "25 ft", "", RAMSEY),
    _figure("resin.life_mixed", "resin life at 68 °F", 54 * 60.0, "time", cite("maker")),
    _figure("resin.life_ice", "on ice, 39 °F", 180 * 60.0, "time", cite("maker"), inputs=(_LIFE,)),
    _figure("deadline.ice", "off the ice by", 100 * 60.0, "time", MEMORY),
    _figure(
        "deadline.seated", "inverted and seated by", 135 * 60.0, "time", MEMORY, inputs=(_LIFE,)
    ),
    _figure("deadline.pull", "pull out by", 153 * 60.0, "time", MEMORY),
    _figure("launch.minimum", "least pressure", 4.6 * PSI, "pressure", MEMORY, inputs=(_WATER,)),
    _figure("launch.maximum", "most pressure", 9.0 * PSI, "pressure", cite("maker")),
    _figure("launch.usual", "launch pressure", 7.0 * PSI, "pressure", cite("practice")),
    _figure(
        "launch.head_limit", "holds groundwater up to", 11.5 * FOOT, "length", cite("geometry")
    ),
    _figure("launch.thrust", "end thrust", 391.4, "force", cite("geometry")),
    _figure("launch.cable_half", "cable, half", 20.2 * FOOT, "length", cite("geometry")),
    _figure("launch.cable_seated", "cable, seated", 79.6 * FOOT, "length", cite("geometry")),
    _figure("steam.schedule", "schedule", "68 min at 180 °F", "", cite("maker")),
    _figure("steam.hold", "steam time", 68 * 60.0, "time", cite("maker")),
    _figure("steam.letdown", "let down below", 310.928, "temperature", cite("south-bend")),
    _figure("oddity.reserve", "reserve of an unknown group", 12.0, "number", MEMORY),
)

CHECKS = (
    at_most("two length measurements agree", 0.3 * FOOT, 0.5 * FOOT, "length", cite("silver-lake")),
    at_least("wall", 0.0030, 0.00167, "wall", F1216),
    at_least(
        "capacity after lining", 0.923, 1.0, "ratio", cite("sf-3301"), "a thicker tube breaks it"
    ),
    at_least("close-fit buckling, Glock", 40 * PSI, 12 * PSI, "pressure", cite("glock-1977")),
    not_assessed("landing of the collar", "small_length", MEMORY, "tap hole not measured"),
)

CAUTIONS = (
    "Confined space: oxygen 19.5 to 23.5 %, flammable gas below 10 % LFL before anyone enters.",
    "Steam burns. Keep people away from every cleanout and vent; exhaust stack at least 6 ft high.",
    "Air pressure moves the tube, cap and hose with force: stand clear, let down before you open.",
    "Uncured resin on skin makes allergies for life: gloves, sleeves, no solvent on skin.",
    "Vapors reach buildings through dry traps: fill traps, look inside before and during steam.",
    "Traffic: set up the work zone by the permit.",
    "Local codes, the makers’ letters and licensed practice rule over this sheet.",
)

ROOTS = Reason(
    Fitness.PREPARE,
    "roots",
    "Fine roots over 20 % of the bore.",
    cite("practice", "two passes of jetting at least, root cutter where substantial", "S"),
    6.4 * FOOT,
    1,
    "Cut the roots.",
)

SEEN = (
    share(Kind.ROOTS, 6.4, 20, grade="fine"),
    seen(Kind.INFILTRATION, 13.1, grade="dripping", clock_from=10.0),
    seen(Kind.OFFSET, 17.8, measure=0.25 * INCH, measure_kind="small_length", grade="radial"),
    bend(22.4, 22.5),
    share(Kind.WATER_LEVEL, 26.0, 15, running_to=29 * FOOT),
    seen(Kind.ROOTS, 33.0, grade="fine"),
)

TUBE = Tube("T-4-3.0", 4 * INCH, 0.003, demo=True)
RESIN = Resin("R-30", demo=True)


def sheet(*observations: Observation, **changes: Any) -> WorkSheet:
    """A work sheet as a crew would get it; `changes` replace its fields."""
    there = site(*(observations or SEEN))
    plain = WorkSheet(
        project=replace(there.project, name="Weaver Hill, phase 1", town="Weaver Hill"),
        segment=replace(there.segment, street="Weaver’s Row", material="clay"),
        lateral=replace(there.lateral, property_line=26.5 * FOOT),
        survey=there.survey,
        tube=TUBE,
        resin=RESIN,
        specification=there.specification,
        outcome=Fitness.PREPARE,
        reasons=(ROOTS, replace(ROOTS, distance=33 * FOOT, words="Fine roots.")),
        figures=FIGURES,
        checks=CHECKS,
        cautions=CAUTIONS,
        made_from=(
            DocumentRef("Lateral", "A-07", 4),
            DocumentRef("Survey", "A-07 2026-11-02", 2),
            DocumentRef("MainSegment", "A", 1),
        ),
        issued_at=ISSUED,
        issued_by="R. Vale",
    )
    return replace(plain, **changes)
