"""The shift sheet: one crew's day, with times, batches, residents, cautions and the load list."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head, size_text
from drainwright.papers.shown import date_text
from drainwright.planning.stock import UNITS, needs
from drainwright.records.crew import Crew
from drainwright.records.premises import Premises
from drainwright.records.project import Project
from drainwright.records.shift_plan import SetUp, Shift, Turn
from drainwright.records.work_sheet import Figure, WorkSheet
from drainwright.units import UnitSystem, show


@dataclass(frozen=True, slots=True)
class ShiftFacts:
    """A shift with what its paper tells beside it."""

    shift: Shift
    crew: Crew | None
    sheets: Mapping[str, tuple[WorkSheet, int]]
    premises: Mapping[str, Sequence[Premises]]


def shift_sheet_pdf(project: Project, facts: ShiftFacts, issue: Issue) -> bytes:
    """The sheet as PDF, in the project's units; `PaperError` where it can't be set."""
    return make_pdf("shift_sheet", shift_sheet_data(project, facts, issue), issue.timestamp)


def shift_sheet_data(project: Project, facts: ShiftFacts, issue: Issue) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    shift, system = facts.shift, project.units
    crew = shift.crew + (f", {facts.crew.lead}" if facts.crew and facts.crew.lead else "")
    hours = f"{facts.crew.start:%H:%M} to {facts.crew.end:%H:%M}" if facts.crew else ""
    demo = any(
        (sheet.tube is not None and sheet.tube.demo)
        or (sheet.resin is not None and sheet.resin.demo)
        for sheet, _ in (facts.sheets[key] for key in shift.laterals)
    )
    return {
        **project_head(project, issue, system, "Shift sheet", f"{shift.crew} {shift.day}"),
        "demo_material": demo,
        "day": f"{shift.day:%A}, {date_text(shift.day, system)}",
        "crew": crew,
        "hours": hours,
        "set_ups": [_set_up(stay, facts, system) for stay in shift.set_ups],
        "load": _load(facts, system),
        "cautions": _cautions(facts),
    }


def _set_up(stay: SetUp, facts: ShiftFacts, system: UnitSystem) -> dict[str, Data]:
    main = facts.sheets[stay.turns[0].lateral][0].segment
    place = f"{main.from_manhole} to {main.to_manhole}"
    return {
        "title": f"Main segment {stay.segment}, {place}",
        "street": main.street,
        "rig": stay.rig,
        "main": f"{size_text(main.inside_diameter, system)} {main.material}".strip(),
        "start": f"{stay.start:%H:%M}",
        "ready": f"{stay.ready:%H:%M}",
        "end": f"{stay.end:%H:%M}",
        "flow": _flow(stay, facts, system),
        "turns": [_turn(turn, facts, system) for turn in stay.turns],
    }


def _flow(stay: SetUp, facts: ShiftFacts, system: UnitSystem) -> str:
    """Plug or bypass, with how long the main may stay plugged."""
    figure = facts.sheets[stay.turns[0].lateral][0].figure("main.plugged")
    allowed = "" if figure is None else _number(figure, system)
    limit = f"the main may stay plugged {allowed}" if allowed else "time under plug not known"
    return f"bypass: {limit}" if stay.bypass else f"plug only: {limit}"


def _number(figure: Figure, system: UnitSystem) -> str:
    if isinstance(figure.value, str):
        return figure.value
    return show(figure.value, figure.kind, system).text


def _turn(turn: Turn, facts: ShiftFacts, system: UnitSystem) -> dict[str, Data]:
    sheet, revision = facts.sheets[turn.lateral]
    lateral = sheet.lateral
    what = [sheet.tube.key if sheet.tube else "", sheet.resin.key if sheet.resin else ""]
    for key, words in (("cut.length", "cut"), ("wetout.mass", "resin"), ("collar.name", "collar")):
        figure = sheet.figure(key)
        if figure is not None:
            what.append(f"{words} {_number(figure, system)}")
    times = (
        ("look, clean", turn.look), ("mix", turn.mix), ("on ice", turn.on_ice),
        ("load", turn.load), ("steam on", turn.steam_on), ("steam off", turn.steam_off),
        ("let down", turn.cooled), ("film, test", turn.film), ("service back", turn.restored),
    )  # fmt: skip
    people = facts.premises.get(turn.lateral, ())
    return {
        "key": lateral.key,
        "address": lateral.address,
        "sheet": f"work sheet rev {revision}",
        "tap": f"tap {show(lateral.tap_distance, 'length', system).text}",
        "what": " · ".join(part for part in what if part),
        "batch": f"mix {turn.batch}",
        "off_ice": "" if turn.off_ice_by >= dt.time(23, 59) else f"{turn.off_ice_by:%H:%M}",
        "condition": turn.condition,
        "times": [[words, f"{at:%H:%M}"] for words, at in times],
        "residents": [_resident(one, turn) for one in people],
    }


def _resident(one: Premises, turn: Turn) -> list[Data]:
    hours = ""
    if one.water_off_from or one.water_off_to:
        low = f"{one.water_off_from:%H:%M}" if one.water_off_from else "any time"
        high = f"{one.water_off_to:%H:%M}" if one.water_off_to else "any time"
        hours = f"agreed {low} to {high}"
    told = f"told {one.notice_on}" if one.notice_on else "not told yet"
    span = f"water off {turn.load:%H:%M} to {turn.restored:%H:%M}"
    return [one.address or one.key, one.contact, one.phone, span, hours, told]


def _load(facts: ShiftFacts, system: UnitSystem) -> list[Data]:
    """What goes on the trucks: sums over the day."""
    total: dict[tuple[str, str, str], float] = {}
    for key in facts.shift.laterals:
        for (kind, name), amount in needs(facts.sheets[key][0], 0.0).items():
            place = (kind.value, name, UNITS[kind])
            total[place] = total.get(place, 0.0) + amount
    return [
        [kind, name, show(amount, of, system).text] for (kind, name, of), amount in total.items()
    ]


def _cautions(facts: ShiftFacts) -> list[Data]:
    """Cautions that all sheets of the day share come once, in their own order."""
    seen: dict[str, set[str]] = {}
    for key in facts.shift.laterals:
        for words in facts.sheets[key][0].cautions:
            seen.setdefault(words, set()).add(key)
    every = len(set(facts.shift.laterals))
    found: list[Data] = []
    for words, keys in seen.items():
        found.append(words if len(keys) == every else f"{', '.join(sorted(keys))}: {words}")
    return found
