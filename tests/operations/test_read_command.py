"""A new user reads a spreadsheet with odd headers by the messages alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app

RUN = CliRunner()
ODD = "Ref,Sewer,Where,How far\nL-7,M1,50,33\nL-8,M1,6O,34\n"


@pytest.fixture
def store(tmp_path: Path) -> Path:
    file = tmp_path / "t.drainwright"
    mains = tmp_path / "mains.csv"
    mains.write_text("Segment,From MH,To MH,Dia (in),Length (ft)\nM1,MH1,MH2,8,300\n")
    assert RUN.invoke(app, ["new", str(file), "--name", "T", "--by", "A"]).exit_code == 0
    assert RUN.invoke(app, ["read", str(file), str(mains), "--by", "A"]).exit_code == 0
    return file


def read(store: Path, *words: str) -> tuple[int, str]:
    done = RUN.invoke(app, ["read", str(store), *words, "--by", "A"])
    return done.exit_code, done.output


def test_from_odd_headers_to_stored_rows(store: Path, tmp_path: Path) -> None:
    odd, mapping = tmp_path / "odd.csv", tmp_path / "m.toml"
    odd.write_text(ODD)
    code, said = read(store, str(odd), "--as", "laterals")
    assert code == 2
    assert "no header was found" in said
    assert "“Where”: not read (its header is not known)" in said
    assert "--write-mapping odd.toml" in said
    assert read(store, str(odd), "--as", "laterals", "--write-mapping", str(mapping))[0] == 2

    text = mapping.read_text("utf-8")
    assert "# Needed: lateral, main segment, tap distance." in text
    text = text.replace('"Ref" = "ignore"', '"Ref" = "lateral"')
    text = text.replace('"Where" = "ignore"', '"Where" = { field = "tap distance", unit = "ft" }')
    text = text.replace('"Sewer" = "ignore"', '"Sewer" = "main segment"')
    text = text.replace('"How far" = "ignore"', '"How far" = { field = "length", unit = "ft" }')
    mapping.write_text(text, "utf-8")
    code, said = read(store, str(odd), "--mapping", str(mapping))
    assert code == 2
    assert "“6O” looks like “60”" in said

    code, said = read(store, str(odd), "--mapping", str(mapping), "--accept-clean-rows")
    assert code == 0
    assert "Stored: 1 new" in said
    left = tmp_path / "odd.left-out.csv"
    left.write_text(left.read_text().replace("6O", "60"))
    code, said = read(store, str(left))  # the mapping was kept for this header
    assert (code, "The mapping kept for this header is used" in said) == (0, True)
    assert "L-8" in RUN.invoke(app, ["list", str(store)]).output


def test_preview_stores_nothing(store: Path, tmp_path: Path) -> None:
    good = tmp_path / "list.csv"
    good.write_text("Lateral,Main,Tap (ft)\nL-1,M1,12\n")
    code, said = read(store, str(good), "--preview")
    assert (code, "1 new" in said) == (0, True)
    assert "L-1" not in RUN.invoke(app, ["list", str(store)]).output


def test_template_and_write(store: Path, tmp_path: Path) -> None:
    out = tmp_path / "laterals.xlsx"
    assert RUN.invoke(app, ["template", "laterals", "--out", str(out)]).exit_code == 0
    assert out.read_bytes()[:2] == b"PK"
    mains = tmp_path / "out.csv"
    assert RUN.invoke(app, ["write", str(store), "segments", str(mains)]).exit_code == 0
    assert mains.read_text().splitlines()[1].startswith("M1,MH1,MH2,8,300")
    wrong = RUN.invoke(app, ["template", "cows", "--out", str(out)])
    assert (wrong.exit_code, "there is no table of “cows”" in wrong.output) == (1, True)


def test_a_bar_runs_on_a_terminal_and_nothing_elsewhere(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = tmp_path / "list.csv"
    good.write_text("Lateral,Main,Tap (ft)\nL-1,M1,12\n")
    words = ["read", str(store), str(good), "--by", "A"]
    assert RUN.invoke(app, words).stderr == ""
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert "reading" in RUN.invoke(app, words).stderr


def test_which_end_of_the_main_a_header_counts_from_is_told(store: Path, tmp_path: Path) -> None:
    listed = tmp_path / "list.csv"
    listed.write_text("Lateral,Main,Dist from DS MH (ft)\nL-1,M1,12\n")
    assert "see that this is the downstream one" in read(store, str(listed), "--preview")[1]
