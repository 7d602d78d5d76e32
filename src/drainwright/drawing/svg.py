"""A small SVG writer: elements with presentation attributes, and a record of every text's box."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from html import escape
from typing import Literal

from drainwright.drawing.lettering import ASCENT, DESCENT, FAMILY, SIZE, clean, text_width
from drainwright.errors import Fault, InputError

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]
Role = Literal["text", "pale", "ink"]
Attribute = str | float | None

# graphite is what lies in the ground, ink is what we make
GRAPHITE = "#2b2e31"
PALE = "#62625a"
FAINT = "#a3a196"
INK = "#0d4f8b"
PAPER = "#ffffff"
_COLORS: dict[Role, str] = {"text": GRAPHITE, "pale": PALE, "ink": INK}
_PLAIN = re.compile(r"""[^&<>"']*\Z""")
_PREFIX = re.compile(r"^([A-Za-z][\w-]*)?$")


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in the drawing's units, y downwards."""

    left: float
    top: float
    right: float
    bottom: float
    text: str = ""

    def overlaps(self, other: Box, gap: float = 0.0) -> bool:
        """Whether the two share area, or come closer than `gap`."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )


def number(value: float) -> str:
    """A coordinate with at most one decimal; raises `InputError` if it is not finite."""
    if not math.isfinite(value):
        raise InputError(Fault("coordinate", "is not a finite number", value))
    text = f"{value:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def path(points: Iterable[Point], *, closed: bool = False) -> str:
    """The path data of a polyline."""
    text = " L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{text}{' Z' if closed else ''}" if text else ""


def checked_prefix(prefix: str) -> str:
    """`prefix` if ids may begin with it, else `InputError`."""
    if not _PREFIX.match(prefix):
        message = "must be empty or a letter followed by letters, digits, - or _"
        raise InputError(Fault("prefix", message, prefix))
    return prefix


class Sheet:
    """An SVG drawing in the making, `width` by `height` units; ids begin with `prefix`."""

    def __init__(self, width: float, height: float, prefix: str = "") -> None:
        self.width = width
        self.height = height
        self.prefix = checked_prefix(prefix)
        self.boxes: list[Box] = []
        self._parts: list[str] = []
        self._definitions: list[str] = []

    def add(self, tag: str, css: str, **attributes: Attribute) -> None:
        """One element; `css` is its class without our prefix, `_` in names stands for `-`."""
        self._parts.append(f"<{tag}{self._attributes(css, attributes)}/>")

    def pattern(self, name: str, width: float, height: float, inner: str) -> str:
        """A pattern with a tile of `width` by `height` under an id of ours, as a fill."""
        tile: dict[str, Attribute] = {
            "width": width,
            "height": height,
            "patternUnits": "userSpaceOnUse",
        }
        return self._define("pattern", name, inner, tile)

    def clip(self, name: str, data: str) -> str:
        """A clip path (even-odd) under an id of ours, as a `clip-path`."""
        return self._define("clipPath", name, f'<path d="{data}" clip-rule="evenodd"/>', {})

    def _define(self, tag: str, name: str, inner: str, attributes: dict[str, Attribute]) -> str:
        own = self._attributes("", {"id": self.prefix + name, **attributes})
        self._definitions.append(f"<{tag}{own}>{inner}</{tag}>")
        return f"url(#{self.prefix}{name})"

    @contextmanager
    def group(self, css: str, title: str = "", **attributes: Attribute) -> Iterator[None]:
        """A group around what is added inside the `with` block."""
        told = f"<title>{escape(clean(title))}</title>" if title else ""
        self._parts.append(f"<g{self._attributes(css, attributes)}>{told}")
        yield
        self._parts.append("</g>")

    @contextmanager
    def link(self, href: str, css: str, title: str) -> Iterator[None]:
        """A link around what is added inside the `with` block; without `href` a group."""
        if not href:
            with self.group(css, title):
                yield
            return
        self._parts.append(
            f"<a{self._attributes(css, {'href': href, 'aria-label': clean(title)})}>"
        )
        yield
        self._parts.append("</a>")

    def line(
        self,
        points: Sequence[Point],
        css: str,
        stroke: str = GRAPHITE,
        width: float = 1.0,
        **attributes: Attribute,
    ) -> None:
        """An open polyline without fill."""
        self.add(
            "path",
            css,
            d=path(points),
            fill="none",
            stroke=stroke,
            stroke_width=f"{width:g}",
            **attributes,
        )

    def text(
        self,
        at: Point,
        text: str,
        *,
        anchor: Anchor = "start",
        role: Role = "text",
        ground: bool = False,
    ) -> Box:
        """One line of text standing on `at`, with paper behind it if `ground`; returns its box."""
        text = clean(text)
        bold = role == "ink"
        box = text_box(at, text, anchor, bold=bold)
        if not text:
            return box
        self.boxes.append(box)
        if ground:
            width, height = box.right - box.left + 6, SIZE + 3
            left, top = box.left - 3, box.top - 1.5
            self.add("rect", "paper", x=left, y=top, width=width, height=height, fill=PAPER)
        css = "text" if role == "text" else f"text dw-{role}"
        place: dict[str, Attribute] = {
            "x": at[0],
            "y": at[1],
            "fill": _COLORS[role],
            "text-anchor": None if anchor == "start" else anchor,
            "font-weight": "700" if bold else None,
        }
        self._parts.append(f"<text{self._attributes(css, place)}>{escape(text)}</text>")
        return box

    def render(self, label: str, css: str = "profile", role: str = "img") -> str:
        """The whole drawing; `label` is the sentence that a screen reader says for it.

        A drawing that holds links has the role `group`.
        """
        head = self._attributes(
            css,
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {number(self.width)} {number(self.height)}",
                "role": role,
                "aria-label": clean(label),
                "font-family": FAMILY.replace('"', "'"),
                "font-size": number(SIZE),
            },
        )
        definitions = f"<defs>{''.join(self._definitions)}</defs>" if self._definitions else ""
        return f"<svg{head}>{definitions}{''.join(self._parts)}</svg>"

    @staticmethod
    def _attributes(css: str, attributes: dict[str, Attribute]) -> str:
        text = f' class="dw-{css}"' if css else ""
        for name, value in attributes.items():
            if type(value) is str:
                told = value if _PLAIN.match(value) else escape(value)
            elif value is None:
                continue
            else:
                told = number(float(value))
            text += f' {name.replace("_", "-")}="{told}"'
        return text


def text_box(at: Point, text: str, anchor: Anchor = "start", *, bold: bool = False) -> Box:
    """The rectangle that a text takes."""
    width = text_width(text, bold=bold)
    left = at[0] - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return Box(left, at[1] - ASCENT * SIZE, left + width, at[1] + DESCENT * SIZE, text)
