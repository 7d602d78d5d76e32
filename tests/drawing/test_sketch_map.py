from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.drawing.map_labels import Places
from drainwright.drawing.sketch_map import MapLateral, MapMain, draw_map
from drainwright.drawing.svg import Box, Sheet, text_box
from drainwright.errors import InputError
from drainwright.exchange.map_plane import plane_of
from drainwright.units import FOOT, UnitSystem

SVG = "{http://www.w3.org/2000/svg}"
MAIN = MapMain("S-1", ((0.0, 0.0), (100.0, 0.0)), "MH 1", "MH 2")


def texts(svg: str) -> list[tuple[str, Box]]:
    """Each text with the box that it takes."""
    return [
        (
            one.text or "",
            text_box(
                (float(one.attrib["x"]), float(one.attrib["y"])), one.text or "",
                one.attrib.get("text-anchor", "start"),  # type: ignore[arg-type]
                bold="font-weight" in one.attrib,
            ),
        )
        for one in ET.fromstring(svg).iter(f"{SVG}text")
    ]  # fmt: skip


@settings(max_examples=25, deadline=None)
@given(ends=st.lists(st.tuples(st.floats(0, 100), st.floats(-40, 40)), min_size=1, max_size=40))
def test_no_name_covers_another(ends: list[tuple[float, float]]) -> None:
    laterals = [MapLateral(f"L-{n}", ((x, 0.0), (x, y))) for n, (x, y) in enumerate(ends)]
    drawn = draw_map([MAIN], laterals, UnitSystem.SI)
    boxes = texts(drawn.svg)
    for (_, one), (_, other) in combinations(boxes, 2):
        assert not one.overlaps(other)
    named = sum(text.startswith("L-") for text, _ in boxes)
    assert named + drawn.names_left_out >= len(laterals)


@pytest.mark.parametrize(("system", "long"), [(UnitSystem.SI, 10.0), (UnitSystem.US, 50.0 * FOOT)])
def test_the_bar_is_as_long_as_it_says(system: UnitSystem, long: float) -> None:
    # 100 m on 1150 - 2 x 44 units: 10.62 units a meter, at most 200 units of bar
    root = ET.fromstring(draw_map([MAIN], [], system).svg)
    halves = [float(one.attrib["width"]) for one in root.iter(f"{SVG}rect")
              if one.attrib["class"] == "dw-scale"]  # fmt: skip
    assert sum(halves) == pytest.approx(long * 1062 / 100, abs=0.2)
    assert {"10 m", "50 ft"} & {text for text, _ in texts(draw_map([MAIN], [], system).svg)}


def test_state_is_told_by_shape() -> None:
    stages = ("listed", "designed", "installed")
    drawn = [
        draw_map([MAIN], [MapLateral("L", ((5.0, 0.0), (5.0, 9.0)), "line", one)], UnitSystem.SI)
        for one in stages
    ]
    listed, designed, installed = (one.svg for one in drawn)
    assert "stroke-dasharray" in listed
    assert "stroke-dasharray" not in designed
    assert "dw-liner" in installed
    assert "dw-liner" not in designed


def test_north_is_up_and_a_manhole_stands_once() -> None:
    second = MapMain("S-2", ((100.0, 0.0), (100.0, 50.0)), "MH 2", "MH 3")
    svg = draw_map([MAIN, second], [], UnitSystem.SI).svg
    holes = list(ET.fromstring(svg).iter(f"{SVG}circle"))
    assert len(holes) == 3
    heights = {text: box.top for text, box in texts(svg)}
    assert heights["MH 3"] < heights["MH 1"]


def test_what_can_t_be_drawn_is_told() -> None:
    with pytest.raises(InputError, match="nothing in the project"):
        draw_map([], [], UnitSystem.SI)
    with pytest.raises(InputError, match="not finite"):
        draw_map([MapMain("S", ((0.0, math.nan), (1.0, 1.0)))], [], UnitSystem.SI)


def test_a_name_without_room_is_left_out() -> None:
    places = Places(200, 100)
    places.take(Box(0, 0, 200, 100))
    assert places.name(Sheet(200, 100), "L-1", (100, 50), 5) is None
    assert places.left_out == 1


@pytest.mark.independent
@pytest.mark.parametrize("crs", ["EPSG:26915", "EPSG:26993", "EPSG:2246"])
def test_true_north_is_where_the_projection_puts_the_next_latitude(crs: str) -> None:
    from pyproj import Transformer

    way = Transformer.from_crs("EPSG:4326", crs, always_xy=True)
    # a place in the middle of the system's area, and one a little north of it
    longitude, latitude = {"EPSG:26915": (-91.2, 44.9), "EPSG:26993": (-94.0, 46.0),
                           "EPSG:2246": (-84.0, 38.0)}[crs]  # fmt: skip
    here = way.transform(longitude, latitude)
    there = way.transform(longitude, latitude + 0.001)
    plane = plane_of(crs, [here])
    x, y = plane.place(there)
    assert plane.place(here) == (0.0, 0.0)
    assert math.hypot(x, y) == pytest.approx(0.001 * 111_100, rel=0.003)  # a degree of latitude
    assert plane.north == pytest.approx(math.atan2(x, y), abs=1e-4)


@pytest.mark.independent
def test_degrees_are_laid_flat_in_meters() -> None:
    from pyproj import Geod

    here, there = (-91.2, 44.9), (-91.19, 44.905)
    plane = plane_of("EPSG:4326", [here])
    _, _, long = Geod(ellps="WGS84").inv(*here, *there)
    assert math.dist(plane.place(here), plane.place(there)) == pytest.approx(long, rel=0.005)
    with pytest.raises(InputError, match="no coordinate system"):
        plane_of("EPSG:0", [here])
