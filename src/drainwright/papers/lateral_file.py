"""The lateral file: every verdict with its evidence, what is missing, and a certificate draft."""

from __future__ import annotations

import base64
import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from drainwright.acceptance.case import Case
from drainwright.acceptance.judge import Judged
from drainwright.acceptance.lots import lots_of
from drainwright.acceptance.verdict import Subject
from drainwright.checks import Check, Outcome
from drainwright.drawing.as_built_drawing import as_built_profile
from drainwright.papers.built_tables import as_built_rows, coupon_rows, tightness_rows, wall_rows
from drainwright.papers.cure_chart import cure_chart
from drainwright.papers.paper import Data, Svg, make_pdf
from drainwright.papers.sheet_head import Issue, drawn_profile, lateral_head, subject_of
from drainwright.papers.shown import UNKNOWN, SourceList, date_text, reading, time_text
from drainwright.records.acceptance import Acceptance
from drainwright.units import UnitSystem

MARKS = {Outcome.MET: "met", Outcome.NOT_MET: "not", Outcome.NOT_ASSESSED: "open"}
MOST_PROOFS = 6
"""Entries that a subject names one by one."""
ARCHIVE = "a-2b"
"""The standard of PDF the file is written to: PDF/A-2b, for keeping."""


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What a lateral file shows beside the verdict: signature and pictures by their hash."""

    case: Case
    judged: Judged
    at: dt.datetime
    by: str
    acceptance: Acceptance | None = None
    stills: Mapping[str, bytes] = field(default_factory=dict)
    """Content of each still that is named, by SHA-256."""


def lateral_file_pdf(facts: FileFacts, system: UnitSystem | None = None) -> bytes:
    """The lateral file as PDF/A; `PaperError` where it can't be set."""
    shown = system or facts.case.sheet.project.units
    data = lateral_file_data(facts, shown)
    return make_pdf("lateral_file", data, facts.at, standard=ARCHIVE)


