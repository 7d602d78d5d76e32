"""The pipe of a profile: main, collar, host, cleanout, liner, bellies, branches, joints.

Pipes are drawn as strokes over strokes along their axis (outline, wall, inner line, bore), so
that kinks, tees and size changes join by themselves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from drainwright.drawing.profile_input import Belly
from drainwright.drawing.section import Frame
from drainwright.drawing.svg import GRAPHITE, INK, PALE, PAPER, Box, Point, Sheet, path

WALL = "#dcd9cf"
_STUB = "#8b897f"
_STUB_LENGTH = 170.0


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of pipe on the drawing: its axis, bore and wall."""

    axis: tuple[Point, ...]
    bore: float
    wall: float
    stub: bool = False


def stretches(frame: Frame) -> list[Stretch]:
    """The host's pieces from inside the main to the end of what is known."""
    section = frame.section
    end = known_end(frame)
    cuts = {0.0, end}
    cuts |= {d for span in section.spans for d in (span.start, span.end) if 0.0 < d < end}
    edges = sorted(cuts)
    found = []
    for start, stop in pairwise(edges):
        middle = (start + stop) / 2
        bore, wall = frame.bore(middle), frame.wall(middle)
        axis = [frame.axis(d, bore) for d in section.distances(start, stop)]
        if start == 0.0:
            axis.insert(0, _backwards(frame, axis[0]))
        found.append(Stretch(tuple(axis), bore, wall))
    return found


def known_end(frame: Frame) -> float:
    """Where the pipe stops being known."""
    given = frame.section.given
    reach = [given.length, *(span.end for span in (given.liner,) if span is not None)]
    return max(reach + ([given.cleanout.distance] if given.cleanout is not None else []))


def _backwards(frame: Frame, start: Point) -> Point:
    """A point inside the main that the pipe's axis comes from."""
    _, _, radius, _ = frame.main()
    angle = frame.slant(2.0 / frame.x.per_unit)
    return start[0] - 0.6 * radius * math.cos(angle), start[1] + 0.6 * radius * math.sin(angle)


def stub(frame: Frame, right: float) -> Stretch:
    """The pipe going on towards the building, not surveyed."""
    start = known_end(frame)
    end = (right - frame.x.zero) / frame.x.per_unit
    bore, wall = frame.bore(start), frame.wall(start)
    end = max(min(end, start + _STUB_LENGTH / frame.x.per_unit), start)
    axis = [frame.axis(d, bore) for d in frame.section.distances(start, end)]
    return Stretch(tuple(axis), bore, wall, stub=True)


def stub_box(piece: Stretch) -> Box:
    """The rectangle that the stub takes."""
    half = piece.bore / 2 + piece.wall + 1
    heights = [y for _, y in piece.axis]
    return Box(piece.axis[0][0], min(heights) - half, piece.axis[-1][0] + 6, max(heights) + half)


def draw_pipes(sheet: Sheet, frame: Frame, beyond: Stretch) -> None:
    """Main, stub, host and cleanout."""
    center_x, center_y, radius, wall = frame.main()
    main = frame.section.given.main
    inner = "2.4" if main.lined else "1.3"
    for css, size, fill, stroke in (
        ("wall", radius + wall, WALL, "1.3"),
        ("bore", radius, PAPER, inner),
    ):
        sheet.add(
            "circle", f"{css} dw-main", cx=center_x, cy=center_y, r=size, fill=fill,
            stroke=GRAPHITE, stroke_width=stroke,
        )  # fmt: skip
    _draw_flow(sheet, frame)
    corners = [(0.0, 0.0), (sheet.width, 0.0), (sheet.width, sheet.height), (0.0, sheet.height)]
    hole = _circle_path(center_x, center_y, radius - float(inner) / 2 - 0.2)
    clip = sheet.clip("outside-main", path(corners, closed=True) + hole)
    pieces = [beyond, *stretches(frame), *_cleanout(frame)]
    with sheet.group("pipe", clip_path=clip):
        _draw_layers(sheet, pieces)
        _draw_steps(sheet, frame)
    _draw_cap(sheet, frame)
    _draw_end(sheet, beyond)


def _circle_path(x: float, y: float, radius: float) -> str:
    radius = round(radius, 1)
    arc = f"a{radius:.1f} {radius:.1f} 0 1 0"
    wide = 2 * radius
    return f"M{x - radius:.1f} {y:.1f}{arc} {wide:.1f} 0{arc} {-wide:.1f} 0Z"


def _draw_layers(sheet: Sheet, pieces: Sequence[Stretch]) -> None:
    for css, extra in (("host", 1.3), ("wall", -1.3), ("host", None), ("bore", None)):
        for piece in pieces:
            line = _STUB if piece.stub else GRAPHITE
            outside = piece.bore + 2 * piece.wall
            if extra is not None:
                width = outside + extra
            else:
                width = piece.bore + (1.4 if css == "host" else 0.0)
            color = {"host": line, "wall": PAPER if piece.stub else WALL, "bore": PAPER}[css]
            name = f"{css} dw-stub" if piece.stub else css
            sheet.line(
                piece.axis,
                name,
                color,
                round(width, 1),
                stroke_linejoin="miter",
                stroke_miterlimit="3",
            )


