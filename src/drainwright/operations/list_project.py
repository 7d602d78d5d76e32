"""The project sheet: laterals with stage, outcome, first reason, and whom they wait on (read)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

from drainwright.drawing.segment_sketch import SketchLateral, SketchSegment, draw_segments
from drainwright.errors import InputError, NotFoundError
from drainwright.planning.waiting import waits_on
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment
from drainwright.records.work_sheet import Fitness, Reason, WorkSheet
from drainwright.storage.protocol import Filters, ReadSession, RecordStore, Stage, Stored
from drainwright.units import UnitSystem

_STORED = tuple(stage.value for stage in Stage)
_SCHEDULED = _STORED.index(Stage.INSTALLED)
STAGES = (*_STORED[:_SCHEDULED], "scheduled", *_STORED[_SCHEDULED:])
OUTCOMES = tuple(outcome.value for outcome in Fitness)
MARKS = {
    Fitness.LINE.value: "line",
    Fitness.PREPARE.value: "prepare",
    Fitness.ASK.value: "ask",
    Fitness.STOP.value: "stop",
}
"""The shape that goes with each outcome, on screen and on paper."""
MOST_SEGMENTS = 200
"""Segments offered as a choice; beyond that their names are typed."""


@dataclass(frozen=True, slots=True)
class ProjectFilters:
    """Which laterals to show; an empty field does not filter."""

    words: str = ""
    segment: str = ""
    street: str = ""
    stage: str = ""
    outcome: str = ""


@dataclass(frozen=True, slots=True)
class ProjectLine:
    """One lateral on the sheet."""

    key: str
    address: str
    tap_distance: float
    tap_clock: float | None
    stage: str
    outcome: str
    mark: str
    reason: str
    reason_at: float | None
    more_reasons: int
    waits: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SegmentLines:
    """A main segment with those of its laterals that are on this page."""

    key: str
    segment: MainSegment | None
    lines: tuple[ProjectLine, ...]


@dataclass(frozen=True, slots=True)
class ProjectList:
    """One page of the project sheet."""

    groups: tuple[SegmentLines, ...]
    page: int
    pages: int
    total: int
    """Laterals that pass the filters."""
    every: int
    stages: Mapping[str, int]
    outcomes: Mapping[str, int]
    segments: tuple[str, ...]
    sketch: str


def list_project(
    store: RecordStore,
    project: str,
    filters: ProjectFilters,
    *,
    page: int,
    system: UnitSystem,
    href: Callable[[str], str],
) -> ProjectList:
    """A page of 50 laterals, grouped by segment, with a sketch of those segments.

    `href` gives a lateral's address by its key. Raises `InputError` for a page below 1.
    """
    wanted = Filters(
        words=filters.words,
        segment=filters.segment,
        street=filters.street,
        stage=filters.stage,
        fitness=filters.outcome,
    )
    with store.read() as session:
        found = session.list(project, Lateral, wanted, page)
        counted = session.stages(project)
        segments = _segments(session, project)
        groups = tuple(_groups(session, project, found.items, segments))
    stages, outcomes = Counter[str](), Counter[str]()
    for (stage, outcome), number in counted.items():
        stages[stage] += number
        outcomes[outcome] += number
    return ProjectList(
        groups, found.number, found.pages, found.total, sum(stages.values()),
        stages, outcomes, tuple(segments), _sketch(groups, system, href),
    )  # fmt: skip


def _segments(session: ReadSession, project: str) -> Mapping[str, MainSegment]:
    """All segments by key, unless there are very many of them."""
    first = session.list(project, MainSegment)
    if first.total > MOST_SEGMENTS:
        return {}
    pages = [session.list(project, MainSegment, None, n + 1) for n in range(1, first.pages)]
    return {item.key: item.record for page in (first, *pages) for item in page.items}


def _groups(
    session: ReadSession,
    project: str,
    items: Iterable[Stored[Lateral]],
    segments: Mapping[str, MainSegment],
) -> Iterable[SegmentLines]:
    items = tuple(items)
    told = _told(session, project, [item.key for item in items])
    for key, members in groupby(items, key=lambda item: item.record.segment):
        segment = segments.get(key)
        if segment is None:
            with suppress(NotFoundError):
                segment = session.get(project, MainSegment, key).record
        lines = tuple(_line(item, told.get(item.key, ())) for item in members)
        yield SegmentLines(key, segment, lines)


def _line(item: Stored[Lateral], reasons: tuple[Reason, ...]) -> ProjectLine:
    first = reasons[0] if reasons else None
    lateral = item.record
    return ProjectLine(
        key=item.key,
        address=lateral.address,
        tap_distance=lateral.tap_distance,
        tap_clock=lateral.tap_clock,
        stage=item.stage,
        outcome=item.fitness,
        mark=MARKS.get(item.fitness, "open"),
        reason=first.words if first else "",
        reason_at=first.distance if first else None,
        more_reasons=max(len(reasons) - 1, 0),
        waits=waits_on(item.stage, reasons),
    )


def _sketch(groups: Iterable[SegmentLines], system: UnitSystem, href: Callable[[str], str]) -> str:
    """The sketch, or nothing where a record can't be drawn."""
    by_key: dict[str, list[ProjectLine]] = {}
    records: dict[str, MainSegment] = {}
    for group in groups:
        if group.segment is not None:
            records[group.key] = group.segment
            by_key.setdefault(group.key, []).extend(group.lines)
    return _drawing(tuple(_drawn(records[key], by_key[key], href) for key in by_key), system)


@lru_cache(maxsize=256)
def _drawing(segments: tuple[SketchSegment, ...], system: UnitSystem) -> str:
    try:
        return draw_segments(segments, system) if segments else ""
    except InputError:
        return ""


def _drawn(
    segment: MainSegment, lines: Iterable[ProjectLine], href: Callable[[str], str]
) -> SketchSegment:
    laterals = tuple(
        SketchLateral(
            line.key, line.tap_distance, line.tap_clock, line.mark,
            line.outcome or line.stage, href(line.key),
        )
        for line in lines
    )  # fmt: skip
    far = max((one.distance for one in laterals), default=0.0)
    length = max(segment.length, far)
    return SketchSegment(segment.key, segment.from_manhole, segment.to_manhole, length, laterals)


# ---------------------------------------------------------------- what sheets tell, remembered

MOST_TOLD = 60_000
_told_by_hash: dict[str, tuple[Reason, ...]] = {}


def _told(session: ReadSession, project: str, keys: list[str]) -> Mapping[str, tuple[Reason, ...]]:
    """The reasons on each lateral's work sheet; the same text is read once."""
    hashes = session.hashes(project, WorkSheet, keys)
    unread = [key for key, sha256 in hashes.items() if sha256 not in _told_by_hash]
    if unread:
        if len(_told_by_hash) + len(unread) > MOST_TOLD:
            _told_by_hash.clear()
            unread = list(hashes)
        for key, reasons in session.field(project, WorkSheet, unread, "reasons").items():
            _told_by_hash[hashes[key]] = reasons
    return {key: _told_by_hash.get(sha256, ()) for key, sha256 in hashes.items()}
