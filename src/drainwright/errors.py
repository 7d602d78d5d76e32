"""Every error the program raises on purpose, and the faults they carry.

An error carries data (name, value, unit, range, place), in SI. The faces (command line,
web) turn it into words once, with the reader's units; see `drainwright.units.fault_text`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with one input.

    `message` says in plain words what is wrong and, where it helps, what is allowed.
    `value` is what was given (SI where it is a number with a unit, else as typed).
    `low` and `high` are the allowed range in the SI unit `unit`.
    """

    name: str
    message: str
    value: object = None
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    file: str | None = None
    sheet: str | None = None
    row: int | None = None
    column: str | None = None
    guess: str | None = None

    def placed(
        self,
        *,
        file: str | None = None,
        sheet: str | None = None,
        row: int | None = None,
        column: str | None = None,
    ) -> Fault:
        """The same fault with the place it was found filled in where still empty."""
        return replace(
            self,
            file=self.file or file,
            sheet=self.sheet or sheet,
            row=self.row if self.row is not None else row,
            column=self.column or column,
        )

    def place(self) -> str:
        """Where the fault stands: `file, sheet, row, column`, as far as known."""
        parts = [self.file, self.sheet and f"sheet {self.sheet}"]
        parts += [f"row {self.row}" if self.row is not None else None]
        parts += [self.column and f"column {self.column}"]
        return ", ".join(part for part in parts if part)

    def __str__(self) -> str:
        place = self.place()
        return f"{place}: {self.name}: {self.message}" if place else f"{self.name}: {self.message}"


class DrainwrightError(Exception):
    """Root of every error raised on purpose."""


class InputError(DrainwrightError, ValueError):
    """Input that can't be used; carries every fault that was found, not only the first."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("\n".join(str(fault) for fault in faults))
        self.faults: tuple[Fault, ...] = faults


class OutOfRangeError(InputError):
    """A value outside the range in which a method holds.

    Parameters are in SI; `unit` is the SI unit's text ("" for none).
    """

    def __init__(
        self,
        name: str,
        value: float,
        unit: str = "",
        low: float | None = None,
        high: float | None = None,
        *,
        reason: str = "",
    ) -> None:
        message = f"{value:g} {unit}".rstrip() + f" is outside {range_text(low, high, unit)}"
        if reason:
            message += f" ({reason})"
        super().__init__(Fault(name, message, value, unit, low, high))
        self.reason = reason


class ConvergenceError(DrainwrightError, ArithmeticError):
    """A solver did not reach its tolerance."""


class NotFoundError(DrainwrightError, LookupError):
    """Something asked for by name does not exist."""


class ConflictError(DrainwrightError):
    """Somebody else changed the same document first, or a key is taken."""


class StorageError(DrainwrightError):
    """The store could not be read or written; the driver's error is the cause."""


class PaperError(DrainwrightError):
    """A paper could not be made."""


def range_text(low: float | None, high: float | None, unit: str = "") -> str:
    """The allowed range in words, such as `0 to 0.15 m` or `at least 1`."""
    tail = f" {unit}" if unit else ""
    if low is not None and high is not None:
        return f"{low:g} to {high:g}{tail}"
    if low is not None:
        return f"the allowed range, at least {low:g}{tail}"
    if high is not None:
        return f"the allowed range, at most {high:g}{tail}"
    return "the allowed range"


def raise_if_any(faults: Iterable[Fault]) -> None:
    """Raise one `InputError` with all faults, or return if there are none."""
    found = tuple(faults)
    if found:
        raise InputError(*found)


def require(
    name: str,
    value: float,
    unit: str = "",
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    below: float | None = None,
    reason: str = "",
) -> float:
    """Return `value` if it is finite and in range, else raise `OutOfRangeError`.

    `low` and `high` are inclusive, `above` and `below` exclusive.
    """
    inside = (
        math.isfinite(value)
        and (low is None or value >= low)
        and (high is None or value <= high)
        and (above is None or value > above)
        and (below is None or value < below)
    )
    if not inside:
        least = low if low is not None else above
        most = high if high is not None else below
        raise OutOfRangeError(name, value, unit, least, most, reason=reason)
    return value