def lateral_file_data(facts: FileFacts, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    case, verdict = facts.case, facts.judged.verdict
    sheet, sources = case.sheet, SourceList()
    issue = Issue(case.sheet_revision, facts.at, facts.by)
    subject = subject_of(sheet, case.sheet_revision)
    head = lateral_head(subject, system, "Lateral file")
    head["issued"] = f"{time_text(issue.at, sheet.project.zone, system)} by {issue.by}"
    subjects: list[Data] = [subject_data(one, system, sources) for one in verdict.subjects]
    return {
        **head,
        "verdict": {"code": MARKS[verdict.outcome], "words": verdict.words},
        "digest": verdict.digest(),
        "profile": drawn_profile(as_built_profile(case, system), system, 370.0),
        "subjects": subjects,
        "missing": list(verdict.missing),
        "failed": list(verdict.failed),
        "attempts": list(_attempts(case, system)),
        "lots": list(_lots(case)),
        "chart": cure_chart(case, system),
        "times": list(_times(case, system)),
        "stills": list(_stills(facts, system)),
        "tests": list(tightness_rows(case, system)),
        "walls": list(wall_rows(case, system)),
        "coupons": list(coupon_rows(facts.judged.coupons, system)),
        "as_built": list(as_built_rows(facts.judged.as_built, system)),
        "choices": list(facts.judged.as_built.choices),
        "faults": list(_faults(case, system)),
        "claims": list(_claims(case, system)),
        "certificate": _certificate(facts, system),
        "sources": sources.data(),
    }


def subject_data(subject: Subject, system: UnitSystem, sources: SourceList) -> dict[str, Data]:
    """One subject with its checks and what shows them."""
    return {
        "key": subject.key,
        "title": subject.title,
        "demanded": subject.demanded,
        "code": MARKS[subject.outcome],
        "outcome": str(subject.outcome) if subject.demanded else "not asked for",
        "met": sum(one.outcome is Outcome.MET for one in subject.checks),
        "count": len(subject.checks),
        "checks": [_check(one, system, sources) for one in subject.checks],
        "proofs": list(_proofs(subject)),
        "remarks": list(subject.remarks),
    }


def _proofs(subject: Subject) -> Iterator[Data]:
    """What shows it; of a long row of readings the first and the last ones."""
    given = [f"{p.words} [{short(p.ref)}]" if p.ref else p.words for p in subject.proofs]
    if len(given) <= MOST_PROOFS:
        yield from given
        return
    half = MOST_PROOFS // 2
    yield from given[:half]
    yield f"{len(given) - 2 * half} more in the field log"
    yield from given[-half:]


def short(ref: str) -> str:
    """A reference as a paper shows it: a hash or an id by its first letters."""
    bare = ref.replace("-", "")
    if len(bare) >= 32 and all(letter in "0123456789abcdef" for letter in bare):
        return ref[:13]
    return ref.replace("_", " ")


def _check(check: Check, system: UnitSystem, sources: SourceList) -> Data:
    def text(value: float | None) -> str:
        return UNKNOWN if value is None else reading(value, check.kind, system).text

    sign = "" if check.limit is None else ("≤ " if check.most else "≥ ")
    return {
        "code": MARKS[check.outcome],
        "outcome": str(check.outcome),
        "name": check.name,
        "limit": sign + text(check.limit),
        "reached": text(check.reached),
        "ratio": UNKNOWN if check.ratio is None else f"{check.ratio:.3g}",
        "note": check.note,
        "ref": sources.number(check.source),
    }


def _attempts(case: Case, system: UnitSystem) -> Iterator[Data]:
    zone = case.sheet.project.zone
    for one in case.attempts:
        yield {
            "number": str(one.number),
            "begun": time_text(one.begun, zone, system),
            "end": one.end.value if one.end else "runs",
            "ended": time_text(one.ending.at, zone, system) if one.ending else "",
            "cause": one.cause,
            "lost": one.word("material_lost"),
            "payer": one.payer,
            "entries": str(len(one.events)),
        }


def _lots(case: Case) -> Iterator[Data]:
    for use in lots_of({case.key: case.attempts}):
        yield [use.part, use.lot, f"attempt {use.attempt}, {use.end}"]


def _times(case: Case, system: UnitSystem) -> Iterator[Data]:
    """When the resin was mixed, steam came and went, and pressure was let down."""
    attempt, zone = case.cured, case.sheet.project.zone
    if attempt is None:
        return
    for step, words in (
        ("mixed", "A and B together"),
        ("seated", "collar seated"),
        ("steam_on", "steam on"),
        ("exhaust_steady", "exhaust steady"),
        ("steam_shut", "steam shut"),
        ("let_down", "pressure let down"),
        ("restored", "service restored"),
    ):
        at = attempt.time_of(step)
        yield [words, time_text(at, zone, system) if at else UNKNOWN]


def _stills(facts: FileFacts, system: UnitSystem) -> Iterator[Data]:
    """Stills before and after at the same distance; None where one is missing."""
    inspection = facts.case.inspection
    for one in inspection.places if inspection else ():
        if not one.still and not one.still_before:
            continue
        at = "" if one.distance is None else f" at {reading(one.distance, 'length', system).text}"
        yield {
            "words": f"{one.place}{at}",
            "before": _picture(facts, one.still_before),
            "after": _picture(facts, one.still),
        }


def _picture(facts: FileFacts, sha256: str) -> Data:
    content = facts.stills.get(sha256, b"")
    if not content:
        return None
    media = "png" if content.startswith(b"\x89PNG") else "jpeg"
    text = base64.b64encode(content).decode("ascii")
    return Svg(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        'viewBox="0 0 320 240" width="320" height="240">'
        f'<image width="320" height="240" href="data:image/{media};base64,{text}"/></svg>'
    )


def _faults(case: Case, system: UnitSystem) -> Iterator[Data]:
    for one in case.non_conformities:
        at = "" if one.distance is None else reading(one.distance, "length", system).text
        yield {
            "key": one.key,
            "found": f"{date_text(one.on, system)}, {one.by}",
            "what": ", ".join(filter(None, (one.what, at))),
            "limit": one.limit,
            "remedy": ", ".join(filter(None, (one.remedy, date_text(one.remedied_on, system)))),
            "retest": one.retest,
            "closed": ", ".join(filter(None, (date_text(one.closed_on, system), one.closed_by)))
            or "open",
        }


def _claims(case: Case, system: UnitSystem) -> Iterator[Data]:
    for one in case.claims:
        settled = date_text(one.settled_on, system) or "open"
        yield [one.key, date_text(one.on, system), one.by, one.what, one.answer, settled]


def _certificate(facts: FileFacts, system: UnitSystem) -> Data:
    verdict, signed = facts.judged.verdict, facts.acceptance
    lateral = facts.case.sheet.lateral
    zone = facts.case.sheet.project.zone
    return {
        "lateral": lateral.key,
        "address": lateral.address,
        "met": sum(one.outcome is Outcome.MET for one in verdict.demanded),
        "count": len(verdict.demanded),
        "open": [one.title for one in verdict.open],
        "signed": _signed(signed, zone, system) if signed else "",
        "reason": signed.reason if signed else "",
        "stale": bool(signed and signed.evidence != verdict.digest()),
    }


def _signed(signed: Acceptance, zone: str, system: UnitSystem) -> str:
    return f"{signed.step} by {signed.by}, {signed.role}, {time_text(signed.at, zone, system)}"


def stills_of(case: Case) -> tuple[str, ...]:
    """Hashes of the stills that the file shows."""
    places: Iterable[tuple[str, str]] = (
        (one.still_before, one.still) for one in (case.inspection.places if case.inspection else ())
    )
    return tuple(dict.fromkeys(sha for pair in places for sha in pair if sha))
