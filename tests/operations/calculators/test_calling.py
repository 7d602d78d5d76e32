"""How every calculator is called: files, standard input, text that is no TOML, a real process."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from drainwright.operations import calculate
from drainwright.operations.calculate import TOPICS
from drainwright.operations.calculators.base import Answer, Said
from tests.operations.calculators.calls import call, faulty_keys, toml_text
from tests.operations.calculators.test_launch import LAUNCH

MAIN = "from drainwright.cli import main; main()"


def drainwright(*arguments: str, text: str = "") -> subprocess.CompletedProcess[str]:
    """The program in a process of its own."""
    return subprocess.run(
        [sys.executable, "-c", MAIN, *arguments],
        input=text,
        capture_output=True,
        text=True,
        check=False,
        encoding="utf-8",
    )


def test_a_real_process_reads_a_file_and_standard_input(tmp_path: Path) -> None:
    file = tmp_path / "launch.toml"
    file.write_text(toml_text(LAUNCH), encoding="utf-8")
    from_file = drainwright("calc", "launch", str(file), "--json")
    assert (from_file.returncode, from_file.stderr) == (0, "")
    assert json.loads(from_file.stdout) == call("launch", LAUNCH, "--json").json()
    bad = drainwright("calc", "launch", "-", text=toml_text(LAUNCH | {"pressure": "7 ft"}))
    assert (bad.returncode, bad.stdout) == (2, "")
    assert bad.stderr.startswith("pressure: ")
    assert "Traceback" not in bad.stderr


@pytest.mark.parametrize(
    "text",
    [
        'pressure = "7 psi',
        "= 3",
        'host_diameter = "4 in"\nhost_diameter = "5 in"',
        "pressure = " + "9" * 5000,
        "pressure = " + "[" * 5000,
        "\x00",
    ],
    ids=["open string", "no key", "key twice", "digits", "brackets", "zero byte"],
)
def test_text_that_is_no_toml(text: str) -> None:
    assert faulty_keys("launch", text) == ["file"]


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    missing = tmp_path / "missing.toml"
    told = drainwright("calc", "launch", str(missing))
    assert told.returncode == 2
    assert str(missing) in told.stderr
    assert drainwright("calc", "launch", str(tmp_path), "--json").returncode == 2


def test_a_topic_that_is_not_there_names_those_that_are() -> None:
    told = call("levitation", {})
    assert told.code == 2
    assert all(topic in told.err for topic in TOPICS)
    assert call("levitation", {}, "--json").json()["errors"][0]["key"] == "topic"


def test_an_empty_input_names_what_is_missing() -> None:
    for topic in ("wall", "flow", "wetout", "launch"):
        assert "host_diameter" in faulty_keys(topic, "")


def test_brackets_are_text_and_not_markup(monkeypatch: pytest.MonkeyPatch) -> None:
    odd = Answer("launch", "[red]m[/red]", {"a": Said("[b]", "[collar]")}, cautions=("[c]",))
    monkeypatch.setattr(calculate, "calculate", lambda *_: (odd, {}))
    told = call("launch", LAUNCH).out
    for text in ("[red]m[/red]", "[b]", "[collar]", "[c]"):
        assert text in told


def test_the_table_for_people_has_result_unit_and_how() -> None:
    told = call("launch", LAUNCH).out
    line = next(line for line in told.splitlines() if line.startswith("head limit"))
    assert line.split()[:4] == ["head", "limit", "11.5", "ft"]
    assert "0.433 psi/ft" in line
    assert "check: pressure reaches the minimum: met" in told
    assert "source: " in told
    assert "caution: " in told
    assert call("launch", LAUNCH, "--units", "si").out != told
