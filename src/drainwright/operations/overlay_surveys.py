"""Lay two surveys of a lateral over each other and tell what differs (read)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.drawing.lateral_drawing import seen_text
from drainwright.drawing.survey_overlay import Spot, draw_overlay
from drainwright.errors import Fault, InputError
from drainwright.papers.shown import date_text, distance_text
from drainwright.planning.site import distance_from_tap
from drainwright.planning.survey_match import Overlay, Pair, Placed, lay_over
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.survey import Survey, SurveyPurpose
from drainwright.storage.protocol import Filters, RecordStore
from drainwright.units import UnitSystem


@dataclass(frozen=True, slots=True)
class SurveyName:
    """A survey that can be chosen: its key and what it is in words."""

    key: str
    words: str


@dataclass(frozen=True, slots=True)
class OverlayRow:
    """One thing in one or both surveys."""

    number: int
    first: str
    second: str
    laid: str
    """The second's distance laid over the first."""
    words: str
    difference: str
    """Empty where both say the same."""


@dataclass(frozen=True, slots=True)
class Laid:
    """Two surveys laid over each other, drawn and listed."""

    svg: str
    rows: tuple[OverlayRow, ...]
    how: tuple[str, ...]
    """How the second was laid over the first, in words."""


def surveys_of(store: RecordStore, project: Project, key: str) -> tuple[SurveyName, ...]:
    """The surveys of lateral `key`, the oldest first; `NotFoundError` for no such lateral."""
    with store.read() as session:
        session.get(project.key, Lateral, key)
        found = [s.record for s in session.every(project.key, Survey, Filters(lateral=key))]
    found.sort(key=lambda one: (one.date, one.key))
    return tuple(SurveyName(one.key, _words(one, project.units)) for one in found)


def overlay_surveys(
    store: RecordStore, project: Project, key: str, first: str, second: str
) -> Laid:
    """Two surveys of lateral `key`, named by their keys, laid over each other."""
    if first == second:
        raise InputError(Fault("surveys", "choose two that are not the same", first))
    with store.read() as session:
        one = session.get(project.key, Survey, first).record
        other = session.get(project.key, Survey, second).record
    if {one.lateral, other.lateral} != {key}:
        raise InputError(Fault("surveys", f"are not both of {key}", f"{first}, {second}"))
    found = lay_over(tuple(_placed(one)), tuple(_placed(other)))
    system = project.units
    names = (date_text(one.date, system), date_text(other.date, system))
    return Laid(
        _drawn(found, names, system),
        tuple(_row(n, pair, system) for n, pair in enumerate(found.pairs, 1)),
        _how(found, names, system),
    )


def _placed(survey: Survey) -> Iterator[Placed]:
    for index, seen in enumerate(survey.observations):
        yield Placed(index, distance_from_tap(survey, seen.distance), seen)


def _words(survey: Survey, system: UnitSystem) -> str:
    by = f", by {survey.by}" if survey.by else ""
    made_for = "" if survey.purpose is SurveyPurpose.OTHER else f", {survey.purpose}"
    return f"{date_text(survey.date, system)}, {survey.method}{made_for}{by}"


def _drawn(found: Overlay, names: tuple[str, str], system: UnitSystem) -> str:
    spots: tuple[list[Spot], list[Spot]] = ([], [])
    for count, pair in enumerate(found.pairs, 1):
        differs = pair.first is None or pair.second is None or bool(pair.differs)
        for side, one in zip(spots, (pair.first, pair.second), strict=True):
            if one is not None:
                side.append(Spot(max(one.distance, 0.0), one.seen.kind.value, count, differs))
    ties = [(max(tie.first, 0.0), max(tie.second, 0.0)) for tie in found.ties]
    return draw_overlay(names, spots, ties, system)


def _row(count: int, pair: Pair, system: UnitSystem) -> OverlayRow:
    one, other = pair.first, pair.second
    seen = [seen_text(p.seen, system) for p in (one, other) if p is not None]
    words = seen[0] if len(set(seen)) == 1 else " → ".join(seen)
    if one is None:
        difference = "only in the second"
    elif other is None:
        difference = "only in the first"
    else:
        difference = f"other {' and '.join(pair.differs)}" if pair.differs else ""
    return OverlayRow(
        count,
        distance_text(one.distance, system) if one else "",
        distance_text(other.distance, system) if other else "",
        distance_text(pair.laid, system) if other else "",
        words,
        difference,
    )


def _how(found: Overlay, names: tuple[str, str], system: UnitSystem) -> tuple[str, ...]:
    """Shift and stretch in words."""
    if not found.ties:
        return ("No mark is in both surveys: the distances stand as each camera counted them.",)
    lines = []
    if abs(found.shift) >= 0.005:
        way = "less" if found.shift > 0 else "more"
        by = distance_text(abs(found.shift), system)
        lines.append(f"The counter of {names[1]} reads about {by} {way} than that of {names[0]}.")
    for tie in found.ties:
        kind = tie.kind.replace("_", " ")
        first, second = (distance_text(d, system) for d in (tie.first, tie.second))
        lines.append(f"Tied at the {kind}: {first} in the first, {second} in the second.")
    return tuple(lines)
