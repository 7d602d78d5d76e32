"""What every route works with: the store, its project, the clock, and the page renderer."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from dataclasses import Field, dataclass, fields
from functools import lru_cache
from importlib.resources import files
from typing import Any, ClassVar, Protocol
from urllib.parse import quote, urlencode
from zoneinfo import ZoneInfo

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.responses import HTMLResponse

from drainwright.operations.days_in_words import with_days
from drainwright.operations.stores import OpenStore
from drainwright.records.project import Project
from drainwright.units import UnitSystem, show

Clock = Callable[[], dt.datetime]


class PageContext(Protocol):
    """A page: a frozen dataclass whose fields are what its template may name."""

    template: ClassVar[str]
    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]


@dataclass(frozen=True, slots=True)
class Desk:
    """The open store and one of its projects, with the clock that routes read."""

    store: OpenStore
    project: Project
    now: Clock

    @property
    def system(self) -> UnitSystem:
        """The units of every page."""
        return self.project.units

    @property
    def today(self) -> dt.date:
        """Today where the project is."""
        return self.now().astimezone(ZoneInfo(self.project.zone)).date()

    def page(self, context: PageContext, status: int = 200) -> HTMLResponse:
        """Render a page."""
        given = {field.name: getattr(context, field.name) for field in fields(context)}
        template = environment().get_template(context.template)
        text = template.render(project=self.project, system=self.system, **given)
        return HTMLResponse(text, status)


def lateral_address(key: str) -> str:
    """Where a lateral's page is."""
    return f"/laterals/{quote(key, safe='')}"


def paper_address(paper: str, key: str) -> str:
    """Where one paper of a lateral is downloaded."""
    return "/papers/pdf?" + urlencode({"paper": paper, "lateral": key})


@lru_cache(maxsize=1)
def environment() -> Environment:
    """Templates of ours; everything that comes from records is escaped."""
    made = Environment(
        loader=PackageLoader("drainwright.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(
        lateral_address=lateral_address,
        paper_address=paper_address,
        asset=asset_address,
        drawing=Markup,
    )
    made.filters["along"] = _length
    made.filters["bore"] = _diameter
    made.filters["days"] = with_days
    made.filters["many"] = "{:,}".format
    return made


def load_templates() -> None:
    """Compile every template ahead, so that no first visit waits for it."""
    made = environment()
    for name in made.list_templates():
        made.get_template(name)


def _length(value: float | None, system: UnitSystem) -> str:
    return "" if value is None else show(value, "length", system).text


def _diameter(value: float | None, system: UnitSystem) -> str:
    if value is None:
        return "size not known"
    shown = show(value, "diameter", system)
    number = shown.number.rstrip("0").rstrip(".") if "." in shown.number else shown.number
    return f"{number} {shown.unit_text}"


# ---------------------------------------------------------------- files that pages ask for

_PACKAGE = files("drainwright")
_MEDIA = {
    "css": "text/css; charset=utf-8",
    "js": "text/javascript; charset=utf-8",
    "woff2": "font/woff2",
    "svg": "image/svg+xml",
}
_FONTS = ("DrainwrightSans-Regular.woff2", "DrainwrightSans-Bold.woff2")


@dataclass(frozen=True, slots=True)
class Asset:
    """A file for pages, with its media type and a mark of its content."""

    content: bytes
    media: str
    mark: str


@lru_cache(maxsize=1)
def assets() -> dict[str, Asset]:
    """Style sheet, script, icon and fonts, by file name."""
    found = [_PACKAGE / "papers" / "fonts" / name for name in _FONTS]
    found += [entry for entry in (_PACKAGE / "web" / "static").iterdir() if entry.is_file()]
    made: dict[str, Asset] = {}
    for entry in found:  # fonts first: the style sheet names them by their marks
        ending = entry.name.rpartition(".")[2]
        if ending not in _MEDIA:
            continue
        content = entry.read_bytes()
        if ending == "css":
            for word, name in zip(("FONT-REGULAR", "FONT-BOLD"), _FONTS, strict=True):
                address = f"/static/{made[name].mark}/{name}"
                content = content.replace(word.encode(), address.encode())
        mark = hashlib.sha256(content).hexdigest()[:10]
        made[entry.name] = Asset(content, _MEDIA[ending], mark)
    return made


def asset_address(name: str) -> str:
    """Where a file is, with its mark, so that it may be kept for good."""
    return f"/static/{assets()[name].mark}/{name}"
