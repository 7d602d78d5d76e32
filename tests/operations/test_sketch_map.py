"""The sketch map of a project, as an operation and as a command."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.errors import NotFoundError
from drainwright.operations.sketch_map import sketch_map
from drainwright.records.project import MainSegment
from drainwright.storage import RecordStore, open_store
from tests.storage.samples import lateral, project, writing

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def job(tmp_path: Path) -> RecordStore:
    """One main with two laterals on the map, and one without geometry."""
    store = open_store(tmp_path / "job.drainwright", create=True)
    main = MainSegment("S-1", "MH 1", "MH 2", 0.2, 100.0, geometry=((0.0, 0.0), (100.0, 0.0)))
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", main, expected=0)
        session.put("oak", lateral("L-1", geometry=((30.0, 0.0), (30.0, 15.0))), expected=0)
        session.put("oak", lateral("L-2", geometry=((60.0, 0.0),)), expected=0)
        session.put("oak", lateral("L-3"), expected=0)
    return store


def names(svg: str) -> set[str]:
    return {one.text or "" for one in ET.fromstring(svg).iter(f"{SVG}text")}


def test_a_map_where_there_is_geometry(job: RecordStore) -> None:
    drawn = sketch_map(job, project(), href=lambda key: f"/l/{key}")
    assert not drawn.schematic
    assert drawn.words == "map of 1 main segments and 2 laterals; 1 laterals have no geometry"
    assert names(drawn.svg) >= {"S-1", "MH 1", "MH 2", "L-1", "L-2", "N"}
    links = {one.attrib["href"] for one in ET.fromstring(drawn.svg).iter(f"{SVG}a")}
    assert links == {"/l/L-1", "/l/L-2"}


def test_a_schematic_where_there_is_none_or_it_is_asked_for(job: RecordStore) -> None:
    drawn = sketch_map(job, project(), schematic=True)
    assert drawn.schematic
    assert names(drawn.svg) >= {"L-1", "L-2", "L-3"}
    bare = MainSegment("S-9", "MH 8", "MH 9", 0.2, 50.0)
    with writing(job) as session:
        session.put("oak", bare, expected=0)
    assert sketch_map(job, project(), segment="S-9").schematic
    with pytest.raises(NotFoundError, match="no main segment S-7"):
        sketch_map(job, project(), segment="S-7")


def test_the_command(job: RecordStore, tmp_path: Path) -> None:
    job.close()
    words = ["sketch", str(tmp_path / "job.drainwright"), str(tmp_path / "oak.svg")]
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.output
    assert "oak.svg: map of 1 main segments" in done.output
    assert names((tmp_path / "oak.svg").read_text("utf-8")) >= {"S-1", "L-1"}
    assert "choose another name" in CliRunner().invoke(app, words).output
