"""The work sheet as PDF: the profile, what to make up, how to put it in, and why."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drainwright.checks import Check, Outcome
from drainwright.papers.columns import Laid, group_rows, lay_columns
from drainwright.papers.crew_words import NOT_FOR_CREWS, checks_for_crew, for_crew, grouped
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import (
    OUTCOMES,
    lateral_head,
    outcome_data,
    refuse_demo_resin,
    sheet_profile_data,
    subject_of,
)
from drainwright.papers.shown import (
    UNKNOWN,
    SourceList,
    distance_text,
    input_text,
    reading,
)
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, Fitness, Reason, WorkSheet
from drainwright.units import UnitSystem

# lines that fit a column of the first sheet in US Letter in the smallest letters, and how many
# more in A4
ROWS = 41
SI_ROWS = 3
# heights of the profile, each with the lines it frees; the lower one where figures go overleaf
HEIGHTS = ((400.0, 0), (345.0, 4))
# reasons on the first sheet, their lines, and letters of a reason on one line
REASONS = 5
REASON_LINES = 15
STOP_REASONS, STOP_LINES = 12, 30
REASON_LETTERS = 34
_UNSURE = (Knowledge.ASSUMED, Knowledge.MEMORY)
_OUTCOME = {Outcome.MET: "met", Outcome.NOT_MET: "not", Outcome.NOT_ASSESSED: "open"}


def work_sheet_pdf(sheet: WorkSheet, *, revision: int, system: UnitSystem | None = None) -> bytes:
    """The work sheet of one lateral as PDF, in the project's units or in `system`.

    `revision` is the sheet's own in the store, 0 for a draft. Raises `PaperError` where demo
    material stands in a real project or the paper can't be set.
    """
    refuse_demo_resin(sheet)
    data = work_sheet_data(sheet, revision, system or sheet.project.units)
    return make_pdf("work_sheet", data, subject_of(sheet, revision).issue.timestamp)


def work_sheet_data(sheet: WorkSheet, revision: int, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    first = _first_sheet(sheet, system, HEIGHTS[0])
    if first.laid.beyond:
        first = _first_sheet(sheet, system, HEIGHTS[1])
    stop, shown, sources = sheet.outcome is Fitness.STOP, _shown_checks(sheet), first.sources
    return {
        **lateral_head(subject_of(sheet, revision), system, "Work sheet"),
        "outcome": outcome_data(sheet.outcome),
        "stop": stop,
        "summary": _summary(sheet),
        **first.data,
        "open_checks": sum(check.outcome is Outcome.NOT_ASSESSED for check in shown),
        "columns": first.laid.columns,
        "beyond": first.laid.beyond,
        "checks": [_check(check, system, sources) for check in shown],
        "assumptions": [] if stop else _assumptions(for_crew(sheet.figures), system),
        "cautions": list(sheet.cautions),
        "sources": sources.data(),
    }


@dataclass(frozen=True, slots=True)
class _First:
    """The first sheet: its data, its columns, and the sources named so far."""

    data: dict[str, Data]
    laid: Laid
    sources: SourceList


def _first_sheet(sheet: WorkSheet, system: UnitSystem, height: tuple[float, int]) -> _First:
    """The first sheet with a profile of a height, and the lines gained by it."""
    sources = SourceList()
    profile = sheet_profile_data(sheet, system, height[0])
    reasons: list[Data] = [_reason(reason, system, sources) for reason in sheet.reasons]
    failed = [check for check in _shown_checks(sheet) if check.outcome is Outcome.NOT_MET]
    failed_rows: list[Data] = [_check(check, system, sources) for check in failed]
    count, lines = _first_reasons(sheet.reasons, stop=sheet.outcome is Fitness.STOP)
    key_rows = 3 * int(str(profile["key_rows"])) // 4
    laid = _lay(sheet, system, sources, (key_rows - height[1], lines + 2 * len(failed)))
    data: dict[str, Data] = {
        "profile": profile,
        "reasons": reasons,
        "first_reasons": count,
        "failed": failed_rows,
    }
    return _First(data, laid, sources)


def _shown_checks(sheet: WorkSheet) -> tuple[Check, ...]:
    """Checks on the crew's paper; none for a lateral that is not lined."""
    return () if sheet.outcome is Fitness.STOP else tuple(checks_for_crew(sheet.checks))


