"""The profile of a lateral: one SVG for screen and paper alike.

Graphite is what lies in the ground, ink is what we make. Every shape bears presentation
attributes, so that it prints without a style sheet; classes `dw-...` let a screen's style sheet
override them:

- texts: `dw-text`, with `dw-pale` or `dw-ink`;
- paper (fill or stroke): `dw-paper`, `dw-bore`, `dw-paper-line`; a pipe's wall: `dw-wall`;
- graphite: `dw-ground dw-hatch dw-host dw-main dw-joint dw-lead dw-bracket dw-symbol dw-scale
  dw-branch dw-plan-bend dw-limit` (stroke), `dw-cap dw-lead-foot dw-dot-mark` (fill);
- pale: `dw-water dw-water-mark dw-property dw-flow dw-break dw-stub dw-pool` (stroke), `dw-wave`,
  `dw-dot` (fill);
- ink: `dw-liner dw-collar dw-collar-hatch dw-dim dw-station dw-curve dw-band-hatch` (stroke).

A flag is a group `dw-flag`, one with observations also `dw-observation`, with `data-row` (several
with commas where one flag stands for several) and `data-distance` in meters.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from drainwright.drawing import profile_ground, profile_measures, profile_pipe
from drainwright.drawing.collar_detail import draw_collar_detail
from drainwright.drawing.flags import FlagLayout, Placed, Wanted, place_flags, text_at
from drainwright.drawing.lettering import SIZE, text_width, wrapped
from drainwright.drawing.profile_input import (
    STRIP_HEIGHT,
    Belly,
    Bend,
    Branch,
    Cleanout,
    CollarDrawing,
    Flag,
    HostSpan,
    LinerDrawing,
    MainDrawing,
    ProfileInput,
    ProfileOptions,
    Riser,
    Station,
    Strip,
    check_input,
)
from drainwright.drawing.scale import Linear
from drainwright.drawing.section import LEAST_SPAN, Frame, Section, Space, fit
from drainwright.drawing.strips import draw_strips
from drainwright.drawing.svg import GRAPHITE, PALE, Box, Role, Sheet, number
from drainwright.drawing.symbols import CELL, STROKE, symbol
from drainwright.units import UnitSystem, show

__all__ = [
    "Belly",
    "Bend",
    "Branch",
    "Cleanout",
    "CollarDrawing",
    "Flag",
    "HostSpan",
    "KeyEntry",
    "LinerDrawing",
    "MainDrawing",
    "ProfileInput",
    "ProfileLayout",
    "ProfileOptions",
    "ProfileSvg",
    "Riser",
    "Station",
    "Strip",
    "draw_profile",
]

_LEFT = 176.0
_RIGHT = 124.0
_FLAGS_LEFT = 112.0
_SHORT_LINE = 12.0
_STUB_END = 14.0


class KeyEntry(NamedTuple):
    """What a number on a flag stands for."""

    number: int
    text: str
    distance: float
    row: int | None


@dataclass(frozen=True, slots=True)
class ProfileLayout:
    """Where things are on the drawing, in its units.

    `texts` and `symbols` are boxes; `distances` is the scale along the pipe; flags stand above
    `ground_top`; `exaggeration` is the vertical scale over the horizontal one. The section ends
    at `bottom`, where the first strip begins; `end` is the farthest distance drawn [m].
    """

    texts: tuple[Box, ...]
    symbols: tuple[Box, ...]
    distances: Linear
    ground_top: float
    exaggeration: float
    bottom: float
    end: float


@dataclass(frozen=True, slots=True)
class ProfileSvg:
    """The drawing, the key to numbered flags (in order), and its layout."""

    svg: str
    key: tuple[KeyEntry, ...]
    layout: ProfileLayout


class _Mark(NamedTuple):
    """Anything that gets a flag: an observation, a bend, a branch, a belly, the cleanout."""

    distance: float
    text: str
    symbol: str | None
    end: float | None = None
    row: int | None = None
    css: str = "flag"


def draw_profile(
    given: ProfileInput, system: UnitSystem, options: ProfileOptions | None = None
) -> ProfileSvg:
    """Draw the profile of one lateral.

    Raises `InputError` with every fault found if something can't be drawn.
    """
    options = options or ProfileOptions()
    check_input(given, options)
    section = Section(given)
    sheet = Sheet(options.width, options.height, options.prefix)
    marks = list(_marks(given, system))
    right = sheet.width - _RIGHT
    x = Linear(_LEFT, (right - _LEFT) / max(section.end, LEAST_SPAN))
    wanted = [
        Wanted(x.at(_middle(mark)), mark.text, mark.symbol, mark.symbol is None) for mark in marks
    ]
    flags = place_flags(wanted, _FLAGS_LEFT, sheet.width - 4, options.levels)
    frame, rows = _frame(section, sheet, flags)
    _draw(sheet, frame, rows, system)
    key, symbols = _draw_flags(sheet, frame, marks, flags, system)
    if section.water:
        stub = profile_pipe.stub_box(profile_pipe.stub(frame, sheet.width - _STUB_END))
        obstacles = [*sheet.boxes, *symbols, stub, *profile_pipe.cleanout_box(frame)]
        profile_ground.draw_water_mark(sheet, frame, system, obstacles)
    layout = ProfileLayout(
        tuple(sheet.boxes), tuple(symbols), frame.x, frame.space.top, frame.exaggeration,
        frame.space.bottom, section.end,
    )  # fmt: skip
    return ProfileSvg(sheet.render(_sentence(frame, system)), key, layout)


def _frame(
    section: Section, sheet: Sheet, flags: FlagLayout
) -> tuple[Frame, profile_measures.Rows]:
    """The scales that fill the sheet around the flags and the rows of measures."""
    given = section.given
    gap = (
        given.liner is not None
        and given.cleanout is not None
        and given.cleanout.distance - given.liner.end >= profile_measures.LEAST_GAP
    )
    rows = profile_measures.rows_for(given.liner is not None, gap, bool(given.stations))
    below = max(rows.height, profile_measures.COLLAR_HEIGHT if given.collar else 0.0)
    top = 6 + max(flags.height, 22.0) + 12
    below += STRIP_HEIGHT * len(given.strips)
    space = Space(_LEFT, top, sheet.width - _RIGHT, sheet.height - below)
    foot = 26.0 if given.property_line is not None else 10.0
    frame = fit(section, space, foot)
    if _main_label_top(frame) < frame.y.at(section.ground_at(0.0)) + 4:
        frame = fit(section, space, max(foot, 3.5 * SIZE + 8))
    return frame, rows


def _draw(sheet: Sheet, frame: Frame, rows: profile_measures.Rows, system: UnitSystem) -> None:
    given = frame.section.given
    profile_ground.draw_soil(sheet, frame)
    profile_ground.draw_depths(sheet, frame, system)
    if given.property_line is not None:
        _draw_property_line(sheet, frame, given.property_line)
    beyond = profile_pipe.stub(frame, sheet.width - _STUB_END)
    profile_pipe.draw_pipes(sheet, frame, beyond)
    profile_pipe.draw_joints(sheet, frame)
    profile_pipe.draw_collar(sheet, frame)
    profile_pipe.draw_liner(sheet, frame)
    profile_pipe.draw_bellies(sheet, frame)
    profile_pipe.draw_branches(sheet, frame)
    _draw_main_label(sheet, frame, system)
    draw_strips(sheet, frame, tuple(given.strips), frame.space.bottom, system)
    bottom = frame.space.bottom + STRIP_HEIGHT * len(given.strips)
    profile_measures.draw_measures(sheet, frame, rows, bottom, system)
    if given.collar is not None:
        draw_collar_detail(sheet, given.collar, bottom + 4, system)


def _marks(given: ProfileInput, system: UnitSystem) -> Iterator[_Mark]:
    """Everything that gets a flag."""
    for flag in given.observations:
        end = flag.to_distance
        yield _Mark(flag.distance, flag.text, flag.symbol, end, flag.row, "flag dw-observation")
    for bend in given.bends:
        angle = show(abs(bend.angle), "angle", system).text.replace(".0°", "°")
        text = bend.text or f"bend {angle}{' in plan' if bend.in_plan else ''}"
        yield _Mark(bend.distance, text, "bend", None, bend.row)
    for branch in given.branches:
        size = "" if branch.diameter is None else f" {_size(branch.diameter, system)}"
        yield _Mark(branch.distance, branch.text + size, "branch", None, branch.row)
    for belly in given.bellies:
        depth = ""
        if belly.depth:
            depth = f" {show(belly.depth, 'small_length', system, 1).text}"
        yield _Mark(belly.start, f"belly{depth}", "belly", belly.end)
    if given.riser is not None:
        rise = show(given.riser.end - given.riser.start, "length", system).text
        yield _Mark(given.riser.start, f"riser {rise}", "riser", given.riser.end)
    if given.cleanout is not None and given.cleanout.text:
        yield _Mark(given.cleanout.distance, given.cleanout.text, None, css="cleanout-name")


def _middle(mark: _Mark) -> float:
    return mark.distance if mark.end is None else (mark.distance + mark.end) / 2


def _size(value: float, system: UnitSystem) -> str:
    """A diameter without needless decimals, such as `4 in` or `100 mm`."""
    text = show(value, "diameter", system)
    plain = text.number.rstrip("0").rstrip(".") if "." in text.number else text.number
    return f"{plain} {text.unit}"


def _draw_property_line(sheet: Sheet, frame: Frame, distance: float) -> None:
    x = frame.x.at(distance)
    top = frame.y.at(frame.section.ground_at(distance)) - _SHORT_LINE
    bottom = frame.space.bottom
    sheet.line([(x, top), (x, bottom)], "property", PALE, 1.2, stroke_dasharray="15 4 3 4")
    text = "property line"
    width = text_width(text)
    if x + 7 + width < sheet.width - 4:
        sheet.text((x + 7, bottom - 6), text, role="pale", ground=True)
    else:
        sheet.text((x - 7, bottom - 6), text, anchor="end", role="pale", ground=True)


def _main_label_top(frame: Frame) -> float:
    """Top of the main's label where it stands above the main."""
    _, center, radius, wall = frame.main()
    return center - radius - wall - 10 - 3 * 1.15 * SIZE


