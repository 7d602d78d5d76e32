"""What every paper carries: page size, title block, footer, what it was made from."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field

from drainwright.drawing.lateral_drawing import lateral_profile, site_of_sheet
from drainwright.drawing.profile import ProfileOptions, draw_profile
from drainwright.drawing.profile_input import ProfileInput
from drainwright.errors import InputError, PaperError
from drainwright.papers.paper import Data, Svg
from drainwright.papers.shown import clock_text, date_text, reading, time_text
from drainwright.planning.site import Site
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.records.survey import Survey
from drainwright.records.work_sheet import DocumentRef, Fitness, WorkSheet
from drainwright.units import UnitSystem, kind_unit, show

# a paper without a time of issue is a draft; its bytes still must not change
_DRAFT = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)
# columns in which the key to numbered flags is set
KEY_COLUMNS = 4
OUTCOMES = {
    Fitness.LINE: ("line", "Line it."),
    Fitness.PREPARE: ("prepare", "Prepare first."),
    Fitness.ASK: ("ask", "Ask the engineer."),
    Fitness.STOP: ("stop", "Do not line."),
}
# stamped on every paper of a lateral on which nothing may be mixed
STAMPS = {
    Fitness.PREPARE: "NOT RELEASED: works first",
    Fitness.ASK: "NOT RELEASED: ask the engineer",
    Fitness.STOP: "DO NOT LINE",
}


@dataclass(frozen=True, slots=True)
class Issue:
    """Revision of the document a paper shows, when it was issued and by whom; 0 for a draft."""

    revision: int = 0
    at: dt.datetime | None = None
    by: str = ""

    @property
    def timestamp(self) -> dt.datetime:
        """The time the PDF bears."""
        return self.at or _DRAFT


@dataclass(frozen=True, slots=True)
class Subject:
    """The lateral a paper is about, with what its title block names."""

    project: Project
    segment: MainSegment
    lateral: Lateral
    survey: Survey | None
    issue: Issue
    document: str = "work sheet"
    """What the revision counts."""
    method: str = ""
    condition: str = ""
    demo_material: bool = False
    outcome: Fitness | None = None
    """Of the work sheet it is made from; none where the paper has no say in it."""
    made_from: tuple[DocumentRef, ...] = field(default=())


def subject_of(sheet: WorkSheet, revision: int) -> Subject:
    """The subject of a paper made from a work sheet."""
    materials = (sheet.resin, sheet.tube)
    return Subject(
        project=sheet.project,
        segment=sheet.segment,
        lateral=sheet.lateral,
        survey=sheet.survey,
        issue=Issue(revision, sheet.issued_at, sheet.issued_by),
        method=sheet.specification.wall_method,
        condition=sheet.specification.condition,
        demo_material=any(record is not None and record.demo for record in materials),
        outcome=sheet.outcome,
        made_from=sheet.made_from,
    )


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


def project_head(
    project: Project, issue: Issue, system: UnitSystem, paper: str, key: str = ""
) -> dict[str, Data]:
    """Page size, names and footer of a paper about a project or some part of it."""
    issued = time_text(issue.at, project.zone, system)
    if issued and issue.by:
        issued += f" by {issue.by}"
    revision = f"revision {issue.revision}" if issue.revision else ""
    return {
        "paper": paper,
        "size": "us-letter" if system is UnitSystem.US else "a4",
        "project": project.name,
        "key": key or project.name,
        "place": " · ".join(filter(None, (project.owner, project.town))),
        "revision": revision,
        "issued": issued or "draft, not issued",
        "demo": project.demo,
        "demo_material": False,
        "title_block": [["project", project.name], ["units", _system_text(system)]],
    }


def lateral_head(subject: Subject, system: UnitSystem, paper: str) -> dict[str, Data]:
    """Page size, names, title block and footer of a paper about a lateral."""
    number = subject.issue.revision
    return {
        **project_head(subject.project, subject.issue, system, paper, subject.lateral.key),
        "place": _place(subject),
        "revision_words": (
            f"Revision {number}: not valid after a change"
            if number
            else "A draft: not valid for work, and not after a change"
        ),
        "demo_material": subject.demo_material,
        "stamp": _stamp(subject),
        "tap": tap_text(subject, system),
        "title_block": _title_block(subject, system),
        "made_from": [f"{_words(d.document)} {d.key} rev {d.revision}" for d in subject.made_from],
    }


def _stamp(subject: Subject) -> str:
    """What keeps a paper from being taken for a released one; empty where nothing does."""
    if subject.outcome is None:
        return ""
    draft = "" if subject.issue.revision else "DRAFT, not for work"
    return STAMPS.get(subject.outcome, draft)


def outcome_data(outcome: Fitness) -> dict[str, Data]:
    """The outcome's shape and words."""
    code, words = OUTCOMES[outcome]
    return {"code": code, "words": words}


