"""The project's sketch map as SVG, or its schematic where there is no geometry (read)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from drainwright.drawing.segment_sketch import SketchLateral, SketchSegment, draw_segments
from drainwright.drawing.sketch_map import MapLateral, MapMain, draw_map
from drainwright.errors import NotFoundError
from drainwright.exchange.map_plane import plane_of
from drainwright.operations.list_project import MARKS
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment, Project
from drainwright.storage.protocol import Filters, RecordStore, Stored


@dataclass(frozen=True, slots=True)
class SketchMap:
    """The drawing; whether it is a map or a schematic; what it shows and leaves out."""

    svg: str
    schematic: bool
    words: str


def _nowhere(_: str) -> str:
    return ""


def sketch_map(
    store: RecordStore,
    project: Project,
    *,
    segment: str = "",
    schematic: bool = False,
    href: Callable[[str], str] = _nowhere,
) -> SketchMap:
    """Mains, manholes and laterals; `segment` shows one main alone, `href` links a lateral.

    Raises `NotFoundError` where there is no such segment or nothing to draw, `InputError`
    where what is stored can't be drawn.
    """
    with store.read() as session:
        mains = [one.record for one in session.every(project.key, MainSegment)]
        found = list(session.every(project.key, Lateral, Filters(segment=segment)))
    if segment:
        mains = [one for one in mains if one.key == segment]
    if not mains:
        raise NotFoundError(
            f"there is no main segment {segment} in {project.key}"
            if segment
            else f"{project.key} holds no main segment to draw"
        )
    placed = [one for one in found if one.record.geometry]
    if schematic or not (placed or any(one.geometry for one in mains)):
        return _schematic(mains, found, project, href)
    return _mapped([one for one in mains if one.geometry], placed, len(found), project, href)


def _mapped(
    mains: Sequence[MainSegment],
    placed: Sequence[Stored[Lateral]],
    every: int,
    project: Project,
    href: Callable[[str], str],
) -> SketchMap:
    around = [p for one in mains for p in one.geometry]
    around += [p for one in placed for p in one.record.geometry]
    plane = plane_of(project.crs, around)
    drawn = draw_map(
        [
            MapMain(one.key, tuple(map(plane.place, one.geometry)), one.from_manhole,
                    one.to_manhole)
            for one in mains
        ],
        [
            MapLateral(
                one.key, tuple(map(plane.place, one.record.geometry)),
                MARKS.get(one.fitness, "open"), one.stage,
                ", ".join(word for word in (one.stage, one.fitness) if word), href(one.key),
            )
            for one in placed
        ],
        project.units,
        north=plane.north,
    )  # fmt: skip
    words = f"map of {len(mains)} main segments and {len(placed)} laterals"
    if every > len(placed):
        words += f"; {every - len(placed)} laterals have no geometry"
    if drawn.names_left_out:
        words += f"; {drawn.names_left_out} names left out for want of room"
    return SketchMap(drawn.svg, schematic=False, words=words)


def _schematic(
    mains: Sequence[MainSegment],
    found: Sequence[Stored[Lateral]],
    project: Project,
    href: Callable[[str], str],
) -> SketchMap:
    taps: dict[str, list[SketchLateral]] = {one.key: [] for one in mains}
    for one in found:
        own = one.record
        if own.segment in taps:
            mark = MARKS.get(one.fitness, "open")
            words = one.fitness or one.stage
            taps[own.segment].append(
                SketchLateral(one.key, own.tap_distance, own.tap_clock, mark, words, href(one.key))
            )
    segments = [
        SketchSegment(
            one.key, one.from_manhole, one.to_manhole,
            max([one.length, *(tap.distance for tap in taps[one.key])]), tuple(taps[one.key]),
        )
        for one in mains
    ]  # fmt: skip
    drawn = sum(map(len, taps.values()))
    words = f"schematic of {len(mains)} main segments and {drawn} laterals at their distances"
    if len(found) > drawn:
        words += f"; {len(found) - drawn} laterals are on no listed segment"
    return SketchMap(draw_segments(segments, project.units), schematic=True, words=words)
