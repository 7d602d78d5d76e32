"""The daily report as a paper: what was done on which lateral, as the journal has it."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from drainwright.acceptance.daily_report import DailyReport, DayLine, LateralDay
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.papers.shown import date_text
from drainwright.records.project import Project
from drainwright.units import show

LOT_WORDS = {
    "lot_a": "A", "lot_b": "B", "tube_lot": "tube", "collar_lot": "collar", "seal_lot": "seals",
}  # fmt: skip


def daily_report_pdf(
    project: Project, report: DailyReport, heads: tuple[tuple[str, int, str], ...], issue: Issue
) -> bytes:
    """The report as PDF; `heads` are device, number and hash of the newest entry of each.

    Raises `PaperError` where it can't be set.
    """
    return make_pdf(
        "daily_report", daily_report_data(project, report, heads, issue), issue.timestamp
    )


def daily_report_data(
    project: Project, report: DailyReport, heads: tuple[tuple[str, int, str], ...], issue: Issue
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    zone = ZoneInfo(project.zone)
    day = f"{report.day:%A}, {date_text(report.day, project.units)}"
    return {
        **project_head(project, issue, project.units, "Daily report"),
        "day": day,
        "laterals": [_lateral(one, project, zone) for one in report.laterals],
        "heads": [[device, str(number), sha256[:16]] for device, number, sha256 in heads],
    }


def _lateral(one: LateralDay, project: Project, zone: ZoneInfo) -> dict[str, Data]:
    pressure = ""
    if one.pressure is not None:
        low, high = (show(value, "pressure", project.units) for value in one.pressure)
        pressure = f"tube pressure read {low.number} to {high.text}"
    facts = [
        "crew " + ", ".join(one.crew),
        f"{one.readings} readings between steps" if one.readings else "",
        pressure,
        "lots " + ", ".join(f"{LOT_WORDS[name]} {lot}" for name, lot in one.lots)
        if one.lots
        else "",
        f"{one.photos} photos" if one.photos else "",
        f"{one.corrected} entries corrected" if one.corrected else "",
        f"{one.from_paper} entries typed in from paper" if one.from_paper else "",
    ]
    return {
        "key": one.lateral,
        "attempt": f"attempt {one.attempt}",
        "end": _end(one),
        "facts": [fact for fact in facts if fact],
        "steps": _lines(one.steps, zone),
        "others": [
            {"title": title, "lines": _lines(lines, zone)}
            for title, lines in (
                ("No-go answers", one.refused),
                ("Readings kept outside their window", one.kept),
                ("Skipped", one.skipped),
                ("Alarms and remarks", one.remarks),
            )
            if lines
        ],
    }


def _end(one: LateralDay) -> str:
    if one.ending is None:
        return "not ended this day"
    ending = one.ending
    parts = [ending.answer, ending.reason]
    parts += [
        f"{words} {ending.word(name)}"
        for name, words in (("material_lost", "lost:"), ("left", "left:"), ("payer", "pays:"))
        if ending.word(name)
    ]
    parts += [f"crew {value.typed}" for value in ending.values]
    return "; ".join(part for part in parts if part)


def _lines(lines: tuple[DayLine, ...], zone: ZoneInfo) -> list[Data]:
    return [
        [
            f"{line.at.astimezone(zone):%H:%M}",
            line.words,
            ", ".join(part for part in (line.typed, line.note) if part),
            line.by,
        ]
        for line in lines
    ]
