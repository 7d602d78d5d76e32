"""The acceptance of one lateral as its page shows it (read), and what the page enters (write)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from drainwright.acceptance.case import Case
from drainwright.acceptance.judge import judge
from drainwright.acceptance.verdict import Subject, Verdict
from drainwright.checks import Check, Outcome
from drainwright.drawing.as_built_drawing import as_built_profile
from drainwright.drawing.profile import ProfileOptions, draw_profile
from drainwright.errors import Fault, InputError
from drainwright.operations.days_in_words import with_days
from drainwright.operations.draw_lateral import HEIGHT, WIDTH
from drainwright.operations.lateral_case import case_of, shared_of
from drainwright.operations.lateral_file import acceptance_of
from drainwright.operations.record_tests import Recorded, next_number, record_one
from drainwright.operations.show_columns import ShownSource, shown_source
from drainwright.papers.lateral_file import short
from drainwright.papers.shown import UNKNOWN, reading, time_text
from drainwright.records.acceptance import Acceptance
from drainwright.records.lateral import Lateral
from drainwright.records.post_inspection import Looked, PostInspection, TvPlace
from drainwright.records.project import Project
from drainwright.records.tightness_report import TestScope, TightnessReport
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem

METHODS = (
    "hold", "astm-f1417", "ncpi", "astm-c828", "en1610-la", "en1610-lb", "en1610-lc",
    "en1610-ld", "en1610-w", "water-level", "exfiltration",
)  # fmt: skip
"""Methods of tightness in the order a page offers them."""
PLACES = tuple(place.value for place in TvPlace)
LOOKED = tuple(looked.value for looked in Looked)
SCOPES = tuple(scope.value for scope in TestScope)
_MARKS = {Outcome.MET: "line", Outcome.NOT_MET: "stop", Outcome.NOT_ASSESSED: "open"}


@dataclass(frozen=True, slots=True)
class CheckLine:
    """One check in words."""

    name: str
    mark: str
    outcome: str
    limit: str
    reached: str
    note: str
    source: ShownSource


@dataclass(frozen=True, slots=True)
class SubjectLine:
    """One subject in words."""

    key: str
    title: str
    mark: str
    outcome: str
    met: str
    checks: tuple[CheckLine, ...]
    proofs: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OpenAcceptance:
    """Everything the page of a lateral's acceptance shows."""

    lateral: Lateral
    stage: str
    attempt: int
    mark: str
    words: str
    subjects: tuple[SubjectLine, ...]
    missing: tuple[str, ...]
    failed: tuple[str, ...]
    signed: str
    """The signature in force in words; "" without one."""
    stale: bool
    """Whether the record has changed since it was signed."""
    needs_reason: bool
    drawing: str
    """The profile as built; "" for a lateral that is not lined yet."""


def open_acceptance(store: RecordStore, project: Project, key: str) -> OpenAcceptance:
    """The verdicts on the lateral `key`; `NotFoundError` where it was never planned."""
    system = project.units
    with store.read() as session:
        stored = session.get(project.key, Lateral, key)
        case = case_of(session, project.key, key, shared_of(session, project.key))
        signed = acceptance_of(session, project.key, key)
    verdict = judge(case).verdict
    return OpenAcceptance(
        stored.record,
        stored.stage,
        verdict.attempt,
        _MARKS[verdict.outcome] if verdict.attempt else "open",
        verdict.words if verdict.attempt else "not lined yet",
        tuple(_subject(one, system) for one in verdict.subjects),
        tuple(_plainly(words, system) for words in verdict.missing),
        tuple(_plainly(words, system) for words in verdict.failed),
        _signed(signed, project),
        bool(signed and signed.evidence != verdict.digest()),
        bool(verdict.open),
        _drawn(case, system),
    )


def _drawn(case: Case, system: UnitSystem) -> str:
    if case.cured is None:
        return ""
    options = ProfileOptions(width=WIDTH, height=HEIGHT, prefix="p-")
    try:
        return draw_profile(as_built_profile(case, system), system, options).svg
    except InputError:
        return ""


def _plainly(words: str, system: UnitSystem) -> str:
    """“Coupons: coupons: none” without the second name."""
    title, _, rest = words.partition(": ")
    name, _, told = rest.partition(": ")
    return with_days(f"{title}: {told}" if told and name == title.lower() else words, system)


def _subject(one: Subject, system: UnitSystem) -> SubjectLine:
    met = sum(check.outcome is Outcome.MET for check in one.checks)
    return SubjectLine(
        one.key,
        one.title,
        _MARKS[one.outcome],
        one.outcome.value if one.demanded else "not asked for",
        f"{met} of {len(one.checks)}" if one.demanded else "",
        tuple(_check(check, system) for check in one.checks),
        tuple(
            with_days(f"{p.words} [{short(p.ref)}]" if p.ref else p.words, system)
            for p in one.proofs
        ),
        tuple(with_days(words, system) for words in one.remarks),
    )


def _check(check: Check, system: UnitSystem) -> CheckLine:
    def text(value: float | None) -> str:
        return UNKNOWN if value is None else reading(value, check.kind, system).text

    sign = "" if check.limit is None else ("≤ " if check.most else "≥ ")
    return CheckLine(
        check.name, _MARKS[check.outcome], check.outcome.value, sign + text(check.limit),
        text(check.reached), with_days(check.note, system), shown_source(check.source),
    )  # fmt: skip


