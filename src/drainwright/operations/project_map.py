"""A sketch map: main segments where they lie, laterals at their taps (read).

Segments with geometry are drawn in meters from a corner of the project, east and north. A
lateral starts at its tap and goes off to the side that its clock says, looking from the first
manhole; how it runs from there is on its own page.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.operations.list_project import MARKS, ProjectFilters, stored_filters
from drainwright.operations.map_layout import REACH, Box, Course, Layout, is_left, layout_of
from drainwright.operations.who_waits import keys_waiting
from drainwright.records.lateral import Lateral
from drainwright.records.project import Point, Project
from drainwright.storage.protocol import Brief, ReadSession, RecordStore

MOST_WITH_LATERALS = 80
"""Segments in a box whose laterals are drawn one by one."""
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
    shown = [one for one in briefs if passing is None or one.key in passing]
    laterals = [one for one in (_lateral(layout, brief) for brief in shown) if one is not None]
    inside = tuple(one for one in laterals if _in(one.tap, box))
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


def _segment(course: Course) -> MapSegment:
    return MapSegment(course.key, course.street, course.line)


def _lateral(layout: Layout, brief: Brief) -> MapLateral | None:
    course = layout.courses.get(brief.segment)
    if course is None:
        return None
    clock = brief.told.get("tap_clock")
    (x, y), (dx, dy) = course.place(brief.told.get("tap_distance", 0.0))
    left = is_left(clock)
    end = (x - dy * REACH, y + dx * REACH) if left else (x + dy * REACH, y - dx * REACH)
    return MapLateral(
        brief.key,
        (round(x, 2), round(y, 2)),
        (round(end[0], 2), round(end[1], 2)),
        MARKS.get(brief.fitness, "open"),
        brief.fitness or brief.stage,
    )
