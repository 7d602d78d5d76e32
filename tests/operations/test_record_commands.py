"""The commands of the record, as a person types them."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.records.lateral import Lateral
from drainwright.storage import open_store
from tests.storage.samples import hours, lateral, project, writing


def run(*words: str | Path, code: int = 0) -> str:
    """What a command prints, both streams; its exit code must be `code`."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A store with a lateral of three revisions and one attachment."""
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", lateral("L-1"), expected=0)
        session.attachments.add("oak", b"time;T\n0;293.1\n", "logger.csv")
    for hour, remark in ((24, "roots"), (48, "roots cut")):
        with writing(store, hours(hour), by="Bo", reason="seen on site") as session:
            session.put("oak", lateral("L-1", remark=remark), expected=None)
    store.close()
    return file


def test_history_names_who_when_from_what_and_why(job: Path) -> None:
    lines = run("history", job, "lateral", "L-1").splitlines()
    assert lines[0] == "revision 1: 2026-05-04 12:00 UTC, by Ann, from list.csv, survey read"
    assert lines[2] == "revision 3: 2026-05-06 12:00 UTC, by Bo, from list.csv, seen on site"
    assert "there is no lateral L-9" in run("history", job, "lateral", "L-9", code=1)
    assert "is none of project, specification" in run("history", job, "tap", "L-1", code=2)


def test_a_document_as_it_stood(job: Path) -> None:
    assert "revision 2, by Bo" in run("history", job, "lateral", "L-1", "--at", "2026-05-05")
    assert "revision 1, by Ann" in run("history", job, "lateral", "L-1", "--at", "2026-05-05T06:59")
    assert "there was no lateral" in run(
        "history", job, "lateral", "L-1", "--at", "2026-05-03", code=1
    )
    assert "is not like" in run("history", job, "lateral", "L-1", "--at", "May", code=2)


def test_compare_in_plain_words(job: Path) -> None:
    assert "remark: “roots” → “roots cut”" in run("compare", job, "lateral", "L-1")
    assert "remark: empty → “roots cut”" in run("compare", job, "lateral", "L-1", "1", "3")
    run("compare", job, "lateral", "L-1", "1", code=2)
    assert "nothing changed" in run("compare", job, "project", "oak")


def test_withdrawing_is_a_revision(job: Path) -> None:
    words = ("withdraw", job, "lateral", "L-1", "--reason", "listed twice", "--by", "Cy")
    assert "withdrawn, revision 4" in run(*words)
    assert "was withdrawn before" in run(*words)
    assert "by Cy, from withdraw, listed twice, WITHDRAWN" in run("history", job, "lateral", "L-1")
    assert "document: in use → withdrawn" in run("compare", job, "lateral", "L-1")
    run("withdraw", job, "lateral", "L-1", "--reason", " ", code=2)


def test_verify_tells_where_and_what(job: Path) -> None:
    assert "All of it matches: oak." in run("verify", job)
    with closing(sqlite3.connect(job)) as connection, connection:
        connection.execute("UPDATE revision SET content = '{}' WHERE number = 2")
    told = run("verify", job, code=1)
    assert "oak, lateral L-1, revision 2: the stored text is not the one that was written" in told


def test_verify_finds_a_changed_attachment(job: Path) -> None:
    (file,) = (one for one in (job.parent / f"{job.name}.attachments").rglob("*") if one.is_file())
    file.write_bytes(b"other")
    assert "attachment logger.csv" in run("verify", job, code=1)


def test_bundle_and_restore(job: Path, tmp_path: Path) -> None:
    made = run("bundle", job, tmp_path / "oak.zip")
    assert "4 revisions, 1 attachments" in made
    assert "replaces nothing" in run("bundle", job, tmp_path / "oak.zip", code=1)
    other = tmp_path / "other" / "new.drainwright"
    other.parent.mkdir()
    done = run("restore", tmp_path / "oak.zip", other)
    assert done.split("sha256 ")[1] == made.split("sha256 ")[1]
    assert "All of it matches" in run("verify", other)
    assert sorted(one.name for one in other.parent.iterdir()) == [
        "new.drainwright",
        "new.drainwright.attachments",
    ]
    assert "already holds" in run("restore", tmp_path / "oak.zip", other, code=1)


def test_a_replaced_file_is_kept(job: Path, tmp_path: Path) -> None:
    run("bundle", job, tmp_path / "oak.zip")
    run("withdraw", job, "lateral", "L-1", "--reason", "wrong")
    told = run("restore", tmp_path / "oak.zip", job, "--replace")
    kept = tmp_path / "job.replaced.drainwright"
    assert str(kept) in told
    assert "WITHDRAWN" not in run("history", job, "lateral", "L-1")
    assert "WITHDRAWN" in run("history", kept, "lateral", "L-1")
    assert "All of it matches" in run("verify", kept)


def test_a_damaged_bundle_replaces_nothing(job: Path, tmp_path: Path) -> None:
    run("bundle", job, tmp_path / "oak.zip")
    content = bytearray((tmp_path / "oak.zip").read_bytes())
    content[200] ^= 0xFF
    (tmp_path / "bad.zip").write_bytes(content)
    before = job.read_bytes()
    run("restore", tmp_path / "bad.zip", job, "--replace", code=1)
    assert job.read_bytes() == before
    assert "All of it matches" in run("verify", job)


def test_a_file_in_use_is_not_replaced(job: Path, tmp_path: Path) -> None:
    run("bundle", job, tmp_path / "oak.zip")
    store = open_store(job)
    with store.read() as session:
        assert session.get("oak", Lateral, "L-1").revision.number == 3
        assert "somebody is using it" in run(
            "restore", tmp_path / "oak.zip", job, "--replace", code=1
        )
    store.close()
    assert "All of it matches" in run("verify", job)


def test_backup_of_a_store_in_use(job: Path, tmp_path: Path) -> None:
    store = open_store(job)
    with writing(store, hours(72)) as session:
        session.put("oak", lateral("L-2"), expected=0)
        copy = tmp_path / "copy.drainwright"
        assert "copied and verified" in run("backup", job, copy)  # while a writer is at work
    store.close()
    assert "there is no lateral L-2" in run("history", copy, "lateral", "L-2", code=1)
    assert "revision 3" in run("history", copy, "lateral", "L-1")
    assert "All of it matches" in run("verify", copy)
    assert "choose another name" in run("backup", job, copy, code=1)
    assert "pg_dump" in run("backup", "postgresql://host/db", tmp_path / "x", code=1)
