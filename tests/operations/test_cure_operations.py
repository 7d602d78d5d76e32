"""From the logger's file to verdict, paper and live state, through a store."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from drainwright.checks import Outcome
from drainwright.errors import NotFoundError
from drainwright.operations.cure_record import cure_record
from drainwright.operations.judge_cure import judge_cure
from drainwright.operations.live_cure import live_cure, street_logs
from drainwright.operations.read_log import LoggerFile, LogRequest, read_log
from drainwright.records.cure_log import CureLog
from drainwright.storage import RecordStore, open_store
from tests.acceptance.sheets import RESIN, RIG, place, sheet
from tests.acceptance.synthetic_logs import Sensors, make, readings
from tests.acceptance.test_cure_log import GOOD, lined
from tests.operations.test_record_commands import run
from tests.planning.test_design import COLLAR, TUBES
from tests.storage.samples import writing

AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
TRUTH = replace(GOOD, steam_time=12_900.0, cool_time=0.0, length=0.0)


def csv() -> bytes:
    seconds, values = readings(make(replace(TRUTH, length=lined())), Sensors())
    start = dt.datetime(2026, 11, 17, 16, 42, tzinfo=dt.UTC)
    heads = {name: f"{name} (°C)" for name in values if name != "P tube"} | {
        "P tube": "P tube (kPa)"
    }
    heads |= {"Top near": "Wall top 1 m (°C)", "Bottom near": "Wall bottom 1 m (°C)"}
    rows = ["time," + ",".join(heads.values())]
    for n, second in enumerate(seconds):
        at = start + dt.timedelta(seconds=float(second))
        shown = [
            f"{values[name][n] / 1000:.2f}"
            if name == "P tube"
            else f"{values[name][n] - 273.15:.2f}"
            for name in heads
        ]
        rows.append(f"{at:%Y-%m-%dT%H:%M:%SZ}," + ",".join(shown))
    return "\n".join(rows).encode()


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[RecordStore, Path]]:
    file = tmp_path_factory.mktemp("cure") / "job.drainwright"
    store = open_store(file, create=True)
    there = place()
    with writing(store) as session:
        session.put("demo", there.project, expected=0)
        other = replace(there.lateral, key="A-09", street=there.lateral.street)
        for record in (
            there.specification, there.segment, there.lateral, other, TUBES[0], RESIN, COLLAR, RIG,
            sheet(),
        ):  # fmt: skip
            session.put("demo", record, expected=0)
    request = LogRequest("A-07", (LoggerFile("A-07.csv", csv()),))
    found = read_log(store, "demo", request, by="Ann", at=AT)
    assert found.faults == ()
    assert found.stored
    yield store, file
    store.close()


def test_judge_keeps_the_verdict_and_judging_again_changes_nothing(
    job: tuple[RecordStore, Path],
) -> None:
    store, file = job
    first = judge_cure(store, "demo", "A-07", by="Ann", at=AT)
    assert first.changed
    outcomes = {check.name: check.outcome for check in first.verdict.checks}
    assert outcomes["cure of the collar"] is Outcome.MET
    assert outcomes["warmest wall at let-down"] is Outcome.NOT_ASSESSED
    assert [one.document for one in first.verdict.made_from] == ["WorkSheet", "CureLog"]
    again = judge_cure(store, "demo", "A-07", by="Bo", at=AT)
    assert (again.revision, again.changed) == (1, False)
    told = run("log", "judge", file, "A-07")
    assert "A-07, attempt 1: not assessed" in told
    assert "met: cure of the collar" in told
    assert "the log ends while steam flows" in told
    assert "a person signs it, not the program" in told


def test_the_record_is_printed_only_of_a_judged_cure(job: tuple[RecordStore, Path]) -> None:
    store, file = job
    judge_cure(store, "demo", "A-07", by="Ann", at=AT)
    with store.read() as session:
        paper = cure_record(session, "demo", "A-07")
        assert paper.name == "A-07 cure record"
        assert paper.content.startswith(b"%PDF")
        with pytest.raises(NotFoundError):
            cure_record(session, "demo", "A-09")
    out = file.parent / "papers"
    assert "A-07 cure record.pdf" in run("log", "print", file, "A-07", "--out", out)
    assert (out / "A-07 cure record.pdf").read_bytes() == paper.content


def test_live_state_through_the_store(job: tuple[RecordStore, Path]) -> None:
    store, _ = job
    with store.read() as session:
        whole = session.get("demo", CureLog, "A-07 1").record
        n = 400
        series = tuple(replace(one, values=one.values[:n]) for one in whole.series)
        so_far = replace(whole, seconds=whole.seconds[:n], series=series)
        state = live_cure(session, "demo", "A-07", so_far, so_far.end)
        assert state.cure_left is not None
        assert state.cure_now is not None
        assert state.along is not None
        assert not state.done
        assert state.logs_learned == 0  # its own log is no neighbor's
        assert street_logs(session, "demo", "A-07") == ()
        again = live_cure(session, "demo", "A-07", so_far, so_far.end, learned=False)
        assert again.logs_learned == 0
        assert again.maker_left == state.maker_left
