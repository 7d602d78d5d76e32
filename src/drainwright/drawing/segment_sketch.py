"""Main segments as lines with their laterals: a schematic where no map is needed.

Each segment runs from manhole to manhole, its laterals stand at their distance on the side
their tap's clock says. The mark at the end of a lateral tells its outcome by shape: the same
shapes as on the papers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.drawing.lettering import SIZE, cut, text_width
from drainwright.drawing.marks import MARK, draw_mark
from drainwright.drawing.svg import GRAPHITE, PAPER, Sheet
from drainwright.errors import Fault, raise_if_any
from drainwright.units import UnitSystem, show

_LEFT, _RIGHT = 132.0, 76.0
_ROW, _REACH = 100.0, 20.0
_MANHOLE = 8.0
_GAP = 7.0


@dataclass(frozen=True, slots=True)
class SketchLateral:
    """One lateral: its tap's `distance` [m] and clock, its outcome's mark, and where it leads."""

    key: str
    distance: float
    clock: float | None = None
    mark: str = "open"
    """line, prepare, ask, stop or open."""
    words: str = ""
    href: str = ""


@dataclass(frozen=True, slots=True)
class SketchSegment:
    """One segment with the laterals to show; `length` [m]."""

    key: str
    from_manhole: str
    to_manhole: str
    length: float
    laterals: tuple[SketchLateral, ...] = ()


def draw_segments(
    segments: Sequence[SketchSegment], system: UnitSystem, width: float = 1150.0
) -> str:
    """The segments one below the other, all to one scale, as SVG with links.

    Raises `InputError` for a segment without length or a tap that is not on it.
    """
    raise_if_any(_faults(segments))
    longest = max((segment.length for segment in segments), default=1.0)
    scale = (width - _LEFT - _RIGHT) / longest
    sheet = Sheet(width, max(_ROW * len(segments), 1.0), "sketch-")
    for row, segment in enumerate(segments):
        _segment(sheet, segment, _ROW * (row + 0.5), scale, system)
    count = sum(len(segment.laterals) for segment in segments)
    label = f"Sketch of {len(segments)} main segments with {count} laterals at their distances"
    return sheet.render(label, css="sketch", role="group")


def _faults(segments: Sequence[SketchSegment]) -> list[Fault]:
    faults = [Fault(s.key, "needs a length", s.length, "m") for s in segments if not s.length > 0]
    faults += [
        Fault(one.key, "its tap is not on its segment", one.distance, "m", 0.0, segment.length)
        for segment in segments
        for one in segment.laterals
        if not 0 <= one.distance <= segment.length * 1.02
    ]
    return faults


def _segment(
    sheet: Sheet, segment: SketchSegment, y: float, scale: float, system: UnitSystem
) -> None:
    end = _LEFT + segment.length * scale
    sheet.text((0, y + 1), cut(segment.key, 54, bold=True), role="ink")
    sheet.text((0, y + 1 + SIZE), show(segment.length, "length", system, 0).text, role="pale")
    for offset in (-3.0, 3.0):
        sheet.line([(_LEFT, y + offset), (end, y + offset)], "host", GRAPHITE, 1.5)
    for x, name, anchor in ((_LEFT, segment.from_manhole, "end"), (end, segment.to_manhole, "")):
        sheet.add(
            "circle", "manhole", cx=x, cy=y, r=_MANHOLE, fill=PAPER, stroke=GRAPHITE,
            stroke_width="1.5",
        )  # fmt: skip
        beside = x + (-_MANHOLE - 5 if anchor else _MANHOLE + 5)
        room = 58.0
        sheet.text(
            (beside, y + 5), cut(name, room), anchor="end" if anchor else "start", role="pale"
        )
    for up in (True, False):
        side = [one for one in segment.laterals if _is_up(one) is up]
        side.sort(key=lambda one: (one.distance, one.key))
        places = _spread([_LEFT + one.distance * scale for one in side], side, sheet.width)
        for one, x in zip(side, places, strict=True):
            _lateral(sheet, one, (_LEFT + one.distance * scale, y), x, up=up)


def _is_up(one: SketchLateral) -> bool:
    """Whether the tap is on the left, its clock read looking from the first manhole."""
    clock = 9.0 if one.clock is None else one.clock % 12
    return clock > 6 or clock == 0


def _width(one: SketchLateral) -> float:
    return max(text_width(one.key), MARK)


def _spread(at: Sequence[float], laterals: Sequence[SketchLateral], width: float) -> list[float]:
    """Places for the labels in the order of the taps, moved apart so that none overlap."""
    groups: list[tuple[list[int], float, float]] = []
    for index, x in enumerate(at):
        members, size, middle = [index], _width(laterals[index]) + _GAP, x
        while groups and groups[-1][2] + groups[-1][1] / 2 > middle - size / 2:
            before, other, center = groups.pop()
            share = len(members) / (len(members) + len(before))
            middle = center + (middle - center) * share
            members, size = [*before, *members], size + other
        middle = min(max(middle, size / 2), max(width - size / 2, size / 2))
        groups.append((members, size, middle))
    places = [0.0] * len(at)
    for members, size, middle in groups:
        left = middle - size / 2
        for index in members:
            own = _width(laterals[index]) + _GAP
            places[index] = left + own / 2
            left += own
    return places


def _lateral(
    sheet: Sheet, one: SketchLateral, tap: tuple[float, float], x: float, *, up: bool
) -> None:
    sign = -1.0 if up else 1.0
    start, end = tap[1] + sign * 3, tap[1] + sign * _REACH
    with sheet.link(one.href, "tap", f"{one.key}, {one.words}"):
        sheet.line([(tap[0], start), (tap[0], start + sign * 5), (x, end)], "lead", GRAPHITE, 1.2)
        draw_mark(sheet, one.mark, x, end + sign * MARK / 2)
        below = end + sign * (MARK + 3)
        sheet.text((x, below if up else below + 0.72 * SIZE), one.key, anchor="middle")
