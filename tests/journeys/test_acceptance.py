"""The demo town after lining: finished, repaired, failed and then finished, incomplete."""

from __future__ import annotations

import datetime as dt
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.errors import ConflictError, InputError
from drainwright.operations.accept_lateral import Signature, accept_lateral
from drainwright.operations.closeout_book import closeout_book
from drainwright.operations.field_attempts import lateral_attempts
from drainwright.operations.judge_lateral import judge_lateral
from drainwright.operations.lateral_file import lateral_file
from drainwright.operations.recall_lot import recall_lot
from drainwright.operations.record_tests import record_tests
from drainwright.operations.run_demo import PROJECT, demo_folder, run_demo
from drainwright.operations.stores import existing
from drainwright.records.acceptance import AcceptanceStep, NonConformity
from drainwright.records.lateral import Lateral
from drainwright.records.post_inspection import PostInspection
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem

AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
RUN = CliRunner()


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    run = run_demo(tmp_path_factory.mktemp("accept"), UnitSystem.US, by="test", papers=False)
    return run.store


@pytest.fixture(scope="module")
def store(place: Path) -> Iterator[RecordStore]:
    with existing(str(place)) as (opened, _):
        yield opened


def open_of(store: RecordStore, key: str) -> set[str]:
    """Subjects that are not met or not assessed."""
    return {one.key for one in judge_lateral(store, PROJECT, key).verdict.open}


def stage_of(store: RecordStore, key: str) -> str:
    with store.read() as session:
        return session.get(PROJECT, Lateral, key).stage


def test_a_finished_lateral(store: RecordStore) -> None:
    assert open_of(store, "A-04") == set()
    assert stage_of(store, "A-04") == "accepted"


def test_a_repaired_lateral(store: RecordStore) -> None:
    assert open_of(store, "A-05") == set()
    with store.read() as session:
        fault = session.get(PROJECT, NonConformity, "NC-1").record
        first = session.get(PROJECT, PostInspection, "A-05 1").record
    assert fault.closed
    assert max(one.wrinkle or 0 for one in first.places) == pytest.approx(0.009)
    assert stage_of(store, "A-05") == "installed"


def test_a_lateral_that_failed_first(store: RecordStore) -> None:
    verdict = judge_lateral(store, PROJECT, "B-02").verdict
    assert verdict.attempt == 2
    assert open_of(store, "B-02") == set()
    with store.read() as session:
        first = lateral_attempts(session, PROJECT, "B-02")[0]
    assert first.end is not None
    assert first.end.value == "pulled before gel"


def test_an_incomplete_lateral(store: RecordStore) -> None:
    verdict = judge_lateral(store, PROJECT, "B-04").verdict
    assert open_of(store, "B-04") == {"tightness", "flexure"}
    assert verdict.words == "incomplete"
    told = "\n".join(verdict.missing)
    assert "cannot be isolated" in told
    assert "no coupon test" in told


def text_of(content: bytes) -> str:
    document = pypdfium2.PdfDocument(content)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


@pytest.mark.parametrize("system", list(UnitSystem))
def test_the_lateral_file_shows_verdicts_evidence_and_what_is_missing(
    store: RecordStore, system: UnitSystem
) -> None:
    content = lateral_file(store, PROJECT, "B-04", by="Eve", at=AT, system=system)
    assert content.startswith(b"%PDF")
    assert b"pdfaid" in content  # PDF/A says so in its metadata
    text = text_of(content)
    for words in (
        "Missing: not assessed", "cannot be isolated", "collar between packers", "Lots",
        "S-118", "DRAFT, not signed", "For the owner", "Design as built",
    ):  # fmt: skip
        assert words in text, words
    unit = "psi" if system is UnitSystem.US else "kPa"
    assert unit in text
    again = lateral_file(store, PROJECT, "B-04", by="Eve", at=AT, system=system)
    assert again == content


def test_a_signed_file_names_the_signature_and_stills(store: RecordStore) -> None:
    text = text_of(lateral_file(store, PROJECT, "A-04", by="Eve", at=AT))
    assert "Recorded signature: accepted by T. Rowan" in text
    assert "Stills before and after" in text
    failed = text_of(lateral_file(store, PROJECT, "B-02", by="Eve", at=AT))
    assert "cap blown" in failed


