"""The detail of the collar: the main unrolled along its flow, with the landing on each side."""

from __future__ import annotations

from drainwright.drawing.lettering import cut, text_width
from drainwright.drawing.profile_input import CollarDrawing
from drainwright.drawing.svg import GRAPHITE, INK, PALE, PAPER, Sheet
from drainwright.units import UnitSystem, show

LEFT = 6.0
WIDTH = 160.0
_PIPE = 34.0


def draw_collar_detail(sheet: Sheet, collar: CollarDrawing, top: float, system: UnitSystem) -> None:
    """Main, hole and collar to one scale along the main; landings are the printed ones."""
    left, right = LEFT, LEFT + WIDTH
    sheet.text((left, top + 13), cut(collar_text(collar, system), WIDTH))
    upper = top + 25
    lower = upper + _PIPE
    hole = collar.length - collar.landing_up - collar.landing_down
    hole = max(collar.hole if collar.hole is not None else hole, 0.05 * collar.length)
    scale = 116 / max(collar.length, 1e-6)
    middle = (left + right) / 2 + 2
    start = middle - collar.length * scale / 2
    end = start + collar.length * scale
    for y in (upper - 4, lower + 4):
        sheet.line([(left, y), (right, y)], "host", width=1.5)
    sheet.add(
        "rect", "collar", x=start, y=upper, width=end - start, height=_PIPE, fill=_hatch(sheet),
        stroke=INK, stroke_width="2.2",
    )  # fmt: skip
    half = min(hole * scale, end - start - 12) / 2
    center = start + (collar.landing_up + hole / 2) * scale
    center = min(max(center, start + half + 4), end - half - 4)
    sheet.add(
        "ellipse", "bore", cx=center, cy=(upper + lower) / 2, rx=half,
        ry=min(half, _PIPE / 2 - 4), fill=PAPER, stroke=GRAPHITE, stroke_width="1.5",
    )  # fmt: skip
    _draw_flow(sheet, left, right, (upper + lower) / 2)
    y = lower + 15
    spans = ((start, center - half), (center + half, end))
    landings = (collar.landing_up, collar.landing_down)
    digits = 1 if system is UnitSystem.US else 0
    texts = [show(value, "small_length", system, digits).text for value in landings]
    places = [(a + b) / 2 for a, b in spans]
    apart = sum(text_width(text, bold=True) for text in texts) / 2 + 8
    push = max(0.0, apart - (places[1] - places[0])) / 2
    for (a, b), text, x, side in zip(spans, texts, places, (-push, push), strict=True):
        sheet.line([(a, y), (b, y)], "dim", INK, 1.2)
        for edge in (a, b):
            sheet.line([(edge, y - 4), (edge, y + 4)], "dim", INK, 1.2)
        sheet.text((x + side, y + 19), text, anchor="middle", role="ink")


def collar_text(collar: CollarDrawing, system: UnitSystem) -> str:
    """The detail's heading."""
    length = show(collar.length, "small_length", system, 1 if system is UnitSystem.US else 0)
    number = length.number.removesuffix(".0")
    return f"collar {number} {length.unit}, landing"


def _hatch(sheet: Sheet) -> str:
    stroke = f'fill="none" stroke="{INK}" stroke-width="0.7"'
    lines = f'<path class="dw-collar-hatch" d="M0 7L7 0" {stroke}/>'
    return sheet.pattern("collar", 7.0, 7.0, lines)


def _draw_flow(sheet: Sheet, left: float, right: float, y: float) -> None:
    """The flow in the main, from left to right."""
    for x in (left + 1, right - 17):
        d = f"M{x:.1f} {y:.1f}h14m-5 -4l5 4l-5 4"
        sheet.add("path", "flow", d=d, fill="none", stroke=PALE, stroke_width="1.3")
