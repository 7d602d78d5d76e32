"""Numbers, places and times as a paper shows them, and the numbered list of its sources."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal
from zoneinfo import ZoneInfo

from drainwright.papers.paper import Data
from drainwright.records.work_sheet import Figure, FigureInput
from drainwright.sources import MARKS, Citation
from drainwright.units import KINDS, Shown, UnitSystem, feet_and_inches, show

UNKNOWN = "—"
Toward = Literal["down", "up", "near"]
# letters of label and numbers that stand on one line of a column
LETTERS = 44
_LONG, _WHOLE = 90 * 60.0, 10 * 60.0
_ROUND: dict[Toward, Callable[[float], int]]
_ROUND = {"down": math.floor, "up": math.ceil, "near": round}
# masses that are weighed read on a sheet as on the ticket; weak seals need one digit more
_WEIGHED = ("wetout.mass", "wetout.part_a", "wetout.part_b")
_FINE = {"steam.trap_seal": 3}


@dataclass(frozen=True, slots=True)
class Reading:
    """How one number reads: `text` with its unit, `also` the same in other words."""

    text: str
    also: str = ""

    @property
    def whole(self) -> str:
        """Both on one line."""
        return f"{self.text} ({self.also})" if self.also else self.text


def reading(
    value: float | str | None, kind: str, system: UnitSystem, toward: Toward = "near"
) -> Reading:
    """A value of `kind` for a reader of `system`; what is not known reads “—”.

    A length in the US reads in feet and inches beside the decimal. A long time reads in hours
    and whole minutes, rounded `toward` the safe side.
    """
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return Reading(UNKNOWN)
    if isinstance(value, str):
        return Reading(value or UNKNOWN)
    if kind not in KINDS:
        return Reading(f"{value:g}")
    shown = show(value, kind, system)
    if kind == "length" and system is UnitSystem.US:
        return Reading(shown.text, feet_and_inches(value, 1) if abs(value) >= 0.1 else "")
    if kind == "time" and value >= _LONG:
        return Reading(_hours(value, toward))
    if kind == "time":
        return Reading(_minutes(value, shown, toward))
    if kind == "number":
        return Reading(f"{value:.6g}")
    return Reading(shown.text)


def _minutes(seconds: float, shown: Shown, toward: Toward) -> str:
    """A time in minutes; from ten on whole ones, which is as fine as a crew's watch is read."""
    if seconds < _WHOLE:
        return f"{shown.number.removesuffix('.0')} {shown.unit_text}"
    return f"{_ROUND[toward](round(seconds / 60, 6))} min"


def _hours(seconds: float, toward: Toward) -> str:
    """A long time in hours and whole minutes."""
    whole = _ROUND[toward](round(seconds / 60, 6))
    hours, minutes = divmod(whole, 60)
    return f"{hours} h {minutes:02d}" if minutes else f"{hours} h"


def distance_text(value: float | None, system: UnitSystem) -> str:
    """A place along the lateral, such as `6.4 ft`; empty where there is none."""
    return "" if value is None else show(value, "length", system).text


def clock_text(hour: float | None) -> str:
    """A place on the pipe's clock, such as `2 o’clock`; empty where it is not known."""
    return "" if hour is None else f"{hour:g} o’clock"


def date_text(day: dt.date | None, system: UnitSystem) -> str:
    """A day: `Nov 25, 2026` in the US, `2026-11-25` elsewhere."""
    if day is None:
        return ""
    if system is UnitSystem.US:
        return f"{day:%b} {day.day}, {day.year}"
    return day.isoformat()[:10]


def time_text(moment: dt.datetime | None, zone: str, system: UnitSystem) -> str:
    """A moment on the project's own clock, with the zone's name."""
    if moment is None:
        return ""
    local = moment.astimezone(ZoneInfo(zone))
    if system is UnitSystem.US:
        hour = local.hour % 12 or 12
        return f"{date_text(local.date(), system)}, {hour}:{local:%M %p %Z}"
    return f"{local:%Y-%m-%d %H:%M %Z}"


@dataclass(slots=True)
class SourceList:
    """Sources in the order in which a paper first names them; numbers count from 1."""

    citations: list[Citation] = field(default_factory=list)

    def number(self, citation: Citation) -> int:
        """The number of `citation` on this paper."""
        if citation not in self.citations:
            self.citations.append(citation)
        return self.citations.index(citation) + 1

    def data(self) -> list[Data]:
        """Title, place and spelled-out mark of each source."""
        return [
            {
                "number": number,
                "title": title_of(citation),
                "place": place_of(citation),
                "mark": citation.effective_mark,
                "words": _mark_words(citation),
            }
            for number, citation in enumerate(self.citations, 1)
        ]


def title_of(citation: Citation) -> str:
    """A source's title, with the edition where the locator is one: `ASTM F1216-09, Appendix X1`."""
    _, comma, rest = citation.source.title.partition(",")
    return f"{citation.locator}{comma}{rest}" if _edition(citation) else citation.source.title


def _edition(citation: Citation) -> bool:
    """Whether the locator is the title's own name with an edition."""
    return citation.locator.startswith(citation.source.title.partition(",")[0] + "-")


def place_of(citation: Citation) -> str:
    """Clause, table or page of a source, unless its title says it already."""
    said = _edition(citation) or citation.locator in citation.source.title
    return "" if said else citation.locator


def _mark_words(citation: Citation) -> str:
    """The mark spelled out, unless the title says the same already."""
    words = MARKS[citation.effective_mark]
    return "" if citation.source.title.lower().startswith(words[:12].lower()) else words


def mass_text(value: float, system: UnitSystem) -> str:
    """A mass to the gram or the hundredth of a pound, finer than the ratio's tolerance."""
    return show(value, "mass", system, 2 if system is UnitSystem.US else 3).text


def figure_reading(figure: Figure, system: UnitSystem) -> Reading:
    """How a figure reads; a deadline is rounded down, a time to be held up."""
    if isinstance(figure.value, float) and math.isfinite(figure.value):
        if figure.key in _WEIGHED:
            return Reading(mass_text(figure.value, system))
        if figure.key in _FINE:
            return Reading(show(figure.value, figure.kind, system, _FINE[figure.key]).text)
    toward: Toward = "up" if figure.key.startswith("steam.") else "down"
    return reading(figure.value, figure.kind, system, toward)


def figure_data(figure: Figure, system: UnitSystem, sources: SourceList) -> dict[str, Data]:
    """One figure as a row: label, number, the same in other words, reference to its source."""
    read = figure_reading(figure, system)
    known = read.text != UNKNOWN
    return {
        "key": figure.key,
        "label": figure.label,
        "text": read.text,
        "also": read.also,
        "long": len(figure.label) + 1.2 * len(read.text) + len(read.also) > LETTERS,
        "ref": sources.number(figure.source),
        "why": "" if known else figure.how or "not known",
    }


def input_text(given: FigureInput, system: UnitSystem) -> str:
    """An input of a figure with its unit."""
    return reading(given.value, given.kind, system).text
