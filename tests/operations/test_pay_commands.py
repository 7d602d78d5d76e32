"""From field entries to a pay estimate, as a person types it."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pypdfium2
import pytest
from python_calamine import CalamineWorkbook
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.records.field_entry import EntryKind, FieldEvent, FieldValue, event_text
from drainwright.storage import open_store
from drainwright.storage.journal import chained
from drainwright.storage.protocol import FieldEntry
from drainwright.units import FOOT
from tests.storage.samples import lateral, project, work_sheet, writing

AT = dt.datetime(2026, 11, 17, 20, 0, tzinfo=dt.UTC)


def run(*words: str | Path, code: int = 0) -> str:
    """What a command prints, both streams; its exit code must be `code`."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A store with one lateral, lined 32 ft from the tap after a failed attempt."""
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    length = FieldValue("lined_length", 32 * FOOT, "length", "32 ft")
    roots = FieldValue("root_cutting", 5400.0, "time", "90 min")
    events = [
        FieldEvent(EntryKind.READING, "L-1", AT, "Ada", values=(roots,)),
        FieldEvent(EntryKind.END, "L-1", AT, "Ada", answer="pulled before gel", reason="cap"),
        FieldEvent(EntryKind.READING, "L-1", AT, "Ada", 2, values=(length,)),
        FieldEvent(EntryKind.END, "L-1", AT, "Ada", 2, answer="cured"),
    ]
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", lateral("L-1"), expected=0)
        session.put("oak", work_sheet(lateral("L-1")), expected=0)
        previous = ""
        for number, event in enumerate(events, 1):
            text = event_text(event)
            previous = chained(previous, text)
            ident = f"0190b1a0-0000-7000-8000-{number:012d}"
            session.journal.append("oak", [FieldEntry(ident, "tab", number, text, previous)])
    store.close()
    return file


CONTRACT = """
name = "Invented"
retainage = "10 %"
length_way = "along the pipe"
[[items]]
key = "1"
words = "Line lateral, first 20 ft"
unit = "each"
price = "4000.00"
work = "lateral lined"
rule = "each"
[[items]]
key = "2"
words = "Beyond 20 ft"
unit = "ft"
price = "100.00"
work = "lateral lined"
rule = "length beyond the first"
first_length = "20 ft"
[[items]]
key = "3"
words = "Root cutting"
unit = "h"
price = "200.00"
work = "root cutting"
rule = "amount"
[[items]]
key = "4"
words = "Mobilization"
unit = "lump sum"
price = "5000.00"
work = "by agreement"
rule = "amount"
"""


def test_from_entries_to_two_estimates(job: Path, tmp_path: Path) -> None:
    """4,000 + 12 ft × 100 + 1.5 h × 200 + half of 5,000, less 10 %; later the other half."""
    file = tmp_path / "contract.toml"
    file.write_text(CONTRACT)
    assert "contract: revision 1" in run("pay", "contract", job, file)
    assert "as before" in run("pay", "contract", job, file)
    half = ("--reason", "half at the start", "--on", "2026-11-16")
    run("pay", "agree", job, "M-1", "4", "0.5", *half)
    shown = run("pay", "show", job)
    assert "root" not in shown
    assert "5 quantities" not in shown
    assert "4 quantities, 0 estimates" in shown
    out = run("pay", "estimate", job, "--until", "2026-11-30", "--out", tmp_path)
    assert "7,200.00 USD due" in out
    run("pay", "agree", job, "M-2", "4", "0.5", "--reason", "rest", "--on", "2026-12-01")
    out = run("pay", "estimate", job, "--until", "2026-12-31", "--out", tmp_path)
    assert "estimate 2, up to 2026-12-31: 2,250.00 USD due" in out

    text = _text(tmp_path / "pay estimate 1.pdf")
    for words in ("Pay estimate 1".upper(), "8,000.00 USD", "-800.00 USD", "7,200.00 USD"):
        assert words in text
    book = CalamineWorkbook.from_path(str(tmp_path / "pay estimate 1.xlsx"))
    rows = book.get_sheet_by_name("quantities").to_python()
    assert ["2", 12.0] in [row[:2] for row in rows]


def test_bad_words_are_told(job: Path, tmp_path: Path) -> None:
    assert "no contract yet" in run("pay", "show", job, code=1)
    file = tmp_path / "contract.toml"
    file.write_text(CONTRACT)
    run("pay", "contract", job, file)
    told = run("pay", "agree", job, "M-1", "9", "much", "--reason", " ", code=2)
    assert all(word in told for word in ("amount", "reason", "item"))
    run("pay", "estimate", job, "--until", "soon", code=2)


def test_an_estimate_is_never_made_twice_for_an_earlier_day(job: Path, tmp_path: Path) -> None:
    file = tmp_path / "contract.toml"
    file.write_text(CONTRACT)
    run("pay", "contract", job, file)
    run("pay", "estimate", job, "--until", "2026-11-30", "--out", tmp_path)
    told = run("pay", "estimate", job, "--until", "2026-11-29", "--out", tmp_path, code=2)
    assert "goes further" in told


def _text(file: Path) -> str:
    document = pypdfium2.PdfDocument(str(file))
    return "".join(page.get_textpage().get_text_range() for page in document)