def _signed(signed: Acceptance | None, project: Project) -> str:
    if signed is None:
        return ""
    at = time_text(signed.at, project.zone, project.units)
    reason = f": {signed.reason}" if signed.reason else ""
    return f"{signed.step} by {signed.by}, {signed.role}, {at}{reason}"


def open_subjects(verdict: Verdict) -> tuple[str, ...]:
    """Titles of the subjects that are not met or not assessed."""
    return tuple(one.title for one in verdict.open)


# ---------------------------------------------------------------- what the page enters


def enter_tightness(
    store: RecordStore, project: Project, key: str, typed: Mapping[str, str], *, by: str,
    at: dt.datetime,
) -> Recorded:  # fmt: skip
    """Keep a tightness test as typed; `InputError` with every fault of it.

    Numbers come with their units; readings one a line: time, pressure and temperature, parted by
    commas. Sections are `diameter × length`, several parted by semicolons.
    """
    faults: list[Fault] = []
    given: dict[str, Any] = {"lateral": key, "by": typed.get("tester", "").strip() or by}
    given["number"] = next_number(store, project.key, TightnessReport, key)
    given["at"] = _moment(typed.get("at", ""), project.zone, faults)
    not_isolated = typed.get("not_isolated", "").strip()
    given["method"] = "" if not_isolated else typed.get("method", "")
    for name in (
        "scope", "inside", "start_pressure", "allowed_drop", "test_time", "water_above_pipe",
        "water_added", "gauge", "not_isolated", "remark",
    ):  # fmt: skip
        if typed.get(name, "").strip():
            given[name] = typed[name].strip()
    if typed.get("gauge_due", "").strip():
        given["gauge_due"] = _day(typed["gauge_due"], "gauge_due", faults)
    given["sections"] = list(_sections(typed.get("sections", ""), faults))
    given["plugs"] = [{"place": one} for one in _parts(typed.get("plugs", ""), ";")]
    given["readings"] = [_parts(line, ",") for line in _parts(typed.get("readings", ""), "\n")]
    return _enter(store, project, ("tightness", given), faults, (by, at))


def enter_inspection(
    store: RecordStore, project: Project, key: str, typed: Mapping[str, str], *, by: str,
    at: dt.datetime,
) -> Recorded:  # fmt: skip
    """Keep a post-lining inspection as answered; `InputError` with every fault of it.

    The answer for the place number n is in `looked-n`, its distance, wrinkle and words in
    `distance-n`, `wrinkle-n`, `words-n`; a place without an answer is left out and stays open.
    """
    faults: list[Fault] = []
    given: dict[str, Any] = {"lateral": key, "by": typed.get("viewer", "").strip() or by}
    given["number"] = next_number(store, project.key, PostInspection, key)
    given["on"] = _day(typed.get("on", ""), "on", faults)
    if typed.get("delivered", "").strip():
        given["delivered"] = _day(typed["delivered"], "delivered", faults)
    for name in ("groundwater", "main_reduced", "remark"):
        if typed.get(name, "").strip():
            given[name] = typed[name].strip()
    given["places"] = list(_places(typed))
    video: dict[str, Any] = {}
    for name in ("file", "speed", "water_level"):
        if typed.get(name, "").strip():
            video[name] = typed[name].strip()
    for name in ("identity", "zeroed", "tap_panned", "lens_clear"):
        if typed.get(name) in ("yes", "no"):
            video[name] = typed[name] == "yes"
    given["video"] = video
    return _enter(store, project, ("post_inspection", given), faults, (by, at))


def _enter(
    store: RecordStore, project: Project, given: tuple[str, dict[str, Any]], faults: list[Fault],
    made: tuple[str, dt.datetime],
) -> Recorded:  # fmt: skip
    from drainwright.exchange.acceptance_file import acceptance_records

    name, values = given
    if faults:
        raise InputError(*faults)
    (record,) = acceptance_records({name: [values]}, "", project.zone)
    by, at = made
    return record_one(store, project.key, record, by=by, at=at, origin="page")


def _parts(text: str, mark: str) -> list[str]:
    return [part.strip() for part in text.split(mark) if part.strip()]


def _sections(text: str, faults: list[Fault]) -> Iterator[dict[str, str]]:
    for part in _parts(text, ";"):
        pair: Sequence[str] = part.replace("×", " x ").split(" x ")
        if len(pair) != 2:
            faults.append(Fault("sections", "write each as 4 in × 44.1 ft", part))
            continue
        yield {"diameter": pair[0].strip(), "length": pair[1].strip()}


def _places(typed: Mapping[str, str]) -> Iterator[dict[str, str]]:
    for number, place in enumerate(PLACES, 1):
        looked = typed.get(f"looked-{number}", "").strip()
        if not looked:
            continue
        row = {"place": place, "looked": looked}
        for name in ("distance", "wrinkle", "words"):
            value = typed.get(f"{name}-{number}", "").strip()
            if value:
                row[name] = value
        yield row


def _day(text: str, name: str, faults: list[Fault]) -> dt.date:
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError:
        faults.append(Fault(name, "must be a date such as 2026-11-18", text))
        return dt.date.min


def _moment(text: str, zone: str, faults: list[Fault]) -> dt.datetime:
    try:
        found = dt.datetime.fromisoformat(text.strip().replace(" ", "T"))
    except ValueError:
        faults.append(Fault("at", "must be a time such as 2026-11-18 09:12", text))
        return dt.datetime.min.replace(tzinfo=dt.UTC)
    return found if found.tzinfo else found.replace(tzinfo=ZoneInfo(zone))
