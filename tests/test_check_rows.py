"""The mechanism of the checks itself."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest

from tests.check_rows import FOLDER, Row, last_digit, record
from tests.write_checks import ROOT, collect, is_made, recorders, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv(FOLDER, str(tmp_path))
    return tmp_path


@pytest.mark.parametrize(
    ("printed", "half"), [("1.01", 0.005), ("790", 0.5), ("1.50e-3", 5e-6), ("-0.5", 0.05)]
)
def test_half_of_the_last_printed_digit(printed: str, half: float) -> None:
    assert last_digit(printed) == pytest.approx(half)


def test_a_row_is_asserted_and_kept(folder: Path) -> None:
    record("wall", "X1.3", "1.01", 1.0080, "in", None, "a book, p. 1", "S2")
    assert "a book, p. 1" in (folder / "rows.jsonl").read_text("utf-8")
    with pytest.raises(AssertionError, match=r"prints 1\.01 in, ours is 1\.02"):
        record("wall", "X1.3", "1.01", 1.02, "in", None, "a book, p. 1", "S2")


def test_a_value_that_does_not_reproduce_needs_its_reason(folder: Path) -> None:
    slip = partial(record, "wall", "q_t", "14.90", 14.947, "psi", None, "a book", "S2")
    slip("a slip of the book", reproduces=False)
    with pytest.raises(AssertionError, match="say in the note"):
        slip(reproduces=False)
    with pytest.raises(AssertionError, match="does reproduce"):
        record("wall", "t", 1.0, 1.0, "in", 0.1, "a book", "S", "why", reproduces=False)


def test_pages_hold_one_table_a_subject(tmp_path: Path) -> None:
    (tmp_path / "gone.md").write_text("# Checks: gone\n", encoding="utf-8")
    (tmp_path / "by-hand.md").write_text("# By hand\n", encoding="utf-8")
    row = Row("wall", "a|b", "14.90", 14.947, "psi", 0.005, "a book", "S2", "slip")
    write([row, row], tmp_path)
    assert sorted(page.name for page in tmp_path.iterdir()) == ["by-hand.md", "wall.md"]
    text = (tmp_path / "wall.md").read_text("utf-8")
    assert text.count("a\\|b") == 1
    assert "| 14.90 | 14.947 | 0.047 | 0.005 | psi |" in text
    assert "**does not reproduce.** slip" in text


def test_rows_are_kept_by_test_files_alone() -> None:
    """So that the pages are those of all tests though only these files are run for them."""
    others = [path.name for path in recorders() if not path.name.startswith("test_")]
    assert others == ["write_checks.py"]
    assert len(recorders()) > 10


@pytest.mark.slow
def test_the_committed_pages_are_those_of_the_tests(tmp_path: Path) -> None:
    write(collect(), tmp_path)
    pages = {page.name: page.read_text("utf-8") for page in (ROOT / "docs/checks").glob("*.md")}
    committed = {name: text for name, text in pages.items() if is_made(text)}
    assert {page.name: page.read_text("utf-8") for page in tmp_path.iterdir()} == committed, (
        "run make checks and commit docs/checks"
    )
