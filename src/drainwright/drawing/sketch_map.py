"""The sketch map: mains, manholes and laterals where they lie, from plane coordinates.

Coordinates are in meters in a plane whose y axis points to grid north. A lateral's outcome is
told by the mark at its end, its stage by its line: broken before it is designed, plain when it
is, doubled in ink once it is lined.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from drainwright.drawing.lettering import SIZE, cut, text_width
from drainwright.drawing.map_labels import Places
from drainwright.drawing.marks import MARK, draw_mark
from drainwright.drawing.svg import GRAPHITE, INK, PAPER, Box, Point, Sheet
from drainwright.errors import Fault, InputError
from drainwright.units import UnitSystem, from_si, kind_unit, show, to_si

# a viewer without our typeface sets the legend in a wider one
_ROOM = 1.2
_MARGIN, _FOOT, _MANHOLE = 44.0, 64.0, 7.0
_HIGH, _LOW = 1000.0, 240.0
_STEPS = (1.0, 2.0, 5.0)
LINED = ("installed", "accepted", "closed")
DESIGNED = ("designed", "scheduled")
_MEANINGS = {
    "line": "line",
    "prepare": "prepare first",
    "ask": "ask the engineer",
    "stop": "do not line",
    "open": "no plan yet",
}


@dataclass(frozen=True, slots=True)
class MapMain:
    """A main segment: its line from manhole to manhole [m]."""

    key: str
    points: tuple[Point, ...]
    from_manhole: str = ""
    to_manhole: str = ""


@dataclass(frozen=True, slots=True)
class MapLateral:
    """A lateral: its line or its tap alone [m], its outcome's mark and its stage."""

    key: str
    points: tuple[Point, ...]
    mark: str = "open"
    stage: str = ""
    words: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True)
class DrawnMap:
    """The drawing, and how many names found no room."""

    svg: str
    names_left_out: int


def draw_map(
    mains: Sequence[MapMain],
    laterals: Sequence[MapLateral],
    system: UnitSystem,
    *,
    north: float = 0.0,
    width: float = 1150.0,
) -> DrawnMap:
    """The map as SVG with links; `north` is true north from grid north, clockwise [rad].

    Raises `InputError` where nothing has a place, or a coordinate is not finite.
    """
    to_sheet, scale, height = _frame([*mains, *laterals], width)
    sheet = Sheet(width, height, "map-")
    places = Places(width, height - _FOOT)
    lines = {one.key: [to_sheet(p) for p in one.points] for one in mains}
    spurs = [[to_sheet(p) for p in one.points] for one in laterals]
    manholes = _manholes(mains, lines)
    for one in mains:
        _main(sheet, lines[one.key])
        places.take_line(lines[one.key], 4.0)
    for at in manholes.values():
        places.take(Box(at[0] - 9, at[1] - 9, at[0] + 9, at[1] + 9))
    for points in spurs:
        x, y = points[-1]
        places.take_line(points, 1.5)
        places.take(Box(x - MARK / 2, y - MARK / 2, x + MARK / 2, y + MARK / 2))
    for name, (x, y) in manholes.items():
        sheet.add("circle", "manhole", cx=x, cy=y, r=_MANHOLE, fill=PAPER, stroke=GRAPHITE,
                  stroke_width="1.5")  # fmt: skip
        places.name(sheet, cut(name.partition("\n")[0], 90), (x, y), _MANHOLE + 4, "pale")
    for one in mains:
        places.name(sheet, cut(one.key, 120, bold=True), _middle(lines[one.key]), 8.0, "ink")
    for spur, points in zip(laterals, spurs, strict=True):
        _lateral(sheet, places, spur, points)
    _foot(sheet, laterals, scale, north, system)
    label = f"Sketch map of {len(mains)} main segments and {len(laterals)} laterals"
    return DrawnMap(sheet.render(label, css="map", role="group"), places.left_out)


def _frame(
    what: Iterable[MapMain | MapLateral], width: float
) -> tuple[Callable[[Point], Point], float, float]:
    """From the plane to the sheet, units of the sheet a meter, and the sheet's height."""
    points = [point for one in what for point in one.points]
    if not points:
        raise InputError(Fault("geometry", "nothing in the project has a place on a map"))
    for x, y in points:
        if not (math.isfinite(x) and math.isfinite(y)):
            raise InputError(Fault("geometry", "has a coordinate that is not finite", x))
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    bottom, top = min(y for _, y in points), max(y for _, y in points)
    wide, tall = max(right - left, 1.0), max(top - bottom, 1.0)
    scale = min((width - 2 * _MARGIN) / wide, (_HIGH - 2 * _MARGIN) / tall)
    height = max(tall * scale + 2 * _MARGIN, _LOW) + _FOOT
    x0 = (width - (right - left) * scale) / 2 - left * scale
    y0 = (height - _FOOT + (top - bottom) * scale) / 2 + bottom * scale
    return lambda p: (x0 + p[0] * scale, y0 - p[1] * scale), scale, height


