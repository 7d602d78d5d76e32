"""The profile: readable, well formed, to scale, and the same as last time."""

from __future__ import annotations

import math
import os
import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.drawing.profile import (
    Belly,
    Bend,
    Flag,
    HostSpan,
    LinerDrawing,
    ProfileInput,
    ProfileOptions,
    ProfileSvg,
    Strip,
    draw_profile,
)
from drainwright.drawing.section import Section
from drainwright.drawing.svg import Box
from drainwright.errors import InputError
from drainwright.units import FOOT, UnitSystem
from tests.drawing.profiles import crowded, plain_profile, profiles, steep_profile, with_strips

PINNED = Path(__file__).parent / "pinned"
SVG = "{http://www.w3.org/2000/svg}"
US, SI = UnitSystem.US, UnitSystem.SI
POINTS_WIDE = 7.5 * 72


def root(drawn: ProfileSvg) -> ET.Element:
    return ET.fromstring(drawn.svg)


def texts(drawn: ProfileSvg) -> list[str]:
    return [element.text or "" for element in root(drawn).iter(f"{SVG}text")]


def of_class(drawn: ProfileSvg, name: str) -> list[ET.Element]:
    return [one for one in root(drawn).iter() if name in one.get("class", "").split()]


def coordinates(drawn: ProfileSvg) -> list[tuple[float, float]]:
    """Every absolute point of lines, texts and rectangles."""
    found = []
    for element in root(drawn).iter():
        if element.get("transform") or element.tag in {f"{SVG}pattern", f"{SVG}clipPath"}:
            continue
        for x, y in (("x", "y"), ("cx", "cy")):
            if element.get(x) is not None and element.get(y) is not None:
                found.append((float(element.get(x, "")), float(element.get(y, ""))))
        if element.get("fill") == "none" or element.tag == f"{SVG}path":
            data = element.get("d", "")
            if re.fullmatch(r"[ML\d.\- Z]*", data):
                pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", data)
                found += [(float(x), float(y)) for x, y in pairs]
    return found


def overlapping(drawn: ProfileSvg) -> list[tuple[Box, Box]]:
    boxes = [*drawn.layout.texts, *drawn.layout.symbols]
    return [(a, b) for a, b in combinations(boxes, 2) if a.overlaps(b, -0.5)]


@settings(max_examples=120)
@given(profiles(), st.sampled_from([US, SI]), st.sampled_from([(1150, 500), (700, 400)]))
def test_nothing_overlaps_and_all_is_on_the_sheet(
    lateral: ProfileInput, system: UnitSystem, size: tuple[int, int]
) -> None:
    width, height = size
    drawn = draw_profile(lateral, system, ProfileOptions(width, height))
    assert overlapping(drawn) == []
    for box in drawn.layout.texts:
        assert box.left >= 0
        assert box.right <= width
        assert box.top >= 0
        assert box.bottom <= height
    for x, y in coordinates(drawn):
        assert math.isfinite(x)
        assert math.isfinite(y)
        assert -300 <= x <= width + 0.5, "only the main's far side may lie left of the sheet"
        assert -1 <= y <= height + 0.5


@settings(max_examples=40)
@given(profiles())
def test_leads_of_flags_cross_no_text(lateral: ProfileInput) -> None:
    drawn = draw_profile(lateral, US)
    flags = of_class(drawn, "dw-flag")
    boxes = {box.text: box for box in drawn.layout.texts}
    for flag in flags:
        own = {one.text for one in flag.iter(f"{SVG}text")}
        for lead in flag.iter(f"{SVG}path"):
            if "dw-lead" not in lead.get("class", ""):
                continue
            (x0, y0), (x1, y1), *_ = [
                (float(x), float(y))
                for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", lead.get("d", ""))
            ]
            if abs(x1 - x0) > 0.2:
                continue
            for text, box in boxes.items():
                inside = box.left < x0 < box.right and box.top < y1 and y0 < box.bottom
                if text not in own and box.bottom < drawn.layout.ground_top:
                    assert not inside, (text, x0)