def _draw_main_label(sheet: Sheet, frame: Frame, system: UnitSystem) -> None:
    main = frame.section.given.main
    center_x, center_y, radius, wall = frame.main()
    right = frame.x.at(0.0) - 6
    room = right - profile_ground.SOIL_LEFT - 8
    material = ", ".join(filter(None, (main.material, "lined" if main.lined else "")))
    lines = [f"main {_size(main.diameter, system)}", *wrapped(material, room, 2)]
    above = _main_label_top(frame) >= frame.y.at(frame.section.ground_at(0.0)) + 4
    first = center_y + radius + wall + 6 + SIZE
    spare = frame.space.bottom - first - 0.3 * SIZE
    if not above:
        lines = lines[: max(1, 1 + math.floor(spare / (1.15 * SIZE)))]
    else:
        first = center_y - radius - wall - 10 - 1.15 * SIZE * (len(lines) - 1)
    for row, line in enumerate(lines):
        half = text_width(line) / 2
        middle = min(max(center_x, profile_ground.SOIL_LEFT + 8 + half), right - half)
        at = (middle, first + 1.15 * SIZE * row)
        role: Role = "pale" if row else "text"
        sheet.text(at, line, anchor="middle", role=role, ground=True)


def _draw_flags(
    sheet: Sheet, frame: Frame, marks: list[_Mark], flags: FlagLayout, system: UnitSystem
) -> tuple[tuple[KeyEntry, ...], list[Box]]:
    """The flags with their leads; returns the key and the boxes of the symbols."""
    bottom = frame.space.top - 12
    heights = _brackets(sheet, frame, marks)
    key: list[KeyEntry] = []
    symbols: list[Box] = []
    for flag in flags.flags:
        first = marks[flag.members[0]]
        title = "; ".join(f"{_at(marks[i], system)}: {marks[i].text}" for i in flag.members)
        rows = ",".join(str(marks[i].row) for i in flag.members if marks[i].row is not None)
        css = "flag dw-observation" if rows else first.css
        with sheet.group(
            css,
            title,
            data_row=rows or None,
            data_distance=f"{first.distance:.3f}",
        ):
            if flags.dense:
                _draw_dense(sheet, flag, bottom, [heights[i] for i in flag.members], symbols)
            else:
                _draw_row(sheet, flag, bottom, heights[flag.members[0]], flags, symbols)
        for count, index in zip(flag.numbers, flag.members, strict=False):
            mark = marks[index]
            text = f"{_at(mark, system)}: {mark.text}"
            key.append(KeyEntry(count, text, mark.distance, mark.row))
    return tuple(sorted(key)), symbols