def _manholes(mains: Sequence[MapMain], lines: dict[str, list[Point]]) -> dict[str, Point]:
    """Each manhole once; one name at two places far apart is two manholes."""
    found: dict[str, Point] = {}
    for one in mains:
        line = lines[one.key]
        if len(line) < 2:
            continue
        for name, at in ((one.from_manhole, line[0]), (one.to_manhole, line[-1])):
            key, number = name, 1
            while key in found and math.dist(found[key], at) > 2 * _MANHOLE:
                number += 1
                key = f"{name}\n{number}"
            found.setdefault(key, at)
    return found


def _main(sheet: Sheet, line: Sequence[Point]) -> None:
    if len(line) > 1:
        sheet.line(line, "host", GRAPHITE, 6.0, stroke_linejoin="round")
        sheet.line(line, "bore", PAPER, 3.2, stroke_linejoin="round")


def _lateral(sheet: Sheet, places: Places, one: MapLateral, points: Sequence[Point]) -> None:
    told = ", ".join(word for word in (one.key, one.words) if word)
    with sheet.link(one.href, "tap", told):
        if len(points) > 1:
            if one.stage in LINED:
                sheet.line(points, "liner", INK, 4.6)
                sheet.line(points, "bore", PAPER, 1.4)
            else:
                broken = None if one.stage in DESIGNED else "4 3"
                sheet.line(points, "lead", GRAPHITE, 1.3, stroke_dasharray=broken)
        draw_mark(sheet, one.mark, *points[-1])
        places.name(sheet, cut(one.key, 90), points[-1], MARK / 2 + 4)


def _middle(line: Sequence[Point]) -> Point:
    """The point halfway along a line."""
    if len(line) < 2:
        return line[0] if line else (0.0, 0.0)
    lengths = [math.dist(a, b) for a, b in pairwise(line)]
    left = sum(lengths) / 2
    for (a, b), length in zip(pairwise(line), lengths, strict=True):
        if left <= length and length > 0:
            share = left / length
            return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
        left -= length
    return line[-1]


# ---------------------------------------------------------------- scale, north, what marks mean


def _foot(
    sheet: Sheet, laterals: Sequence[MapLateral], scale: float, north: float, system: UnitSystem
) -> None:
    y = sheet.height - 24
    x = _scale_bar(sheet, (_MARGIN, y), scale, system) + 40
    _north(sheet, (x, y - 8), north)
    x += 46
    for mark, meaning in _MEANINGS.items():
        if any(one.mark == mark for one in laterals):
            draw_mark(sheet, mark, x, y - 5)
            sheet.text((x + MARK, y), meaning, role="pale")
            x += MARK + _ROOM * text_width(meaning) + 24
    for stages, words in ((LINED, "lined"), (DESIGNED, "designed")):
        if any(one.stage in stages for one in laterals):
            points = [(x - 6, y - 5), (x + 18, y - 5)]
            sheet.line(points, "lead", INK if stages is LINED else GRAPHITE,
                       4.6 if stages is LINED else 1.3)  # fmt: skip
            if stages is LINED:
                sheet.line(points, "bore", PAPER, 1.4)
            sheet.text((x + 24, y), words, role="pale")
            x += 48 + _ROOM * text_width(words)


def _scale_bar(sheet: Sheet, at: Point, scale: float, system: UnitSystem) -> float:
    """A bar of a round length in the reader's unit; returns where it ends."""
    unit = kind_unit("length", system)
    most = from_si(200.0 / scale, unit)
    power = 10.0 ** math.floor(math.log10(most))
    length = to_si(max(step * power for step in _STEPS if step * power <= most), unit)
    half, long = length * scale / 2, length * scale
    x, y = at
    sheet.add("rect", "scale", x=x, y=y - 8, width=half, height=5, fill=GRAPHITE,
              stroke=GRAPHITE)  # fmt: skip
    sheet.add("rect", "scale", x=x + half, y=y - 8, width=half, height=5, fill=PAPER,
              stroke=GRAPHITE)  # fmt: skip
    digits = 0 if from_si(length, unit) >= 1 else 2
    text = show(length, "length", system, digits).text
    sheet.text((x, y + 12), text, role="pale")
    return x + max(long, text_width(text))


def _north(sheet: Sheet, at: Point, north: float) -> None:
    """An arrow to true north with its letter; half of the head is filled."""
    x, y = at
    turn = f"rotate({math.degrees(north):.1f} {x:.1f} {y:.1f})"
    with sheet.group("north", "north", transform=turn):
        sheet.line([(x, y + 14), (x, y - 14)], "arrow", GRAPHITE, 1.2)
        sheet.add("path", "arrow", d=f"M{x:.1f} {y - 18:.1f}l5 12h-5z", fill=GRAPHITE)
        sheet.add("path", "arrow", d=f"M{x:.1f} {y - 18:.1f}l-5 12h5z", fill=PAPER,
                  stroke=GRAPHITE)  # fmt: skip
    sheet.text((x + 9, y + 14 - SIZE / 4), "N", role="pale")
