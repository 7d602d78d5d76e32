"""How the command line tells an error: one place, one form."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import NoReturn

import typer

from drainwright.errors import DrainwrightError, InputError
from drainwright.units import UnitSystem, fault_texts


def fail(lines: Iterable[str], code: int = 2) -> NoReturn:
    """Print each line on standard error and leave with `code`."""
    for line in lines:
        print(line, file=sys.stderr)
    raise typer.Exit(code)


def tell(error: DrainwrightError, units: UnitSystem) -> NoReturn:
    """Print an error in the reader's units; 2 for bad input, 1 for everything else."""
    if isinstance(error, InputError):
        fail(fault_texts(error.faults, units), 2)
    fail([str(error)], 1)
