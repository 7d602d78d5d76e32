"""Deliberately bad files, each with the faults it must give beside it (name.faults).

A line of expectation is `row | name | words that the fault's text holds`; `-` for no row.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from drainwright.errors import Fault
from drainwright.exchange.cross_rows import Known
from drainwright.exchange.en13508 import read_survey_text
from drainwright.exchange.tables import TableOptions, read_table
from drainwright.records.lateral import Lateral
from drainwright.records.project import MainSegment
from drainwright.units import UnitSystem, fault_text

FOLDER = Path(__file__).parent / "bad"
FILES = sorted(file for file in FOLDER.iterdir() if file.suffix != ".faults")
TODAY = dt.date(2026, 6, 1)
KNOWN = Known(
    {"M1": MainSegment("M1", "MH1", "MH2", 0.2, 100.0),
     "M2": MainSegment("M2", "MH2", "MH3", 0.2, 50.0)},
    {"L-1": Lateral("L-1", "M9", 3.0)},
    None,
)  # fmt: skip


def faults_of(file: Path, kind: str) -> tuple[int, tuple[Fault, ...], dict[str, str]]:
    data = file.read_bytes()
    if kind == "survey text":
        surveys = read_survey_text(data, file.name, today=TODAY)
        return len(surveys.records), surveys.faults, {}
    reading = read_table(kind, data, file.name, TableOptions(today=TODAY, known=KNOWN))
    return len(reading.records), reading.faults, dict(reading.kinds)


def expected(file: Path) -> tuple[str, list[list[str]]]:
    first, *lines = file.with_suffix(".faults").read_text("utf-8").splitlines()
    return first.removeprefix("kind: "), [
        [part.strip() for part in line.split("|", 2)] for line in lines
    ]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_a_bad_file_gives_its_faults_and_no_others(file: Path) -> None:
    kind, wanted = expected(file)
    _, faults, kinds = faults_of(file, kind)
    found = [(str(f.row or "-"), f.name, fault_text(f, UnitSystem.US, kinds)) for f in faults]
    assert sorted((row, name) for row, name, _ in found) == sorted(
        (row, name) for row, name, _ in wanted
    ), "\n".join(text for *_, text in found)
    for row, name, words in wanted:
        texts = [text for r, n, text in found if (r, n) == (row, name)]
        assert any(words in text for text in texts), texts
    assert all(f.file == file.name for f in faults)


def test_there_are_at_least_25() -> None:
    assert len(FILES) >= 25
