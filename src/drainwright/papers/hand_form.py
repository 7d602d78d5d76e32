"""The form for hand entry: the field page's steps and readings on one sheet of paper.

It is typed in afterwards as “from paper”; who entered and who read are two names.
"""

from __future__ import annotations

from collections.abc import Sequence

from drainwright.errors import PaperError
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import lateral_head, refuse_demo_resin, subject_of
from drainwright.papers.shown import UNKNOWN, Reading, figure_reading
from drainwright.records.field_entry import AttemptEnd
from drainwright.records.field_step import START_STEPS, FieldStep
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import Shown, UnitSystem, kind_unit

ENDS = tuple(end.value for end in AttemptEnd)
READINGS = 14


def hand_form_pdf(
    sheet: WorkSheet,
    *,
    revision: int,
    system: UnitSystem | None = None,
    steps: Sequence[FieldStep] = START_STEPS,
) -> bytes:
    """The form for hand entry of one lateral as PDF, with the windows of its work sheet.

    `steps` are the project's own, each of which bears a time and initials.

    Raises `PaperError` for a lateral that is not lined, and where demo material stands in a
    real project.
    """
    refuse_demo_resin(sheet)
    if sheet.outcome is Fitness.STOP:
        raise PaperError(f"“{sheet.lateral.key}” is not lined, so it has no field form")
    data = hand_form_data(sheet, revision, system or sheet.project.units, steps)
    return make_pdf("hand_form", data, subject_of(sheet, revision).issue.timestamp)


def hand_form_data(
    sheet: WorkSheet,
    revision: int,
    system: UnitSystem,
    steps: Sequence[FieldStep] = START_STEPS,
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    length, pressure, temperature = (
        Shown(0.0, kind_unit(kind, system), "").unit_text
        for kind in ("length", "pressure", "temperature")
    )
    return {
        **lateral_head(subject_of(sheet, revision), system, "Field form"),
        "windows": [list(window) for window in _windows(sheet, system)],
        "steps": [step.words for step in steps],
        "ends": list(ENDS),
        "readings": READINGS,
        "heads": [
            "time",
            f"cable, {length}",
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
