"""Draw the profile of a lateral from its work sheet, or from the survey alone (read)."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache

from drainwright.drawing.lateral_drawing import lateral_profile, site_of_sheet
from drainwright.drawing.profile import ProfileLayout, ProfileOptions, draw_profile
from drainwright.drawing.profile_input import STRIP_HEIGHT, Strip
from drainwright.errors import InputError
from drainwright.planning.site import Site
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem

WIDTH, HEIGHT = 980.0, 430.0
"""In units of the drawing, whose text is 15 high."""


@dataclass(frozen=True, slots=True)
class KeyLine:
    """What a number on a flag stands for."""

    number: int
    text: str
    row: int | None


@dataclass(frozen=True, slots=True)
class LateralDrawing:
    """The profile as SVG with the key to its numbered flags, or why it can't be drawn."""

    svg: str
    key: tuple[KeyLine, ...] = ()
    why_not: str = ""
    layout: ProfileLayout | None = None
    """Where distances stand on it."""


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A work sheet in a cache: told apart by the hash of its stored text."""

    sha256: str
    sheet: WorkSheet = field(compare=False)


def draw_sheet(sheet: WorkSheet, sha256: str, system: UnitSystem) -> LateralDrawing:
    """The profile of a work sheet as stored under `sha256`."""
    return _drawn(_Sheet(sha256, sheet), system)


@lru_cache(maxsize=256)
def _drawn(kept: _Sheet, system: UnitSystem) -> LateralDrawing:
    return draw_site(site_of_sheet(kept.sheet), system, kept.sheet)


def draw_site(
    site: Site,
    system: UnitSystem,
    plan: WorkSheet | None = None,
    *,
    prefix: str = "p-",
    strips: tuple[Strip, ...] = (),
) -> LateralDrawing:
    """The profile of a lateral as far as it is known, with `strips` below it.

    Two drawings on one page need a `prefix` each.
    """
    height = HEIGHT + STRIP_HEIGHT * len(strips)
    options = ProfileOptions(width=WIDTH, height=height, prefix=prefix)
    try:
        given = replace(lateral_profile(site, system, plan), strips=strips)
        drawn = draw_profile(given, system, options)
    except InputError as error:
        return LateralDrawing("", why_not="; ".join(str(fault) for fault in error.faults))
    key = tuple(KeyLine(entry.number, entry.text, entry.row) for entry in drawn.key)
    return LateralDrawing(drawn.svg, key, layout=drawn.layout)
