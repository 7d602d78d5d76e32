"""The long section behind a profile: levels along the pipe, and the scales that draw them."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from drainwright.drawing.profile_input import HostSpan, Points, ProfileInput
from drainwright.drawing.scale import Levels, Linear
from drainwright.units import FOOT

# the pipe on the drawing, in units: never thinner, never wider
THINNEST = 14.0
TOO_THIN = 5.0  # at the vertical scale: then soil is left out
WIDEST = 34.0
MAIN_WIDEST = 104.0
WALL_SHARE = 0.08  # of the diameter, where the wall is not known
BREAK = 18.0
# shortest length drawn across the sheet, and soil kept on each side of a break [m]
LEAST_SPAN = 10 * FOOT
KEPT = 0.35
_EXAGGERATIONS = (
    *(
        0.02,
        0.05,
        0.1,
        0.15,
        0.2,
        0.25,
        0.3,
        0.35,
        0.4,
        0.45,
        0.5,
        0.55,
        0.6,
        0.65,
        0.7,
        0.75,
        0.8,
        0.9,
        1.0,
    ),
    *(1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 1.8, 1.9, 2.0, 2.2, 2.4, 2.6, 2.8, 3.0),
    *(3.3, 3.6, 4.0, 4.5),
    *(5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 15.0, 20.0),
)


def between(points: Points, distance: float) -> float:
    """Value at `distance` on straight lines between sorted points, level beyond the ends."""
    place = bisect_right(points, (distance, math.inf))
    if place == 0:
        return points[0][1]
    if place == len(points):
        return points[-1][1]
    (x0, y0), (x1, y1) = points[place - 1], points[place]
    return y1 if x1 == x0 else y0 + (y1 - y0) * (distance - x0) / (x1 - x0)


class Section:
    """Levels [m] of ground, water and invert along one lateral, any datum."""

    def __init__(self, given: ProfileInput) -> None:
        self.given = given
        self.ground: Points = sorted(given.ground) or [(0.0, 0.0)]
        self.water = [(d, self.ground_at(d) - depth) for d, depth in sorted(given.water)]
        self.invert = self._invert()
        self.spans = sorted(given.host, key=lambda span: span.start)

    def _invert(self) -> Points:
        given = self.given
        depth = given.assumed_depth or 0.0
        flat = self.ground_at(0.0) - depth
        points = [(d, self.ground_at(d) - depth) for d, depth in sorted(given.invert)]
        points = points or [(0.0, flat), (given.length, flat)]
        for belly in given.bellies:
            inside = [d for d, _ in points if belly.start < d < belly.end]
            if not belly.depth or inside or belly.end <= belly.start:
                continue
            sag = [_sagged(points, belly.start, belly.end, belly.depth, k / 8) for k in range(9)]
            points = sorted([*(p for p in points if p[0] not in {q[0] for q in sag}), *sag])
        return points

    def ground_at(self, distance: float) -> float:
        """Level of the ground."""
        return between(self.ground, distance)

    def water_at(self, distance: float) -> float:
        """Level of the groundwater; there must be one."""
        return between(self.water, distance)

    def invert_at(self, distance: float) -> float:
        """Level of the invert, going on gently beyond the last point."""
        last, level = self.invert[-1]
        if distance <= last or len(self.invert) < 2:
            return between(self.invert, distance)
        before, lower = self.invert[-2]
        slope = (level - lower) / max(last - before, 1e-6)
        return level + min(max(slope, 0.0), 0.03) * (distance - last)

    def span_at(self, distance: float) -> HostSpan:
        """The host span at a distance, the nearest one where none is given."""
        for span in self.spans:
            if span.start <= distance < span.end:
                return span
        return min(
            self.spans, key=lambda span: min(abs(span.start - distance), abs(span.end - distance))
        )

    @cached_property
    def end(self) -> float:
        """The farthest distance that anything is drawn at."""
        given = self.given
        ends = [given.length, *(span.end for span in given.host), *(d for d, _ in given.invert)]
        for flag in given.observations:
            ends += [flag.distance, flag.to_distance or 0.0]
        ends += [bend.distance for bend in given.bends]
        ends += [branch.distance for branch in given.branches]
        ends += [station.distance for station in given.stations]
        ends += [span.end for span in (given.liner, given.riser) if span is not None]
        ends += [belly.end for belly in given.bellies]
        ends += [given.cleanout.distance] if given.cleanout is not None else []
        ends += [given.property_line] if given.property_line is not None else []
        return max(ends)

    def distances(self, start: float, end: float, *, more: Iterable[float] = ()) -> list[float]:
        """Distances from `start` to `end` at which the pipe may change its way."""
        inside = {d for d, _ in self.invert} | set(more)
        return sorted({start, end} | {d for d in inside if start < d < end})

    @cached_property
    def free_gap(self) -> tuple[float, float] | None:
        """The thickest layer in which nothing is drawn: (upper, lower) level, or None."""
        reach = self.distances(0.0, self.end, more=[d for d, _ in self.ground])
        ground = [self.ground_at(d) for d in reach]
        inverts = [self.invert_at(d) for d in reach]
        diameter = max(span.diameter for span in self.spans)
        taken = [(max(ground), min(ground)), (max(inverts) + diameter, min(inverts))]
        if self.water:
            levels = [self.water_at(d) for d in (*reach, *(d for d, _ in self.water))]
            taken.append((max(levels), min(levels)))
        taken.sort(reverse=True)
        best, floor = None, taken[0][1]
        for upper, lower in taken[1:]:
            gap = (floor - KEPT, upper + KEPT)
            if gap[0] > gap[1] and (best is None or gap[0] - gap[1] > best[0] - best[1]):
                best = gap
            floor = min(floor, lower)
        return best


def _sagged(
    points: Points, start: float, end: float, depth: float, share: float
) -> tuple[float, float]:
    """A point of a belly: the straight line between its ends less a parabola."""
    distance = start + share * (end - start)
    straight = between(points, start) * (1 - share) + between(points, end) * share
    return distance, straight - depth * 4 * share * (1 - share)


@dataclass(frozen=True, slots=True)
class Space:
    """The rectangle of the section on the drawing, in its units."""

    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Frame:
    """Scales of one drawing: distances `x`, levels `y`, and `pipe` units per meter of diameter."""

    section: Section
    space: Space
    x: Linear
    y: Levels
    pipe: float

    @property
    def exaggeration(self) -> float:
        """How often the vertical scale is the horizontal one."""
        return self.y.per_unit / self.x.per_unit

    @property
    def pipe_factor(self) -> float:
        """How often the pipe's width is its width at the vertical scale."""
        return self.pipe / self.y.per_unit

    def bore(self, distance: float) -> float:
        """Inside diameter of the host on the drawing."""
        return self.section.span_at(distance).diameter * self.pipe

    def wall(self, distance: float) -> float:
        """Wall of the host on the drawing, at least wide enough to be seen."""
        span = self.section.span_at(distance)
        return max(2.2, (span.wall or WALL_SHARE * span.diameter) * self.pipe)

    def axis(self, distance: float, bore: float | None = None) -> tuple[float, float]:
        """Point of the pipe's axis."""
        half = (self.bore(distance) if bore is None else bore) / 2
        return self.x.at(distance), self.y.at(self.section.invert_at(distance)) - half

    def slant(self, distance: float) -> float:
        """Angle of the drawn axis against the horizontal, upwards [rad]."""
        step = max(2.0 / self.x.per_unit, 1e-6)
        rise = self.y.at(self.section.invert_at(distance - step)) - self.y.at(
            self.section.invert_at(distance + step)
        )
        return math.atan2(rise, 2 * step * self.x.per_unit)

    def crown(self, distance: float) -> float:
        """Height of the pipe's outside crown on the drawing."""
        half = self.bore(distance) / 2 + self.wall(distance)
        return self.axis(distance)[1] - half / max(math.cos(self.slant(distance)), 0.3)

    @property
    def main_widest(self) -> float:
        """The largest circle that a main is drawn as."""
        return max(40.0, min(MAIN_WIDEST, 0.36 * (self.space.bottom - self.space.top)))

    def main(self) -> tuple[float, float, float, float]:
        """Center, inside radius and wall of the main's circle on the drawing."""
        given = self.section.given.main
        radius = min(given.diameter * self.pipe, self.main_widest) / 2
        wall = (given.wall or WALL_SHARE * given.diameter) * self.pipe
        wall = min(max(2.5, wall), radius * 0.3)
        x, y = self.axis(0.0)
        angle = given.tap_angle
        return x - radius * math.cos(angle), y + radius * math.sin(angle), radius, wall

    @property
    def main_to_scale(self) -> bool:
        """Whether the main's circle keeps its relation to the lateral."""
        return self.section.given.main.diameter * self.pipe <= self.main_widest + 1e-9

    def lowest(self) -> float:
        """Height on the drawing of the lowest thing in the ground."""
        _, center, radius, wall = self.main()
        reach = self.section.distances(0.0, self.section.end)
        pipe = max(self.y.at(self.section.invert_at(d)) + self.wall(d) for d in reach)
        ground = max(self.y.at(level) for _, level in self.section.ground)
        return max(center + radius + wall, pipe, ground)


