"""The design note: every formula, input, intermediate value, clause and source of one lateral.

Made for the owner's engineer to follow by hand, so numbers stand with more digits than on the
crew's sheet.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator

from drainwright.checks import Check, Outcome
from drainwright.papers.input_standing import rests_on, who_and_when
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import (
    OUTCOMES,
    lateral_head,
    outcome_data,
    refuse_demo_resin,
    sheet_profile_data,
    subject_of,
)
from drainwright.papers.shown import UNKNOWN, SourceList, distance_text, place_of, reading, title_of
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, FigureInput, WorkSheet
from drainwright.units import KINDS, UnitSystem, show

DIGITS = 5
SENSITIVITY = "sensitivity"
_UNSURE = (Knowledge.ASSUMED, Knowledge.MEMORY)
_OUTCOME = {Outcome.MET: "met", Outcome.NOT_MET: "not", Outcome.NOT_ASSESSED: "open"}
_TITLES = {
    "length": "Length",
    "cut": "Cut length",
    "wall": "Wall",
    "station": "Stations",
    "tube": "Tube",
    "flow": "Flow",
    "resin": "Resin",
    "wetout": "Wet-out",
    "collar": "Collar in the main",
    "launch": "Launch",
    "steam": "Steam and let-down",
    "deadline": "Resin deadlines",
}


def design_note_pdf(sheet: WorkSheet, *, revision: int, system: UnitSystem | None = None) -> bytes:
    """The design note of one lateral as PDF, in the project's units or in `system`.

    Raises `PaperError` where demo material stands in a real project or the paper can't be set.
    """
    refuse_demo_resin(sheet)
    data = design_note_data(sheet, revision, system or sheet.project.units)
    return make_pdf("design_note", data, subject_of(sheet, revision).issue.timestamp)


def design_note_data(sheet: WorkSheet, revision: int, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    sources = SourceList()
    groups = list(_groups(sheet.figures, system, sources))
    specification = sheet.specification
    return {
        **lateral_head(subject_of(sheet, revision), system, "Design note"),
        "outcome": outcome_data(sheet.outcome),
        "profile": sheet_profile_data(sheet, system, 380.0),
        "specification": f"{specification.name} ({specification.basis or specification.key})",
        "method": specification.wall_method,
        "condition": specification.condition,
        "rests_on": rests_on(sheet),
        "who_and_when": who_and_when(sheet, system),
        "tally": _tally(sheet.checks),
        "unstepped": ", ".join(_zeros(sheet)),
        "assumptions": list(_assumptions(sheet.figures, system)),
        "sensitivity": [
            {**_figure(f, system, sources), "value": reading(f.value, f.kind, system).text}
            for f in sheet.figures
            if f.key.split(".")[0] == SENSITIVITY
        ],
        "groups": groups,
        "checks": [_check(check, system, sources) for check in sheet.checks],
        "reasons": [
            {
                "code": OUTCOMES[reason.outcome][0],
                "outcome": str(reason.outcome),
                "rule": reason.rule,
                "at": distance_text(reason.distance, system),
                "words": reason.words,
                "work": reason.work,
                "ref": sources.number(reason.source),
            }
            for reason in sheet.reasons
        ],
        "sources": sources.data(),
    }


def precise(value: float | str | None, kind: str, system: UnitSystem) -> str:
    """A value with enough digits to compute on by hand, and its unit."""
    if isinstance(value, str):
        return value or UNKNOWN
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if kind not in KINDS:
        return f"{value:.{DIGITS}g}"
    shown = show(value, kind, system)
    number = _digits(shown.value)
    gap = "" if shown.unit_text in ("", "°") else " "
    return f"{number}{gap}{shown.unit_text}"


def _digits(value: float) -> str:
    """`value` with five digits that count, never in powers of ten where they can be written out."""
    if value == 0:
        return "0"
    if abs(value) >= 1e9 or abs(value) < 1e-6:
        return f"{value:.{DIGITS - 1}e}"
    places = max(DIGITS - 1 - math.floor(math.log10(abs(value))), 0)
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _groups(
    figures: Iterable[Figure], system: UnitSystem, sources: SourceList
) -> Iterator[dict[str, Data]]:
    """Figures by what stands before the dot of their key, in the order of the sheet."""
    found: dict[str, list[Data]] = {}
    first: dict[tuple[str, tuple[FigureInput, ...]], str] = {}
    for figure in figures:
        name = figure.key.split(".")[0]
        if name == SENSITIVITY:
            continue
        same = first.setdefault((name, figure.inputs), figure.label) if figure.inputs else ""
        row = _figure(figure, system, sources, "" if same == figure.label else same)
        found.setdefault(name, []).append(row)
    for name, rows in found.items():
        yield {"title": _TITLES.get(name, name.replace("_", " ").capitalize()), "rows": rows}


def _figure(
    figure: Figure, system: UnitSystem, sources: SourceList, same: str = ""
) -> dict[str, Data]:
    return {
        "key": figure.key,
        "label": figure.label,
        "value": precise(figure.value, figure.kind, system),
        "how": figure.how,
        "inputs": [_input(given, system) for given in figure.inputs],
        "same": same,
        "source": _source(figure),
        "ref": sources.number(figure.source),
    }


def _source(figure: Figure) -> str:
    """Title and place of a figure's source."""
    return ", ".join(filter(None, (title_of(figure.source), place_of(figure.source))))


def _input(given: FigureInput, system: UnitSystem) -> Data:
    return {
        "name": given.name,
        "value": precise(given.value, given.kind, system),
        "standing": str(given.knowledge) if given.knowledge else "",
        "unsure": given.knowledge in _UNSURE,
    }


def _assumptions(figures: Iterable[Figure], system: UnitSystem) -> Iterator[Data]:
    """Inputs that nobody measured and no maker gave, each with what rests on it."""
    used: dict[tuple[str, str, str], list[str]] = {}
    for figure in figures:
        if figure.key.split(".")[0] == SENSITIVITY:
            continue
        for given in figure.inputs:
            if given.knowledge in _UNSURE:
                value = precise(given.value, given.kind, system)
                key = (given.name, value, str(given.knowledge))
                labels = used.setdefault(key, [])
                if figure.label not in labels:
                    labels.append(figure.label)
    for (name, value, standing), labels in used.items():
        yield {"name": name, "value": value, "standing": standing, "used": ", ".join(labels)}


def _zeros(sheet: WorkSheet) -> Iterator[str]:
    """Assumed inputs of the wall that are 0, so that a share of them changes nothing."""
    wall = sheet.figure("wall.required")
    for given in wall.inputs if wall else ():
        if given.knowledge in _UNSURE and given.value == 0:
            yield given.name


def _tally(checks: Iterable[Check]) -> str:
    """How many checks came out how, of how many: `11 of 12 met, 1 not assessed`."""
    found = Counter(check.outcome for check in checks)
    counts = [f"{found[outcome]} {outcome}" for outcome in Outcome if found[outcome]]
    rest = [words for words in counts if not words.endswith(f" {Outcome.MET}")]
    return ", ".join([f"{found[Outcome.MET]} of {found.total()} met", *rest])


def _check(check: Check, system: UnitSystem, sources: SourceList) -> Data:
    return {
        "code": _OUTCOME[check.outcome],
        "outcome": str(check.outcome),
        "name": check.name,
        "demand": precise(check.demand, check.kind, system),
        "capacity": precise(check.capacity, check.kind, system),
        "ratio": UNKNOWN if check.ratio is None else f"{check.ratio:.4g}",
        "note": check.note,
        "ref": sources.number(check.source),
    }
