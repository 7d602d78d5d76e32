"""The marks that tell a lateral's outcome by shape, the same on maps, sketches and papers."""

from __future__ import annotations

from drainwright.drawing.svg import GRAPHITE, INK, PAPER, Sheet

MARK = 11.0
"""Side of a mark's box."""


def draw_mark(sheet: Sheet, mark: str, x: float, y: float) -> None:
    """The mark of an outcome around a point: line, prepare, ask, stop, or open without one."""
    half = MARK / 2
    left, right, top, bottom = x - half, x + half, y - half, y + half
    filled = mark == "stop"
    sheet.add(
        "rect", "mark-box", x=left, y=top, width=MARK, height=MARK,
        fill=GRAPHITE if filled else PAPER, stroke=GRAPHITE, stroke_width="1.3",
        stroke_dasharray="2 1.6" if mark == "open" else None,
    )  # fmt: skip
    if mark == "line":
        points = [(left + 2.5, y), (x - 0.8, bottom - 3), (right - 2, top + 2.5)]
        sheet.line(points, "mark-line", INK, 1.8)
    elif mark == "prepare":
        triangle = f"M{left:.1f} {top:.1f}V{bottom:.1f}H{right:.1f}Z"
        sheet.add("path", "mark-half", d=triangle, fill=GRAPHITE)
    elif mark == "ask":
        curve = f"M{x - 2:.1f} {y - 1.6:.1f}q0 -2 2.1 -2t2 1.8q0 1 -2 2v1.2M{x:.1f} {y + 3:.1f}v1"
        sheet.add("path", "mark-line", d=curve, fill="none", stroke=GRAPHITE, stroke_width="1.4")
    elif filled:
        for way in (-1, 1):
            points = [(left + 2.5, y + way * 3), (right - 2.5, y - way * 3)]
            sheet.line(points, "mark-cross", PAPER, 1.6)
