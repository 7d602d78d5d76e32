"""A work sheet's figures and checks in words, each with all that is needed to check it (read)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from drainwright.checks import Check, Outcome
from drainwright.papers.crew_words import CAN_IT, HIDDEN, MAKE_UP, PUT_IN, Group, grouped
from drainwright.papers.shown import UNKNOWN, figure_reading, input_text, place_of, reading
from drainwright.records.work_sheet import Figure, Fitness, WorkSheet
from drainwright.sources import MARKS, Citation
from drainwright.units import UnitSystem

TITLES = ("Can it be lined?", "What to make up", "How to put it in")
_GROUPS = (CAN_IT, MAKE_UP, ("life", *PUT_IN))
_MARKS = {Outcome.MET: "line", Outcome.NOT_MET: "stop", Outcome.NOT_ASSESSED: "open"}


@dataclass(frozen=True, slots=True)
class ShownSource:
    """A source: its title, the place in it, its mark and what the mark means."""

    title: str
    place: str
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class ShownInput:
    """One input of a figure; `knowledge` is how it is known, empty where nobody said."""

    name: str
    text: str
    knowledge: str


@dataclass(frozen=True, slots=True)
class ShownFigure:
    """One number or word with its formula, inputs and source."""

    key: str
    label: str
    text: str
    also: str
    how: str
    inputs: tuple[ShownInput, ...]
    source: ShownSource


@dataclass(frozen=True, slots=True)
class ShownGroup:
    """Figures that belong together."""

    title: str
    figures: tuple[ShownFigure, ...]


@dataclass(frozen=True, slots=True)
class ShownColumn:
    """One of the three columns of notes."""

    title: str
    groups: tuple[ShownGroup, ...]


@dataclass(frozen=True, slots=True)
class ShownCheck:
    """A check in words."""

    name: str
    outcome: str
    mark: str
    demand: str
    capacity: str
    ratio: str
    note: str
    source: ShownSource


@dataclass(frozen=True, slots=True)
class ShownSheet:
    """A work sheet ready to be shown: three columns, the engineer's numbers, and the checks."""

    columns: tuple[ShownColumn, ...]
    engineer: tuple[ShownGroup, ...]
    checks: tuple[ShownCheck, ...]


@dataclass(frozen=True, slots=True)
class _Kept:
    """A work sheet in a cache: told apart by the hash of its stored text."""

    sha256: str
    sheet: WorkSheet = field(compare=False)


def show_stored(sheet: WorkSheet, sha256: str, system: UnitSystem) -> ShownSheet:
    """`show_columns` of a sheet stored under `sha256`, remembered."""
    return _shown(_Kept(sha256, sheet), system)


@lru_cache(maxsize=256)
def _shown(kept: _Kept, system: UnitSystem) -> ShownSheet:
    return show_columns(kept.sheet, system)


def show_columns(sheet: WorkSheet, system: UnitSystem) -> ShownSheet:
    """The figures of `sheet` in the three columns of the papers; nothing is left out.

    Of a lateral not to be lined, all but the first column is the engineer's.
    """
    plain = [figure for figure in sheet.figures if not HIDDEN.match(figure.key)]
    hidden = [figure for figure in sheet.figures if HIDDEN.match(figure.key)]
    named = [name for names in _GROUPS for name in names]
    groups = {group.key: group for group in grouped(plain, named)}
    stop = sheet.outcome is Fitness.STOP
    columns = []
    for title, names in zip(TITLES, _GROUPS[:1] if stop else _GROUPS, strict=False):
        there = [groups.pop(name) for name in names if name in groups]
        columns.append(ShownColumn(title, _groups(there, system)))
    engineer = (*_groups(groups.values(), system), *_groups(grouped(hidden), system))
    checks = tuple(_check(check, system) for check in sheet.checks)
    return ShownSheet(tuple(columns), engineer, checks)


def shown_source(citation: Citation) -> ShownSource:
    """A citation in words."""
    mark = citation.effective_mark
    return ShownSource(citation.source.title, place_of(citation), mark, MARKS[mark])


def shown_value(value: float | str | None, kind: str, system: UnitSystem) -> str:
    """A value with its unit; what is not known reads “—”."""
    return reading(value, kind, system).whole


def _groups(groups: Iterable[Group], system: UnitSystem) -> tuple[ShownGroup, ...]:
    return tuple(
        ShownGroup(group.title, tuple(_figure(figure, system) for figure in group.figures))
        for group in groups
    )


def _figure(figure: Figure, system: UnitSystem) -> ShownFigure:
    read = figure_reading(figure, system)
    inputs = tuple(
        ShownInput(given.name, input_text(given, system), str(given.knowledge or ""))
        for given in figure.inputs
    )
    return ShownFigure(
        figure.key, figure.label, read.text, read.also, figure.how, inputs,
        shown_source(figure.source),
    )  # fmt: skip


def _check(check: Check, system: UnitSystem) -> ShownCheck:
    def text(value: float | None) -> str:
        return UNKNOWN if value is None else reading(value, check.kind, system).text

    ratio = "" if check.ratio is None else f"{check.ratio:.2f}"
    return ShownCheck(
        check.name, check.outcome.value, _MARKS[check.outcome], text(check.demand),
        text(check.capacity), ratio, check.note, shown_source(check.source),
    )  # fmt: skip
