"""The demo town's installations played through: good ones, and a failed one tried again."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from drainwright.checks import Outcome
from drainwright.operations.daily_report import daily_report
from drainwright.operations.field_journal import entries_of, read_outbox
from drainwright.operations.field_plan import field_list
from drainwright.operations.show_lateral import show_lateral
from drainwright.operations.stores import OpenStore, existing
from drainwright.planning.field_checks import check_reading, ratio_windows, windows_of
from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.field_entry import AttemptEnd
from drainwright.records.field_step import START_STEPS
from drainwright.records.project import Project
from drainwright.units import UnitSystem
from drainwright.web.app import make_app
from tests.papers.pdf_reading import text as text_of
from tests.play_field import FOLDER, JOBS, files
from tests.web.conftest import NOW, clock

KEY = "alder-ferry"


@pytest.fixture(scope="module")
def played(
    demo_store: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[OpenStore, Project]]:
    """The demo store with the tablets' outbox files read in, if they are not there yet."""
    path = tmp_path_factory.mktemp("played") / "job.drainwright"
    shutil.copy(demo_store, path)
    with existing(str(path)) as (store, project):
        for file in sorted(FOLDER.glob("*.jsonl")):
            read_outbox(store, KEY, file.read_bytes(), by="test", at=NOW)
        yield store, project


def attempts(store: OpenStore) -> dict[str, tuple[Attempt, ...]]:
    return dict(attempts_of(one.event for one in entries_of(store, KEY) if one.event))


def test_the_files_are_what_the_script_writes(played: tuple[OpenStore, Project]) -> None:
    lines = {}
    for job in JOBS:
        sheet = show_lateral(played[0], KEY, job.lateral).sheet
        assert sheet is not None
        lines[job.lateral] = sheet.go_no_go
    on_disk = {file.name: file.read_text("utf-8") for file in FOLDER.glob("*.jsonl")}
    assert files(lines) == on_disk


def test_the_attempts_end_as_the_demo_tells(played: tuple[OpenStore, Project]) -> None:
    found = attempts(played[0])
    ends = {key: [one.end for one in tries] for key, tries in found.items()}
    cured = AttemptEnd.CURED
    assert ends == {
        "A-04": [cured], "A-05": [cured], "B-02": [AttemptEnd.PULLED, cured], "B-04": [cured],
    }  # fmt: skip
    on = {key: tries[-1].time_of("steam_on") for key, tries in found.items()}
    # 10:42, 14:05, 09:58 and 13:40 in Chicago, 6 h behind UTC in November
    assert {key: f"{at:%d %H:%M}" for key, at in on.items() if at} == {
        "A-04": "17 16:42", "A-05": "17 20:05", "B-02": "19 15:58", "B-04": "19 19:40",
    }  # fmt: skip
    first = found["B-02"][0]
    assert (first.cause[:9], first.payer) == ("cap blown", "contractor")


def test_every_reading_is_inside_its_window_but_the_one_that_was_kept(
    played: tuple[OpenStore, Project],
) -> None:
    outside = []
    for key, tries in attempts(played[0]).items():
        sheet = show_lateral(played[0], KEY, key).sheet
        assert sheet is not None
        windows = {
            (one.step, one.name): one for one in windows_of(sheet, START_STEPS, UnitSystem.US)
        }
        (ratio,) = ratio_windows(sheet, START_STEPS)
        for attempt in tries:
            a, b = attempt.last("part_a"), attempt.last("part_b")
            assert a is not None
            assert b is not None
            assert ratio.low <= a / b <= ratio.high
            for event in attempt.events:
                for value in event.values:
                    window = windows.get((event.step, value.name))
                    if event.kind == "step" and window is not None:
                        checked = check_reading(window, value.value)
                        if checked.outcome is Outcome.NOT_MET:
                            outside.append((key, attempt.number, event.step, value.typed))
            kept = [one for one in attempt.events if one.kind == "kept"]
            assert len(kept) == ((key, attempt.number) == ("B-02", 1))
    assert outside == [("B-02", 1, "inversion", "4.6 psi")]


def test_no_installation_is_shorter_than_its_sheet(played: tuple[OpenStore, Project]) -> None:
    for key, tries in attempts(played[0]).items():
        sheet = show_lateral(played[0], KEY, key).sheet
        assert sheet is not None
        last = tries[-1]
        on, steady, shut, down = (
            last.time_of(step) for step in ("steam_on", "exhaust_steady", "steam_shut", "let_down")
        )
        assert on is not None
        assert steady is not None
        assert shut is not None
        assert down is not None
        for since, figure in ((on, "steam.hold"), (steady, "steam.after_exhaust")):
            least = sheet.figure(figure)
            assert least is not None
            assert isinstance(least.value, float)
            assert (shut - since).total_seconds() >= least.value


def test_the_report_of_each_day_tells_it(played: tuple[OpenStore, Project]) -> None:
    store, project = played
    report = daily_report(store, project, dt.date(2026, 11, 18))
    (failed,) = report.laterals
    assert (failed.lateral, failed.attempt, len(failed.kept)) == ("B-02", 1, 1)
    client = TestClient(make_app(store, project, now=clock))
    answer = client.get("/field/-/day", params={"date": "2026-11-19"})
    text = " ".join(text_of(answer.content).split())
    assert "attempt 2: cured" in text
    assert "No plug can be set at the far end" in text


def test_the_list_of_the_shift_and_what_programs_ask(played: tuple[OpenStore, Project]) -> None:
    store, project = played
    states = {one.key: (one.attempt, one.state) for one in field_list(store, project, NOW.date())}
    assert states["B-02"] == (2, "cured")
    client = TestClient(make_app(store, project, now=clock))
    page = client.get("/field")
    assert "attempt 2: cured" in page.text
    heads = client.get("/field/-/heads").json()
    assert {name: one["number"] for name, one in heads["heads"].items()} == {
        file.stem: len(file.read_text("utf-8").splitlines()) for file in FOLDER.glob("*.jsonl")
    }
    told = client.post("/field/-/since", json={"reached": {}, "lateral": "A-04"}).json()
    assert all(json.loads(one["text"])["lateral"] == "A-04" for one in told["entries"])
    assert client.get("/field/-/plan", params={"lateral": "Z-1"}).status_code == 404
    assert client.get("/field/-/day", params={"date": "soon"}).status_code == 422
    assert client.get("/field/-/live", params={"lateral": "A-04"}).json() == {"lines": None}
    worker = client.get("/field/sw.js")
    assert worker.headers["service-worker-allowed"] == "/field"
    answer = client.put("/field/-/photo", params={"name": "a.jpg"}, content=b"\xff\xd8\xff\xd9")
    sha256 = answer.json()["sha256"]
    assert client.get(f"/field/-/photo/{sha256}").content == b"\xff\xd8\xff\xd9"
    assert client.get("/field/-/photos").json()[sha256] == "a.jpg"
