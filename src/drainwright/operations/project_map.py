"""A sketch map: main segments where they lie, laterals at their taps (read).

Segments with geometry are drawn in meters from a corner of the project, east and north. A
lateral runs as its own geometry says. Without one it starts at its tap and goes off to the side
that its clock says, looking from the first manhole, as long as it was measured; where the map
holds many segments, or no length is known, it is a stub of one length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.operations.list_project import MARKS, ProjectFilters, stored_filters
from drainwright.operations.map_layout import REACH, Box, Course, Layout, is_left, layout_of
from drainwright.operations.who_waits import keys_waiting
from drainwright.records.lateral import Lateral
from drainwright.records.project import Point, Project
from drainwright.storage.protocol import Brief, Filters, ReadSession, RecordStore

MOST_WITH_LATERALS = 80
"""Segments in a box whose laterals are drawn one by one."""
MOST_WITH_COURSES = 8
"""Segments in a box whose laterals are drawn as they run, by their whole records."""
MOST_LINES = 4000


@dataclass(frozen=True, slots=True)
class MapSegment:
    """A main segment as a line of east and north [m]."""

    key: str
    street: str
    line: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class MapLateral:
    """A lateral from its tap, with the shape that tells its outcome."""

    key: str
    tap: Point
    end: Point
    line: tuple[Point, ...]
    """From the tap to the far end [m]."""
    course: str
    """`drawn` by its own geometry, `straight` by its length, `stub` where neither is known."""
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class ProjectMap:
    """What is to be seen in a box."""

    segments: tuple[MapSegment, ...]
    laterals: tuple[MapLateral, ...]
    hidden: bool
    """Whether laterals were left out because the box holds too many."""


def project_map(
    store: RecordStore, project: Project, filters: ProjectFilters, box: Box
) -> ProjectMap:
    """Segments and laterals that pass the filters, within a box.

    Raises `InputError` for a box that is none.
    """
    west, south, east, north = box
    if not all(map(math.isfinite, box)) or west > east or south > north:
        raise InputError(Fault("box", "is west, south, east and north, in meters"))
    with store.read() as session:
        layout = layout_of(session, project)
        seen = layout.within(box)[:MOST_LINES]
        hidden = len(seen) > MOST_WITH_LATERALS
        passing = None if hidden else _passing(session, project.key, filters)
        briefs = () if hidden else tuple(session.brief_every(project.key, Lateral, seen))
        whole = {} if len(seen) > MOST_WITH_COURSES else _whole(session, project.key, seen)
    shown = [one for one in briefs if passing is None or one.key in passing]
    drawn = (_lateral(layout, brief, whole.get(brief.key), box) for brief in shown)
    inside = tuple(one for one in drawn if one is not None)
    return ProjectMap(tuple(_segment(layout.courses[key]) for key in seen), inside, hidden)


def _in(point: Point, box: Box) -> bool:
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]


def _passing(session: ReadSession, project: str, filters: ProjectFilters) -> frozenset[str] | None:
    """Keys of the laterals that pass; None where all do."""
    if filters == ProjectFilters():
        return None
    wanted = stored_filters(filters)
    if filters.waits:
        return frozenset(keys_waiting(session, project, wanted, filters.waits))
    return frozenset(key for key, _ in session.keys(project, Lateral, wanted))


def _whole(session: ReadSession, project: str, segments: Sequence[str]) -> dict[str, Lateral]:
    found = (session.every(project, Lateral, Filters(segment=one)) for one in segments)
    return {stored.key: stored.record for some in found for stored in some}


def _segment(course: Course) -> MapSegment:
    return MapSegment(course.key, course.street, course.line)


def _lateral(layout: Layout, brief: Brief, record: Lateral | None, box: Box) -> MapLateral | None:
    """A lateral as the map shows it; None where its tap is outside the box, or nowhere."""
    segment = layout.courses.get(brief.segment)
    if segment is None:
        return None
    (x, y), (dx, dy) = segment.place(brief.told.get("tap_distance", 0.0))
    tap = (round(x, 2), round(y, 2))
    if not _in(tap, box):
        return None
    side = -1.0 if is_left(brief.told.get("tap_clock")) else 1.0
    line, course = _own_line(layout, record, tap), "drawn"
    if not line:
        length = _length(record)
        course = "straight" if length else "stub"
        reach = side * (length or REACH)
        line = (tap, (round(x + dy * reach, 2), round(y - dx * reach, 2)))
    mark = MARKS.get(brief.fitness, "open")
    return MapLateral(brief.key, tap, line[-1], line, course, mark, brief.fitness or brief.stage)


def _own_line(layout: Layout, record: Lateral | None, tap: Point) -> tuple[Point, ...]:
    """The lateral's own geometry, from the end that is nearer to its tap."""
    if record is None or len(record.geometry) < 2:
        return ()
    line = layout.local(record.geometry)
    return line if math.dist(line[0], tap) <= math.dist(line[-1], tap) else line[::-1]


def _length(record: Lateral | None) -> float:
    """The cleanout's distance from the tap, else the newest measurement as read; 0 for neither."""
    if record is None:
        return 0.0
    last = record.lengths[-1] if record.lengths else None
    return record.cleanout_distance or (max(last.reading - last.offset, 0.0) if last else 0.0)