def _at(mark: _Mark, system: UnitSystem) -> str:
    start = show(mark.distance, "length", system)
    if mark.end is None:
        return start.text
    return f"{start.number} to {show(mark.end, 'length', system).text}"


def _brackets(sheet: Sheet, frame: Frame, marks: list[_Mark]) -> list[float]:
    """Brackets of running observations above the pipe; returns the height of each mark's foot."""
    taken: list[list[tuple[float, float]]] = []
    heights = []
    for mark in marks:
        if mark.symbol is None:
            heights.append(frame.y.at(frame.section.ground_at(mark.distance)) - 5)
            continue
        if mark.end is None:
            heights.append(frame.crown(mark.distance) - 1)
            continue
        start, end = sorted((mark.distance, mark.end))
        row = 0
        while row < len(taken) and any(start <= b and a <= end for a, b in taken[row]):
            row += 1
        if row == len(taken):
            taken.append([])
        taken[row].append((start, end))
        lift = 8 + 7 * row
        reach = frame.section.distances(start, end)
        points = [(frame.x.at(d), frame.crown(d) - lift) for d in reach]
        ends = (points[0], points[-1])
        css = "bracket"
        sheet.line(
            [(ends[0][0], ends[0][1] + 6), *points, (ends[1][0], ends[1][1] + 6)], css, width=1.5
        )
        middle = (start + end) / 2
        heights.append(_on(points, frame.x.at(middle)))
    return heights


