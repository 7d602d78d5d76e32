"""Strips below a profile: a quantity along the pipe, its band and its limit, on its own scale."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.drawing.lettering import cut, text_width, wrapped
from drainwright.drawing.profile_input import STRIP_HEIGHT, Points, Strip
from drainwright.drawing.scale import Linear, ticks
from drainwright.drawing.section import Frame
from drainwright.drawing.svg import GRAPHITE, INK, PALE, Point, Sheet, path
from drainwright.units import UnitSystem, kind_unit, show

_PAD = 12.0
_NAME_LEFT = 6.0
_NAME_WIDTH = 104.0


@dataclass(frozen=True, slots=True)
class _Scales:
    """Where a strip's values stand."""

    x: Linear
    y: Linear
    top: float
    bottom: float
    low: float
    high: float

    def line(self, points: Points) -> list[Point]:
        """Points on the drawing."""
        return [(self.x.at(d), self.y.at(value)) for d, value in sorted(points)]


def strip_path(x: Linear, strip: Strip, top: float, values: Points) -> str:
    """Path data of other values on a strip's scale, such as those of another time.

    The scale is that of the strip as drawn at `top`; its band should hold the values.
    """
    return path(_scales(x, strip, top).line(values))


def draw_strips(
    sheet: Sheet, frame: Frame, strips: tuple[Strip, ...], top: float, system: UnitSystem
) -> None:
    """All strips, one below the other from `top` on."""
    for count, strip in enumerate(strips):
        scales = _scales(frame.x, strip, top + count * STRIP_HEIGHT)
        with sheet.group("strip"):
            _draw_axis(sheet, frame, strip, scales, system)
            _draw_values(sheet, strip, scales, count)
            if strip.limit is not None:
                _draw_limit(sheet, frame, strip, scales, system)


def _scales(x: Linear, strip: Strip, top: float) -> _Scales:
    values = [value for _, value in (*strip.values, *strip.low, *strip.high)]
    values += [strip.limit] if strip.limit is not None else []
    low, high = min(values), max(values)
    spare = 0.12 * (high - low) or abs(high) * 0.01 or 1.0
    low, high = low - spare, high + spare
    upper, lower = top + _PAD, top + STRIP_HEIGHT - 6
    per_unit = (upper - lower) / (high - low)
    return _Scales(x, Linear(lower - low * per_unit, per_unit), upper, lower, low, high)


def _draw_axis(
    sheet: Sheet, frame: Frame, strip: Strip, scales: _Scales, system: UnitSystem
) -> None:
    """The strip's scale between its name and the pipe's beginning."""
    axis = frame.space.left - 6
    end = frame.space.right + 8
    sheet.line([(axis, scales.top), (axis, scales.bottom)], "scale")
    sheet.line([(axis, scales.bottom), (end, scales.bottom)], "faint-line", PALE, 0.7)
    step = abs(scales.y.per_unit)
    for tick in ticks(scales.low, scales.high, step, system, 18, kind=strip.kind):
        y = scales.y.at(tick.value)
        sheet.line([(axis - (3.0, 5.0, 7.0)[tick.weight], y), (axis, y)], "scale")
        if tick.label:
            sheet.text((axis - 10, y + 5), tick.label, anchor="end")
    unit = show(scales.low, strip.kind, system).unit_text or kind_unit(strip.kind, system)
    name = strip.name if unit in ("", "1") else f"{strip.name}, {unit}"
    for row, line in enumerate(wrapped(name, _NAME_WIDTH, 3)):
        sheet.text((_NAME_LEFT, scales.top + 14 + 18 * row), line, role="pale")


def _draw_values(sheet: Sheet, strip: Strip, scales: _Scales, count: int) -> None:
    """The band, hatched, and the values as a line in ink."""
    if strip.low:
        hatch = f'<path class="dw-band-hatch" d="M0 6L6 0" fill="none" stroke="{INK}" '
        fill = sheet.pattern(f"band{count}", 6.0, 6.0, hatch + 'stroke-width="0.6"/>')
        band = [*scales.line(strip.high), *reversed(scales.line(strip.low))]
        sheet.add("path", "band", d=path(band, closed=True), fill=fill)
    points = scales.line(strip.values)
    if len(points) > 1:
        sheet.line(points, "curve", INK, 2.0, stroke_linejoin="round")
    else:
        sheet.add("circle", "curve-point", cx=points[0][0], cy=points[0][1], r=3.0, fill=INK)


def _draw_limit(
    sheet: Sheet, frame: Frame, strip: Strip, scales: _Scales, system: UnitSystem
) -> None:
    limit = strip.limit or 0.0
    y = scales.y.at(limit)
    end = frame.space.right + 8
    line = [(frame.space.left - 6, y), (end, y)]
    sheet.line(line, "limit", GRAPHITE, 1.2, stroke_dasharray="7 4")
    text = f"{strip.limit_text} {show(limit, strip.kind, system).text}".strip()
    shown = cut(text, sheet.width - end - 10)
    left = min(end + 6, sheet.width - 4 - text_width(shown))
    sheet.text((left, y + 5), shown)
