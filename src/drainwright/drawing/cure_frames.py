"""A cure at many times: strips under the profile, and a section through the wall at one place.

Arrays in, path data out, all times on one scale, so that a slider only swaps lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.drawing.cure_pictures import Curve, Panel, panel_paths, picture
from drainwright.drawing.profile import ProfileLayout
from drainwright.drawing.profile_input import STRIP_HEIGHT, Points, Strip
from drainwright.drawing.strips import strip_path
from drainwright.units import UnitSystem, show

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AlongPipe:
    """The liner along the pipe; SI.

    `outer` [time, place] is the temperature of its outermost cells, the colder of top and
    bottom; `least` [time, place] the least cure across its wall.
    """

    times: Array
    positions: Array
    outer: Array
    least: Array
    target: float


@dataclass(frozen=True, slots=True)
class WallSection:
    """The wall at one place, from the liner's inside out; SI.

    `temperature` [time, row] at `depth`, `conversion` [time, liner row] at the first depths;
    `bands` name what the wall is made of there.
    """

    words: str
    depth: Array
    temperature: Array
    conversion: Array
    bands: tuple[tuple[float, float, str], ...]


def cure_strips(along: AlongPipe, frame: int) -> tuple[Strip, Strip]:
    """Strips for one time; their bands hold what all times reach, so that one scale serves all."""
    warm = Strip(
        "outer liner", "temperature", _points(along.positions, along.outer[frame]),
        _points(along.positions, along.outer.min(axis=0)),
        _points(along.positions, along.outer.max(axis=0)),
    )  # fmt: skip
    cured = Strip(
        "least cure", "share", _points(along.positions, along.least[frame]),
        _points(along.positions, along.least.min(axis=0)),
        _points(along.positions, along.least.max(axis=0)),
        along.target, "wanted",
    )  # fmt: skip
    return warm, cured


def strip_paths(along: AlongPipe, layout: ProfileLayout) -> tuple[tuple[str, str], ...]:
    """Path data of both strips for every time, under a profile drawn with `cure_strips`."""
    warm, cured = cure_strips(along, 0)
    tops = (layout.bottom, layout.bottom + STRIP_HEIGHT)
    return tuple(
        (
            strip_path(layout.distances, warm, tops[0], _points(along.positions, outer)),
            strip_path(layout.distances, cured, tops[1], _points(along.positions, least)),
        )
        for outer, least in zip(along.outer, along.least, strict=True)
    )


def section_picture(
    section: WallSection,
    times: Sequence[tuple[int, str]],
    target: float,
    system: UnitSystem,
    prefix: str = "",
) -> str:
    """The section at one or several times, each a number of a frame and its name."""
    label = f"Temperature and cure through the wall, {section.words}"
    return picture(_panels(section, times, target), system, label, prefix)


def section_paths(
    section: WallSection, target: float, system: UnitSystem
) -> tuple[tuple[str, str], ...]:
    """Path data of both panels for every time, on the scale of `section_picture`."""
    panels = _panels(section, ((0, ""),), target)
    found = []
    for warm, cured in zip(section.temperature, section.conversion, strict=True):
        first, second = panel_paths(panels, system, (warm, cured))
        found.append((first, second))
    return tuple(found)


def _panels(
    section: WallSection, times: Sequence[tuple[int, str]], target: float
) -> tuple[Panel, Panel]:
    liner = section.conversion.shape[1]
    warm = tuple(Curve(section.depth, section.temperature[n], name) for n, name in times)
    cured = tuple(Curve(section.depth[:liner], section.conversion[n], name) for n, name in times)
    reach = (float(section.temperature.min()), float(section.temperature.max()))
    return (
        Panel(
            f"Temperature {section.words}: depth from the liner’s inside", "wall",
            "temperature", warm, reach, bands=section.bands, height=150.0,
        ),
        Panel(
            "Cure across the liner there", "wall", "share", cured, (0.0, 1.0),
            (target, "wanted"), height=110.0,
        ),
    )  # fmt: skip


def minutes(time: float, system: UnitSystem) -> str:
    """A time in whole minutes."""
    return show(time, "time", system, 0).text


def _points(x: Array, y: Array) -> Points:
    return tuple((float(a), float(b)) for a, b in zip(x, y, strict=True))
