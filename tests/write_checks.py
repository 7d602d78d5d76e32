"""Write ``docs/checks/``: run the tests that compare with a source and print their rows.

``python -m tests.write_checks FOLDER`` (``make checks``).
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.check_rows import FOLDER, Row

ROOT = Path(__file__).resolve().parent.parent
HEAD = """# Checks: {subject}

Written by `make checks` from the tests; do not edit.
S: read in the named source. S2: read in a second-hand copy of it. M: from memory.
C: computed from a stated formula, good against regressions, never validation.
P: practice of the trade.

| check | published | ours | difference | tolerance | unit | source | mark | note |
|---|---|---|---|---|---|---|---|---|
"""


def recorders() -> list[Path]:
    """The test files that can keep a row: those that import `tests.check_rows`."""
    found = sorted((ROOT / "tests").rglob("*.py"))
    return [path for path in found if "from tests.check_rows import" in path.read_text("utf-8")]


def collect() -> list[Row]:
    """Run those tests in one process, so that the rows come in their order."""
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider"]
        command += ["-m", "published or analytic or independent"]
        command += [str(path) for path in recorders() if path.name.startswith("test_")]
        done = subprocess.run(command, cwd=ROOT, env=os.environ | {FOLDER: folder}, check=False)
        if done.returncode not in {0, 5}:
            sys.exit(done.returncode)
        rows = Path(folder) / "rows.jsonl"
        if not rows.exists():
            return []
        return [Row(**json.loads(line)) for line in rows.read_text("utf-8").splitlines()]


def cell(text: str) -> str:
    """Text that stays inside its cell."""
    return " ".join(text.split()).replace("|", "\\|")


def line(row: Row) -> str:
    """One row of the table; a hundredth of the tolerance is the least difference told."""
    step = 10.0 ** (math.floor(math.log10(row.tolerance)) - 2)
    difference = round(row.difference / step) * step
    agreed = "" if row.agrees else "**does not reproduce.** "
    cells = [row.name, row.published, f"{row.ours:.6g}", f"{difference:.2g}"]
    cells += [f"{row.tolerance:.2g}", row.unit, row.source, row.mark, agreed + row.note]
    return "| " + " | ".join(cell(text) for text in cells) + " |\n"


def is_made(text: str) -> bool:
    """Whether a page was made here; the others are written by hand."""
    return text.startswith("# Checks: ")


def write(rows: list[Row], folder: Path) -> None:
    """One page a subject; pages made here that have no rows any more go away."""
    folder.mkdir(parents=True, exist_ok=True)
    pages: dict[str, str] = {}
    for row in dict.fromkeys(rows):
        head = HEAD.format(subject=row.subject)
        pages[row.subject] = pages.get(row.subject, head) + line(row)
    for page in folder.glob("*.md"):
        if page.stem not in pages and is_made(page.read_text("utf-8")):
            page.unlink()
    for subject, text in pages.items():
        (folder / f"{subject}.md").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    write(collect(), Path(sys.argv[1]))