@pytest.mark.parametrize("system", [US, SI])
@pytest.mark.parametrize("count", [0, 1, 8, 25, 60, 300])
def test_crowded_laterals_stay_legible(count: int, system: UnitSystem) -> None:
    drawn = draw_profile(crowded(count, 30 * FOOT) if count else plain_profile(), system)
    assert overlapping(drawn) == []
    if count < 2:
        return
    shown = [one for one in of_class(drawn, "dw-observation") if one.get("data-row")]
    rows = sorted(int(row) for one in shown for row in one.get("data-row", "").split(","))
    assert rows == list(range(count)), "every observation is on the drawing"
    numbers = [entry.number for entry in drawn.key]
    assert numbers == list(range(1, len(numbers) + 1))


def test_numbers_on_flags_are_those_of_the_key() -> None:
    drawn = draw_profile(crowded(25, 30 * FOOT), US)
    assert drawn.key
    by_row = {one.get("data-row"): one for one in of_class(drawn, "dw-observation")}
    for entry in drawn.key:
        if entry.row is None:
            continue
        label = by_row[str(entry.row)].find(f"{SVG}text")
        assert label is not None
        assert label.text == str(entry.number)
        assert entry.text.startswith(f"{entry.distance / FOOT:.1f} ft: ")
    distances = [entry.distance for entry in drawn.key]
    assert distances == sorted(distances), "numbers count up from the main"


@pytest.mark.analytic
def test_distances_are_drawn_linearly() -> None:
    places = (5.0, 10.0, 20.0, 30.0)
    flags = [Flag(d * FOOT, "roots", "r", row=k) for k, d in enumerate(places)]
    drawn = draw_profile(plain_profile(observations=flags, bends=[]), US)
    feet = {}
    for one in of_class(drawn, "dw-observation"):
        foot = next(c for c in one.iter(f"{SVG}circle") if c.get("class") == "dw-lead-foot")
        feet[float(one.get("data-distance", ""))] = float(foot.get("cx", ""))
    scale = drawn.layout.distances
    for distance, x in feet.items():
        assert x == pytest.approx(scale.zero + distance * scale.per_unit, abs=0.11)
    labels = {one.text: float(one.get("x", "")) for one in root(drawn).iter(f"{SVG}text")}
    step = labels["10"] - labels["5"] if "5" in labels else (labels["20"] - labels["10"]) / 2
    assert step == pytest.approx(5 * FOOT * scale.per_unit, abs=0.11)


@pytest.mark.analytic
def test_vertical_scale_is_what_the_drawing_says() -> None:
    flat = [(0.0, 8.0 * FOOT), (41.8 * FOOT, 6.0 * FOOT)]
    drawn = draw_profile(plain_profile(invert=flat, ground=[], bends=[], observations=[]), US)
    said = next(text for text in texts(drawn) if text.startswith("vertical"))
    exaggeration = float(said.split()[2])
    bore = next(one for one in of_class(drawn, "dw-bore") if one.get("fill") == "none"
                and "dw-stub" not in one.get("class", ""))  # fmt: skip
    points = re.findall(r"(-?[\d.]+) (-?[\d.]+)", bore.get("d", ""))
    (x0, y0), (x1, y1) = [(float(x), float(y)) for x, y in points][1:3]
    slope = (y0 - y1) / (x1 - x0)
    assert slope == pytest.approx(exaggeration * 2.0 / 41.8, rel=0.02)


@pytest.mark.analytic
def test_main_and_lateral_keep_their_relation() -> None:
    drawn = draw_profile(plain_profile(bends=[]), US)
    circle = next(one for one in of_class(drawn, "dw-main") if "dw-bore" in one.get("class", ""))
    bore = next(one for one in of_class(drawn, "dw-bore") if one.get("fill") == "none"
                and "dw-stub" not in one.get("class", ""))  # fmt: skip
    width = float(bore.get("stroke-width", ""))
    assert 2 * float(circle.get("r", "")) / width == pytest.approx(8 / 4, rel=0.01)


def test_text_is_seven_points_or_more_on_seven_and_a_half_inches() -> None:
    drawn = root(draw_profile(plain_profile(), US))
    width = float(drawn.get("viewBox", "").split()[2])
    sizes = [float(one.get("font-size", "")) for one in drawn.iter() if one.get("font-size")]
    assert min(sizes) * POINTS_WIDE / width >= 7.0


