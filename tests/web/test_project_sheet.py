"""The project sheet: whom laterals wait on, the sketch map, and where taps lie."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from drainwright.errors import InputError
from drainwright.operations.list_project import ProjectFilters
from drainwright.operations.map_layout import REACH, is_left, lay_out
from drainwright.operations.project_map import project_map
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create, existing
from drainwright.planning.waiting import PARTIES, waits_on
from drainwright.records.lateral import Lateral, LengthMeasurement, MeasuringWay
from drainwright.records.project import MainSegment, Project
from drainwright.records.work_sheet import WorkSheet
from tests.web.conftest import NOW
from tests.web.test_pages import Tags, page, rows

EVERYWHERE = (-1e6, -1e6, 1e6, 1e6)


def waits_by_records(store_file: Path) -> dict[str, tuple[str, ...]]:
    """Whom each lateral waits on, from whole records alone."""
    with existing(str(store_file)) as (store, project), store.read() as session:
        sheets = {one.key: one.record.reasons for one in session.every(project.key, WorkSheet)}
        return {
            one.key: waits_on(one.stage, sheets.get(one.key, ()))
            for one in session.every(project.key, Lateral)
        }


@pytest.mark.parametrize("party", PARTIES)
def test_a_party_shows_the_laterals_that_wait_on_it(
    client: TestClient, demo_store: Path, party: str
) -> None:
    wanted = [key for key, waits in waits_by_records(demo_store).items() if party in waits]
    text = page(client, f"/?waits={party}")
    assert sorted(rows(text)) == sorted(wanted)
    assert client.get("/api/waiting").json().get(party, 0) == len(wanted)
    listed = client.get("/api/laterals", params={"waits": party}).json()
    assert [one["key"] for one in listed["items"]] == rows(text)
    if wanted:
        assert f"<b>{len(wanted)}</b></a>" in text


def test_waiting_goes_together_with_other_filters(client: TestClient, demo_store: Path) -> None:
    waits = waits_by_records(demo_store)
    both = [key for key in rows(page(client, "/?segment=B")) if "engineer" in waits[key]]
    assert rows(page(client, "/?segment=B&waits=engineer")) == both
    words = [key for key in rows(page(client, "/?q=lantern")) if "engineer" in waits[key]]
    assert rows(page(client, "/?q=lantern&waits=engineer")) == words
    page(client, "/?waits=nobody", 422)


def test_links_keep_the_other_filters(client: TestClient) -> None:
    links = Tags(page(client, "/?segment=B&waits=engineer")).values("href", "a")
    assert "/?segment=B" in links  # lets the party go
    assert "/?segment=B&stage=surveyed&waits=engineer" in links


# ---------------------------------------------------------------- the map


def line(key: str, *points: tuple[float, float], length: float = 100.0) -> MainSegment:
    return MainSegment(key, f"{key} 1", f"{key} 2", 0.2, length, geometry=points)


def test_taps_lie_along_their_segment() -> None:
    # 100 m of main, 60 m east and then 40 m north
    layout = lay_out([line("A", (10, 5), (70, 5), (70, 45))], "")
    for distance, place in ((0, (0, 0)), (30, (30, 0)), (60, (60, 0)), (80, (60, 20)),
                            (100, (60, 40)), (130, (60, 40))):  # fmt: skip
        assert layout.tap("A", distance) == pytest.approx(place)
    assert layout.tap("B", 3) is None


def test_feet_and_degrees_become_meters() -> None:
    # 0.3048 m in a foot; a degree of latitude is the same everywhere on a sphere, one of
    # longitude is shorter by the cosine of the latitude
    feet = lay_out([line("A", (0, 0), (100 / 0.3048, 0))], "")
    assert feet.tap("A", 50) == pytest.approx((50, 0), abs=0.01)
    step = 0.001
    wide = line("A", (-93.0, 60.0), (-93.0 + step / math.cos(math.radians(60)), 60.0))
    high = line("B", (-93.0, 60.0), (-93.0, 60.0 + step))
    layout = lay_out([wide, high], "EPSG:4326")
    assert layout.tap("A", 100) == pytest.approx((100, 0), abs=0.05)
    assert layout.tap("B", 100) == pytest.approx((0, 100), abs=0.05)


def test_segments_without_geometry_are_left_out() -> None:
    assert not lay_out([line("A"), line("B", (0, 0))], "").keys
    assert lay_out([line("A"), line("B", (0, 0), (1, 1))], "").keys == ("B",)


@pytest.mark.parametrize(
    ("clock", "left"), [(9, True), (10, True), (12, True), (2, False), (3, False), (None, True)]
)
def test_the_clock_tells_the_side(clock: float | None, left: bool) -> None:
    assert is_left(clock) is left


def test_only_what_is_in_the_box_is_sent(demo_store: Path) -> None:
    with existing(str(demo_store)) as (store, project):
        whole = project_map(store, project, ProjectFilters(), EVERYWHERE)
        with store.read() as session:
            laterals = {one.key: one.record for one in session.every(project.key, Lateral)}
        assert {one.key for one in whole.laterals} == set(laterals)
        for one in whole.laterals:  # the demo's geometry is in meters, its corner is A's first
            own = laterals[one.key].geometry
            assert one.course == "drawn"
            far = math.dist(own[0], own[-1])
            assert math.dist(one.line[0], one.end) == pytest.approx(far, abs=0.05)
            assert math.dist(one.tap, one.line[0]) < 0.5
        one = whole.laterals[0]
        near = (one.tap[0] - 1, one.tap[1] - 1, one.tap[0] + 1, one.tap[1] + 1)
        part = project_map(store, project, ProjectFilters(), near)
        assert one in part.laterals
        assert len(part.laterals) < len(whole.laterals)
        for found in (whole, part):
            assert not found.hidden
        filtered = project_map(store, project, ProjectFilters(segment="B"), EVERYWHERE)
        assert {one.key[0] for one in filtered.laterals} == {"B"}
        assert len(filtered.segments) == len(whole.segments)
        waits = project_map(store, project, ProjectFilters(waits="engineer"), EVERYWHERE)
        assert 0 < len(waits.laterals) < len(whole.laterals)
        with pytest.raises(InputError):
            project_map(store, project, ProjectFilters(), (0, 0, math.nan, 1))


@pytest.mark.parametrize("box", ["", "1,2,3", "a,b,c,d", "5,0,1,1", "nan,0,1,1"])
def test_a_box_that_is_none_is_told(client: TestClient, box: str) -> None:
    answer = client.get("/api/map", params={"box": box})
    assert answer.status_code == 422
    body: dict[str, Any] = answer.json()
    assert body["errors"][0]["key"] == "box"


def test_a_project_without_geometry_has_no_map(empty: TestClient) -> None:
    assert "leaflet" not in page(empty, "/")
    found = empty.get("/api/map", params={"box": "0,0,1,1"}).json()
    assert found == {"segments": [], "laterals": [], "hidden": False}


def test_leaflet_is_loaded_only_where_there_is_a_map(client: TestClient) -> None:
    assert "leaflet" in page(client, "/")
    for other in ("/laterals/A-07", "/papers", "/specification", "/read"):
        assert "leaflet" not in page(client, other)


MAIN = MainSegment("A", "MH 1", "MH 2", 0.2, 100.0, geometry=((500.0, 40.0), (600.0, 40.0)))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("given", "line", "course"),
    [
        # geometry from the house to the tap is turned round; the corner is taken off
        ({"geometry": ((530.0, 58.0), (530.0, 40.0))}, ((30.0, 0.0), (30.0, 18.0)), "drawn"),
        ({"cleanout_distance": 11.0}, ((30.0, 0.0), (30.0, 11.0)), "straight"),
        (
            {"lengths": (LengthMeasurement(MeasuringWay.CLEANOUT_CAMERA, 14.0, 2.0),)},
            ((30.0, 0.0), (30.0, 12.0)),
            "straight",
        ),
        ({}, ((30.0, 0.0), (30.0, REACH)), "stub"),
    ],
)
def test_a_lateral_is_drawn_as_far_as_it_is_known(
    tmp_path: Path, given: dict[str, Any], line: tuple[Any, ...], course: str
) -> None:
    project = Project("p", "P")
    with create(str(tmp_path / "p.drainwright")) as store:
        start_project(store, project, by="test", at=NOW)
        with store.write(by="test", at=NOW, origin="", reason="test") as session:
            session.put("p", MAIN, expected=0)
            session.put("p", Lateral("A-1", "A", 30.0, tap_clock=10.0, **given), expected=0)
        (found,) = project_map(store, project, ProjectFilters(), EVERYWHERE).laterals
    assert found.line == line
    assert (found.end, found.course) == (line[-1], course)
