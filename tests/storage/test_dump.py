"""A project dumped from one store and loaded into another is the same record."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, cast

import pytest
import sqlalchemy as sa

from drainwright.errors import ConflictError, StorageError
from drainwright.operations.bundle import read_bundle, write_bundle
from drainwright.records.lateral import Lateral
from drainwright.sources import SOURCES
from drainwright.storage import FieldEntry, RecordStore, open_store, schema
from drainwright.storage.journal import chained
from drainwright.storage.store import Store
from tests.storage.samples import ODD, ONE_OF_EACH, hours, lateral, project, survey, writing

NOON = hours(0)


def filled(store: RecordStore, key: str = "oak", many: int = 9) -> None:
    """A project with revisions, withdrawn documents, field entries and (in a file) attachments."""
    with writing(store) as session:
        session.put_many(key, [(project(key), 0), *((one, None) for one in ONE_OF_EACH[1:])])
        session.put_many(key, [(lateral(f"M-{number}", remark=ODD), 0) for number in range(many)])
    with writing(
        store, hours(1), by="Bo", reason=ODD.replace("\x00", "").replace("\u2028", "")
    ) as session:
        session.put(key, lateral("L-1", remark="again"), expected=1)
        session.put(key, survey("M-3", day=2), expected=0)
        session.withdraw(key, Lateral, "M-7", expected=None)
        text = ODD.replace("\x00", "")
        first = FieldEntry(
            "01890a5d-ac96-7b1c-8d3a-0123456789ab", "truck-2", 1, text, chained("", text)
        )
        session.journal.append(key, [first])


def rows(store: RecordStore) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, derived columns and ids too; not how often it was changed."""
    with cast("Store", store)._engine.connect() as connection:
        return {
            name: sorted(map(tuple, connection.execute(sa.select(*_columns(table)))), key=repr)
            for name, table in schema.metadata.tables.items()
        }


def _columns(table: sa.Table) -> list[sa.Column[Any]]:
    return [column for column in table.columns if column is not schema.projects.c.changes]


def new_store(tmp_path: Path, name: str = "new") -> RecordStore:
    return open_store(tmp_path / f"{name}.drainwright", create=True)


@pytest.mark.independent
def test_a_bundle_restores_an_empty_store_to_the_same_rows(
    store: RecordStore, tmp_path: Path
) -> None:
    filled(store, many=600)  # more than is read or written in one portion
    made = write_bundle(store, "oak", tmp_path / "oak.zip", at=NOON)
    other = new_store(tmp_path)
    done = read_bundle(other, tmp_path / "oak.zip", by="Cy", at=hours(5))
    assert rows(other) == rows(store)
    assert done == made
    # two documents have a second revision by changing, one by withdrawing
    assert made.lines == {"project": 1, "revision": 600 + len(ONE_OF_EACH) + 3, "entry": 1}
    other.close()


def test_and_back_into_the_other_database(store: RecordStore, tmp_path: Path) -> None:
    source = new_store(tmp_path)
    filled(source)
    write_bundle(source, "oak", tmp_path / "oak.zip", at=NOON)
    read_bundle(store, tmp_path / "oak.zip", by="Cy", at=hours(5))
    assert rows(store) == rows(source)
    with store.read() as session:
        assert session.verify("oak") == ()
        assert session.get("oak", Lateral, "L-1").record.remark == "again"
    source.close()


def test_attachments_travel(tmp_path: Path) -> None:
    source, target = new_store(tmp_path, "a"), new_store(tmp_path, "b")
    with writing(source) as session:
        session.put("oak", project(), expected=0)
        kept = session.attachments.add("oak", b"time;T\n0;293.1\n", "logger.csv")
    write_bundle(source, "oak", tmp_path / "oak.zip", at=NOON)
    read_bundle(target, tmp_path / "oak.zip", by="Cy", at=hours(5))
    with target.read() as session:
        assert session.attachments.all("oak") == (kept,)
        assert session.attachments.content("oak", kept.sha256) == b"time;T\n0;293.1\n"
    source.close()
    target.close()


def test_a_project_that_is_there_stays_as_it_is(tmp_path: Path) -> None:
    source = new_store(tmp_path)
    filled(source)
    write_bundle(source, "oak", tmp_path / "oak.zip", at=NOON)
    before = rows(source)
    with pytest.raises(ConflictError, match="already holds the project oak"):
        read_bundle(source, tmp_path / "oak.zip", by="Cy", at=hours(5))
    assert rows(source) == before
    source.close()