def test_words_of_both_unit_systems() -> None:
    feet = " ".join(texts(draw_profile(plain_profile(), US)))
    meters = " ".join(texts(draw_profile(plain_profile(), SI)))
    assert "lined 39.8 ft (39 ft 10 in) ± 0.4 ft" in feet
    assert "unlined to the cleanout 1.6 ft (1 ft 7 in)" in feet
    assert "main 8 in" in feet
    assert "5.4 in" in feet
    assert "lined 12.13 m ± 0.12 m" in meters
    assert "unlined to the cleanout 0.49 m" in meters
    assert "meters from the main" in meters
    assert "137 mm" in meters
    assert re.search(r"\bft\b|\bin\b", meters) is None


def test_what_was_assumed_is_said() -> None:
    drawn = draw_profile(plain_profile(invert=[], assumed_depth=2.0, ground=[]), SI)
    said = " ".join(texts(drawn))
    assert "depth assumed" in said
    assert "ground drawn level" in said
    known = " ".join(texts(draw_profile(plain_profile(), SI)))
    assert "assumed" not in known
    water = " ".join(texts(draw_profile(plain_profile(water_assumed=True), SI)))
    assert "(assumed)" in water


def test_soil_is_left_out_only_where_the_pipe_is_deep() -> None:
    deep = [(0.0, 8.0), (41.8 * FOOT, 7.5)]
    drawn = draw_profile(plain_profile(invert=deep, water=[]), US)
    assert "soil left out at the break" in " ".join(texts(drawn))
    assert of_class(drawn, "dw-break")
    assert of_class(draw_profile(plain_profile(), US), "dw-break") == []


def test_markup_in_texts_is_escaped_and_long_texts_are_cut() -> None:
    nasty = "<script>&amp; \"x\" 'y'\x00\x0b\ud800 " * 9
    lateral = plain_profile(title=nasty, observations=[Flag(5.0, "roots", nasty, row=0)])
    drawn = draw_profile(lateral, US)
    assert "<script" not in drawn.svg
    label = root(drawn).get("aria-label", "")
    assert label.startswith("Profile of <script>&amp; \"x\" 'y'")
    cut = [text for text in texts(drawn) if text.endswith("…")]
    assert cut
    drawn.svg.encode("utf-8")


def test_ids_take_the_prefix_and_every_reference_has_its_target() -> None:
    for prefix in ("", "a07-"):
        drawn = draw_profile(steep_profile(), US, ProfileOptions(prefix=prefix))
        ids = {one.get("id") for one in root(drawn).iter() if one.get("id")}
        used = set(re.findall(r"url\(#([^)]+)\)", drawn.svg))
        assert used == ids
        assert all(str(one).startswith(prefix) for one in ids)
    with pytest.raises(InputError):
        draw_profile(plain_profile(), US, ProfileOptions(prefix='"><x'))


def test_it_prints_without_a_style_sheet() -> None:
    drawn = draw_profile(steep_profile(), US)
    assert "style=" not in drawn.svg
    assert "<style" not in drawn.svg
    for one in root(drawn).iter():
        if one.tag in {f"{SVG}path", f"{SVG}circle", f"{SVG}rect"} and "class" in one.attrib:
            assert one.get("fill"), one.attrib
            assert one.get("class", "").startswith("dw-")


def test_it_is_spoken_in_a_sentence() -> None:
    drawn = root(draw_profile(plain_profile(), US))
    assert drawn.get("role") == "img"
    said = drawn.get("aria-label", "")
    assert said.startswith("Profile of lateral B-12: 41.8 ft of 4 in clay from the main")
    assert "lined from 0.0 to 39.8 ft; 3 observations" in said
    assert said.endswith(".")


def test_collar_riser_belly_branch_and_steps_are_drawn() -> None:
    plain = draw_profile(plain_profile(), US)
    steep = draw_profile(steep_profile(), SI)
    assert of_class(plain, "dw-collar")
    assert of_class(steep, "dw-collar") == []
    assert of_class(steep, "dw-branch")
    assert of_class(steep, "dw-pool-area")
    assert of_class(steep, "dw-plan-bend")
    assert of_class(steep, "dw-station")
    said = texts(steep)
    assert "riser 2.10 m" in said
    assert any(text.startswith("belly 50") for text in said)
    bores = {
        one.get("stroke-width") for one in of_class(steep, "dw-bore")
        if one.get("fill") == "none" and "dw-stub" not in one.get("class", "")
    }  # fmt: skip
    assert len(bores) >= 2, "two sizes of host pipe"


