"""Each import contract fails on a planted violation, and passes without it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
FLOORS = "Imports go down the floors only"
FACES = "Faces call operations, not what lies below"
# what a face may import (DESIGN, Layout)
OPEN_TO_FACES = {"operations", "units", "errors", "sources", "records", "checks"}


def lint(copy: Path) -> tuple[int, str]:
    """Run the project's contracts over a copy of its source."""
    environment = os.environ | {"PYTHONPATH": str(copy / "src"), "COLUMNS": "200"}
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"]
    done = subprocess.run(
        [*command, "--no-cache", "--config", str(copy / "pyproject.toml")],
        cwd=copy, env=environment, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    ignore = shutil.ignore_patterns("__pycache__", "*.ttf", "*.woff2")
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=ignore)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_contracts_hold(copy: Path) -> None:
    code, told = lint(copy)
    assert code == 0, told


@pytest.mark.parametrize(
    ("floor", "imported", "broken"),
    [
        ("errors", "units", FLOORS),
        ("units", "engineering", FLOORS),
        ("engineering", "records", FLOORS),
        ("records", "engineering", FLOORS),
        ("engineering", "drawing", FLOORS),
        ("planning", "storage", FLOORS),
        ("drawing", "papers", FLOORS),
        ("papers", "storage", FLOORS),
        ("exchange", "papers", FLOORS),
        ("storage", "operations", FLOORS),
        ("operations", "cli", FLOORS),
        ("operations", "web", FLOORS),
        ("web", "cli", FLOORS),
        ("cli", "papers", FACES),
        ("cli", "exchange", FACES),
        ("cli", "storage", FACES),
        ("cli", "drawing", FACES),
        ("cli", "planning", FACES),
        ("cli", "engineering", FACES),
        ("web", "papers", FACES),
        ("web", "exchange", FACES),
        ("web", "storage", FACES),
        ("web", "drawing", FACES),
        ("web", "planning", FACES),
        ("web", "engineering", FACES),
    ],
)
def test_a_planted_import_breaks_its_contract(
    copy: Path, floor: str, imported: str, broken: str
) -> None:
    package = copy / "src" / "drainwright"
    folder = package / floor
    planted = folder / "planted.py" if folder.is_dir() else folder.with_suffix(".py")
    with planted.open("a", encoding="utf-8") as module:
        module.write(f"\nimport drainwright.{imported}\n")
    code, told = lint(copy)
    assert code == 1, told
    assert f"{broken} BROKEN" in told
    assert f"{FACES if broken == FLOORS else FLOORS} KEPT" in told


def test_both_contracts_name_every_package_there_is() -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]
    floors, faces = config["contracts"]
    package = ROOT / "src" / "drainwright"
    there = {path.parent.name for path in package.glob("*/__init__.py")}
    there |= {path.stem for path in package.glob("*.py")} - {"__init__", "__main__"}
    named = {
        name.strip(" ()") for line in floors["layers"] for name in line.replace(":", "|").split("|")
    }
    assert there - named == set()
    assert {f"drainwright.{name}" for name in there & {"cli", "web"}} <= set(
        faces["source_modules"]
    )
    closed = there - OPEN_TO_FACES - {"cli", "web"}
    assert {f"drainwright.{name}" for name in closed} <= set(faces["forbidden_modules"])