def altered(file: Path, change: Callable[[str, bytes], bytes | None]) -> Path:
    """A copy of a bundle with members changed or left out."""
    other = file.with_name("altered.zip")
    with zipfile.ZipFile(file) as old, zipfile.ZipFile(other, "w") as new:
        for name in old.namelist():
            content = change(name, old.read(name))
            if content is not None:
                new.writestr(name, content)
    return other


def edited(edit: Callable[[list[dict[str, Any]]], None]) -> Callable[[str, bytes], bytes | None]:
    """A change of the record's lines that a forger would make: the manifest fits again."""
    made: dict[str, Any] = {}

    def change(name: str, content: bytes) -> bytes | None:
        if name == "record.jsonl":
            lines = [json.loads(line) for line in content.splitlines()]
            edit(lines)
            text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines).encode()
            made["sha256"] = hashlib.sha256(text).hexdigest()
            return text
        if name == "manifest.json":
            return json.dumps(json.loads(content) | made).encode()
        return content

    return change


def _change_text(lines: list[dict[str, Any]]) -> None:
    one = next(line for line in lines if line.get("key") == "L-1")
    one["text"] = one["text"].replace("31.5", "32.5")


def _change_entry(lines: list[dict[str, Any]]) -> None:
    next(line for line in lines if line["line"] == "entry")["text"] = "no roots"


def _leave_out_a_revision(lines: list[dict[str, Any]]) -> None:
    lines.remove(next(line for line in lines if line.get("key") == "L-1"))


def _leave_out_a_document(name: str, content: bytes) -> bytes | None:
    if name != "record.jsonl":
        return content
    return b"".join(line for line in content.splitlines(keepends=True) if b'"M-5"' not in line)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (edited(_change_text), "lateral L-1, revision 1: the stored text is not the one"),
        (edited(_change_entry), "field entry 1 of truck-2"),
        (edited(_leave_out_a_revision), "lateral L-1, revision 2: the revision before it"),
        (_leave_out_a_document, "the restored record is not the one that was bundled"),
        (lambda name, content: None if name == "manifest.json" else content, "is missing"),
        (lambda name, content: None if name == "record.jsonl" else content, "is missing"),
        (lambda name, content: b"{" if name == "record.jsonl" else content, "line 1"),
        (
            lambda name, content: (
                b'{"format": 2, "sha256": "", "lines": {}}' if name == "manifest.json" else content
            ),
            "newer drainwright",
        ),
    ],
)
def test_a_bundle_that_was_altered_leaves_nothing(
    tmp_path: Path, change: Callable[[str, bytes], bytes | None], told: str
) -> None:
    source, target = new_store(tmp_path, "a"), new_store(tmp_path, "b")
    filled(source)
    write_bundle(source, "oak", tmp_path / "oak.zip", at=NOON)
    before = rows(target)
    with pytest.raises(StorageError, match=told):
        read_bundle(target, altered(tmp_path / "oak.zip", change), by="Cy", at=hours(5))
    assert rows(target) == before
    source.close()
    target.close()


@pytest.mark.independent
def test_an_owner_reads_the_bundle_without_us(tmp_path: Path) -> None:
    source = new_store(tmp_path)
    filled(source)
    write_bundle(source, "oak", tmp_path / "oak.zip", at=NOON)
    source.close()
    newest: dict[tuple[str, str], Mapping[str, Any]] = {}
    with zipfile.ZipFile(tmp_path / "oak.zip") as bundle:
        told = bundle.read("README.txt").decode()
        assert "meters" in told
        # whoever reads it without the program finds a source's title by its key
        assert all(f"{key}: {source.title} [" in told for key, source in SOURCES.items())
        for line in bundle.read("record.jsonl").decode().split("\n")[:-1]:
            one = json.loads(line)
            if one["line"] == "revision":
                assert hashlib.sha256(one["text"].encode()).hexdigest() == one["sha256"]
                assert dt.datetime.fromisoformat(one["at"]).tzinfo is not None
                newest[one["kind"], one["key"]] = one
    sheet = json.loads(newest["work_sheet", "L-1"]["text"])
    wall = next(one for one in sheet["figures"] if one["key"] == "wall")
    assert wall["value"] == 0.1 + 0.2
    assert wall["inputs"][0]["value"] == 2.44
    assert wall["source"]["key"] == "astm-f1216"
    assert newest["lateral", "M-7"]["withdrawn"] is True
