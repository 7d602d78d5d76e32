"""A crew's day as a strip: to scale, readable aloud, nothing outside."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from drainwright.drawing.shift_strip import StripSetUp, StripTurn, draw_shift
from drainwright.errors import InputError

TURN = StripTurn(
    "A-01", (460, 480), (480, 500), (510, 820), (535, 700), (820, 850), "/laterals/A-01"
)
STAY = StripSetUp("segment A, rig 1", 390, 460, 880, (TURN,))


@pytest.mark.analytic
def test_boxes_stand_at_their_times() -> None:
    tree = ET.fromstring(draw_shift("north", 390, 1230, [STAY]))
    boxes = [one.attrib for one in tree.iter() if one.attrib.get("class") in ("dw-rig", "dw-steam")]
    rig, steam = ({key: float(one[key]) for key in ("x", "width")} for one in boxes)
    scale = rig["width"] / (820 - 510)
    assert steam["width"] == pytest.approx((700 - 535) * scale, abs=0.2)
    assert steam["x"] - rig["x"] == pytest.approx((535 - 510) * scale, abs=0.2)
    rights = [float(one.attrib["x"]) + float(one.attrib["width"]) for one in tree.iter()
              if one.tag.endswith("rect")]  # fmt: skip
    assert max(rights) <= 1000


def test_it_can_be_read_aloud_and_followed() -> None:
    svg = draw_shift("north, Monday: A-01", 390, 1230, [STAY])
    assert 'aria-label="north, Monday: A-01"' in svg
    assert 'href="/laterals/A-01"' in svg
    assert "steam 8:55 to 11:40" in svg
    assert not re.search(r"<style|style=|<script", svg)


def test_a_shift_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(InputError, match="ends before it starts"):
        draw_shift("north", 500, 400, [])
