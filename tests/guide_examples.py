"""The examples of docs/guide/calculators.md: inputs and answers between their marks.

``python -m tests.guide_examples`` (part of ``make docs``) writes them anew; a test compares.
The answers there are shown to readers; no test takes an expected value from them.
"""

from __future__ import annotations

import os
import re
from pathlib import Path
from unittest.mock import patch

from drainwright.operations.calculate import TOPICS
from tests.operations.calculators.calls import run

ROOT = Path(__file__).resolve().parent.parent
GUIDE = ROOT / "docs" / "guide" / "calculators.md"
EXAMPLES = ROOT / "examples" / "calculators"
SLOW = ("cure",)
"""Calculators whose answer the guide does not show: kernels compile, seconds pass."""
MARK = re.compile(r"<!-- example (?P<file>[\w.-]+) -->\n(?P<text>.*?)<!-- end -->", re.DOTALL)


def files() -> list[Path]:
    """Every example."""
    return sorted(EXAMPLES.glob("*.toml"))


def topic_of(file: Path) -> str:
    """The calculator of an example: `wall.toml`, `wall-dry.toml`; the longest name that fits."""
    fitting = [name for name in TOPICS if file.stem == name or file.stem.startswith(f"{name}-")]
    return max(fitting, key=len)


def shown(file: Path) -> str:
    """An example as the guide shows it: the inputs, the command, the answer."""
    topic = topic_of(file)
    answer = "" if topic in SLOW else _answer(topic, file)
    command = f"$ drainwright calc {topic} {file.relative_to(ROOT).as_posix()}"
    return (
        f"```toml\n{file.read_text('utf-8').strip()}\n```\n\n```console\n{command}\n{answer}```\n"
    )


def _answer(topic: str, file: Path) -> str:
    with patch.dict(os.environ, {"COLUMNS": "100"}):
        called = run("calc", topic, str(file))
    return "".join(f"{line.rstrip()}\n" for line in called.out.splitlines())


def rewritten(text: str) -> str:
    """The guide with every example brought up to date."""

    def block(found: re.Match[str]) -> str:
        name = found["file"]
        return f"<!-- example {name} -->\n{shown(EXAMPLES / name)}<!-- end -->"

    return MARK.sub(block, text)


if __name__ == "__main__":
    GUIDE.write_text(rewritten(GUIDE.read_text("utf-8")), encoding="utf-8", newline="\n")
