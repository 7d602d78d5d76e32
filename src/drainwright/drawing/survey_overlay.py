"""Two surveys of one pipe, one above the other, tied at what both saw.

Arrays in, SVG out. Graphite is what both saw, ink is what only one saw or saw otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.drawing.scale import Linear, ticks
from drainwright.drawing.svg import FAINT, GRAPHITE, INK, PALE, Sheet, number
from drainwright.drawing.symbols import STROKE, symbol
from drainwright.units import UnitSystem

_WIDTH, _HEIGHT = 980.0, 284.0
_LEFT, _RIGHT = 116.0, 40.0
_TOP, _LOWER, _PIPE = 66.0, 188.0, 16.0
_ROW = 19.0


@dataclass(frozen=True, slots=True)
class Spot:
    """One thing on one of both pipes: its distance there [m], symbol, number in the list."""

    distance: float
    symbol: str
    number: int
    differs: bool


def draw_overlay(
    names: tuple[str, str],
    spots: tuple[Sequence[Spot], Sequence[Spot]],
    ties: Sequence[tuple[float, float]],
    system: UnitSystem,
    prefix: str = "o-",
) -> str:
    """The drawing; `ties` are the distances of one mark in the first and in the second [m]."""
    end = max([1.0, *(s.distance for both in spots for s in both), *(d for t in ties for d in t)])
    x = Linear(_LEFT, (_WIDTH - _LEFT - _RIGHT) / end)
    sheet = Sheet(_WIDTH, _HEIGHT, prefix)
    for top, name in ((_TOP, names[0]), (_LOWER, names[1])):
        sheet.text((6, top + _PIPE - 3), name)
        for y in (top, top + _PIPE):
            sheet.line([(x.at(0.0), y), (x.at(end), y)], "host", GRAPHITE, 1.6)
    for first, second in ties:
        ends = [(x.at(first), _TOP + _PIPE), (x.at(second), _LOWER)]
        sheet.line(ends, "tie", PALE, 1.2, stroke_dasharray="4 3")
    _draw_spots(sheet, x, spots[0], _TOP, up=True)
    _draw_spots(sheet, x, spots[1], _LOWER + _PIPE, up=False)
    _draw_scale(sheet, x, end, system)
    tied = "one mark" if len(ties) == 1 else f"{len(ties)} marks"
    return sheet.render(f"Two surveys above each other, tied at {tied}: {names[0]}, {names[1]}")


def _draw_spots(sheet: Sheet, x: Linear, spots: Sequence[Spot], edge: float, *, up: bool) -> None:
    """Symbols with their numbers beside the pipe, in two rows where they are close."""
    side = -1.0 if up else 1.0
    free = [float("-inf")] * 3
    for spot in sorted(spots, key=lambda one: one.distance):
        at = x.at(spot.distance)
        row = next((n for n, taken in enumerate(free) if at - taken > 38.0), 0)
        free[row] = at
        y = edge + side * (16.0 + row * _ROW)
        color = INK if spot.differs else GRAPHITE
        sheet.line([(at, edge), (at, y - side * 9.0)], "lead", FAINT, 0.9)
        sheet.add(
            "path", "symbol", d=symbol(spot.symbol), fill="none", stroke=color,
            transform=f"translate({number(at)} {number(y)})", stroke_width=f"{STROKE:g}",
            stroke_linecap="round", stroke_linejoin="round",
        )  # fmt: skip
        sheet.text((at + 10, y + 5), str(spot.number), role="ink" if spot.differs else "text")


def _draw_scale(sheet: Sheet, x: Linear, end: float, system: UnitSystem) -> None:
    y = _HEIGHT - 26.0
    sheet.line([(x.at(0.0), y), (x.at(end), y)], "scale", GRAPHITE, 1.2)
    for tick in ticks(0.0, end, x.per_unit, system, 58):
        at = x.at(tick.value)
        sheet.line([(at, y), (at, y + (4.0, 6.0, 8.0)[tick.weight])], "scale")
        sheet.text((at, y + 22), tick.label, anchor="middle")
    sheet.text((6, y + 22), "feet" if system is UnitSystem.US else "meters", role="pale")
