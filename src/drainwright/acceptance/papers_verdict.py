"""Instruments in calibration, papers complete, non-conformities closed."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Proof, Subject, answered
from drainwright.checks import Check, at_least, not_assessed
from drainwright.records.field_entry import EntryKind
from drainwright.sources import cite

_CALIBRATION = cite("practice", "instruments in calibration")
_PAPERS = cite("practice", "papers around the job")
_ACCESS = cite("ramsey", "service restored")


def instruments(case: Case) -> Subject:
    """Every gauge that was read, and whether its calibration held that day."""
    used = dict(sorted(_used(case).items()))
    checks = tuple(_gauge(name, *entry) for name, entry in used.items())
    if not checks:
        why = "no instrument is named in the record"
        checks = (not_assessed("instruments named", "", _CALIBRATION, why),)
    proofs = tuple(Proof(f"rig {case.rig.key}: {gauge.key}", f"rig {case.rig.key}")
                   for gauge in (case.rig.gauges if case.rig else ()) if case.rig
                   and gauge.key in used)  # fmt: skip
    return Subject("instruments", "Instruments", checks, proofs)


def _used(case: Case) -> dict[str, tuple[dt.date, dt.date | None]]:
    """Gauge: last day it was used, and the day its calibration runs out."""
    due = {gauge.key: gauge.calibration_due for gauge in (case.rig.gauges if case.rig else ())}
    found: dict[str, tuple[dt.date, dt.date | None]] = {}
    attempt = case.cured
    for event in attempt.events if attempt else ():
        name = event.word("gauge")
        if name:
            found[name] = (case.day(event.at), due.get(name))
    for report in case.tightness:
        if report.gauge:
            until = report.gauge_due or due.get(report.gauge)
            found[report.gauge] = (case.day(report.at), until)
    for one in case.walls:
        if one.gauge:
            found[one.gauge] = (one.on, one.gauge_due or due.get(one.gauge))
    return found


def _gauge(name: str, day: dt.date, until: dt.date | None) -> Check:
    words = f"{name}: days of calibration left"
    if until is None:
        return not_assessed(words, "count", _CALIBRATION, "no calibration is on record")
    left = float((until - day).days)
    return at_least(words, left, 0.0, "count", _CALIBRATION, f"used {day}, due {until}")


def papers(case: Case) -> Subject:
    """Work sheet, release, steps that protect people, service restored, submittals, claims."""
    attempt = case.cured
    checks = [_sheet(case), _proof(case)]
    if attempt is None:
        checks.append(not_assessed("field log complete", "", _PAPERS, "no attempt ended cured"))
    else:
        released = [e for e in attempt.events if e.kind is EntryKind.RELEASE]
        by = released[-1].entered_by if released else "not in the record"
        checks.append(
            answered("mixing released by name", _PAPERS, by, yes=True if released else None)
        )
        for step, words in (
            ("permits", "permits on site"),
            ("restored", "service restored and resident told"),
        ):
            done = attempt.time_of(step)
            skipped = any(e.kind is EntryKind.SKIP and e.step == step for e in attempt.events)
            note = "" if done else ("left out" if skipped else "not in the record")
            source = _PAPERS if step == "permits" else _ACCESS
            yes = True if done else (False if skipped else None)
            checks.append(answered(words, source, note, yes=yes))
    checks += _submittals(case)
    checks += [_claim_check(case)]
    return Subject("papers", "Papers", tuple(checks), tuple(_proofs(case)))


def _sheet(case: Case) -> Check:
    sheet = case.sheet
    note = f"revision {case.sheet_revision}, by {sheet.issued_by}" if sheet.issued_at else "draft"
    return answered("work sheet issued", _PAPERS, note, yes=True if sheet.issued_at else None)


def _proof(case: Case) -> Check:
    proof = case.sheet.lateral.proof
    note = f"{proof.method}, {proof.by}, {proof.on}" if proof else "nobody showed it"
    return answered("tap serves this address", _PAPERS, note, yes=True if proof else None)


def _submittals(case: Case) -> Iterator[Check]:
    for one in case.submittals:
        source = cite("owner", one.section) if one.section else cite("owner", "submittals")
        state = one.state + (f", sent again {one.resubmittals} times" if one.resubmittals else "")
        refused = one.state in ("rejected", "revise")
        yes = True if one.approved else (False if refused else None)
        yield answered(f"submittal {one.key}, {one.title}", source, state, yes=yes)


def _claim_check(case: Case) -> Check:
    open_ = [one.key for one in case.claims if one.settled_on is None]
    if open_:
        note = f"open: {', '.join(open_)}"
        return not_assessed("claims settled", "", _PAPERS, note)
    note = f"{len(case.claims)} settled" if case.claims else "none made"
    return answered("claims settled", _PAPERS, note, yes=True)


def _proofs(case: Case) -> Iterator[Proof]:
    yield Proof(f"work sheet, revision {case.sheet_revision}", f"work_sheet {case.key}")
    for one in case.submittals:
        yield Proof(f"submittal {one.key}: {one.state}", f"submittal {one.key}")
    for claim in case.claims:
        yield Proof(f"claim {claim.key}: {claim.what}", f"claim {claim.key}")


def non_conformities(case: Case) -> Subject:
    """Each one needs a remedy and a re-test, and a person who closes it."""
    source = cite("owner", "non-conformities")
    checks = []
    for one in case.non_conformities:
        note = f"{one.what}; limit: {one.limit}"
        if one.closed:
            note += f"; remedy: {one.remedy}; shown by {one.retest}"
            checks.append(answered(f"{one.key} closed", source, note, yes=True))
        else:
            lacks = "no re-test" if one.remedied_on else "no remedy yet"
            checks.append(answered(f"{one.key} closed", source, f"{note}; {lacks}", yes=False))
    if not checks:
        checks.append(answered("non-conformities", source, "none found", yes=True))
    proofs = tuple(
        Proof(f"non-conformity {one.key}", f"non_conformity {one.key}")
        for one in case.non_conformities
    )
    return Subject("non_conformities", "Non-conformities", tuple(checks), proofs)
