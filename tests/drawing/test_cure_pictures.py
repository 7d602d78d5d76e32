"""The cure pictures: what stands in them, units, and that nothing overlaps or runs out."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from drainwright.drawing.cure_pictures import (
    CureFields,
    CureTimes,
    Curve,
    Panel,
    along_profile,
    by_time,
    picture,
    through_wall,
    ticks_of,
)
from drainwright.errors import InputError
from drainwright.units import UnitSystem

SVG = "{http://www.w3.org/2000/svg}"


def fields() -> CureFields:
    times = np.array([600.0, 1800.0, 3600.0])
    positions = np.linspace(0.2, 19.8, 30)
    radii = np.concatenate([np.linspace(0.045, 0.0505, 6), np.linspace(0.052, 0.065, 4),
                            np.linspace(0.07, 0.3, 10)])  # fmt: skip
    warm = 288.15 + 80 * np.exp(-(radii - 0.045) * 20)[None, :, None] * (
        times[:, None, None] / 3600
    ) * np.linspace(1, 0.6, 30)
    cure = np.clip((warm[:, :6] - 288.15) / 80, 0, 1)
    return CureFields(times, positions, radii, warm, cure, 0, 6, 4)


def over_time() -> CureTimes:
    time = np.linspace(0, 9000, 80)
    exhaust = 288.15 + 95 * (1 - np.exp(-time / 900))
    return CureTimes(time, exhaust, exhaust + 3, 1 - np.exp(-time / 2500), 5400.0, 4800.0, 0.85)


def texts(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("system", UnitSystem)
def test_each_picture_names_its_lines_and_units(system: UnitSystem) -> None:
    pictures = (
        along_profile(fields(), 0.85, system),
        through_wall(fields(), 12, 0.85, system),
        by_time(over_time(), system),
    )
    degrees = "°F" if system is UnitSystem.US else "°C"
    for svg in pictures:
        assert degrees in texts(svg)
        assert "%" in texts(svg)
        assert "wanted" in texts(svg)
    assert {"10 min", "30 min", "60 min"} <= set(texts(pictures[0]))
    assert {"liner", "host", "soil"} <= set(texts(pictures[1]))
    assert {"cured, 80 min", "steam off, 90 min"} <= set(texts(pictures[2]))


def test_only_paper_graphite_and_one_ink() -> None:
    svg = along_profile(fields(), 0.85, UnitSystem.US)
    colors = {
        node.get(name)
        for node in ET.fromstring(svg).iter()
        for name in ("fill", "stroke")
        if (node.get(name) or "").startswith("#")
    }
    assert colors <= {"#2b2e31", "#62625a", "#a3a196", "#0d4f8b", "#ffffff"}


def test_lines_differ_by_dashes_and_stay_inside() -> None:
    svg = along_profile(fields(), 0.85, UnitSystem.SI)
    curves = [n for n in ET.fromstring(svg).iter(f"{SVG}path") if n.get("class") == "dw-curve"]
    assert len({n.get("stroke-dasharray") for n in curves[:3]}) == 3
    width, height = (float(v) for v in (ET.fromstring(svg).get("viewBox") or "").split()[2:])
    for node in curves:
        numbers = [
            float(v) for v in (node.get("d") or "").replace("M", "").replace("L", "").split()
        ]
        assert all(0 <= x <= width for x in numbers[::2])
        assert all(0 <= y <= height for y in numbers[1::2])


def test_names_at_the_ends_do_not_overlap() -> None:
    flat = tuple(
        Curve(np.array([0.0, 1.0]), np.array([300.0, 300.0 + n]), f"line {n}") for n in range(4)
    )
    svg = picture((Panel("t", "length", "temperature", flat),), UnitSystem.SI, "x")
    rows = sorted(
        float(n.get("y") or 0) for n in ET.fromstring(svg).iter(f"{SVG}text")
        if (n.text or "").startswith("line")
    )  # fmt: skip
    assert all(b - a >= 13.9 for a, b in itertools.pairwise(rows))


@pytest.mark.analytic
def test_ticks_are_round_and_inside() -> None:
    for low, high in ((0.0, 1.0), (15.3, 111.2), (-4.0, 3.0), (0.0, 0.0061)):
        found = ticks_of(low, high, 6)
        assert 2 <= len(found) <= 7
        assert all(low - 1e-9 <= value <= high + 1e-9 for value in found)


def test_bad_arrays_are_refused() -> None:
    bad = Curve(np.array([0.0, 1.0]), np.array([1.0]), "short")
    with pytest.raises(InputError):
        picture((Panel("t", "length", "temperature", (bad,)),), UnitSystem.SI, "x")