def fit(section: Section, space: Space, foot: float) -> Frame:
    """The largest drawing of a section in `space`, leaving `foot` units free at the bottom."""
    span = max(section.end, LEAST_SPAN)
    x = Linear(space.left, (space.right - space.left) / span)
    top = max(level for _, level in section.ground)
    if section.water:
        top = max(top, *(level for _, level in section.water))
    widest = max(host.diameter for host in section.spans)
    frame = Frame(section, space, x, Levels(top, space.top, 1.0), 1.0)
    plain = _largest(frame, foot, WIDEST / widest, None)
    gap = section.free_gap
    if plain.y.per_unit * widest >= TOO_THIN or gap is None:
        return plain
    # the pipe is far thinner than drawn: leave soil out, as much as the scale needs
    wanted = 0.75 * THINNEST / widest
    depth = (plain.lowest() - space.top) / plain.y.per_unit
    missing = depth - (space.bottom - foot - space.top - BREAK) / wanted
    least = BREAK / wanted + 0.1
    size = min(max(missing, least), gap[0] - gap[1])
    if size <= least:
        return plain
    middle = gap[0] if size == gap[0] - gap[1] else min(gap[0], gap[1] + size)
    found = _largest(frame, foot, wanted, (middle, middle - size))
    return found if found.y.per_unit > 1.4 * plain.y.per_unit else plain


def _largest(frame: Frame, foot: float, most: float, cut: tuple[float, float] | None) -> Frame:
    """The frame with the largest round exaggeration that fits and stays below `most`."""
    diameters: Sequence[float] = [span.diameter for span in frame.section.spans]
    best: Frame | None = None
    for exaggeration in _EXAGGERATIONS:
        per_unit = exaggeration * frame.x.per_unit
        if best is not None and per_unit > most:
            break
        pipe = min(max(per_unit, THINNEST / min(diameters)), WIDEST / max(diameters))
        levels = replace(frame.y, per_unit=per_unit, cut=cut, gap=BREAK if cut else 0.0)
        trial = replace(frame, y=levels, pipe=pipe)
        if best is not None and trial.lowest() > frame.space.bottom - foot:
            break
        best = trial
    return best or frame
