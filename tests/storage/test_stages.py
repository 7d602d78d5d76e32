"""A lateral's stage follows from documents, field entries and a signature; on both databases."""

from __future__ import annotations

import datetime as dt
import hashlib
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from drainwright.records.acceptance import Acceptance, AcceptanceStep
from drainwright.records.field_entry import EntryKind, FieldEvent, event_text
from drainwright.records.lateral import Lateral
from drainwright.records.shift_plan import ShiftPlan
from drainwright.storage import FieldEntry, Filters, RecordStore, open_store, schema
from drainwright.storage.protocol import Stage
from tests.storage.samples import (
    NOON,
    hours,
    lateral,
    project,
    shift_plan,
    survey,
    work_sheet,
    writing,
)

ENDS = {"cured": "cured", "pulled": "pulled before gel", "dug": "dug up"}


def entry(number: int, event: FieldEvent, previous: str = "") -> FieldEntry:
    text = event_text(event)
    digest = hashlib.sha256((previous + text).encode()).hexdigest()
    return FieldEntry(f"0190b2a0-7c1e-7abc-8def-{number:012x}", "t", number, text, digest)


def end(how: str, hour: float, of: str = "L-1", attempt: int = 1, corrects: str = "") -> FieldEvent:
    return FieldEvent(
        EntryKind.END, of, hours(hour), "Ann", attempt, answer=ENDS[how], corrects=corrects
    )


def stage(store: RecordStore, key: str = "L-1") -> str:
    with store.read() as session:
        return session.get("oak", Lateral, key).stage


def designed(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        for key in ("L-1", "L-2"):
            session.put("oak", lateral(key), expected=0)
        session.put("oak", survey("L-1"), expected=0)
        session.put("oak", work_sheet(lateral("L-1")), expected=0)


def append(store: RecordStore, *entries: FieldEntry) -> None:
    with writing(store, hours(1)) as session:
        session.journal.append("oak", entries)


def sign(store: RecordStore, step: AcceptanceStep) -> None:
    with writing(store, hours(2)) as session:
        session.put("oak", Acceptance("L-1", step, "Eve", "engineer", NOON), expected=None)


def test_a_cured_attempt_installs_and_a_failed_one_does_not(store: RecordStore) -> None:
    designed(store)
    assert stage(store) == Stage.DESIGNED
    first = entry(1, end("pulled", 1))
    append(store, first)
    assert stage(store) == Stage.DESIGNED
    append(store, entry(2, end("cured", 2, attempt=2), first.sha256))
    assert stage(store) == Stage.INSTALLED
    assert stage(store, "L-2") == Stage.LISTED
    with store.read() as session:
        found = list(session.every("oak", Lateral, Filters(stage=Stage.INSTALLED)))
        counted = session.stages("oak")
    assert [one.key for one in found] == ["L-1"]
    assert sum(n for (name, _), n in counted.items() if name == Stage.INSTALLED) == 1


def test_a_correction_takes_the_end_back(store: RecordStore) -> None:
    designed(store)
    first = entry(1, end("cured", 1))
    append(store, first)
    append(store, entry(2, end("dug", 2, corrects=first.id), first.sha256))
    assert stage(store) == Stage.DESIGNED


def test_a_signature_accepts_and_closes_and_its_withdrawal_undoes_it(store: RecordStore) -> None:
    designed(store)
    append(store, entry(1, end("cured", 1)))
    sign(store, AcceptanceStep.REFUSED)
    assert stage(store) == Stage.INSTALLED
    sign(store, AcceptanceStep.ACCEPTED)
    assert stage(store) == Stage.ACCEPTED
    sign(store, AcceptanceStep.CLOSED)
    assert stage(store) == Stage.CLOSED
    with writing(store, hours(3)) as session:
        session.withdraw("oak", Acceptance, "L-1", expected=None)
    assert stage(store) == Stage.INSTALLED


def test_entries_of_a_lateral_are_found_and_others_are_not(store: RecordStore) -> None:
    designed(store)
    first = entry(1, end("pulled", 1))
    other = entry(2, end("pulled", 2, of="L-2"), first.sha256)
    odd = FieldEntry(
        "0190b2a0-7c1e-7abc-8def-000000000003", "t", 3, "no JSON",
        hashlib.sha256((other.sha256 + "no JSON").encode()).hexdigest(),
    )  # fmt: skip
    append(store, first, other, odd)
    with store.read() as session:
        found = session.journal.of_lateral("oak", "L-1")
        assert session.journal.of_lateral("oak", "none") == ()
    assert [one.entry for one in found] == [first]


def test_a_loaded_project_has_the_same_stages(store: RecordStore, tmp_path: Path) -> None:
    designed(store)
    append(store, entry(1, end("cured", 1)))
    with store.read() as session:
        lines = list(session.dump("oak"))
    other = open_store(tmp_path / "other.drainwright", create=True)
    with writing(other) as session:
        session.load(lines, lambda _: b"")
    assert stage(other) == Stage.INSTALLED
    with other.read() as session:
        assert len(session.journal.of_lateral("oak", "L-1")) == 1
    other.close()


def test_an_older_store_gets_the_lateral_of_its_entries(tmp_path: Path) -> None:
    old = Path(__file__).parent / "fixtures" / "v0001.drainwright"
    file = Path(shutil.copy(old, tmp_path / "job.drainwright"))
    event = replace(end("cured", 1), at=dt.datetime(2026, 5, 4, tzinfo=dt.UTC))
    made = entry(1, event)
    with closing(sqlite3.connect(file)) as raw, raw:
        row = (1, made.device, 1, made.id, made.text, made.sha256, "2026-05-04 00:00:00", "", "")
        raw.execute("INSERT INTO entry VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
    assert schema.HEAD > "0001"
    store = open_store(file)
    with store.read() as session:
        assert [one.entry for one in session.journal.of_lateral("oak", "L-1")] == [made]
    store.close()


def test_a_shift_plan_schedules_what_is_designed(store: RecordStore) -> None:
    def stages() -> list[str]:
        with store.read() as session:
            return [session.get("oak", Lateral, key).stage for key in ("L-1", "L-2", "L-3")]

    with writing(store) as session:
        session.put("oak", project(), expected=0)
        for key in ("L-1", "L-2", "L-3"):
            session.put("oak", lateral(key), expected=0)
        for key in ("L-1", "L-2"):
            session.put("oak", work_sheet(lateral(key)), expected=0)
        session.put("oak", shift_plan("L-1", "L-3"), expected=0)
    assert stages() == ["scheduled", "designed", "listed"]
    with writing(store) as session:
        session.put("oak", shift_plan("L-2"), expected=1)
    assert stages() == ["designed", "scheduled", "listed"]
    with writing(store) as session:
        session.withdraw("oak", ShiftPlan, "shift plan", expected=2)
    assert stages() == ["designed", "designed", "listed"]