def _draw_steps(sheet: Sheet, frame: Frame) -> None:
    """The faces at changes of size."""
    pieces = stretches(frame)
    for one, two in pairwise(pieces):
        if abs(one.bore - two.bore) < 0.5:
            continue
        x = one.axis[-1][0]
        for side in (-1, 1):
            ends = [
                (x, point[1] + side * (piece.bore / 2 + half * piece.wall))
                for piece, point, half in ((one, one.axis[-1], 1), (two, two.axis[0], 1))
            ]
            sheet.line(ends, "host", width=1.4)
        inner = [
            (x, point[1] - piece.bore / 2)
            for piece, point in ((one, one.axis[-1]), (two, two.axis[0]))
        ]
        sheet.line(inner, "host", width=1.4)


def _cleanout(frame: Frame) -> Iterator[Stretch]:
    cleanout = frame.section.given.cleanout
    if cleanout is None or not cleanout.to_ground:
        return
    host = frame.section.span_at(cleanout.distance)
    bore = (cleanout.diameter or host.diameter) * frame.pipe
    x, y = frame.axis(cleanout.distance)
    ground = frame.y.at(frame.section.ground_at(cleanout.distance))
    yield Stretch(((x, y), (x, ground)), min(bore, 26.0), frame.wall(cleanout.distance))


def cleanout_box(frame: Frame) -> Iterator[Box]:
    """The rectangle that the cleanout's riser takes, if there is one."""
    for piece in _cleanout(frame):
        half = piece.bore / 2 + piece.wall + 3
        (x, foot), (_, top) = piece.axis
        yield Box(x - half, top - 4, x + half, foot)


def _draw_cap(sheet: Sheet, frame: Frame) -> None:
    for piece in _cleanout(frame):
        x, ground = piece.axis[1]
        half = piece.bore / 2 + piece.wall + 3
        sheet.add(
            "rect", "cap", x=x - half, y=ground - 4, width=2 * half, height=6.0, fill=GRAPHITE
        )


def _draw_end(sheet: Sheet, beyond: Stretch) -> None:
    """The wavy line at which the stub is broken off."""
    x, y = beyond.axis[-1]
    half = beyond.bore / 2 + beyond.wall + 3
    d = (
        f"M{x:.1f} {y - half:.1f}c{half * 0.7:.1f} {half * 0.6:.1f} {-half * 0.7:.1f} "
        f"{half * 1.4:.1f} 0 {2 * half:.1f}"
    )
    sheet.add("path", "host dw-stub", d=d, fill="none", stroke=_STUB, stroke_width="1.1")


def _draw_flow(sheet: Sheet, frame: Frame) -> None:
    """A water level in the main."""
    x, y, radius, _ = frame.main()
    if radius < 7:
        return
    for share, width in ((0.45, 0.8), (0.63, 0.5), (0.8, 0.25)):
        half = radius * width
        sheet.line(
            [(x - half, y + share * radius), (x + half, y + share * radius)], "flow", PALE, 0.9
        )


def draw_collar(sheet: Sheet, frame: Frame) -> None:
    """The collar as it lies on the main's wall, cut at the tap."""
    given = frame.section.given
    if given.collar is None:
        return
    x, y, radius, _ = frame.main()
    ring = radius - 2.4
    for side in (-1, 1):
        edge = _hole_edge(frame, radius, side)
        end = given.main.tap_angle + side * math.pi
        if not given.collar.full_wrap:
            end = edge + side * math.radians(38)
        angles = [edge + (end - edge) * step / 16 for step in range(17)]
        arc = [(x + ring * math.cos(angle), y - ring * math.sin(angle)) for angle in angles]
        sheet.line(arc, "liner", INK, 2.6, stroke_linejoin="round")


def _hole_edge(frame: Frame, radius: float, side: int) -> float:
    """Angle at which an edge of the lateral's bore meets the main's wall [rad]."""
    tap = frame.section.given.main.tap_angle
    slant = frame.slant(2.0 / frame.x.per_unit)
    half = side * frame.bore(0.0) / 2
    x = radius * math.cos(tap) - half * math.sin(slant)
    y = radius * math.sin(tap) + half * math.cos(slant)
    along = x * math.cos(slant) + y * math.sin(slant)
    root = along**2 - (x * x + y * y - radius**2)
    if root < 0:  # the edge runs past the main
        return tap + side * math.asin(min(0.96, frame.bore(0.0) / 2 / radius))
    step = math.sqrt(root) - along
    angle = math.atan2(y + step * math.sin(slant), x + step * math.cos(slant))
    return tap + math.remainder(angle - tap, 2 * math.pi)


