"""The project sheet: laterals with stage, outcome, first reason, and whom they wait on (read)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from typing import Any

from drainwright.drawing.segment_sketch import SketchLateral, SketchSegment, draw_segments
from drainwright.errors import InputError
from drainwright.operations.map_layout import Box, Layout, extent, layout_of
from drainwright.operations.who_waits import count_waiting, page_waiting, waits_of
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Point, Project
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import Brief, Filters, ReadSession, RecordStore, Stage
from drainwright.units import UnitSystem

STAGES = tuple(stage.value for stage in Stage)
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
    waits: str = ""
    """Whom they wait on."""


def stored_filters(filters: ProjectFilters) -> Filters:
    """The filters that the store knows; whom laterals wait on is not among them."""
    return Filters(
        words=filters.words,
        segment=filters.segment,
        street=filters.street,
        stage=filters.stage,
        fitness=filters.outcome,
    )


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
    place: Point | None
    """Where its tap lies on the map."""


@dataclass(frozen=True, slots=True)
class SegmentHead:
    """What a list tells of a main segment; lengths in meters."""

    key: str
    from_manhole: str
    to_manhole: str
    inside_diameter: float
    length: float
    street: str = ""
    material: str = ""


@dataclass(frozen=True, slots=True)
class SegmentLines:
    """A main segment with those of its laterals that are on this page."""

    key: str
    segment: SegmentHead | None
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
    waiting: Mapping[str, int]
    """Laterals of the whole project by whom they wait on."""
    segments: tuple[str, ...]
    mapped: bool
    """Whether the project has geometry for a map."""
    box: Box | None
    """What a map of this page must show; None without geometry."""
    sketch: str
    """A drawing of the segments on this page where there is no map."""


def list_project(
    store: RecordStore,
    project: Project,
    filters: ProjectFilters,
    *,
    page: int,
    href: Callable[[str], str],
) -> ProjectList:
    """A page of 50 laterals, grouped by segment, with a sketch of those segments.

    `href` gives a lateral's address by its key. Raises `InputError` for a page below 1.
    """
    wanted = stored_filters(filters)
    with store.read() as session:
        if filters.waits:
            found = page_waiting(session, project.key, wanted, filters.waits, page)
        else:
            found = session.brief_page(project.key, Lateral, wanted, page)
        counted = session.stages(project.key)
        waiting = count_waiting(session, project.key)
        names = session.remembered(
            project.key, "segment names", lambda: _segment_names(session, project.key)
        )
        layout = layout_of(session, project)
        groups = tuple(_groups(session, project.key, found.items, layout))
    lines = [line for group in groups for line in group.lines]
    box = extent(layout, (line.place for line in lines), (group.key for group in groups))
    stages, outcomes = Counter[str](), Counter[str]()
    for (stage, outcome), number in counted.items():
        stages[stage] += number
        outcomes[outcome] += number
    return ProjectList(
        groups, found.number, found.pages, found.total, sum(stages.values()),
        stages, outcomes, waiting, names,
        bool(layout.keys), box, "" if box else _sketch(groups, project.units, href),
    )  # fmt: skip


def waiting_on(store: RecordStore, project: str) -> Mapping[str, int]:
    """How many laterals wait on each party; one that waits on two counts for both."""
    with store.read() as session:
        return count_waiting(session, project)


def _segment_names(session: ReadSession, project: str) -> tuple[str, ...]:
    """All segments by key, unless there are very many of them."""
    first = session.brief_page(project, MainSegment)
    if first.total > MOST_SEGMENTS:
        return ()
    pages = [session.brief_page(project, MainSegment, None, n + 1) for n in range(1, first.pages)]
    return tuple(item.key for page in (first, *pages) for item in page.items)


def _groups(
    session: ReadSession, project: str, items: Sequence[Brief], layout: Layout
) -> Iterable[SegmentLines]:
    sheets = session.briefs(project, WorkSheet, [item.key for item in items])
    mains = session.briefs(project, MainSegment, sorted({item.segment for item in items}))
    for key, members in groupby(items, key=lambda item: item.segment):
        head = SegmentHead(key, **mains[key].told) if key in mains and mains[key].told else None
        lines = tuple(_line(item, sheets.get(item.key), layout) for item in members)
        yield SegmentLines(key, head, lines)


def _line(item: Brief, sheet: Brief | None, layout: Layout) -> ProjectLine:
    reasons: Sequence[Mapping[str, Any]] = sheet.told.get("reasons", ()) if sheet else ()
    first = reasons[0] if reasons else {}
    told = item.told
    return ProjectLine(
        key=item.key,
        address=told.get("address", ""),
        tap_distance=told.get("tap_distance", 0.0),
        tap_clock=told.get("tap_clock"),
        stage=item.stage,
        outcome=item.fitness,
        mark=MARKS.get(item.fitness, "open"),
        reason=first.get("words", ""),
        reason_at=first.get("distance"),
        more_reasons=max(len(reasons) - 1, 0),
        waits=waits_of(item.stage, sheet),
        place=layout.tap(item.segment, told.get("tap_distance", 0.0)),
    )


def _sketch(groups: Iterable[SegmentLines], system: UnitSystem, href: Callable[[str], str]) -> str:
    """The sketch, or nothing where a record can't be drawn."""
    by_key: dict[str, list[ProjectLine]] = {}
    records: dict[str, SegmentHead] = {}
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
    segment: SegmentHead, lines: Iterable[ProjectLine], href: Callable[[str], str]
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
