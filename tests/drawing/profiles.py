"""Profiles for the tests of drawings: one by hand, and any number by hypothesis."""

from __future__ import annotations

import math
from typing import Any

from hypothesis import strategies as st

from drainwright.drawing.profile import (
    Belly,
    Bend,
    Branch,
    Cleanout,
    CollarDrawing,
    Flag,
    HostSpan,
    LinerDrawing,
    MainDrawing,
    ProfileInput,
    Riser,
    Station,
    Strip,
)
from drainwright.drawing.symbols import SYMBOLS
from drainwright.units import FOOT, INCH


def plain_profile(**changes: Any) -> ProfileInput:
    """A lateral of 41.8 ft with a bit of everything."""
    values: dict[str, Any] = {
        "title": "lateral B-12",
        "length": 41.8 * FOOT,
        "main": MainDrawing(8 * INCH, "clay"),
        "host": [HostSpan(0.0, 41.8 * FOOT, 4 * INCH, 0.6 * INCH, "clay")],
        "invert": [(0.0, 9.0 * FOOT), (3.0 * FOOT, 7.5 * FOOT), (41.8 * FOOT, 6.0 * FOOT)],
        "ground": [(0.0, 0.0), (20.0 * FOOT, 0.4 * FOOT), (45.0 * FOOT, 1.0 * FOOT)],
        "water": [(0.0, 5.0 * FOOT), (40.0 * FOOT, 6.0 * FOOT)],
        "joints": 3.0 * FOOT,
        "collar": CollarDrawing(16 * INCH, 5.4 * INCH, 5.1 * INCH),
        "observations": [
            Flag(6.4 * FOOT, "roots", "roots 20 %", row=0),
            Flag(13.1 * FOOT, "infiltration", "dripping, 10 o’clock", row=1),
            Flag(25.0 * FOOT, "crack", "cracks along", to_distance=29.0 * FOOT, row=2),
        ],
        "bends": [Bend(3.0 * FOOT, math.radians(22.5))],
        "liner": LinerDrawing(0.0, 39.8 * FOOT, 0.003, 39.8 * FOOT, 0.4 * FOOT),
        "cleanout": Cleanout(41.4 * FOOT),
        "property_line": 26.5 * FOOT,
    }
    return ProfileInput(**(values | changes))


def steep_profile() -> ProfileInput:
    """A deep main, a riser, a size change, a belly, stations, no collar."""
    return plain_profile(
        title="lateral B-13",
        length=10.5,
        main=MainDrawing(0.3, "concrete", lined=True, tap_angle=math.radians(60)),
        host=[HostSpan(0.0, 6.0, 0.1, 0.012, "clay"), HostSpan(6.0, 10.5, 0.15, 0.006, "PVC")],
        invert=[(0.0, 4.5), (0.3, 4.4), (2.4, 2.6), (10.5, 2.3)],
        riser=Riser(0.3, 2.4),
        bellies=[Belly(3.5, 5.5, 0.05)],
        branches=[Branch(8.0, "branch", 0.1)],
        stations=[Station(1.0, "station 1"), Station(4.5, "governs: water", governing=True)],
        collar=None,
        water=[(0.0, 2.0)],
        water_assumed=True,
        liner=LinerDrawing(0.0, 9.9, 0.003),
        cleanout=Cleanout(10.2),
        property_line=7.0,
        bends=[Bend(2.4, math.radians(45), in_plan=True)],
        observations=[Flag(6.0, "size_change", "100 to 150 mm", row=0)],
    )


def crowded(count: int, length: float) -> ProfileInput:
    """`count` observations at even distances."""
    kinds = list(SYMBOLS)
    flags = [
        Flag(
            (k + 0.5) * length / count,
            kinds[k % len(kinds)],
            f"{kinds[k % len(kinds)]} here",
            row=k,
        )
        for k in range(count)
    ]
    host = [HostSpan(0.0, length, 4 * INCH)]
    return plain_profile(
        length=length, host=host, observations=flags, liner=None, cleanout=None, property_line=None
    )


def with_strips() -> ProfileInput:
    """The plain profile with a temperature and its band, and a pressure."""
    hot = [(0.0, 350.0), (6.0, 358.0), (12.1, 366.0)]
    return plain_profile(
        strips=[
            Strip(
                "wall, coldest side",
                "temperature",
                hot,
                [(d, value - 4.0) for d, value in hot],
                [(d, value + 3.0) for d, value in hot],
                limit=355.0,
                limit_text="at least",
            ),
            Strip("head of water", "pressure", [(0.0, 12e3), (12.1, 8e3)]),
        ]
    )


@st.composite
def profiles(draw: st.DrawFn) -> ProfileInput:
    """Any lateral of 2 to 150 ft, 2 to 30 ft deep, with up to 40 observations."""
    length = draw(st.floats(0.6, 46.0))
    depth = st.floats(0.6, 9.0)
    along = st.floats(0.0, length)
    words = st.text(max_size=60) | st.sampled_from(["roots 20 %", "offset 1/4 in", "dripping"])
    kinds = st.sampled_from([*SYMBOLS, "never seen"])
    flag = st.builds(Flag, along, kinds, words, st.none() | along, st.integers(0, 99))
    bend = st.builds(Bend, along, st.floats(0.1, 1.5), st.booleans())
    span = st.tuples(along, along).map(sorted)
    liner = draw(st.none() | st.floats(0.1, length))
    given_depth = draw(st.booleans())
    return ProfileInput(
        title=draw(words),
        length=length,
        main=MainDrawing(
            draw(st.floats(0.1, 1.5)), draw(words), draw(st.booleans()),
            tap_angle=draw(st.floats(0.0, 1.5)),
        ),
        host=[HostSpan(0.0, length, draw(st.floats(0.075, 0.3)))],
        invert=[(0.0, draw(depth)), (length, draw(depth))] if given_depth else (),
        assumed_depth=draw(depth),
        ground=draw(st.lists(st.tuples(along, st.floats(-1.0, 1.0)), max_size=4)),
        water=draw(st.lists(st.tuples(along, st.floats(-1.0, 9.0)), max_size=3)),
        water_assumed=draw(st.booleans()),
        joints=draw(st.none() | st.floats(0.3, 3.0) | st.lists(along, max_size=9)),
        collar=draw(st.none() | st.builds(
            CollarDrawing, st.floats(0.2, 0.6), st.floats(0.0, 0.2), st.floats(0.0, 0.2)
        )),
        observations=draw(st.lists(flag, max_size=40)),
        bends=draw(st.lists(bend, max_size=3)),
        branches=draw(st.lists(st.builds(Branch, along), max_size=3)),
        liner=None if liner is None else LinerDrawing(0.0, liner),
        cleanout=draw(st.none() | st.builds(Cleanout, along)),
        property_line=draw(st.none() | along),
        bellies=[Belly(a, b, 0.05) for a, b in draw(st.lists(span, max_size=2))],
        stations=draw(st.lists(st.builds(Station, along, words, st.booleans()), max_size=4)),
    )  # fmt: skip
