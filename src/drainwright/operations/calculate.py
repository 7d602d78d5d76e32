"""Run one calculator on a table of named inputs (read; touches no store)."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from typing import Any

from drainwright.errors import InputError, NotFoundError, OutOfRangeError
from drainwright.operations.calculators.base import Answer, Inputs, Topic

TOPICS: tuple[str, ...] = (
    "wall",
    "flow",
    "wetout",
    "launch",
    "steam",
    "kinetics",
    "cure",
    "tightness",
    "flexure",
    "resin-fit",
    "night-flow",
    "rtk",
    "reduction",
)
"""Calculators by name; each lives in the module of its name and offers `TOPIC`."""


def topic(name: str) -> Topic:
    """The calculator `name`; `NotFoundError` for one that is not there."""
    if name not in TOPICS:
        raise NotFoundError(f"no calculator “{name}”; there are {', '.join(TOPICS)}")
    module = import_module(f"drainwright.operations.calculators.{name.replace('-', '_')}")
    found: Topic = module.TOPIC
    return found


def calculate(
    name: str, data: Mapping[str, Any], folder: Path | None
) -> tuple[Answer, Mapping[str, str]]:
    """The answer of calculator `name` and the kind of each quantity it read.

    File names among the inputs are relative to `folder`; None lets none be read. Raises
    `InputError` with every fault of the inputs; its `kinds` attribute lets a face show values
    in the reader's units.
    """
    inputs = Inputs(data, folder=folder)
    try:
        answer = topic(name).run(inputs)
    except InputError as error:
        raise CalculatorError(error, inputs.kinds) from error
    return answer, inputs.kinds


class CalculatorError(InputError):
    """Faults of a calculator's inputs, with the kind of each quantity read."""

    def __init__(self, error: InputError, kinds: Mapping[str, str]) -> None:
        super().__init__(*error.faults)
        self.kinds = dict(kinds)
        self.reason = error.reason if isinstance(error, OutOfRangeError) else ""
