from __future__ import annotations

import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.drawing.lettering import text_width
from drainwright.drawing.segment_sketch import SketchLateral, SketchSegment, draw_segments
from drainwright.errors import InputError
from drainwright.units import UnitSystem

SVG = "{http://www.w3.org/2000/svg}"


def labels(svg: str) -> list[tuple[float, float, str]]:
    """Middle, height and text of each lateral's name."""
    found = []
    for link in ET.fromstring(svg).iter(f"{SVG}a"):
        text = link.find(f"{SVG}text")
        assert text is not None
        found.append((float(text.attrib["x"]), float(text.attrib["y"]), text.text or ""))
    return found


@given(
    taps=st.lists(
        st.tuples(st.floats(0, 100), st.sampled_from([None, 2.0, 10.0])), min_size=1, max_size=24
    )
)
def test_names_stand_in_the_order_of_their_taps_and_never_overlap(
    taps: list[tuple[float, float | None]],
) -> None:
    laterals = tuple(
        SketchLateral(f"A-{n}", distance, clock, href=f"/{n}")
        for n, (distance, clock) in enumerate(taps)
    )
    segment = SketchSegment("A", "MH 1", "MH 2", 100.0, laterals)
    drawn = labels(draw_segments([segment], UnitSystem.SI))
    assert {name for _, _, name in drawn} == {one.key for one in laterals}
    distance = {one.key: one.distance for one in laterals}
    for side in {y for _, y, _ in drawn}:
        row = sorted((x, name) for x, y, name in drawn if y == side)
        for (left, one), (right, other) in pairwise(row):
            assert right - left >= (text_width(one) + text_width(other)) / 2
            assert distance[one] <= distance[other]


def test_a_tap_on_the_left_stands_above_one_on_the_right() -> None:
    laterals = (SketchLateral("L", 10, 10.0, href="/l"), SketchLateral("R", 10, 2.0, href="/r"))
    svg = draw_segments([SketchSegment("A", "1", "2", 50, laterals)], UnitSystem.US)
    heights = {name: y for _, y, name in labels(svg)}
    assert heights["L"] < heights["R"]


def test_what_can_t_be_drawn_is_told() -> None:
    off = SketchSegment("A", "1", "2", 50.0, (SketchLateral("L", 60.0, href="/l"),))
    with pytest.raises(InputError) as told:
        draw_segments([off, SketchSegment("B", "1", "2", 0.0)], UnitSystem.SI)
    assert {fault.name for fault in told.value.faults} == {"L", "B"}


def test_texts_are_escaped() -> None:
    one = SketchLateral("<L&>", 1.0, href='/"><script>')
    svg = draw_segments([SketchSegment("A", "<", "&", 2.0, (one,))], UnitSystem.SI)
    assert "<script>" not in svg
    assert labels(svg)[0][2] == "<L&>"
