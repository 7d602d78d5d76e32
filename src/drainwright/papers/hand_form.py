"""The form for hand entry: the field page's steps on one sheet, its readings on the next.

It is typed in afterwards as “from paper”; who entered and who read are two names.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from drainwright.errors import PaperError
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import lateral_head, refuse_demo_resin, subject_of
from drainwright.papers.shown import UNKNOWN, Reading, figure_reading
from drainwright.records.field_entry import AttemptEnd
from drainwright.records.field_step import START_STEPS, FieldStep
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import Shown, UnitSystem, kind_unit

ENDS = tuple(end.value for end in AttemptEnd)
# lines for readings: one each 5 min under steam, and what launch, change and cooling take beside
EVERY = 300.0
BESIDE, LEAST, MOST = 14, 30, 150
_CLOCK = (
    ("on the ice by", "deadline.on_ice"),
    ("off the ice by", "deadline.off_ice"),
    ("at the tap by", "deadline.at_tap"),
    ("seated by", "deadline.seated"),
    ("pull out by", "deadline.pull_out"),
)


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
        "windows": [[list(window) for window in row] for row in _windows(sheet, system)],
        "clock": list(_clock(sheet, system)),
        "steps": [step.words for step in steps],
        "ends": list(ENDS),
        "readings": readings_of(sheet),
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


def readings_of(sheet: WorkSheet) -> int:
    """How many lines for readings the steam time asks for."""
    hold = sheet.figure("steam.hold")
    under_steam = 0.0 if hold is None or isinstance(hold.value, str) else hold.value / EVERY
    if not math.isfinite(under_steam):
        return LEAST
    return max(LEAST, min(MOST, math.ceil(under_steam) + BESIDE))


def _clock(sheet: WorkSheet, system: UnitSystem) -> Iterator[Data]:
    """Each deadline that the sheet has, from the time A and B met."""
    for name, key in _CLOCK:
        if sheet.figure(key) is not None:
            yield [name, _both(sheet, key, system)[0]]


def _windows(sheet: WorkSheet, system: UnitSystem) -> tuple[list[tuple[str, str, str]], ...]:
    """What a reading is held against, launch and then cure; “—” where the sheet has no number."""
    launch = [
        ("tube, launch", *_between(sheet, ("launch.minimum", "launch.maximum"), system)),
        ("planned", *_both(sheet, "launch.usual", system)),
        ("carrier’s bladder, at most", *_both(sheet, "launch.bladder_most", system)),
        ("cable, half", *_both(sheet, "launch.cable_half", system)),
        ("cable, seated", *_both(sheet, "launch.cable_seated", system)),
    ]
    window = ("pressure.steam_least", "pressure.steam_most")
    cure = [
        ("tube, from steam on", *_between(sheet, window, system)),
        ("exhaust must read", *_both(sheet, "steam.exhaust", system)),
        ("or trouble card after", *_both(sheet, "steam.trouble", system)),
        ("then steam for another", *_both(sheet, "steam.after_exhaust", system)),
        ("steam time in all", *_both(sheet, "steam.hold", system)),
        ("let down, wall below", *_both(sheet, "steam.letdown", system)),
    ]
    return launch, cure


def _between(sheet: WorkSheet, keys: tuple[str, str], system: UnitSystem) -> tuple[str, str]:
    low, high = (_both(sheet, key, system)[0] for key in keys)
    return low, f"to {high}"


def _both(sheet: WorkSheet, key: str, system: UnitSystem) -> tuple[str, str]:
    figure = sheet.figure(key)
    read = Reading(UNKNOWN) if figure is None else figure_reading(figure, system)
    return read.text, read.also
