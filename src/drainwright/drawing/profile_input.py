"""What a profile is drawn from: plain numbers in SI and the texts to print, no records.

Distances run along the pipe from the inside face of the main at the center of the tap hole.
Depths are below the ground at the same distance; ground is a level above any datum.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.errors import Fault, raise_if_any
from drainwright.units import KINDS

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class MainDrawing:
    """The main: inside `diameter` [m], `wall` [m], where the tap sits, and what is printed.

    `tap_angle` [rad] is the tap's height on the wall above the horizontal: 0 at 3 or 9 o'clock,
    pi/6 at 2 or 10 o'clock, pi/2 at the crown.
    """

    diameter: float
    material: str = ""
    lined: bool = False
    wall: float | None = None
    tap_angle: float = math.pi / 6


@dataclass(frozen=True, slots=True)
class CollarDrawing:
    """The collar in the main: `length` along the main and what rests on each side [m].

    `landing_up` and `landing_down` are seen along the main's flow. `hole` is the tap hole's
    length along the main, by default what the landings leave.
    """

    length: float
    landing_up: float
    landing_down: float
    hole: float | None = None
    full_wrap: bool = True


@dataclass(frozen=True, slots=True)
class HostSpan:
    """A stretch of one host pipe: from `start` to `end`, inside `diameter`, `wall` [m]."""

    start: float
    end: float
    diameter: float
    wall: float | None = None
    material: str = ""


@dataclass(frozen=True, slots=True)
class Flag:
    """One observation: symbol kind and text, running to `to_distance` [m] if given.

    `row` is the caller's number of it, written into the drawing as `data-row`.
    """

    distance: float
    symbol: str
    text: str
    to_distance: float | None = None
    row: int | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """A bend of `angle` [rad]; `in_plan` turns sideways, else the drawn pipe has the kink."""

    distance: float
    angle: float
    in_plan: bool = False
    text: str = ""
    row: int | None = None


@dataclass(frozen=True, slots=True)
class Branch:
    """Another pipe that joins this one: `diameter` [m] if known."""

    distance: float
    text: str = "branch"
    diameter: float | None = None
    row: int | None = None


@dataclass(frozen=True, slots=True)
class LinerDrawing:
    """The liner from `start` to `end`; `length` and its `uncertainty` are printed if given [m]."""

    start: float
    end: float
    wall: float | None = None
    length: float | None = None
    uncertainty: float | None = None


@dataclass(frozen=True, slots=True)
class Cleanout:
    """An access at `distance` [m]; `to_ground` draws its riser up to the ground."""

    distance: float
    text: str = "cleanout"
    diameter: float | None = None
    to_ground: bool = True


@dataclass(frozen=True, slots=True)
class Belly:
    """A belly from `start` to `end`, `depth` [m] below the straight line between them.

    The pipe is drawn bent by `depth` unless the invert has points of its own inside the belly.
    """

    start: float
    end: float
    depth: float | None = None


@dataclass(frozen=True, slots=True)
class Riser:
    """A steep stretch up from the main, named on the drawing."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Station:
    """A station at which wall and head are checked; one of them governs."""

    distance: float
    text: str
    governing: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """A quantity along the pipe, drawn below the section on a scale of its own.

    `kind` is one of `units.KINDS`, `values` are (distance, value) in SI; `low` and `high` bound
    its band, `limit` is a value to hold, named by `limit_text`.
    """

    name: str
    kind: str
    values: Points
    low: Points = ()
    high: Points = ()
    limit: float | None = None
    limit_text: str = ""


@dataclass(frozen=True, slots=True)
class ProfileInput:
    """Everything on the profile of one lateral, in SI.

    Attributes
    ----------
    title
        Name of the lateral in the spoken sentence, such as "lateral A-07".
    length
        How far the pipe is known along its way [m].
    invert, ground, water
        (distance, depth), (distance, level), (distance, depth) [m]. Without `invert` the pipe is
        drawn flat at `assumed_depth`; without `ground` the ground is flat at level 0.
    joints
        Spacing or distances of the host's joints [m].
    property_line
        Distance where the property begins [m].
    """

    title: str
    length: float
    main: MainDrawing
    host: Sequence[HostSpan]
    invert: Points = ()
    assumed_depth: float | None = None
    invert_assumed: bool = False
    ground: Points = ()
    water: Points = ()
    water_assumed: bool = False
    joints: float | Sequence[float] | None = None
    collar: CollarDrawing | None = None
    observations: Sequence[Flag] = ()
    bends: Sequence[Bend] = ()
    branches: Sequence[Branch] = ()
    liner: LinerDrawing | None = None
    cleanout: Cleanout | None = None
    property_line: float | None = None
    riser: Riser | None = None
    bellies: Sequence[Belly] = ()
    stations: Sequence[Station] = ()
    strips: Sequence[Strip] = ()


@dataclass(frozen=True, slots=True)
class ProfileOptions:
    """Size of the drawing in its units, ids' `prefix`, and how many rows of flags it may have.

    Text is 15 units high: at most 1150 units on 7.5 in of paper keep it at 7 pt or more.
    """

    width: float = 1150.0
    height: float = 500.0
    prefix: str = ""
    levels: int = 4


