"""A check: what is demanded, what is reached, and whether that is enough.

A check that fails is a result, not an error. `not assessed` is an outcome of its own and
never counts as met.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from drainwright.sources import Citation


class Outcome(StrEnum):
    """How a check came out."""

    MET = "met"
    NOT_MET = "not met"
    NOT_ASSESSED = "not assessed"


@dataclass(frozen=True, slots=True)
class Check:
    """`capacity` against `demand`, both SI of `kind`; met where capacity / demand >= 1.

    For a demand that is a minimum, `demand` is the limit and `capacity` the value reached;
    for a maximum, `demand` is the value and `capacity` the limit.
    """

    name: str
    demand: float | None
    capacity: float | None
    kind: str
    outcome: Outcome
    source: Citation
    note: str = ""
    most: bool = False
    """Whether `capacity` is a maximum that the value `demand` must keep."""

    @property
    def limit(self) -> float | None:
        """What was asked for: the maximum, else the minimum."""
        return self.capacity if self.most else self.demand

    @property
    def reached(self) -> float | None:
        """What was found."""
        return self.demand if self.most else self.capacity

    @property
    def ratio(self) -> float | None:
        """Capacity over demand; None where either is missing or zero, and for temperatures."""
        if self.demand is None or self.capacity is None or self.demand == 0:
            return None
        if self.kind == "temperature":
            return None
        return self.capacity / self.demand


def at_least(
    name: str, reached: float, limit: float, kind: str, source: Citation, note: str = ""
) -> Check:
    """Check that a value reaches a minimum."""
    outcome = Outcome.MET if reached >= limit else Outcome.NOT_MET
    return Check(name, limit, reached, kind, outcome, source, note)


def at_most(
    name: str, value: float, limit: float, kind: str, source: Citation, note: str = ""
) -> Check:
    """Check that a value stays within a maximum."""
    outcome = Outcome.MET if value <= limit else Outcome.NOT_MET
    return Check(name, value, limit, kind, outcome, source, note, most=True)


def not_assessed(name: str, kind: str, source: Citation, reason: str) -> Check:
    """A check that could not be made, with the reason."""
    return Check(name, None, None, kind, Outcome.NOT_ASSESSED, source, reason)