def draw_liner(sheet: Sheet, frame: Frame) -> None:
    """The liner inside the host, closed at its far end."""
    liner = frame.section.given.liner
    if liner is None:
        return
    section = frame.section
    clip = f"url(#{sheet.prefix}outside-main)"
    cuts = {d for span in section.spans for d in (span.start, span.end)}
    edges = sorted({liner.start, liner.end} | {d for d in cuts if liner.start < d < liner.end})
    pieces = []
    for start, stop in pairwise(edges):
        bore = frame.bore((start + stop) / 2)
        axis = [frame.axis(d, bore) for d in section.distances(start, stop)]
        if start <= 0.0:
            axis.insert(0, _backwards(frame, axis[0]))
        pieces.append((axis, bore))
    wall = max(2.5, (liner.wall or 0.0) * frame.pipe)
    with sheet.group("lining", clip_path=clip):
        for axis, bore in pieces:
            sheet.line(axis, "liner", INK, round(bore - 2.4, 1), stroke_miterlimit="3")
        for axis, bore in pieces:
            inner = max(1.0, bore - 2.4 - 2 * wall)
            sheet.line(axis, "bore", PAPER, round(inner, 1), stroke_miterlimit="3")
        x, y = pieces[-1][0][-1] if pieces else frame.axis(liner.end)
        half = frame.bore(liner.end - 1e-6) / 2 - 1.2
        angle = frame.slant(liner.end)
        nx, ny = half * math.sin(angle), half * math.cos(angle)
        sheet.line([(x - nx, y - ny), (x + nx, y + ny)], "liner", INK, 2.5)


def draw_joints(sheet: Sheet, frame: Frame) -> None:
    """The host's joints as ticks on its outside."""
    joints = frame.section.given.joints
    end = known_end(frame)
    if joints is None:
        return
    if isinstance(joints, float | int):
        places = [joints * count for count in range(1, math.ceil(end / joints))]
    else:
        places = [joint for joint in joints if 0.0 < joint < end]
    if len(places) > 1 and frame.x.per_unit * end / len(places) < 4:
        return
    marks = []
    for joint in places:
        x, y = frame.axis(joint)
        angle = frame.slant(joint)
        near = frame.bore(joint) / 2
        far = near + frame.wall(joint) + 2.6
        for side in (-1, 1):
            sx, sy = side * math.sin(angle), side * math.cos(angle)
            marks.append(path([(x + near * sx, y + near * sy), (x + far * sx, y + far * sy)]))
    if marks:
        sheet.add(
            "path", "joint", d="".join(marks), fill="none", stroke=GRAPHITE, stroke_width="1.2"
        )


def draw_bellies(sheet: Sheet, frame: Frame) -> None:
    """The water that stands in bellies."""
    if not frame.section.given.bellies:
        return
    lines = f'<path class="dw-pool" d="M0 1H8" fill="none" stroke="{PALE}" stroke-width="1.1"/>'
    fill = sheet.pattern("pool", 8.0, 3.0, lines)
    for belly in frame.section.given.bellies:
        pool = _pool(frame, belly)
        if len(pool) > 2:
            sheet.add("path", "pool-area", d=path(pool, closed=True), fill=fill)


def _pool(frame: Frame, belly: Belly) -> list[Point]:
    section = frame.section
    start, end = max(0.0, belly.start), belly.end
    spill = min(section.invert_at(start), section.invert_at(end))
    lined = 3.0 if frame.section.given.liner is not None else 0.5
    lower, upper = [], []
    for step in range(41):
        d = start + (end - start) * step / 40
        if section.invert_at(d) >= spill:
            continue
        x, y = frame.axis(d)
        half = frame.bore(d) / 2 - lined
        lower.append((x, y + half))
        upper.append((x, max(y - half, min(y + half, frame.y.at(spill)))))
    return [*upper, *reversed(lower)]


def draw_branches(sheet: Sheet, frame: Frame) -> None:
    """Other pipes' mouths as circles on the pipe, and the sign of a bend in plan."""
    for branch in frame.section.given.branches:
        x, y = frame.axis(branch.distance)
        bore = frame.bore(branch.distance)
        radius = min((branch.diameter or 0.0) * frame.pipe, bore) / 2 or 0.3 * bore
        sheet.add(
            "circle", "branch", cx=x, cy=y, r=max(2.5, radius - 2.5), fill=PAPER, stroke=GRAPHITE,
            stroke_width="1.5",
        )  # fmt: skip
    for bend in frame.section.given.bends:
        if bend.in_plan:
            x, y = frame.axis(bend.distance)
            sheet.add(
                "circle", "plan-bend", cx=x, cy=y, r=4.2, fill=PAPER, stroke=GRAPHITE,
                stroke_width="1.3",
            )  # fmt: skip
            sheet.add("circle", "dot-mark", cx=x, cy=y, r=1.3, fill=GRAPHITE)
