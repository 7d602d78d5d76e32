"""The example inputs of a calculator, as the guide shows them (read)."""

from __future__ import annotations

from pathlib import Path

from drainwright.operations.calculate import topic


def example_inputs(name: str) -> str:
    """The example TOML of calculator `name`; empty where it has none.

    Raises `NotFoundError` for a calculator that is not there.
    """
    topic(name)
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "examples", package.parents[1] / "examples"):
        file = folder / "calculators" / f"{name}.toml"
        if file.is_file():
            return file.read_text("utf-8")
    return ""
