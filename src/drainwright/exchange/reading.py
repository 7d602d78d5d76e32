"""What every reader gives back: records, faults that forbid storing, notices that don't."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from drainwright.errors import Fault

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Reading(Generic[T]):
    """One file, read: `records` are those without a fault.

    A fault means that something could not be read right; a notice tells what is odd but
    was kept as it stands. `left_out` is a file of the same form with everything that has a
    fault, to be mended and read again; empty where nothing was left out.
    """

    file: str
    records: tuple[T, ...]
    faults: tuple[Fault, ...] = ()
    notices: tuple[Fault, ...] = ()
    left_out: bytes = b""
    marks: tuple[str, ...] = ()
    """What each record's lines said, as a short mark; equal lines have equal marks."""