# what a drawing can show at all [m]
LONGEST = 500.0
DEEPEST = 60.0
# the least height of a drawing without strips, and that of a strip, in its units
LOWEST_SHEET = 360.0
STRIP_HEIGHT = 92.0


def check_input(given: ProfileInput, options: ProfileOptions) -> None:
    """Raise one `InputError` with everything that can't be drawn."""
    faults = list(_faults(given))
    if not given.host:
        faults.append(Fault("host", "needs at least one span"))
    if not given.invert and given.assumed_depth is None:
        faults.append(Fault("assumed_depth", "is needed where no depth of the invert is known"))
    least = LOWEST_SHEET + STRIP_HEIGHT * len(given.strips)
    limits = (("width", options.width, 600, 4000), ("height", options.height, least, 2000))
    for name, value, low, high in (*limits, ("levels", float(options.levels), 1, 8)):
        faults += _range(name, value, low, high, "")
    raise_if_any(faults)


def _faults(given: ProfileInput) -> Iterator[Fault]:
    yield from _range("length", given.length, 0.1, LONGEST)
    yield from _range("main diameter", given.main.diameter, 0.02, 5.0)
    for name, value in _distances(given):
        yield from _range(name, value, -5.0, LONGEST)
    for name, points in (("invert", given.invert), ("water", given.water)):
        for _, depth in points:
            yield from _range(f"depth of {name}", depth, -DEEPEST, DEEPEST)
    for _, level in given.ground:
        if not math.isfinite(level):
            yield Fault("ground", "is not a finite number", level, "m")
    for strip in given.strips:
        yield from _strip_faults(strip)
    if given.assumed_depth is not None:
        yield from _range("assumed_depth", given.assumed_depth, 0.0, DEEPEST)
    for name, value in _sizes(given):
        yield from _range(name, value, 0.0, 5.0)
    for span in given.host:
        yield from _range("host diameter", span.diameter, 0.02, 3.0)
    if isinstance(given.joints, float | int):
        yield from _range("joints", float(given.joints), 0.1, LONGEST)


def _strip_faults(strip: Strip) -> Iterator[Fault]:
    if strip.kind not in KINDS:
        yield Fault("strip", f"“{strip.kind}” is not a kind of number", strip.kind)
    if not strip.values:
        yield Fault("strip", "needs at least one value")
    if len(strip.low) != len(strip.high):
        yield Fault("strip", "needs as many low as high values")
    for distance, value in (*strip.values, *strip.low, *strip.high, (0.0, strip.limit or 0.0)):
        yield from _range("strip", distance, -5.0, LONGEST)
        if not math.isfinite(value):
            yield Fault("strip", "is not a finite number", value)


def _range(name: str, value: float, low: float, high: float, unit: str = "m") -> Iterator[Fault]:
    if not (math.isfinite(value) and low <= value <= high):
        text = f"{value:g} {unit}".rstrip()
        message = f"{text} can't be drawn (from {low:g} to {high:g} {unit}".rstrip() + ")"
        yield Fault(name, message, value, unit or None, low, high)


def _distances(given: ProfileInput) -> Iterator[tuple[str, float]]:
    """Every distance of the input with its name."""
    for name, points in (("invert", given.invert), ("ground", given.ground)):
        yield from ((name, distance) for distance, _ in points)
    yield from (("water", distance) for distance, _ in given.water)
    for flag in given.observations:
        yield "observation", flag.distance
        if flag.to_distance is not None:
            yield "observation's end", flag.to_distance
    yield from (("bend", bend.distance) for bend in given.bends)
    yield from (("branch", branch.distance) for branch in given.branches)
    yield from (("station", station.distance) for station in given.stations)
    for name, span in _spans(given):
        yield name, span.start
        yield f"{name}'s end", span.end
    if given.cleanout is not None:
        yield "cleanout", given.cleanout.distance
    if given.property_line is not None:
        yield "property line", given.property_line
    if isinstance(given.joints, Sequence):
        yield from (("joint", joint) for joint in given.joints)


def _spans(given: ProfileInput) -> Iterator[tuple[str, HostSpan | Belly | LinerDrawing | Riser]]:
    """Everything with a start and an end, with its name."""
    yield from (("host span", span) for span in given.host)
    yield from (("belly", belly) for belly in given.bellies)
    if given.liner is not None:
        yield "liner", given.liner
    if given.riser is not None:
        yield "riser", given.riser


def _sizes(given: ProfileInput) -> Iterator[tuple[str, float]]:
    """Every optional size of the input that is given, with its name."""
    sizes: list[tuple[str, float | None]] = [("main wall", given.main.wall)]
    sizes += [("host wall", span.wall) for span in given.host]
    sizes += [("branch diameter", branch.diameter) for branch in given.branches]
    sizes += [("belly depth", belly.depth) for belly in given.bellies]
    if given.collar is not None:
        collar = given.collar
        sizes += [("collar length", collar.length), ("collar hole", collar.hole)]
        sizes += [("landing up", collar.landing_up), ("landing down", collar.landing_down)]
    if given.cleanout is not None:
        sizes.append(("cleanout diameter", given.cleanout.diameter))
    if given.liner is not None:
        sizes += [("liner wall", given.liner.wall), ("uncertainty", given.liner.uncertainty)]
    yield from ((name, size) for name, size in sizes if size is not None)
