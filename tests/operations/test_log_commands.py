"""Cure logs on the command line: map, read; originals kept; reading again changes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from drainwright.records.cure_log import CureLog
from drainwright.storage import open_store
from tests.operations.test_record_commands import run
from tests.storage.samples import lateral, project, writing

ROWS = "time,T1 (°F),T2 (°F),P1 (psi)\n" + "".join(
    f"11/17/2026 10:{40 + n // 6}:{n % 6 * 10:02},{60 + 2 * n},{60 + n},7.0\n" for n in range(60)
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        for key in ("L-1", "L-2"):
            session.put("oak", lateral(key, rig="rig 1", cleanout_distance=12.0), expected=0)
    store.close()
    (tmp_path / "a.csv").write_text(ROWS, encoding="utf-8")
    return file


MAP = ("T1 = gas in", "T2 = exhaust @ 0 ft from end; due 2027-06-01", "P1 = pressure, tube")


def test_map_read_and_read_again(job: Path) -> None:
    assert "3 channels, revision 1 (kept)" in run("log", "map", job, "rig 1", *MAP)
    told = run("log", "read", job, "L-1", job.parent / "a.csv")
    assert "2026-11-17 10:40 to 10:49, 60 readings" in told
    assert "L-1, attempt 1: revision 1 (stored)" in told
    assert "revision 1 (unchanged)" in run("log", "read", job, "L-1", job.parent / "a.csv")
    store = open_store(job)
    with store.read() as session:
        log = session.get("oak", CureLog, "L-1 1").record
        (file,) = log.files
        assert session.attachments.content("oak", file.sha256) == ROWS.encode()
        assert session.attachments.get("oak", file.sha256).name == "a.csv"
        assert log.series[1].channel.position == 12.0
        assert log.series[0].values[0] == pytest.approx(288.71, abs=0.01)  # 60 °F
    store.close()


def test_a_second_file_is_joined_and_another_laterals_log_is_refused(job: Path) -> None:
    run("log", "map", job, "rig 1", *MAP)
    run("log", "read", job, "L-1", job.parent / "a.csv")
    (job.parent / "b.csv").write_text(ROWS.replace(" 10:", " 11:"), encoding="utf-8")
    told = run("log", "read", job, "L-1", job.parent / "b.csv")
    assert "10:40 to 11:49, 120 readings" in told
    assert "! no reading for 50.2 min" in told
    told = run("log", "read", job, "L-2", job.parent / "a.csv", code=2)
    assert "already the log of L-1, attempt 1: another lateral’s log" in told


def test_bad_files_and_bad_maps_store_nothing(job: Path) -> None:
    (job.parent / "bad.csv").write_text(ROWS.replace(",7.0\n", ",seven\n", 1), encoding="utf-8")
    told = run("log", "read", job, "L-1", job.parent / "bad.csv", code=2)
    assert "bad.csv, row 2, column P1 (psi): P1 (psi): is not a number" in told
    assert "is none of gas in" in run("log", "map", job, "rig 1", "T1 = steam", code=2)
    assert "must be like" in run("log", "map", job, "rig 1", "T1", code=2)
    told = run("log", "read", job, "L-1", job.parent / "a.csv", code=2)
    assert "(T1 (°F), T2 (°F), P1 (psi)) read: map the rig’s channels first" in told