@pytest.mark.analytic
def test_a_strip_has_its_own_scale_in_the_readers_unit() -> None:
    drawn = draw_profile(with_strips(), SI, ProfileOptions(height=680))
    assert overlapping(drawn) == []
    curve = next(one for one in of_class(drawn, "dw-curve"))
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", curve.get("d", ""))
    points = [(float(x), float(y)) for x, y in pairs]
    scale = drawn.layout.distances
    assert points[1][0] == pytest.approx(scale.zero + 6.0 * scale.per_unit, abs=0.11)
    labels = {
        box.text: (box.top + box.bottom) / 2
        for box in drawn.layout.texts
        if box.top > points[-1][1] - 30 and box.right < scale.zero and box.text.isdigit()
    }
    per_kelvin = (labels["90"] - labels["80"]) / 10
    assert (points[2][1] - points[0][1]) / 16.0 == pytest.approx(per_kelvin, rel=0.02)
    assert "at least 82 °C" in texts(drawn)
    assert "at least 179 °F" in texts(draw_profile(with_strips(), US, ProfileOptions(height=680)))


@pytest.mark.analytic
def test_a_belly_lies_its_depth_below_the_straight_line() -> None:
    lateral = plain_profile(
        invert=[(0.0, 3.0), (10.0, 2.0)], ground=[], bellies=[Belly(4.0, 6.0, 0.08)]
    )
    section = Section(lateral)
    assert section.invert_at(5.0) == pytest.approx(-2.5 - 0.08)
    assert section.invert_at(4.0) == pytest.approx(-2.6)
    assert section.invert_at(6.0) == pytest.approx(-2.4)


@pytest.mark.parametrize(
    "changes",
    [
        {"length": math.nan},
        {"length": -1.0},
        {"host": []},
        {"invert": [], "assumed_depth": None},
        {"invert": [(0.0, math.inf)]},
        {"observations": [Flag(math.nan, "roots", "x")]},
        {"bends": [Bend(1e9, 0.5)]},
        {"host": [HostSpan(0.0, 5.0, 0.0)]},
        {"liner": LinerDrawing(0.0, math.inf)},
        {"ground": [(0.0, math.nan)]},
        {"joints": 0.0},
        {"strips": [Strip("t", "temperature", [])]},
        {"strips": [Strip("t", "never", [(0.0, 1.0)])]},
        {"strips": [Strip("t", "temperature", [(0.0, math.nan)])]},
    ],
)
def test_what_cannot_be_drawn_is_refused_by_name(changes: dict[str, object]) -> None:
    with pytest.raises(InputError) as caught:
        draw_profile(replace(plain_profile(), **changes), US)  # type: ignore[arg-type]
    assert all(fault.name for fault in caught.value.faults)


@pytest.mark.parametrize("length", [2 * FOOT, 150 * FOOT])
@pytest.mark.parametrize("depth", [2 * FOOT, 30 * FOOT])
@pytest.mark.parametrize("water", [-1.0, 1.0, None])
def test_extremes_are_drawn(length: float, depth: float, water: float | None) -> None:
    lateral = plain_profile(
        length=length,
        host=[HostSpan(0.0, length, 0.1)],
        invert=[(0.0, depth), (length, depth - 0.1)],
        water=[] if water is None else [(0.0, water)],
        liner=LinerDrawing(0.0, 0.9 * length),
        cleanout=None, property_line=None, observations=[], bends=[],
    )  # fmt: skip
    drawn = draw_profile(lateral, US)
    assert overlapping(drawn) == []
    liner = [one for one in of_class(drawn, "dw-liner") if one.get("clip-path") is None]
    assert liner


@pytest.mark.pinned
@pytest.mark.parametrize("name", ["plain_us", "steep_si"])
def test_pinned_drawings(name: str) -> None:
    lateral, system = {"plain_us": (plain_profile(), US), "steep_si": (steep_profile(), SI)}[name]
    drawn = draw_profile(lateral, system, ProfileOptions(prefix="p-")).svg.replace("><", ">\n<")
    file = PINNED / f"{name}.svg"
    if os.environ.get("DRAINWRIGHT_PIN"):
        file.write_text(drawn + "\n", encoding="utf-8")
    assert drawn + "\n" == file.read_text("utf-8")
