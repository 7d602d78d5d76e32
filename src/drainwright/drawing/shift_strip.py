"""One crew's day as a strip along the hours: set-ups as brackets, liners and their steps as boxes.

The upper lane is the rig (steam is hatched), the lower one what the crew does beside it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from drainwright.drawing.lettering import cut, text_width
from drainwright.drawing.svg import FAINT, GRAPHITE, INK, PAPER, Sheet
from drainwright.errors import Fault, InputError

_LEFT, _RIGHT, _WIDTH = 46.0, 26.0, 1000.0
_RIG, _TABLE, _LANE = 52.0, 84.0, 24.0
_HEIGHT = 116.0


@dataclass(frozen=True, slots=True)
class StripTurn:
    """One liner; every time in minutes from midnight."""

    key: str
    look: tuple[int, int]
    wet_out: tuple[int, int]
    rig: tuple[int, int]
    steam: tuple[int, int]
    film: tuple[int, int]
    href: str = ""


@dataclass(frozen=True, slots=True)
class StripSetUp:
    """One stay: its words, start, when it is ready, end, and its liners."""

    words: str
    start: int
    ready: int
    end: int
    turns: tuple[StripTurn, ...]


def draw_shift(
    label: str, start: int, end: int, set_ups: Sequence[StripSetUp], prefix: str = "shift-"
) -> str:
    """The strip as SVG from `start` to `end` minutes of the day.

    `label` is what a screen reader says. Raises `InputError` for an end before the start.
    """
    if end <= start:
        raise InputError(Fault("shift", "ends before it starts", end))
    sheet = Sheet(_WIDTH, _HEIGHT, prefix)
    first, last = start // 60 * 60, -(-end // 60) * 60
    scale = (_WIDTH - _LEFT - _RIGHT) / (last - first)

    def x(minute: int) -> float:
        return _LEFT + (minute - first) * scale

    step = 60 if (last - first) <= 14 * 60 else 120
    for minute in range(first, last + 1, step):
        sheet.line([(x(minute), 18), (x(minute), _HEIGHT - 4)], "grid", FAINT, 0.6)
        sheet.text((x(minute), 12), f"{minute // 60}:00", anchor="middle", role="pale")
    sheet.text((0, _RIG + 17), "rig", role="pale")
    sheet.text((0, _TABLE + 17), "crew", role="pale")
    hatch = sheet.pattern("steam", 6, 6, f'<path d="M0 6 L6 0" stroke="{INK}" stroke-width="1"/>')
    for stay in set_ups:
        _bracket(sheet, stay, x(stay.start), x(stay.ready), x(stay.end))
        for turn in stay.turns:
            with sheet.link(turn.href, "turn", f"{turn.key}: {_told(turn)}"):
                _turn(sheet, turn, x, hatch)
            _steps(sheet, turn, x)
    return sheet.render(label, css="shift", role="group")


def _bracket(sheet: Sheet, stay: StripSetUp, left: float, ready: float, right: float) -> None:
    """A bracket from set-up to take-down; dashed until the main is ready."""
    y = 40.0
    sheet.line([(left, y + 8), (left, y), (ready, y)], "setup", GRAPHITE, 1.4,
               stroke_dasharray="4 3")  # fmt: skip
    sheet.line([(ready, y), (right, y), (right, y + 8)], "setup", GRAPHITE, 1.4)
    sheet.text((left + 4, y - 6), cut(stay.words, right - left - 8), role="ink")


def _turn(sheet: Sheet, turn: StripTurn, at: Callable[[int], float], hatch: str) -> None:
    """A liner's box on the rig's lane."""
    low, high = (at(one) for one in turn.rig)
    sheet.add("rect", "rig", x=low, y=_RIG, width=high - low, height=_LANE, fill=PAPER,
              stroke=GRAPHITE, stroke_width="1.4")  # fmt: skip
    begin, off = (at(one) for one in turn.steam)
    sheet.add("rect", "steam", x=begin, y=_RIG, width=off - begin, height=_LANE, fill=hatch)
    middle = (low + high) / 2
    if text_width(turn.key, bold=True) + 10 < high - low:
        sheet.text((middle, _RIG + 17), turn.key, anchor="middle", role="ink", ground=True)


def _steps(sheet: Sheet, turn: StripTurn, at: Callable[[int], float]) -> None:
    """What is done beside the rig: last look, wet-out, film."""
    for words, (start, end) in (("look", turn.look), ("mix", turn.wet_out), ("film", turn.film)):
        left, right = at(start), at(end)
        sheet.add("rect", "step", x=left, y=_TABLE, width=right - left, height=_LANE, fill=PAPER,
                  stroke=GRAPHITE, stroke_width="1")  # fmt: skip
        if text_width(words) + 4 < right - left:
            sheet.text(((left + right) / 2, _TABLE + 17), words, anchor="middle")


def _told(turn: StripTurn) -> str:
    steam = " to ".join(f"{one // 60}:{one % 60:02d}" for one in turn.steam)
    return f"steam {steam}"
