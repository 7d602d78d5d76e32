"""Compile a paper: a template of ours and plain data in, the bytes of a PDF out.

Data reach typst as one JSON text and are set as text, never read as markup, so that a `#` in
an address is a `#` on the paper. Only the program's own typeface is loaded. The same data and
time give the same bytes.
"""

from __future__ import annotations

import datetime as dt
import json
import threading
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from drainwright.drawing.glyph_widths import REGULAR
from drainwright.drawing.lettering import clean
from drainwright.errors import PaperError

if TYPE_CHECKING:
    import typst

_HERE = Path(__file__).parent
TEMPLATES = _HERE / "templates"
FONTS = _HERE / "fonts"

Data: TypeAlias = "bool | int | float | str | Svg | Sequence[Data] | Mapping[str, Data] | None"

_LETTERS = frozenset("".join(REGULAR.values()))


@dataclass(frozen=True, slots=True)
class Svg:
    """A drawing among the data of a paper; it passes unchanged."""

    text: str


_LOCK = threading.Lock()


@lru_cache(maxsize=1)
def _compiler() -> typst.Compiler:
    import typst

    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(FONTS)]
    )
    return typst.Compiler(font_paths=fonts, root=str(TEMPLATES))


def make_pdf(
    template: str,
    data: Mapping[str, Data],
    timestamp: dt.datetime,
    standard: str = "",
    *,
    bulk: bool = False,
) -> bytes:
    """The PDF of `template` filled with `data`, dated `timestamp` (with a zone).

    `standard` is a standard of PDF such as “a-2b”; typst sees to it that the file keeps it.
    A `bulk` paper of many pages goes without tags, which would be half of its size.

    Raises `PaperError` where the data are no JSON, the template is not there or typst fails.
    """
    import typst

    source = TEMPLATES / f"{template}.typ"
    if not source.is_file():
        raise PaperError(f"there is no paper “{template}”")
    if timestamp.tzinfo is None:
        raise PaperError("the time of a paper needs a time zone")
    try:
        text = json.dumps(_plain(data), ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError) as error:
        raise PaperError(f"the data of “{template}” can't be put on paper: {error}") from error
    try:
        with _LOCK:
            made = _compiler().compile(
                source,
                format="pdf",
                sys_inputs={"data": text},
                timestamp=int(timestamp.timestamp()),
                pdf_standards=standard or None,  # type: ignore[arg-type]
                pdf_tags=not bulk,
            )
    except (typst.TypstError, RuntimeError, ValueError, OSError) as error:
        raise PaperError(f"“{template}” could not be set: {error}") from error
    if not isinstance(made, bytes):
        raise PaperError(f"“{template}” gave no PDF")
    return made


def _plain(data: Data) -> object:
    if isinstance(data, Svg):
        return data.text
    if isinstance(data, str):
        return printable(data)
    if isinstance(data, Mapping):
        return {key: _plain(value) for key, value in data.items()}
    if isinstance(data, Sequence):
        return [_plain(value) for value in data]
    return data


def printable(text: str) -> str:
    """`text` in letters that the typeface has; lines are kept.

    A letter it lacks is set without its accents, else as `?`, never as an empty box.
    """
    return "\n".join(_known(clean(line)) for line in text.split("\n"))


def _known(line: str) -> str:
    return line if _LETTERS.issuperset(line) else "".join(map(_letter, line))


@lru_cache(maxsize=4096)
def _letter(character: str) -> str:
    if character in _LETTERS:
        return character
    base = "".join(c for c in unicodedata.normalize("NFKD", character) if c in _LETTERS)
    if base:
        return base
    return "" if unicodedata.combining(character) else "?"