def test_the_book_counts_with_denominators(store: RecordStore, tmp_path: Path) -> None:
    bound = closeout_book(store, PROJECT, tmp_path, by="Eve", at=AT)
    assert bound.laterals == 4
    front = text_of((tmp_path / "closeout book 1.pdf").read_bytes())
    for words in (
        "4 of 4 on which an attempt was made",
        "5 attempts: 4 cured, 1 pulled before gel",
        "3 of 4 tested, 1 could not be isolated",
        "1 of 1 closed",
        "cap blown",
        "A-2611-07",
        "odor of resin",
        "sent again",
    ):
        assert words in front.replace("\r\n", " ").replace("\n", " "), words
    files = text_of((tmp_path / "closeout book 2.pdf").read_bytes())
    assert files.count("LATERAL FILE") == 4
    with zipfile.ZipFile(tmp_path / "as built.xlsx") as book:
        strings = book.read("xl/sharedStrings.xml").decode()
    for words in ("mean wall [mm]", "pulled before gel", "NC-1", "not assessed"):
        assert words in strings


def test_a_lot_is_recalled_in_one_step(store: RecordStore) -> None:
    found = recall_lot(store, PROJECT, "b-2610")
    assert [(one.lateral, one.attempt, one.end) for one in found] == [
        ("A-04", 1, "cured"), ("A-05", 1, "cured"), ("B-02", 1, "pulled before gel"),
        ("B-02", 2, "cured"), ("B-04", 1, "cured"),
    ]  # fmt: skip
    assert recall_lot(store, PROJECT, "no such lot") == ()


def test_a_signature_needs_name_role_and_a_reason_for_what_is_open(store: RecordStore) -> None:
    sign = Signature(AcceptanceStep.ACCEPTED, "Eve", "engineer")
    for bad, key in (
        (replace(sign, name=" "), "B-04"),
        (replace(sign, role=""), "B-04"),
        (sign, "B-04"),
        (replace(sign, step=AcceptanceStep.REFUSED), "A-05"),
    ):
        with pytest.raises(InputError):
            accept_lateral(store, PROJECT, key, bad, by="Eve", at=AT)
    with pytest.raises(ConflictError, match="nothing to sign"):
        accept_lateral(store, PROJECT, "A-07", sign, by="Eve", at=AT)
    closing = replace(sign, step=AcceptanceStep.CLOSED, reason="done")
    with pytest.raises(ConflictError, match="before it is closed"):
        accept_lateral(store, PROJECT, "B-04", closing, by="Eve", at=AT)
    assert stage_of(store, "B-04") == "installed"


def test_a_form_is_stored_whole_or_not_at_all(store: RecordStore) -> None:
    form = (demo_folder() / "acceptance" / "A-04.toml").read_bytes()
    with pytest.raises(InputError, match="is not there"):
        record_tests(store, PROJECT, form, "A-04.toml", beside=lambda _: None, by="Eve", at=AT)
    strange = form.replace(b'"A-04"', b'"Z-99"')
    with pytest.raises(InputError, match="not listed"):
        record_tests(store, PROJECT, strange, "Z.toml", beside=lambda _: b"x", by="Eve", at=AT)
    with store.read() as session:
        assert session.revision_of(PROJECT, PostInspection, "Z-99 1") == 0


def test_the_commands(place: Path, store: RecordStore, tmp_path: Path) -> None:
    judged = RUN.invoke(app, ["accept", "judge", str(place), "B-04"])
    assert judged.exit_code == 1
    assert "B-04: incomplete" in judged.output
    example = RUN.invoke(app, ["accept", "record", str(place)])
    assert "[[tightness]]" in example.output
    filed = RUN.invoke(app, ["accept", "file", str(place), "A-05", "--out", str(tmp_path)])
    assert filed.exit_code == 0, filed.output
    assert (tmp_path / "A-05 lateral file.pdf").is_file()
    lots = RUN.invoke(app, ["accept", "recall", str(place), "T4-4.5S"])
    assert "B-02, attempt 1 (pulled before gel): tube" in lots.output
    missing = RUN.invoke(app, ["accept", "sign", str(place), "B-04", "--name", "E", "--role", "r"])
    assert missing.exit_code == 2
