"""Lots of resin, tube, collar and seals, and the attempts that used them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from drainwright.records.attempt import Attempt

LOTS = {
    "lot_a": "part A",
    "lot_b": "part B",
    "tube_lot": "tube",
    "collar_lot": "collar",
    "seal_lot": "seals",
}
"""Names under which lots are read at the steps, and what they are lots of."""


@dataclass(frozen=True, slots=True)
class LotUse:
    """A lot in one attempt on one lateral; failed attempts count too."""

    lot: str
    part: str
    lateral: str
    attempt: int
    end: str
    """How the attempt ended; “runs” while it does."""
    entry: str
    """Id of the field entry that tells it."""


def lots_of(attempts: Mapping[str, tuple[Attempt, ...]]) -> tuple[LotUse, ...]:
    """Every lot with the attempts that used it, in the order of lots."""
    found = [use for each in attempts.values() for one in each for use in _of(one)]
    return tuple(sorted(found, key=lambda one: (one.part, one.lot, one.lateral, one.attempt)))


def _of(attempt: Attempt) -> Iterator[LotUse]:
    end = attempt.end.value if attempt.end else "runs"
    for event in attempt.events:
        for name, part in LOTS.items():
            lot = event.word(name)
            if lot:
                yield LotUse(lot, part, attempt.lateral, attempt.number, end, event.id)
