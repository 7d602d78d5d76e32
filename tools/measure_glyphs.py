"""Write the widths of our typeface's glyphs into src/drainwright/drawing/glyph_widths.py.

    .venv/bin/python tools/measure_glyphs.py

The drawings need them to lay out text without overlaps; fonttools is a developer's package only.
Run it again after tools/subset_fonts.py.
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

from fontTools.ttLib import TTFont

ROOT = Path(__file__).resolve().parent.parent
FONTS = ROOT / "src" / "drainwright" / "papers" / "fonts"
TARGET = ROOT / "src" / "drainwright" / "drawing" / "glyph_widths.py"
HEAD = '''"""Glyph widths of Drainwright Sans; made by tools/measure_glyphs.py."""

# width [1/1000 of the text size]: the characters that have it
'''


def widths(style: str) -> dict[int, str]:
    """Width in thousandths of the size, and the characters that have it."""
    font = TTFont(FONTS / f"DrainwrightSans-{style}.ttf")
    scale = 1000 / font["head"].unitsPerEm
    found: dict[int, str] = defaultdict(str)
    for point, name in sorted(font.getBestCmap().items()):
        if chr(point).isprintable() or point == 0xA0:
            found[round(font["hmtx"][name][0] * scale)] += chr(point)
    return dict(sorted(found.items()))


def table(name: str, found: dict[int, str]) -> str:
    """The table as source text, in lines of at most 100 characters."""
    lines = [f"{name}: dict[int, str] = {{"]
    for width, characters in found.items():
        pieces = [characters[i : i + 60] for i in range(0, len(characters), 60)]
        if len(pieces) == 1:
            lines.append(f"    {width}: {quoted(pieces[0])},")
        else:
            lines += [f"    {width}: ("]
            lines += [f"        {quoted(piece)}" for piece in pieces] + ["    ),"]
    return "\n".join([*lines, "}"]) + "\n"


def quoted(text: str) -> str:
    """A Python string in the formatter's spelling."""
    text = text.replace("\\", "\\\\")
    if '"' in text and "'" not in text:
        return f"'{text}'"
    return '"' + text.replace('"', '\\"').replace("\xa0", "\\u00a0") + '"'


if __name__ == "__main__":
    TARGET.write_text(
        HEAD + table("REGULAR", widths("Regular")) + "\n" + table("BOLD", widths("Bold")),
        encoding="utf-8",
    )
