"""Text on a drawing: how wide it is in our typeface, and how it is cut to fit.

Widths are sums of the glyphs' advances without kerning, which only draws letters together,
so that a text is never wider than computed here.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from drainwright.drawing.glyph_widths import BOLD, REGULAR

FAMILY = '"Drainwright Sans", "Source Sans 3", "DejaVu Sans", sans-serif'
# 15 units of a drawing 1150 wide, printed 7.5 in (540 pt) wide, are 7.04 pt
SIZE = 15.0
# of the size: how far letters reach above and below the line they stand on
ASCENT = 0.76
DESCENT = 0.24
_UNKNOWN = 620
_WIDE = 1000


@lru_cache(maxsize=2)
def _advances(bold: bool) -> dict[str, int]:  # noqa: FBT001 - the key of a cache
    table = BOLD if bold else REGULAR
    return {character: width for width, characters in table.items() for character in characters}


def _advance(character: str, known: dict[str, int]) -> int:
    width = known.get(character)
    if width is not None:
        return width
    if unicodedata.combining(character):
        return 0
    return _WIDE if unicodedata.east_asian_width(character) in "WF" else _UNKNOWN


def text_width(text: str, size: float = SIZE, *, bold: bool = False) -> float:
    """Width of `text` in the drawing's units at a text `size`."""
    known = _advances(bold)
    return sum(_advance(character, known) for character in text) * size / 1000


def clean(text: str) -> str:
    """`text` on one line, without characters that no SVG may hold."""
    if not text.isprintable():
        kept = (c if c.isprintable() else " " for c in text if not 0xD800 <= ord(c) <= 0xDFFF)
        text = "".join(kept)
    return " ".join(text.split())


def cut(text: str, width: float, size: float = SIZE, *, bold: bool = False) -> str:
    """`text` if it fits into `width`, else as many letters as fit with … behind them."""
    text = clean(text)
    if text_width(text, size, bold=bold) <= width:
        return text
    known = _advances(bold)
    room = width * 1000 / size - _advance("…", known)
    for count, character in enumerate(text):
        room -= _advance(character, known)
        if room < 0:
            return text[:count].rstrip(" ,;:.-") + "…"
    return text


def wrapped(text: str, width: float, most: int) -> list[str]:
    """`text` in at most `most` lines of `width`, the last one cut; none for an empty text."""
    lines: list[str] = []
    words = clean(text).split()
    while words:
        count = len(words)
        while count > 1 and text_width(" ".join(words[:count])) > width:
            count -= 1
        if len(lines) == most - 1:
            count = len(words)
        lines.append(cut(" ".join(words[:count]), width))
        words = words[count:]
    return lines
