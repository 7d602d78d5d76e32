"""The form for hand entry: the field page's steps and readings on one sheet of paper.

It is typed in afterwards as “from paper”; who entered and who read are two names.
"""

from __future__ import annotations

from drainwright.errors import PaperError
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import lateral_head, refuse_demo_resin, subject_of
from drainwright.papers.shown import UNKNOWN, Reading, figure_reading
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import Shown, UnitSystem, kind_unit

# the crew's steps in their order; every one bears a time and initials
STEPS = (
    "Entry and traffic permits on site",
    "Flow controlled, water off",
    "Last look, length measured again",
    "Seals placed, photo taken",
    "Sensors placed",
    "Boiler hot, standby air, exhaust stack open",
    "A and B together",
    "Witness cup poured",
    "Tube on ice",
    "Off the ice",
    "Carrier at the tap",
    "Carrier bladder seated",
    "Inversion starts",
    "Half mark at the reference point",
    "Seated mark; collar seated",
    "Steam on",
    "Exhaust at temperature and steady",
    "Air on and shown",
    "Steam shut",
    "Cooling air shut for the soak-back",
    "Pressure let down, vented, no suction",
    "Bladder out",
    "End trimmed or cleanout reopened",
    "Service restored, residents told",
    "Post-lining TV looked at on site",
)
ENDS = ("cured", "pulled before gel", "left in place", "dug up")
READINGS = 14


def hand_form_pdf(sheet: WorkSheet, *, revision: int, system: UnitSystem | None = None) -> bytes:
    """The form for hand entry of one lateral as PDF, with the windows of its work sheet.

    Raises `PaperError` for a lateral that is not lined, and where demo material stands in a
    real project.
    """
    refuse_demo_resin(sheet)
    if sheet.outcome is Fitness.STOP:
        raise PaperError(f"“{sheet.lateral.key}” is not lined, so it has no field form")
    data = hand_form_data(sheet, revision, system or sheet.project.units)
    return make_pdf("hand_form", data, subject_of(sheet, revision).issue.timestamp)


def hand_form_data(sheet: WorkSheet, revision: int, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    length, pressure, temperature = (
        Shown(0.0, kind_unit(kind, system), "").unit_text
        for kind in ("length", "pressure", "temperature")
    )
    return {
        **lateral_head(subject_of(sheet, revision), system, "Field form"),
        "windows": [list(window) for window in _windows(sheet, system)],
        "steps": list(STEPS),
        "ends": list(ENDS),
        "readings": READINGS,
        "heads": [
            "time",
            f"front, {length}",
            f"tube, {pressure}",
            f"bladder, {pressure}",
            f"gas in, {temperature}",
            f"exhaust, {temperature}",
            f"wall top, {temperature}",
            f"wall bottom, {temperature}",
            "remark, initials",
        ],
    }


def _windows(sheet: WorkSheet, system: UnitSystem) -> list[tuple[str, str, str]]:
    """What a reading is held against; “—” where the sheet has no number."""
    low, high = (_both(sheet, f"launch.{end}", system)[0] for end in ("minimum", "maximum"))
    return [
        ("tube pressure", low, f"to {high}"),
        ("planned", *_both(sheet, "launch.usual", system)),
        ("cable, half", *_both(sheet, "launch.cable_half", system)),
        ("cable, seated", *_both(sheet, "launch.cable_seated", system)),
        ("seated, from mixing", *_both(sheet, "deadline.seated", system)),
        ("steam time", *_both(sheet, "steam.hold", system)),
        ("let down below", *_both(sheet, "steam.letdown", system)),
    ]


def _both(sheet: WorkSheet, key: str, system: UnitSystem) -> tuple[str, str]:
    figure = sheet.figure(key)
    read = Reading(UNKNOWN) if figure is None else figure_reading(figure, system)
    return read.text, read.also
