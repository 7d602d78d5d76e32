"""Every example of a calculator runs, stands in the guide, and the guide shows what comes out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drainwright.operations.calculate import TOPICS
from tests.guide_examples import GUIDE, MARK, SLOW, files, rewritten, topic_of
from tests.operations.calculators.calls import answer_of, run

TEXT = GUIDE.read_text("utf-8")
EXAMPLES = [
    pytest.param(file, id=file.stem, marks=pytest.mark.slow if topic_of(file) in SLOW else ())
    for file in files()
]


@pytest.mark.parametrize("file", EXAMPLES)
@pytest.mark.parametrize("units", ["us", "si"])
def test_every_example_answers(file: Path, units: str) -> None:
    topic = topic_of(file)
    found = answer_of(topic, run("calc", topic, str(file), "--json", "--units", units))
    for check in found["checks"]:
        assert check["outcome"] == "met", check


def test_every_example_stands_in_the_guide() -> None:
    assert {found["file"] for found in MARK.finditer(TEXT)} == {file.name for file in files()}


@pytest.mark.parametrize("topic", TOPICS)
def test_every_calculator_has_a_section_and_an_example(topic: str) -> None:
    assert f"\n## {topic}\n" in TEXT
    assert topic in {topic_of(file) for file in files()}


def test_the_guide_shows_what_comes_out() -> None:
    assert rewritten(TEXT) == TEXT, "python -m tests.guide_examples, and read what it wrote"


@pytest.mark.parametrize("file", EXAMPLES)
def test_every_result_of_an_example_is_explained(file: Path) -> None:
    topic = topic_of(file)
    section = re.split(r"\n## ", TEXT.split(f"\n## {topic}\n")[1])[0]
    prose = MARK.sub("", section)
    results = answer_of(topic, run("calc", topic, str(file), "--json"))["results"]
    assert [name for name in results if f"`{name}`" not in prose] == []
