"""Two surveys above each other."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest

from drainwright.drawing.survey_overlay import Spot, draw_overlay
from drainwright.units import UnitSystem

SVG = "{http://www.w3.org/2000/svg}"
FIRST = (Spot(0.0, "start", 1, False), Spot(3.0, "bend", 2, False), Spot(9.0, "roots", 3, True))
SECOND = (Spot(0.2, "start", 1, False), Spot(3.3, "bend", 2, False))


def drawn(system: UnitSystem = UnitSystem.SI) -> ET.Element:
    svg = draw_overlay(("May 4", "June 1"), (FIRST, SECOND), ((3.0, 3.3),), system)
    return ET.fromstring(svg)


def test_each_spot_bears_its_number_and_what_differs_is_ink() -> None:
    texts = [(n.text, n.get("class")) for n in drawn().iter(f"{SVG}text")]
    for number, role in (("1", "dw-text"), ("2", "dw-text"), ("3", "dw-text dw-ink")):
        assert (number, role) in texts
    assert [text for text, _ in texts].count("2") >= 2  # once on each pipe, and the scale's
    colors = {n.get("stroke") for n in drawn().iter() if n.get("class") == "dw-symbol"}
    assert colors == {"#2b2e31", "#0d4f8b"}


@pytest.mark.analytic
def test_a_tie_leads_from_the_one_distance_to_the_other() -> None:
    (tie,) = [n for n in drawn().iter(f"{SVG}path") if n.get("class") == "dw-tie"]
    x0, _, x1, _ = (float(v) for v in re.findall(r"[\d.]+", tie.get("d") or ""))
    # 9 m are drawn over the 824 units between the names and the right edge
    assert x0 - 116 == pytest.approx(3.0 / 9.0 * 824, abs=0.1)
    assert x1 - 116 == pytest.approx(3.3 / 9.0 * 824, abs=0.1)


@pytest.mark.parametrize("system", UnitSystem)
def test_the_scale_is_in_the_reader_s_unit_and_all_stays_inside(system: UnitSystem) -> None:
    svg = drawn(system)
    word = "feet" if system is UnitSystem.US else "meters"
    assert word in [n.text for n in svg.iter(f"{SVG}text")]
    assert svg.get("role") == "img"
    assert "tied at one mark" in (svg.get("aria-label") or "")
    width = float((svg.get("viewBox") or "").split()[2])
    assert all(0 <= float(n.get("x") or 0) <= width for n in svg.iter(f"{SVG}text"))


def test_a_crowd_of_spots_and_none_at_all_can_be_drawn() -> None:
    crowd = tuple(Spot(0.1 * n, "crack", n, n % 2 == 0) for n in range(40))
    assert "<svg" in draw_overlay(("a", "b"), (crowd, ()), (), UnitSystem.US)
    assert "tied at 0 marks" in draw_overlay(("a", "b"), ((), ()), (), UnitSystem.US)