def _first_reasons(reasons: Sequence[Reason], *, stop: bool) -> tuple[int, int]:
    """How many reasons stand on the first sheet, and the lines they and the outcome take.

    A lateral that is not lined has no figures, so its reasons have the sheet to themselves.
    """
    most, room = (STOP_REASONS, STOP_LINES) if stop else (REASONS, REASON_LINES)
    lines = 4
    for count, reason in enumerate(reasons):
        more = 1 + (len(reason.words) + len(reason.work) + 10) // REASON_LETTERS
        if count >= most or lines + more > room:
            return count, lines + 1
        lines += more
    return len(reasons), lines


def _summary(sheet: WorkSheet) -> str:
    works = sum(1 for reason in sheet.reasons if reason.work)
    if sheet.outcome is Fitness.LINE and not sheet.reasons:
        return "Everything seen is within the specification."
    reasons = _count(len(sheet.reasons), "reason")
    return f"{reasons}, {_count(works, 'work')} to do." if works else f"{reasons}."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")


def _lay(
    sheet: WorkSheet, system: UnitSystem, sources: SourceList, before: tuple[int, int]
) -> Laid:
    """The columns of the first sheet; `before` is rows taken above all, and in the first.

    A lateral that is not lined has no make-up numbers, whatever the sheet holds.
    """
    figures = for_crew(sheet.figures)
    if sheet.outcome is Fitness.STOP:
        kept = [group for group in grouped(figures) if group.key == "length"]
        return Laid([[group_rows(group, system, sources) for group in kept], [], []], [])
    room = ROWS + (SI_ROWS if system is UnitSystem.SI else 0) - before[0]
    return lay_columns(figures, system, sources, (room - before[1], room, room))


def _reason(reason: Reason, system: UnitSystem, sources: SourceList) -> Data:
    return {
        "code": OUTCOMES[reason.outcome][0],
        "outcome": str(reason.outcome),
        "at": distance_text(reason.distance, system),
        "words": reason.words,
        "work": reason.work,
        "ref": sources.number(reason.source),
    }


def _check(check: Check, system: UnitSystem, sources: SourceList) -> Data:
    hidden = check.source.source.title
    return {
        "code": _OUTCOME[check.outcome],
        "outcome": str(check.outcome),
        "name": check.name,
        "demand": reading(check.demand, check.kind, system, "up").text,
        "capacity": reading(check.capacity, check.kind, system, "down").text,
        "ratio": UNKNOWN if check.ratio is None else f"{check.ratio:.2f}",
        "note": check.note,
        "ref": None if NOT_FOR_CREWS.search(hidden) else sources.number(check.source),
    }


def _assumptions(figures: Iterable[Figure], system: UnitSystem) -> list[Data]:
    """Inputs that nobody measured and no maker gave, by the figures that rest on them."""
    used: dict[str, list[str]] = {}
    for figure in figures:
        if figure.key.startswith("resin.life"):
            continue  # the deadlines rest on the same
        label = "deadlines" if figure.key.startswith("deadline.") else figure.label
        for given in figure.inputs:
            if given.knowledge in _UNSURE:
                words = f"{given.name} {input_text(given, system)} ({given.knowledge})"
                labels = used.setdefault(words, [])
                if label not in labels:
                    labels.append(label)
    together: dict[str, list[str]] = {}
    for words, labels in used.items():
        together.setdefault(", ".join(labels), []).append(words)
    return [{"used": used_in, "inputs": "; ".join(words)} for used_in, words in together.items()]
