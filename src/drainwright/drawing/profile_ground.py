"""The ground of a profile: soil, surface, groundwater, the depth scale at the left."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from drainwright.drawing.lettering import SIZE, text_width
from drainwright.drawing.scale import ticks
from drainwright.drawing.section import Frame
from drainwright.drawing.svg import FAINT, GRAPHITE, PALE, PAPER, Box, Point, Sheet, path
from drainwright.units import UnitSystem, kind_unit, show

AXIS = 46.0
SOIL_LEFT = 58.0
_DOTS = (
    *((3, 5, 0.9), (15, 2, 0.7), (27, 8, 1.0), (40, 4, 0.7), (9, 14, 0.7), (21, 17, 0.9)),
    *((34, 15, 0.7), (43, 20, 0.9), (4, 25, 0.8), (15, 28, 0.7), (29, 26, 0.8), (38, 30, 0.7)),
)
_WAVES = "M2 4Q5 1 8 4T14 4M26 14Q29 11 32 14T38 14"


def draw_soil(sheet: Sheet, frame: Frame) -> None:
    """Stippled soil, waves below the water, and the break where soil is left out."""
    right, bottom = sheet.width - 4, frame.space.bottom
    surface = _line(frame, right, water=False)
    dots = "".join(
        f'<circle class="dw-dot" cx="{x}" cy="{y}" r="{r}" fill="{FAINT}"/>' for x, y, r in _DOTS
    )
    soil = sheet.pattern("soil", 46.0, 33.0, dots)
    below = [*surface, (right, bottom), (SOIL_LEFT, bottom)]
    sheet.add("path", "soil", d=path(below, closed=True), fill=soil)
    if frame.section.water:
        _draw_water(sheet, frame)
    if frame.y.cut is not None:
        _draw_break(sheet, frame)
    sheet.line(surface, "ground", width=2.2, stroke_linejoin="round")
    sheet.add("path", "hatch", d=_hatch(surface), fill="none", stroke=GRAPHITE, stroke_width="0.9")


def _draw_water(sheet: Sheet, frame: Frame) -> None:
    right, bottom = sheet.width - 4, frame.space.bottom
    level = _line(frame, right, water=True)
    wave = f'<path class="dw-wave" d="{_WAVES}" fill="none" stroke="{FAINT}" stroke-width="0.9"/>'
    fill = sheet.pattern("water", 48.0, 20.0, wave)
    for piece in _pieces_above(level, bottom):
        below = [*piece, (piece[-1][0], bottom), (piece[0][0], bottom)]
        sheet.add("path", "wet", d=path(below, closed=True), fill=fill)
        sheet.line(piece, "water", PALE, 1.3, stroke_dasharray="11 4 2 4")


def _pieces_above(line: list[Point], bottom: float) -> list[list[Point]]:
    """The pieces of a line that lie above `bottom`."""
    pieces: list[list[Point]] = []
    for (x0, y0), (x1, y1) in pairwise(line):
        if y0 >= bottom and y1 >= bottom:
            continue
        cross = (x0 + (x1 - x0) * (bottom - y0) / (y1 - y0) if y1 != y0 else x0, bottom)
        start = cross if y0 > bottom else (x0, y0)
        end = cross if y1 > bottom else (x1, y1)
        if pieces and pieces[-1][-1] == start:
            pieces[-1].append(end)
        else:
            pieces.append([start, end])
    return pieces


def water_is_below(frame: Frame) -> bool:
    """Whether all groundwater lies below what is drawn."""
    line = _line(frame, frame.space.right, water=True) if frame.section.water else []
    return bool(line) and all(y >= frame.space.bottom for _, y in line)


def _draw_break(sheet: Sheet, frame: Frame) -> None:
    """Two long break lines with nothing between them."""
    upper = frame.y.at(frame.y.cut[0]) if frame.y.cut else 0.0
    right = sheet.width - 4
    line: list[Point] = [(SOIL_LEFT, upper + 3)]
    x = SOIL_LEFT + 90
    while x < right - 40:
        line += [(x, upper + 3), (x + 4, upper - 2), (x + 10, upper + 8), (x + 14, upper + 3)]
        x += 240
    line.append((right, upper + 3))
    lower = [(x, y + frame.y.gap - 6) for x, y in line]
    band = path([*line, *reversed(lower)], closed=True)
    sheet.add("path", "paper", d=band, fill=PAPER)
    sheet.line(line, "break", PALE, 1.0)
    sheet.line(lower, "break", PALE, 1.0)


def _line(frame: Frame, right: float, *, water: bool) -> list[Point]:
    """The water's or the ground's line across the whole soil, on the drawing."""
    section = frame.section
    points = section.water if water else section.ground
    level = section.water_at if water else section.ground_at
    known = [(frame.x.at(d), frame.y.at(value)) for d, value in points]
    inside = [point for point in known if SOIL_LEFT < point[0] < right]
    ends = [(edge - frame.x.zero) / frame.x.per_unit for edge in (SOIL_LEFT, right)]
    first, last = ((frame.x.at(d), frame.y.at(level(d))) for d in ends)
    return [first, *inside, last]


def _hatch(surface: list[Point]) -> str:
    """Groups of three strokes below the ground's line."""
    strokes: list[str] = []
    x = surface[0][0] + 12
    while x < surface[-1][0] - 4:
        for foot in (x, x + 6, x + 12):
            y = _height(surface, foot)
            strokes += [path([(foot, y), (foot - 7, y + 9)])]
        x += 58
    return "".join(strokes)


