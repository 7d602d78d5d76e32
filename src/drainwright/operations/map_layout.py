"""Where main segments lie, for the sketch map: in meters from a corner of the project (read)."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from drainwright.records.project import MainSegment, Point, Project
from drainwright.storage.protocol import ReadSession

REACH = 14.0
"""How long a lateral is drawn whose length is not known, or not read [m]."""
MARGIN = 19.0
"""How far a map shows beyond taps and mains, so that most laterals are seen whole [m]."""
Box = tuple[float, float, float, float]
"""West, south, east, north [m] from the project's corner."""


@dataclass(frozen=True, slots=True)
class Course:
    """A segment's line with the distance of each of its points from the first manhole [m]."""

    key: str
    street: str
    line: tuple[Point, ...]
    along: tuple[float, ...]
    length: float

    def place(self, distance: float) -> tuple[Point, Point]:
        """Where a distance from the first manhole lies, and the direction there."""
        share = min(max(distance / self.length, 0.0), 1.0) * self.along[-1]
        index = max(1, min(bisect_left(self.along, share), len(self.along) - 1))
        (x0, y0), (x1, y1) = self.line[index - 1], self.line[index]
        step = self.along[index] - self.along[index - 1]
        part = (share - self.along[index - 1]) / step if step else 0.0
        size = step or 1.0
        direction = ((x1 - x0) / size, (y1 - y0) / size)
        return (x0 + part * (x1 - x0), y0 + part * (y1 - y0)), direction


@dataclass(frozen=True)
class Layout:
    """Where everything lies; empty for a project without geometry."""

    courses: Mapping[str, Course]
    keys: tuple[str, ...]
    boxes: np.ndarray[tuple[int, int], np.dtype[np.float64]]
    """Of each course, shape (n, 4)."""
    corner: Point = (0.0, 0.0)
    """The project's corner, in the units of its geometry after `narrow`."""
    scale: float = 1.0
    """Meters in a unit of the geometry."""
    narrow: float = 1.0
    """What eastings are multiplied by first: less than 1 where they are degrees."""

    def local(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Points as the geometry has them, in meters from the corner."""
        west, south = self.corner
        return tuple(
            (round((x * self.narrow - west) * self.scale, 2), round((y - south) * self.scale, 2))
            for x, y in points
        )

    def within(self, box: Box) -> list[str]:
        """Segments whose own box touches this one."""
        west, south, east, north = box
        b = self.boxes
        hit = (b[:, 0] <= east) & (b[:, 2] >= west) & (b[:, 1] <= north) & (b[:, 3] >= south)
        return [self.keys[index] for index in np.flatnonzero(hit)]

    def tap(self, segment: str, distance: float) -> Point | None:
        """Where a tap lies; None where its segment has no geometry."""
        course = self.courses.get(segment)
        return None if course is None else course.place(distance)[0]


def layout_of(session: ReadSession, project: Project) -> Layout:
    """The layout of a project, made anew only where a segment has changed."""

    def lay() -> Layout:
        stamp = tuple(
            sorted((one.key, one.revision) for one in session.brief_every(project.key, MainSegment))
        )

        def read() -> Iterable[MainSegment]:
            return (one.record for one in session.every(project.key, MainSegment))

        return _laid(_Segments(project.key, project.crs, stamp, read))

    return session.remembered(project.key, "layout", lay)


def extent(layout: Layout, points: Iterable[Point | None], segments: Iterable[str]) -> Box | None:
    """The box around points and whole segments; None without any."""
    found = [point for point in points if point is not None]
    for key in segments:
        if key in layout.courses:
            found += layout.courses[key].line
    if not found:
        return None
    xs, ys = [x for x, _ in found], [y for _, y in found]
    return min(xs) - MARGIN, min(ys) - MARGIN, max(xs) + MARGIN, max(ys) + MARGIN


class _Segments:
    """The segments of a project, compared by their revisions, read only where needed."""

    def __init__(
        self,
        project: str,
        crs: str,
        stamp: tuple[tuple[str, int], ...],
        read: Callable[[], Iterable[MainSegment]],
    ) -> None:
        self._name = (project, crs, stamp)
        self.crs = crs
        self.read = read

    def __hash__(self) -> int:
        return hash(self._name)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Segments) and other._name == self._name


@lru_cache(maxsize=8)
def _laid(segments: _Segments) -> Layout:
    return lay_out(tuple(segments.read()), segments.crs)


def lay_out(segments: Sequence[MainSegment], crs: str) -> Layout:
    """The courses of the segments with geometry, in meters from the lowest corner."""
    drawn = [one for one in segments if len(one.geometry) > 1 and one.length > 0]
    if not drawn:
        return Layout({}, (), np.zeros((0, 4)))
    places = [np.array(one.geometry, dtype=float) for one in drawn]
    narrow = 1.0
    if _in_degrees(crs, places):
        narrow = math.cos(math.radians(float(np.mean(np.concatenate(places)[:, 1]))))
        places = [place * (narrow, 1.0) for place in places]
    scale = _meters_per_unit(drawn, places)
    corner = np.min(np.concatenate(places), axis=0)
    courses = {}
    for one, place in zip(drawn, places, strict=True):
        local = np.round((place - corner) * scale, 2)
        steps = np.hypot(*np.diff(local, axis=0).T)
        along = (0.0, *np.cumsum(steps).tolist())
        line = tuple((x, y) for x, y in local.tolist())
        courses[one.key] = Course(one.key, one.street, line, along, one.length)
    boxes = np.array(
        [
            (min(x for x, _ in c.line), min(y for _, y in c.line),
             max(x for x, _ in c.line), max(y for _, y in c.line))
            for c in courses.values()
        ]
    )  # fmt: skip
    west, south = corner.tolist()
    return Layout(courses, tuple(courses), boxes, (west, south), scale, narrow)


def _in_degrees(
    crs: str, places: Sequence[np.ndarray[tuple[int, int], np.dtype[np.float64]]]
) -> bool:
    """Whether the geometry is in longitude and latitude."""
    if crs:
        return crs.upper().replace(" ", "") in ("EPSG:4326", "EPSG:4269", "OGC:CRS84", "WGS84")
    spread = np.concatenate(places)
    return bool(np.abs(spread).max() <= 180 and np.ptp(spread, axis=0).max() < 0.5)


def _meters_per_unit(
    segments: Sequence[MainSegment],
    places: Sequence[np.ndarray[tuple[int, int], np.dtype[np.float64]]],
) -> float:
    """Meters in a unit of the geometry: that of most segments, by their listed lengths."""
    ratios = []
    for one, place in zip(segments, places, strict=True):
        drawn = float(np.hypot(*np.diff(place, axis=0).T).sum())
        if drawn > 0:
            ratios.append(one.length / drawn)
    return float(np.median(ratios)) if ratios else 1.0


def is_left(clock: float | None) -> bool:
    """Whether a tap is on the left, its clock read looking from the first manhole."""
    hour = 9.0 if clock is None else clock % 12
    return hour > 6 or hour == 0
