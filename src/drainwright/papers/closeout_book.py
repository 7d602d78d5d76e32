"""The closeout book: one front volume, and volumes of lateral files."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.acceptance.lots import LotUse
from drainwright.acceptance.statistics import SubjectCount
from drainwright.papers.lateral_file import ARCHIVE, FileFacts, lateral_file_data
from drainwright.papers.paper import Data, Svg, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.papers.shown import date_text
from drainwright.records.acceptance import Claim, NonConformity, Submittal
from drainwright.records.project import Project
from drainwright.units import UnitSystem


@dataclass(frozen=True, slots=True)
class RegisterLine:
    """One lateral in the book's register."""

    key: str
    address: str
    segment: str
    length: str
    stage: str
    verdict: str
    code: str
    """Mark of the verdict: met, not, open."""
    met: str
    """Subjects met of those asked for."""
    open: str
    signed: str
    volume: int


@dataclass(frozen=True, slots=True)
class AttemptLine:
    """An attempt that did not end cured."""

    lateral: str
    number: int
    when: str
    end: str
    cause: str
    lost: str
    payer: str


@dataclass(frozen=True, slots=True)
class BookFacts:
    """What the front volume shows."""

    project: Project
    lines: tuple[RegisterLine, ...]
    sketch: str
    """Schematic of the main segments as SVG; "" where nothing can be drawn."""
    statements: tuple[tuple[str, str], ...]
    """Statistics in words: what, and the number with its denominator."""
    subjects: tuple[SubjectCount, ...]
    lots: tuple[LotUse, ...]
    failed: tuple[AttemptLine, ...]
    faults: tuple[NonConformity, ...]
    claims: tuple[Claim, ...]
    submittals: tuple[Submittal, ...]
    volumes: int
    at: dt.datetime
    by: str


def front_volume_pdf(facts: BookFacts, system: UnitSystem) -> bytes:
    """Contents, register, schematic, statistics, lots, faults, claims, failed attempts."""
    data = front_volume_data(facts, system)
    return make_pdf("closeout_book", data, facts.at, standard=ARCHIVE)


def front_volume_data(facts: BookFacts, system: UnitSystem) -> dict[str, Data]:
    """Everything the front volume prints, as texts."""
    issue = Issue(0, facts.at, facts.by)
    head = project_head(facts.project, issue, system, "Closeout book")
    return {
        **head,
        "volumes": [_volume(facts, number) for number in range(2, facts.volumes + 1)],
        "register": [
            {
                "key": one.key, "address": one.address, "segment": one.segment,
                "length": one.length, "stage": one.stage, "verdict": one.verdict,
                "code": one.code, "met": one.met, "open": one.open, "signed": one.signed,
                "volume": str(one.volume),
            }
            for one in facts.lines
        ],
        "sketch": Svg(facts.sketch) if facts.sketch else None,
        "statements": [list(one) for one in facts.statements],
        "subjects": [[one.title, one.words] for one in facts.subjects],
        "lots": _lots(facts.lots),
        "failed": [
            [one.lateral, str(one.number), one.when, one.end, one.cause, one.lost, one.payer]
            for one in facts.failed
        ],
        "faults": [
            [one.key, one.lateral, one.what, one.limit, one.remedy, one.retest,
             date_text(one.closed_on, system) if one.closed else "open"]
            for one in facts.faults
        ],
        "claims": [
            [one.key, one.lateral, date_text(one.on, system), one.what, one.answer,
             date_text(one.settled_on, system) or "open"]
            for one in facts.claims
        ],
        "submittals": [
            [one.key, one.title, one.section, one.state, str(one.resubmittals),
             date_text(one.steps[-1].on, system) if one.steps else ""]
            for one in facts.submittals
        ],
    }  # fmt: skip


def _volume(facts: BookFacts, number: int) -> Data:
    keys = [one.key for one in facts.lines if one.volume == number]
    named = f"{keys[0]} to {keys[-1]}" if len(keys) > 1 else "".join(keys)
    return [f"Volume {number}", f"lateral files {named}", str(len(keys))]


def _lots(uses: Sequence[LotUse]) -> list[Data]:
    """One row for each lot with the laterals that got it."""
    rows: dict[tuple[str, str], list[str]] = {}
    for one in uses:
        failed = "" if one.end == "cured" else f" ({one.end})"
        rows.setdefault((one.part, one.lot), []).append(f"{one.lateral}{failed}")
    return [
        [part, lot, str(len(keys)), ", ".join(dict.fromkeys(keys))]
        for (part, lot), keys in sorted(rows.items())
    ]


def lateral_volume_pdf(
    project: Project, number: int, files: Sequence[FileFacts], system: UnitSystem
) -> bytes:
    """One volume of lateral files; checks that are met stand as lines, not as tables."""
    at, by = files[0].at, files[0].by
    head = project_head(project, Issue(0, at, by), system, f"Closeout book, volume {number}")
    data = {**head, "files": [lateral_file_data(one, system) for one in files]}
    return make_pdf("closeout_volume", data, at, standard=ARCHIVE, bulk=True)