def _height(line: list[Point], x: float) -> float:
    for (x0, y0), (x1, y1) in pairwise(line):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / max(x1 - x0, 1e-9)
    return line[-1][1]


def draw_depths(sheet: Sheet, frame: Frame, system: UnitSystem) -> None:
    """The scale of depths below the ground at the tap."""
    zero = frame.section.ground_at(0.0)
    top, bottom = frame.y.at(frame.y.top), frame.space.bottom
    lowest = frame.y.top - (bottom - top + _hidden(frame)) / frame.y.per_unit
    sheet.line([(AXIS, top), (AXIS, bottom)], "scale")
    for tick in ticks(zero - frame.y.top, zero - lowest, frame.y.per_unit, system, 34):
        level = zero - tick.value
        if frame.y.hides(level):
            continue
        y = frame.y.at(level)
        reach = (3.0, 5.0, 8.0)[tick.weight]
        sheet.line([(AXIS - reach, y), (AXIS, y)], "scale")
        if tick.label and y < bottom - 3:
            sheet.text((AXIS - 11, y + 5), tick.label, anchor="end")
    if frame.y.cut is not None:
        y = frame.y.at(frame.y.cut[0])
        points = [(AXIS, y + 2), (AXIS - 5, y + 5), (AXIS + 5, y + 12), (AXIS, y + 15)]
        sheet.line([(AXIS, y + 1), (AXIS, y + 16)], "paper-line", PAPER, 3)
        sheet.line(points, "scale")
    unit = kind_unit("length", system)
    sheet.text((4, top - 15), f"depth, {unit}", role="pale")


def _hidden(frame: Frame) -> float:
    """Height on the drawing that a break saves."""
    if frame.y.cut is None:
        return 0.0
    return (frame.y.cut[0] - frame.y.cut[1]) * frame.y.per_unit - frame.y.gap


def water_text(frame: Frame, system: UnitSystem) -> str:
    """Depth of the groundwater below the ground at its last point, in words."""
    depth = max(frame.section.given.water)[1]
    shown = show(abs(depth), "length", system)
    number = shown.number.rstrip("0").rstrip(".") if "." in shown.number else shown.number
    return f"water {number} {shown.unit}{' above' if depth < 0 else ''}"


def water_lines(frame: Frame, system: UnitSystem) -> list[str]:
    """The words at the level mark, one a line."""
    given, section = frame.section.given, frame.section
    lines = [water_text(frame, system)]
    place = max(given.water)[0]
    slope = section.ground_at(place) - section.ground_at(section.end)
    if len(given.water) == 1 and abs(slope) > 0.05:
        at = "the tap" if abs(place) < 0.1 else show(place, "length", system).text
        lines.append(f"at {at}")
    return [*lines, "(assumed)"] if given.water_assumed else lines


def draw_water_mark(
    sheet: Sheet, frame: Frame, system: UnitSystem, obstacles: Sequence[Box]
) -> None:
    """The level mark with its text at the right edge, clear of what is drawn there."""
    left = frame.space.right + 16
    distance = (left + 6 - frame.x.zero) / frame.x.per_unit
    y = frame.y.at(frame.section.water_at(distance))
    if y > frame.space.bottom - 8:
        return
    mark = path([(left, y - 9), (left + 12, y - 9), (left + 6, y - 1)], closed=True)
    under = f"M{left + 1:.1f} {y + 3:.1f}h10M{left + 3:.1f} {y + 6:.1f}h6"
    sheet.add("path", "water-mark", d=mark + under, fill="none", stroke=PALE, stroke_width="1.3")
    lines = water_lines(frame, system)
    height = SIZE * 1.2
    widest = max(text_width(line) for line in lines)
    left = min(left + 17, sheet.width - 4 - widest)
    ground = frame.y.at(frame.section.ground_at(distance))
    surface = Box(left, ground - 4, sheet.width, ground + 4)
    whole = Box(left, 0.0, left + widest, height * len(lines))

    def room(top: float) -> bool:
        box = Box(whole.left, top, whole.right, top + whole.bottom)
        free = not any(box.overlaps(other, 2) for other in (*obstacles, surface))
        return free and box.bottom < frame.space.bottom

    above, below = y - 8 - whole.bottom, y + 8
    tries = [above, below, y - 9, *(below + 6 * step for step in range(1, 60))]
    tries += [above - 6 * step for step in range(1, 60)]
    top = next((top for top in tries if top > 0 and room(top)), None)
    if top is None:
        return
    for row, line in enumerate(lines):
        at = (left, top + row * height + 0.8 * SIZE)
        sheet.text(at, line, role="pale", ground=True)
