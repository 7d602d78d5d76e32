"""Who answers for the inputs of a design note, since when, and what weak things it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.papers.shown import UNKNOWN, date_text
from drainwright.records.lateral import MeasuringWay
from drainwright.records.standing import Standing
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem

CURE_MODEL = "cure-model"


def rests_on(sheet: WorkSheet) -> list[str]:
    """What the reader has to know before any number: demo material, a model not yet compared."""
    found = []
    demo = [
        f"{name} “{record.key}”"
        for name, record in (("tube", sheet.tube), ("resin", sheet.resin))
        if record is not None and record.demo
    ]
    if demo:
        found.append(
            f"Invented for the demo: {' and '.join(demo)}. What is marked (maker) is no maker’s "
            "word; wall, weights, deadlines, pressures and steam time rest on it."
        )
    modeled = [f.label for f in sheet.figures if f.source.key == CURE_MODEL]
    if modeled:
        found.append(
            "Rest on a cure simulation that has not been compared with instrumented liners: "
            f"{', '.join(modeled)}. It may lengthen the maker’s schedule, never shorten it."
        )
    return found


def who_and_when(sheet: WorkSheet, system: UnitSystem) -> list[list[str]]:
    """What is known how, by whom and since when: measurements, survey, fields, materials."""
    rows = [
        [f"length, {one.way}", "measured", one.by or UNKNOWN, date_text(one.on, system) or UNKNOWN]
        for one in sheet.lateral.lengths
        if one.way is not MeasuringWay.LISTED
    ]
    if sheet.survey is not None:
        day = date_text(sheet.survey.date, system)
        rows.append([f"survey, {sheet.survey.method}", "measured", sheet.survey.by or UNKNOWN, day])
    named = [("", sheet.lateral.standing)]
    named += [
        (f"{name} {record.key}: ", record.standing)
        for name, record in (("tube", sheet.tube), ("resin", sheet.resin))
        if record is not None
    ]
    for owner, standings in named:
        rows += _grouped(owner, standings, system)
    return rows


def _grouped(owner: str, standings: dict[str, Standing], system: UnitSystem) -> Iterator[list[str]]:
    """Fields with one standing on one line."""
    together: dict[Standing, list[str]] = {}
    for name, standing in standings.items():
        together.setdefault(standing, []).append(name.replace("_", " "))
    for standing, names in together.items():
        known = f"{standing.knowledge}, {standing.note}" if standing.note else standing.knowledge
        when = date_text(standing.on, system) or UNKNOWN
        yield [owner + ", ".join(names), str(known), standing.by or UNKNOWN, when]