def _system_text(system: UnitSystem) -> str:
    return "US" if system is UnitSystem.US else "SI"


def _place(subject: Subject) -> str:
    """Address, street where the address lacks it, and town."""
    lateral = subject.lateral
    street = "" if lateral.street and lateral.street in lateral.address else lateral.street
    return " · ".join(filter(None, (lateral.address, street, subject.project.town)))


def _words(document: str) -> str:
    """`MainSegment` as `main segment`."""
    return "".join(f" {c.lower()}" if c.isupper() else c for c in document).strip()


def _title_block(subject: Subject, system: UnitSystem) -> list[Data]:
    lateral, segment = subject.lateral, subject.segment
    size = size_text(lateral.inside_diameter, system)
    main = f"{size_text(segment.inside_diameter, system)} {segment.material}".strip()
    revision = f"rev {subject.issue.revision}" if subject.issue.revision else "draft"
    rows = [
        ("lateral", f"{lateral.key}, {size} {lateral.material}".strip()),
        ("main", f"{main}, {segment.from_manhole} to {segment.to_manhole}"),
        ("survey", _survey_text(subject, system)),
        ("design" if subject.method else subject.document, revision),
        ("condition", subject.condition),
        ("units", _system_text(system)),
    ]
    if subject.method:
        rows[3] = ("design", f"{revision}, {subject.method}")
    return [list(row) for row in rows if row[1]]


def tap_text(subject: Subject, system: UnitSystem) -> str:
    """Where the tap is on the main, and what kind it is."""
    lateral = subject.lateral
    at = f"{reading(lateral.tap_distance, 'length', system).whole} from "
    at += subject.segment.from_manhole
    kind = "" if lateral.tap_kind == "unknown" else str(lateral.tap_kind)
    return ", ".join(filter(None, (at, clock_text(lateral.tap_clock), kind)))


def _survey_text(subject: Subject, system: UnitSystem) -> str:
    survey = subject.survey
    if survey is None:
        return "none"
    revisions = [d.revision for d in subject.made_from if d.document == "Survey"]
    parts = [date_text(survey.date, system), str(survey.method)]
    return ", ".join(parts + [f"rev {number}" for number in revisions[-1:]])


def size_text(diameter: float | None, system: UnitSystem) -> str:
    """A pipe size without needless decimals, such as `4 in`."""
    if diameter is None:
        return "size not known"
    number = show(diameter, "diameter", system).number
    number = number.rstrip("0").rstrip(".") if "." in number else number
    return f"{number} {kind_unit('diameter', system)}"


def sheet_profile_data(
    sheet: WorkSheet, system: UnitSystem, height: float = 430.0
) -> dict[str, Data]:
    """The profile of a work sheet as SVG, with the key to its numbered flags."""
    return profile_data(site_of_sheet(sheet), system, sheet, height)


def profile_data(
    site: Site, system: UnitSystem, plan: WorkSheet | None = None, height: float = 430.0
) -> dict[str, Data]:
    """A profile as SVG and the key to its numbered flags; a reason where it can't be drawn."""
    return drawn_profile(lateral_profile(site, system, plan), system, height)


def drawn_profile(given: ProfileInput, system: UnitSystem, height: float) -> dict[str, Data]:
    """A profile that is put together already, as SVG with its key."""
    options = ProfileOptions(width=980.0, height=height)
    try:
        drawn = draw_profile(given, system, options)
    except InputError as error:
        why = "; ".join(str(fault) for fault in error.faults)
        return {"svg": None, "key": [], "key_rows": 0, "why": f"No profile can be drawn: {why}"}
    entries: list[Data] = [{"number": str(e.number), "text": e.text} for e in drawn.key]
    rows = -(-len(entries) // KEY_COLUMNS)
    key: list[Data] = [entries[at : at + rows] for at in range(0, len(entries), rows or 1)]
    return {"svg": Svg(drawn.svg), "key": key, "key_rows": rows, "why": ""}
