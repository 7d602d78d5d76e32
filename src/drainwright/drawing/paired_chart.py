"""Storms before and after the work on logarithmic axes: treated basin over control or rain."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.drawing.svg import FAINT, GRAPHITE, INK, PAPER, Point, Sheet
from drainwright.errors import Fault, InputError

_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 20.0, 18.0, 52.0


@dataclass(frozen=True, slots=True)
class Cloud:
    """The storms of one period: values on both axes, all above 0, and the line to draw."""

    name: str
    across: Sequence[float]
    up: Sequence[float]
    slope: float
    """Of the line, in logarithms."""


def draw_clouds(
    before: Cloud, after: Cloud, titles: tuple[str, str], size: tuple[float, float] = (760.0, 420.0)
) -> str:
    """The chart as SVG; a line through each period's middle with the slope given.

    Storms before are open circles, storms after filled squares. Raises `InputError` for a
    value that is not above 0.
    """
    for cloud in (before, after):
        for value in (*cloud.across, *cloud.up):
            if not (math.isfinite(value) and value > 0):
                raise InputError(Fault(cloud.name, "has a value that is not above 0", value))
    sheet = Sheet(*size, "pair-")
    width, height = size
    across, up = [*before.across, *after.across], [*before.up, *after.up]
    x_of = _log_scale(across, _LEFT, width - _RIGHT)
    y_of = _log_scale(up, height - _BOTTOM, _TOP)
    sheet.add("rect", "frame", x=_LEFT, y=_TOP, width=width - _LEFT - _RIGHT,
              height=height - _TOP - _BOTTOM, fill=PAPER, stroke=GRAPHITE)  # fmt: skip
    for value in _ticks(across):
        x = x_of(value)
        sheet.line([(x, _TOP), (x, height - _BOTTOM)], "grid", FAINT, 0.5)
        sheet.text((x, height - _BOTTOM + 18), f"{value:g}", anchor="middle", role="pale")
    for value in _ticks(up):
        y = y_of(value)
        sheet.line([(_LEFT, y), (width - _RIGHT, y)], "grid", FAINT, 0.5)
        sheet.text((_LEFT - 6, y + 5), f"{value:g}", anchor="end", role="pale")
    sheet.text(((width + _LEFT) / 2, height - 12), titles[0], anchor="middle")
    sheet.text((_LEFT + 8, _TOP + 18), titles[1], ground=True)
    for cloud, color in ((before, GRAPHITE), (after, INK)):
        sheet.line(_fitted(cloud, x_of, y_of), "line", color, 1.6)
    for x, y in zip(before.across, before.up, strict=True):
        sheet.add("circle", "storm", cx=x_of(x), cy=y_of(y), r=5.0, fill=PAPER, stroke=GRAPHITE,
                  stroke_width="1.5")  # fmt: skip
    for x, y in zip(after.across, after.up, strict=True):
        sheet.add("rect", "storm", x=x_of(x) - 4.5, y=y_of(y) - 4.5, width=9.0, height=9.0,
                  fill=INK)  # fmt: skip
    _key(sheet, (before.name, after.name), (width - _RIGHT - 150, height - _BOTTOM - 40))
    return sheet.render(f"{titles[1]} over {titles[0]}, {before.name} and {after.name}", "chart")


def _log_scale(values: Sequence[float], start: float, end: float):  # type: ignore[no-untyped-def]
    low, high = math.log(min(values) / 1.25), math.log(max(values) * 1.25)
    return lambda value: start + (math.log(value) - low) / (high - low) * (end - start)


def _ticks(values: Sequence[float]) -> list[float]:
    """1, 2 and 5 of each decade within the values."""
    low, high = min(values) / 1.25, max(values) * 1.25
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    steps = (digit * 10.0**decade for decade in decades for digit in (1, 2, 5))
    return [float(f"{one:.6g}") for one in steps if low <= one <= high]


def _fitted(cloud: Cloud, x_of, y_of) -> list[Point]:  # type: ignore[no-untyped-def]
    middle_x = sum(map(math.log, cloud.across)) / len(cloud.across)
    middle_y = sum(map(math.log, cloud.up)) / len(cloud.up)
    ends = min(cloud.across), max(cloud.across)
    return [
        (x_of(x), y_of(math.exp(middle_y + cloud.slope * (math.log(x) - middle_x)))) for x in ends
    ]


def _key(sheet: Sheet, names: tuple[str, str], at: Point) -> None:
    x, y = at
    sheet.add("circle", "storm", cx=x, cy=y - 5, r=5.0, fill=PAPER, stroke=GRAPHITE,
              stroke_width="1.5")  # fmt: skip
    sheet.text((x + 12, y), names[0], ground=True)
    sheet.add("rect", "storm", x=x - 4.5, y=y + 13.5, width=9.0, height=9.0, fill=INK)
    sheet.text((x + 12, y + 23), names[1], ground=True)
