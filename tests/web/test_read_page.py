"""Files read in the browser: what is told before anything is stored, and what is stored then."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from drainwright.errors import NotFoundError
from drainwright.operations.list_laterals import list_laterals
from drainwright.operations.show_lateral import show_lateral
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import OpenStore, create
from drainwright.records.project import Project
from drainwright.units import UnitSystem
from drainwright.web.app import make_app
from drainwright.web.kept import Kept
from tests.web.conftest import NOW, clock

SEGMENTS = b"segment,from manhole,to manhole,inside diameter [in],length [ft]\nA,MH 1,MH 2,8,300\n"
LIST = (
    b"Pipe no,Main,Footage,House,Bore\n"
    b"A-1,A,22.5,2 Mill Row,4\n"
    b"A-2,A,48,4 Mill Row,4\n"
    b"A-3,A,410 ft,6 Mill Row,four\n"
)
SIGNED = {"by": "R. Vale", "reason": "the owner’s list of May 4"}


@pytest.fixture
def bare(tmp_path: Path) -> Iterator[tuple[TestClient, OpenStore]]:
    """A project with nothing in it, and its store."""
    project = Project("bare", "Bare", units=UnitSystem.US)
    with create(str(tmp_path / "bare.drainwright")) as store:
        start_project(store, project, by="test", at=NOW)
        yield TestClient(make_app(store, project, now=clock)), store


def hidden(text: str, name: str) -> list[str]:
    return re.findall(rf'name="{name}" value="([^"]*)"', text)


def look(client: TestClient, data: bytes, name: str, kind: str = "") -> str:
    answer = client.post("/read/preview", files={"file": (name, data)}, data={"kind": kind})
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_list_is_looked_at_mended_and_stored(bare: tuple[TestClient, OpenStore]) -> None:
    client, store = bare
    text = look(client, SEGMENTS, "segments.csv")
    assert "segments.csv: 1 segments can be read" in text
    (token,) = hidden(text, "token")
    told = client.post("/read/store", data={"token": token, "kind": "segments"} | SIGNED).text
    assert "1 new, 0 changed, 0 as before" in told

    text = look(client, LIST, "laterals.csv", "laterals")
    assert list_laterals(store, "bare").total == 0
    (token,) = hidden(text, "token")
    headers = hidden(text, "header")
    assert headers == ["Pipe no", "Main", "Footage", "House", "Bore"]
    assert "22.5 · 48 · 410 ft" in text
    mapping: dict[str, str | list[str]] = {
        "token": token,
        "kind": "laterals",
        "header": headers,
        "field": ["lateral", "main segment", "tap distance", "address", "inside diameter"],
        "unit": ["", "", "ft", "", "in"],
    }
    text = client.post("/read/preview", data=mapping).text
    assert "laterals.csv: 2 laterals can be read" in text
    assert re.search(r'<th scope="row">row 4</th><td>Bore</td><td>[^<]*four', text)
    assert list_laterals(store, "bare").total == 0

    # with faults nothing is stored until the clean rows are asked for
    refused = client.post("/read/store", data=mapping | SIGNED).text
    assert "Stored" not in refused
    assert list_laterals(store, "bare").total == 0
    stored = client.post("/read/store", data=mapping | SIGNED | {"clean": "yes"}).text
    assert "2 new" in stored
    assert [one.key for one in list_laterals(store, "bare").items] == ["A-1", "A-2"]
    # 22.5 ft of 0.3048 m (NIST SP 811)
    assert show_lateral(store, "bare", "A-1").lateral.tap_distance == pytest.approx(22.5 * 0.3048)
    (address,) = re.findall(r'href="(/read/left-out/[^"]+)"', stored)
    left = client.get(address)
    assert left.text.splitlines()[1].startswith("A-3,")
    assert "laterals left out.csv" in left.headers["content-disposition"]

    # the same header is known from now on
    text = look(client, LIST.replace(b",four", b",4").replace(b"410", b"91"), "more.csv")
    assert "read before" in text
    assert re.search(r'<option value="tap distance"[^>]* selected', text)


def test_the_reason_stands_in_the_history(bare: tuple[TestClient, OpenStore]) -> None:
    client, store = bare
    (token,) = hidden(look(client, SEGMENTS, "segments.csv"), "token")
    client.post("/read/store", data={"token": token} | SIGNED)
    from drainwright.records.project import MainSegment

    with store.read() as session:
        (made,) = session.history("bare", MainSegment, "A")
    assert (made.by, made.origin) == ("R. Vale", "segments.csv")
    assert made.reason == "read segments: the owner’s list of May 4"
    assert hidden(look(client, SEGMENTS, "segments.csv"), "by") == ["R. Vale"]


@pytest.mark.parametrize(
    ("sent", "status", "words"),
    [
        ({}, 422, "choose one"),
        ({"token": "gone"}, 404, "no longer kept"),
        ({"token": "OWN", "kind": "poem"}, 422, "poem"),
        ({"token": "OWN", "by": "", "reason": ""}, 422, "say who you are"),
        ({"token": "OWN", "header": ["a", "b"], "field": "x", "unit": ""}, 422, "whole"),
        ({"token": "OWN", "header": "a", "field": "moon", "unit": ""} | SIGNED, 422, "moon"),
    ],
)
def test_what_can_not_be_stored_is_told(
    bare: tuple[TestClient, OpenStore], sent: dict[str, str], status: int, words: str
) -> None:
    client, store = bare
    (token,) = hidden(look(client, SEGMENTS, "segments.csv"), "token")
    sent = {"kind": "segments"} | sent
    if sent.get("token") == "OWN":
        sent["token"] = token
    answer = client.post("/read/store", data=sent)
    assert answer.status_code == status
    assert words in answer.text
    with store.read() as session:
        assert "segment" not in session.counts("bare")


@pytest.mark.parametrize("data", [b"", b"\x00\xff\x00", b"PK\x03\x04broken", b"{", b"\n\n\n"])
def test_any_file_gets_an_answer(bare: tuple[TestClient, OpenStore], data: bytes) -> None:
    client, _ = bare
    answer = client.post("/read/preview", files={"file": ("x.bin", data)})
    assert answer.status_code == 200
    assert 'class="faulty"' in answer.text


def test_a_survey_file_is_recognized(client: TestClient) -> None:
    path = Path(__file__).resolve().parents[2] / "examples/alder_ferry/surveys.txt"
    text = look(client, path.read_bytes(), "surveys.txt")
    assert re.search(r"surveys.txt: \d+ \w+", text)
    assert 'class="mapping"' not in text


@pytest.mark.parametrize("name", ["laterals.csv", "laterals.xlsx"])
def test_templates_can_be_taken(client: TestClient, name: str) -> None:
    answer = client.get(f"/read/template/{name}")
    assert answer.status_code == 200
    assert name in answer.headers["content-disposition"]
    assert client.get("/read/template/poem.csv").status_code == 404
    assert client.get("/read/template/laterals.pdf").status_code == 404


def test_a_part_that_fails_takes_the_whole_sheet(client: TestClient) -> None:
    answer = client.post("/read/store", data={"token": "gone"}, headers={"HX-Request": "true"})
    assert answer.status_code == 404
    assert answer.headers["hx-retarget"] == "#sheet"


def test_what_is_kept_goes_when_it_is_old_or_there_is_no_room() -> None:
    now = [0.0]
    kept: Kept[str] = Kept("it", room=10, longest=60, clock=lambda: now[0])
    large, small = kept.keep("large", 50), kept.keep("small", 4)
    with pytest.raises(NotFoundError):
        kept.get(large)
    assert kept.get(small) == "small"
    now[0] = 61
    with pytest.raises(NotFoundError):
        kept.get(small)
