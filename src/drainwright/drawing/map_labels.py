"""Names on a map: each goes where it covers nothing, or is left out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from drainwright.drawing.lettering import SIZE
from drainwright.drawing.svg import Anchor, Box, Point, Role, Sheet, text_box

_CELL = 64.0
_WAYS: tuple[tuple[float, float, Anchor], ...] = (
    (1, 0, "start"), (-1, 0, "end"), (0, -1, "middle"), (0, 1, "middle"),
    (0.7, -0.7, "start"), (-0.7, -0.7, "end"), (0.7, 0.7, "start"), (-0.7, 0.7, "end"),
)  # fmt: skip


class Places:
    """What is taken on a drawing, found by cells so that many names stay quick."""

    def __init__(self, width: float, height: float) -> None:
        self._width = width
        self._height = height
        self._cells: defaultdict[tuple[int, int], list[Box]] = defaultdict(list)
        self.left_out = 0

    def take(self, box: Box) -> None:
        """Keep names off this box."""
        for cell in _cells(box):
            self._cells[cell].append(box)

    def take_line(self, points: Sequence[Point], half: float) -> None:
        """Keep names off a line, by small boxes along it."""
        for (x1, y1), (x2, y2) in pairwise(points):
            steps = max(1, int(max(abs(x2 - x1), abs(y2 - y1)) / (2 * half)))
            for k in range(steps + 1):
                x, y = x1 + (x2 - x1) * k / steps, y1 + (y2 - y1) * k / steps
                self.take(Box(x - half, y - half, x + half, y + half))

    def is_free(self, box: Box) -> bool:
        """Whether the box lies on the drawing and covers nothing."""
        if box.left < 2 or box.top < 2:
            return False
        if box.right > self._width - 2 or box.bottom > self._height - 2:
            return False
        return not any(box.overlaps(one) for cell in _cells(box) for one in self._cells[cell])

    def name(
        self, sheet: Sheet, text: str, at: Point, away: float, role: Role = "text"
    ) -> Box | None:
        """Write a name beside a point, `away` from it, where there is room; its box, or None."""
        for x, y, anchor in _WAYS:
            spot = at[0] + x * away, at[1] + y * (away + SIZE / 2) + SIZE * 0.35
            box = text_box(spot, text, anchor, bold=role == "ink")
            if text and self.is_free(box):
                sheet.text(spot, text, anchor=anchor, role=role)
                self.take(box)
                return box
        self.left_out += bool(text)
        return None


def _cells(box: Box) -> Iterator[tuple[int, int]]:
    for column in range(int(box.left // _CELL), int(box.right // _CELL) + 1):
        for row in range(int(box.top // _CELL), int(box.bottom // _CELL) + 1):
            yield column, row
