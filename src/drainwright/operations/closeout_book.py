"""Bind the closeout book: volumes as PDF/A, a spreadsheet, and the map as built (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from drainwright.acceptance.case import Case
from drainwright.acceptance.lots import lots_of
from drainwright.acceptance.statistics import (
    TightnessState,
    attempt_words,
    subject_counts,
    tightness_state,
    tightness_words,
)
from drainwright.acceptance.verdict import Verdict
from drainwright.acceptance.wall_verdict import readings_of
from drainwright.drawing.segment_sketch import SketchLateral, SketchSegment, draw_segments
from drainwright.errors import InputError, NotFoundError, StorageError
from drainwright.exchange.as_built_workbook import BuiltRow, CheckRow, as_built_workbook
from drainwright.exchange.forms import Cell
from drainwright.exchange.gis_writing import Placed, write_gis
from drainwright.exchange.table_writing import safe
from drainwright.operations.lateral_case import Shared, shared_of
from drainwright.operations.lateral_file import file_facts
from drainwright.operations.print_papers import write_file
from drainwright.papers.closeout_book import (
    AttemptLine,
    BookFacts,
    RegisterLine,
    front_volume_pdf,
    lateral_volume_pdf,
)
from drainwright.papers.lateral_file import MARKS, FileFacts
from drainwright.papers.shown import date_text, reading
from drainwright.records.acceptance import Claim, NonConformity
from drainwright.records.attempt import Attempt
from drainwright.records.field_entry import AttemptEnd
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.storage.protocol import Brief, ReadSession, RecordStore
from drainwright.units import UnitSystem

VOLUME = 10
"""Lateral files in one volume: so many that their setting stays within 600 MiB."""
_SKETCH = {"met": "line", "not": "stop", "open": "open"}


@dataclass(frozen=True, slots=True)
class Bound:
    """The files of the book, and what could not be made, with the reason."""

    files: tuple[Path, ...]
    laterals: int
    left_out: tuple[str, ...]


@dataclass(slots=True)
class _Gathering:
    """What the front volume and the spreadsheet need, kept small while volumes are made."""

    lines: list[RegisterLine] = field(default_factory=list)
    verdicts: list[Verdict] = field(default_factory=list)
    tightness: list[TightnessState] = field(default_factory=list)
    rows: list[BuiltRow] = field(default_factory=list)
    checks: list[CheckRow] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)


def closeout_book(
    store: RecordStore, project: str, folder: Path, *, by: str, at: dt.datetime,
    progress: Callable[[str], None] | None = None,
) -> Bound:  # fmt: skip
    """Write the book of every lateral on which an attempt was made, failed ones included.

    Raises `NotFoundError` where nothing was attempted, `PaperError` where a file can't be
    written.
    """
    with store.read() as session:
        about = session.get(project, Project, project).record
        shared = shared_of(session, project, every=True)
        attempts = dict(shared.attempts or {})
        keys = list(_ordered(session, project, attempts))
        if not keys:
            raise NotFoundError("no attempt on any lateral is on record: there is nothing to bind")
        stages = session.briefs(project, Lateral, keys)
        found, files = _Gathering(), list[Path]()
        for number, start in enumerate(range(0, len(keys), VOLUME), 2):
            part = [
                file_facts(session, project, key, shared, (at, by))
                for key in keys[start : start + VOLUME]
            ]
            for facts in part:
                _note(found, facts, stages, (number, about.units))
                if progress:
                    progress(facts.case.key)
            path = folder / f"closeout book {number}.pdf"
            write_file(path, lateral_volume_pdf(about, number, part, about.units))
            files.append(path)
        segments = [stored.record for stored in session.every(project, MainSegment)]
    front = folder / "closeout book 1.pdf"
    sketch = _sketch(found, segments, about.units)
    made = _facts(about, found, shared, attempts, (sketch, len(files) + 1, at, by))
    write_file(front, front_volume_pdf(made, about.units))
    sheet = folder / "as built.xlsx"
    write_file(sheet, _workbook(about, found, shared, attempts, at))
    gis, why = _map(folder / "as built.gpkg", segments, found, about.crs)
    return Bound((front, *files, sheet, *gis), len(keys), why)


def _ordered(session: ReadSession, project: str, attempts: Mapping[str, object]) -> Iterator[str]:
    """Keys of planned laterals with an attempt, in the order of lists."""
    first = session.brief_page(project, Lateral)
    for number in range(1, first.pages + 1):
        page = first if number == 1 else session.brief_page(project, Lateral, None, number)
        yield from (one.key for one in page.items if one.key in attempts)


def _note(
    found: _Gathering, facts: FileFacts, stages: Mapping[str, Brief], told: tuple[int, UnitSystem]
) -> None:
    case, verdict, (volume, system) = facts.case, facts.judged.verdict, told
    stage = stages[case.key].stage if case.key in stages else ""
    lined = _lined(case)
    signed = facts.acceptance
    words = ""
    if signed is not None:
        words = f"{signed.step}, {signed.by}, {date_text(signed.at.date(), system)}"
    met = sum(one.outcome.value == "met" for one in verdict.demanded)
    lateral = case.sheet.lateral
    found.lines.append(
        RegisterLine(
            case.key, lateral.address, lateral.segment,
            reading(lined, "length", system).text if lined else "—", stage, verdict.words,
            MARKS[verdict.outcome], f"{met} of {len(verdict.demanded)}",
            ", ".join(one.title for one in verdict.open), words, volume,
        )
    )  # fmt: skip
    found.verdicts.append(verdict)
    if case.cured is not None:
        found.tightness.append(tightness_state(case, verdict))
    walls = [one.wall for one in readings_of(case)]
    modulus = facts.judged.coupons.modulus
    found.rows.append(
        BuiltRow(
            case.key, lateral.address, lateral.segment, stage, verdict.words, lined,
            sum(walls) / len(walls) if walls else None, min(walls, default=None),
            modulus.mean if modulus else None, words,
        )
    )  # fmt: skip
    found.checks += [
        CheckRow(case.key, one.title, check) for one in verdict.subjects for check in one.checks
    ]
    collar = case.sheet.figure("collar.name") is not None
    found.placed.append(Placed(lateral, stage, verdict.words, collar))


def _lined(case: Case) -> float | None:
    """Lined length: measured less the gap that was read, else as planned; None if not lined."""
    attempt, length = case.cured, case.figure("length.measured")
    if attempt is None:
        return None
    gap = attempt.last("end_to_cleanout")
    return case.figure("length.lined") if gap is None or length is None else length - gap


def _facts(
    about: Project, found: _Gathering, shared: Shared, attempts: Mapping[str, tuple[Attempt, ...]],
    made: tuple[str, int, dt.datetime, str],
) -> BookFacts:  # fmt: skip
    sketch, volumes, at, by = made
    every = [one for each in attempts.values() for one in each]
    lined = sum(verdict.attempt > 0 for verdict in found.verdicts)
    signed = sum(bool(line.signed) for line in found.lines)
    statements = (
        ("laterals lined", f"{lined} of {len(found.lines)} on which an attempt was made"),
        ("attempts", attempt_words(every)),
        ("tightness", tightness_words(found.tightness)),
        ("signed", f"{signed} of {len(found.lines)}"),
        ("non-conformities", _closed(_flat(shared.non_conformities))),
    )
    counts = subject_counts(verdict for verdict in found.verdicts if verdict.attempt)
    return BookFacts(
        about, tuple(found.lines), sketch, statements, counts, lots_of(attempts),
        tuple(_failed(every, about)), _flat(shared.non_conformities), _claims(shared),
        shared.submittals, volumes, at, by,
    )  # fmt: skip


def _flat(groups: Mapping[str, tuple[NonConformity, ...]]) -> tuple[NonConformity, ...]:
    return tuple(sorted((n for each in groups.values() for n in each), key=lambda one: one.key))


def _claims(shared: Shared) -> tuple[Claim, ...]:
    return tuple(sorted((c for each in shared.claims.values() for c in each),
                        key=lambda one: one.key))  # fmt: skip


def _closed(faults: Sequence[NonConformity]) -> str:
    return f"{sum(one.closed for one in faults)} of {len(faults)} closed" if faults else "none"


def _failed(every: Sequence[Attempt], about: Project) -> Iterator[AttemptLine]:
    for one in every:
        if one.end is AttemptEnd.CURED:
            continue
        last = one.ending.at if one.ending else one.begun
        yield AttemptLine(
            one.lateral, one.number, date_text(last.date(), about.units),
            one.end.value if one.end else "runs", one.cause, one.word("material_lost"), one.payer,
        )  # fmt: skip


def _sketch(found: _Gathering, segments: Sequence[MainSegment], system: UnitSystem) -> str:
    """The segments with their laterals, marked by verdict; "" where they can't be drawn."""
    marks = {line.key: line for line in found.lines}
    drawn = []
    for segment in segments:
        laterals = tuple(
            SketchLateral(
                one.lateral.key, one.lateral.tap_distance, one.lateral.tap_clock,
                _SKETCH[marks[one.lateral.key].code], marks[one.lateral.key].verdict,
            )
            for one in found.placed
            if one.lateral.segment == segment.key
        )  # fmt: skip
        if laterals:
            drawn.append(
                SketchSegment(
                    segment.key, segment.from_manhole, segment.to_manhole, segment.length, laterals
                )
            )
    try:
        return draw_segments(drawn, system)
    except InputError:
        return ""