def _on(points: list[tuple[float, float]], x: float) -> float:
    """Height of a polyline at `x`."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= x <= x1 and x1 > x0:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[0][1]


def _symbol(sheet: Sheet, kind: str, x: float, y: float, symbols: list[Box]) -> None:
    sheet.add(
        "path",
        f"symbol dw-is-{kind if kind.replace('_', '').isalnum() else 'unknown'}",
        d=symbol(kind),
        transform=f"translate({number(x)} {number(y)})",
        fill="none",
        stroke=GRAPHITE,
        stroke_width=f"{STROKE:g}",
        stroke_linecap="round",
        stroke_linejoin="round",
    )
    half = CELL / 2
    symbols.append(Box(x - half, y - half, x + half, y + half, kind))


def _lead(sheet: Sheet, points: list[tuple[float, float]]) -> None:
    if points[-1][1] - points[-2][1] > 1:
        sheet.line(points, "lead", width=0.9)
        x, y = points[-1]
        sheet.add("circle", "lead-foot", cx=x, cy=y, r=1.9, fill=GRAPHITE)


def _draw_row(
    sheet: Sheet, flag: Placed, bottom: float, foot: float, flags: FlagLayout, symbols: list[Box]
) -> None:
    at = text_at(flag, bottom)
    middle = at[1] - 5
    below = [
        other.level
        for other in flags.flags
        if other.level < flag.level and abs(other.x - flag.x) < 0.5
    ]
    end = bottom - (max(below) + 1) * 22.0 if below else foot
    if flag.symbol is None:
        sheet.text(at, flag.text)
        sheet.line([(flag.x, at[1] + 5), (flag.x, end)], "lead", width=0.9)
        return
    _symbol(sheet, flag.symbol, flag.x, middle, symbols)
    sheet.text(at, flag.text)
    start = (flag.x, middle + CELL / 2)
    if below and end - start[1] > 4:
        sheet.line([start, (flag.x, end)], "lead", width=0.9)
    if abs(flag.foot - flag.x) < 0.5:
        if not below:
            _lead(sheet, [start, (flag.x, foot)])
        return
    mast = bottom if below else start[1]
    _lead(sheet, [(flag.x, mast), (flag.x, bottom), (flag.foot, bottom + 9), (flag.foot, foot)])


def _draw_dense(
    sheet: Sheet, flag: Placed, bottom: float, feet: list[float], symbols: list[Box]
) -> None:
    """A flag in the dense row: symbol over number over a bent lead."""
    top = bottom - 68
    baseline = top + CELL + 16
    if flag.symbol is not None:
        _symbol(sheet, flag.symbol, flag.x, top + CELL / 2, symbols)
    sheet.text((flag.x, baseline), flag.text, anchor="middle")
    knee = bottom - 2
    foot = sum(feet) / len(feet)
    _lead(sheet, [(flag.x, baseline + 5), (flag.foot, knee), (flag.foot, max(foot, knee))])


def _sentence(frame: Frame, system: UnitSystem) -> str:
    """The drawing in one sentence, for those who don't see it."""
    given = frame.section.given
    length = show(profile_pipe.known_end(frame), "length", system).text
    host = frame.section.span_at(0.0)
    pipe = f"{_size(host.diameter, system)} {host.material}".strip()
    parts = [f"Profile of {given.title}: {length} of {pipe} from the main"]
    if given.cleanout is not None:
        parts[0] += f" to the {given.cleanout.text or 'cleanout'}"
    if given.liner is not None:
        start, end = (show(d, "length", system) for d in (given.liner.start, given.liner.end))
        parts.append(f"lined from {start.number} to {end.text}")
    count = len(given.observations)
    parts.append(f"{count} observation{'' if count == 1 else 's'}" if count else "no observations")
    if frame.section.water:
        assumed = " assumed" if given.water_assumed else ""
        parts.append(f"{profile_ground.water_text(frame, system)}{assumed}")
    return f"{'; '.join(parts)}; {profile_measures.caption(frame)}."
