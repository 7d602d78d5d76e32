"""What every paper about a lateral carries: title block, footer, what it was made from."""

from __future__ import annotations

import datetime as dt

from drainwright.drawing.lateral_drawing import sheet_profile
from drainwright.drawing.profile import ProfileOptions, draw_profile
from drainwright.errors import InputError, PaperError
from drainwright.papers.paper import Data, Svg
from drainwright.papers.shown import UNKNOWN, clock_text, date_text, reading, time_text
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import UnitSystem, kind_unit, show

# a sheet without a time of issue is a draft; its bytes still must not change
_DRAFT = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
# columns in which the key to numbered flags is set
KEY_COLUMNS = 4
_OUTCOMES = {
    Fitness.LINE: ("line", "Line it."),
    Fitness.PREPARE: ("prepare", "Prepare first."),
    Fitness.ASK: ("ask", "Ask the engineer."),
    Fitness.STOP: ("stop", "Do not line."),
}


def refuse_demo_resin(sheet: WorkSheet) -> None:
    """Raise `PaperError` where demo resin or a demo tube stands in a real project."""
    if sheet.project.demo:
        return
    for name, record in (("resin", sheet.resin), ("tube", sheet.tube)):
        if record is not None and record.demo:
            raise PaperError(
                f"{name} “{record.key}” is for demos only; lateral “{sheet.lateral.key}” "
                "of a real project gets no paper with it"
            )


def timestamp(sheet: WorkSheet) -> dt.datetime:
    """The time a paper bears: that of the sheet's issue."""
    return sheet.issued_at or _DRAFT


def head_data(sheet: WorkSheet, revision: int, system: UnitSystem, paper: str) -> dict[str, Data]:
    """Names, page size, title block and footer of a paper about a lateral."""
    lateral, project = sheet.lateral, sheet.project
    code, words = _OUTCOMES[sheet.outcome]
    issued = time_text(sheet.issued_at, project.zone, system)
    if issued and sheet.issued_by:
        issued += f" by {sheet.issued_by}"
    return {
        "paper": paper,
        "size": "us-letter" if system is UnitSystem.US else "a4",
        "project": project.name,
        "key": lateral.key,
        "place": _place(sheet),
        "revision": f"revision {revision}" if revision else "",
        "revision_words": (
            f"Revision {revision}: not valid after a change"
            if revision
            else "A draft: not valid for work, and not after a change"
        ),
        "issued": issued or "draft, not issued",
        "outcome": {"code": code, "words": words},
        "demo": project.demo,
        "demo_resin": bool((sheet.resin and sheet.resin.demo) or (sheet.tube and sheet.tube.demo)),
        "title_block": _title_block(sheet, revision, system),
        "made_from": [f"{_words(d.document)} {d.key} rev {d.revision}" for d in sheet.made_from],
    }


def _place(sheet: WorkSheet) -> str:
    """Address, street where the address lacks it, and town."""
    lateral = sheet.lateral
    street = "" if lateral.street and lateral.street in lateral.address else lateral.street
    return " · ".join(filter(None, (lateral.address, street, sheet.project.town)))


def _words(document: str) -> str:
    """`MainSegment` as `main segment`."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in document).strip()


def _title_block(sheet: WorkSheet, revision: int, system: UnitSystem) -> list[Data]:
    lateral, segment, survey = sheet.lateral, sheet.segment, sheet.survey
    size = size_text(lateral.inside_diameter, system)
    tap = show(lateral.tap_distance, "length", system).text
    tap = f"{tap} from {segment.from_manhole}"
    tap = ", ".join(filter(None, (tap, clock_text(lateral.tap_clock), str(lateral.tap_kind))))
    main = f"{size_text(segment.inside_diameter, system)} {segment.material}".strip()
    rows: list[tuple[str, str]] = [
        ("lateral", f"{lateral.key}, {size} {lateral.material}".strip()),
        ("tap", tap),
        ("main", f"{main}, {segment.from_manhole} to {segment.to_manhole}"),
        ("survey", _survey_text(sheet, system)),
        ("design", f"rev {revision}, {sheet.specification.wall_method}" if revision else "draft"),
        ("condition", sheet.specification.condition),
        ("units", "US" if system is UnitSystem.US else "SI"),
    ]
    if survey is None:
        rows[3] = ("survey", "none")
    return [list(row) for row in rows]


def _survey_text(sheet: WorkSheet, system: UnitSystem) -> str:
    if sheet.survey is None:
        return ""
    revisions = [d.revision for d in sheet.made_from if d.document == "Survey"]
    parts = [date_text(sheet.survey.date, system), str(sheet.survey.method)]
    return ", ".join(parts + [f"rev {number}" for number in revisions[-1:]])


def size_text(diameter: float | None, system: UnitSystem) -> str:
    """A pipe size without needless decimals, such as `4 in`."""
    if diameter is None:
        return "size not known"
    number = show(diameter, "diameter", system).number
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{number} {kind_unit('diameter', system)}"


def profile_data(sheet: WorkSheet, system: UnitSystem, height: float = 430.0) -> dict[str, Data]:
    """The profile as SVG and the key to its numbered flags; a reason where it can't be drawn."""
    options = ProfileOptions(width=980.0, height=height)
    try:
        drawn = draw_profile(sheet_profile(sheet, system), system, options)
    except InputError as error:
        why = "; ".join(str(fault) for fault in error.faults)
        return {"svg": None, "key": [], "why": f"The profile can’t be drawn: {why}", "key_rows": 0}
    entries: list[Data] = [{"number": str(e.number), "text": e.text} for e in drawn.key]
    rows = -(-len(entries) // KEY_COLUMNS)
    key: list[Data] = [entries[at : at + rows] for at in range(0, len(entries), rows or 1)]
    return {"svg": Svg(drawn.svg), "key": key, "why": "", "key_rows": rows}


def value_or_dash(sheet: WorkSheet, key: str, system: UnitSystem) -> str:
    """A figure's text; “—” where the sheet has none."""
    figure = sheet.figure(key)
    return UNKNOWN if figure is None else reading(figure.value, figure.kind, system).whole