def _workbook(
    about: Project, found: _Gathering, shared: Shared, attempts: Mapping[str, tuple[Attempt, ...]],
    at: dt.datetime,
) -> bytes:  # fmt: skip
    lots: list[list[Cell]] = [["part", "lot", "lateral", "attempt", "ended", "entry"]]
    lots += [[one.part, safe(one.lot), safe(one.lateral), one.attempt, one.end, one.entry]
             for one in lots_of(attempts)]  # fmt: skip
    tries: list[list[Cell]] = [["lateral", "attempt", "begun", "ended", "cause", "pays"]]
    tries += [
        [safe(one.lateral), one.number, one.begun.date(), one.end.value if one.end else "runs",
         safe(one.cause), safe(one.payer)]
        for each in attempts.values() for one in each
    ]  # fmt: skip
    faults: list[list[Cell]] = [
        ["no.", "lateral", "found", "what", "limit", "remedy", "re-test", "closed"]
    ]
    faults += [
        [safe(one.key), safe(one.lateral), one.on, safe(one.what), safe(one.limit),
         safe(one.remedy), safe(one.retest), one.closed_on]
        for one in _flat(shared.non_conformities)
    ]  # fmt: skip
    claims: list[list[Cell]] = [["no.", "lateral", "made", "what", "answer", "settled"]]
    claims += [
        [safe(one.key), safe(one.lateral), one.on, safe(one.what), safe(one.answer),
         one.settled_on]
        for one in _claims(shared)
    ]  # fmt: skip
    others = {"attempts": tries, "lots": lots, "non-conformities": faults, "claims": claims}
    told = f"As built: {about.name}, made {at:%Y-%m-%d %H:%M} UTC"
    return as_built_workbook(found.rows, found.checks, others, about.units, told)


def _map(
    path: Path, segments: Sequence[MainSegment], found: _Gathering, crs: str
) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """The map as built, or why there is none."""
    path.unlink(missing_ok=True)
    try:
        layers = write_gis(path, segments, found.placed, crs)
    except (InputError, StorageError) as error:
        return (), (f"map as built: {error}",)
    return ((path,), ()) if layers else ((), ("map as built: nothing has geometry",))
