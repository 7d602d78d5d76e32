"""Make the program's typeface from the npm package ``source-sans``.

    npm pack source-sans && tar xzf source-sans-*.tgz
    .venv/bin/python tools/subset_fonts.py package

Source Sans 3 is under the SIL Open Font License 1.1 and its name is reserved, so
the subset carries a name of ours (docs/decisions/0003-fonts.md). The result is
committed; nobody runs this but to change the set of glyphs.
"""

from __future__ import annotations

import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

ROOT = Path(__file__).resolve().parent.parent
FONTS = ROOT / "src" / "drainwright" / "papers" / "fonts"
FAMILY = "Drainwright Sans"
# file in the package, style in the name table, also as WOFF2 for pages
STYLES = [
    ("Regular", "Regular", True),
    ("It", "Italic", False),
    ("Semibold", "Semibold", False),
    ("Bold", "Bold", True),
]
RANGES = [
    (0x20, 0x7E),
    (0xA0, 0x17F),
]  # Latin, Latin-1 and Latin Extended-A: street and owners' names
SIGNS = "½¼¾⅓⅔⅛⅜⅝⅞⁄°≥≤≈≠′″Øø→←↑↓−×·–—…±²³¹⁰⁴⁵⁶⁷⁸⁹⁻₀₁₂₃₄₅₆₇₈₉√πΔ∞§•‘’“”‚„†€Ω∑∂∫ℓ№✓"
GREEK = [(0x391, 0x3A9), (0x3B1, 0x3C9)]
FEATURES = [
    "kern",
    "mark",
    "mkmk",
    "ccmp",
    "locl",
    "frac",
    "sups",
    "subs",
    "case",
]  # plain digits are tabular and lining already


def wanted() -> set[int]:
    """Code points the papers and pages may use."""
    points = {ord(sign) for sign in SIGNS}
    for first, last in RANGES + GREEK:
        points.update(range(first, last + 1))
    return points


def rename(font: TTFont, style: str) -> None:
    """Give the font its own name everywhere a reader looks, keeping license and copyright."""
    ribbi = style in {"Regular", "Italic", "Bold"}
    full = f"{FAMILY} {style}"
    names = {
        1: FAMILY if ribbi else full,
        2: style if ribbi else "Regular",
        3: f"drainwright;{full}",
        4: full,
        6: full.replace(" ", "").replace(style, f"-{style}"),
    }
    if not ribbi:
        names |= {16: FAMILY, 17: style}
    table = font["name"]
    kept = {0, 5, 8, 9, 11, 13, 14}  # copyright, version, makers, license and its address
    table.names = [record for record in table.names if record.nameID in kept]
    for number, text in names.items():
        table.setName(text, number, 3, 1, 0x409)


def make(source: Path, style: str, *, woff2: bool) -> list[Path]:
    """Write one style and return the files written."""
    options = subset.Options()
    options.layout_features = FEATURES
    options.name_IDs = ["*"]
    options.hinting = False
    options.notdef_outline = True
    font = TTFont(source, recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=wanted())
    cutter.subset(font)
    rename(font, style)
    written = [FONTS / f"DrainwrightSans-{style}.ttf"]
    font.save(written[0])
    if woff2:
        font.flavor = "woff2"
        written.append(written[0].with_suffix(".woff2"))
        font.save(written[1])
    missing = {chr(p) for p in wanted() if p not in font.getBestCmap()}
    print(f"{style}: {written[0].stat().st_size} bytes; no glyph for {sorted(missing)}")
    return written


def main(package: Path) -> None:
    """Make all styles from an unpacked npm package."""
    FONTS.mkdir(parents=True, exist_ok=True)
    for file, style, woff2 in STYLES:
        make(package / "TTF" / f"SourceSans3-{file}.ttf", style, woff2=woff2)
    (ROOT / "LICENSES" / "OFL-1.1-Source-Sans-3.md").write_text(
        (package / "LICENSE.md").read_text(encoding="utf-8"), encoding="utf-8"
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]))
