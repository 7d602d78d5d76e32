"""A contractor's own costs, for a job estimate; never kept in a project, which goes to its owner.

Money is in integer minor units (cents) of the sheet's currency. Quantities are decimals.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Per(StrEnum):
    """What a cost is counted by, as work sheets tell it."""

    JOB = "job"
    SEGMENT = "main segment"
    """Each main segment with a lateral in the estimate."""
    LATERAL = "lateral"
    CUT = "tube cut"
    """Length of tube, as cut."""
    LINED = "lined length"
    RESIN = "resin mixed"
    """Mass of resin and hardener together, collar included."""
    COLLAR = "collar"
    STEAM = "steam time"
    COOL = "cooling time"
    WORK = "work before lining"
    """Each lateral whose work sheet asks for the work of one rule, such as roots."""


@dataclass(frozen=True, slots=True)
class CostLine:
    """One cost: a price for each unit, and how many units each counted thing needs."""

    key: str
    words: str
    unit: str
    """A length, mass or time where it is counted by one, else any word such as h or each."""
    price: int
    """Minor units for one unit."""
    per: Per
    each: str = "1"
    """Units for each lateral, foot, pound or hour counted: 1.05 for waste, 4 for a crew of 4."""
    tube: str = ""
    """Counts only laterals that get this tube; "" for all."""
    work: str = ""
    """The rule whose work it is, for `Per.WORK`."""


@dataclass(frozen=True, slots=True)
class Added:
    """A share added to the sum of all costs: overhead, contingency, profit."""

    words: str
    share: str
    """A decimal such as 0.12."""


@dataclass(frozen=True, slots=True)
class CostSheet:
    """Every cost of a job, and what is added to them."""

    name: str
    lines: tuple[CostLine, ...]
    added: tuple[Added, ...] = ()
    currency: str = "USD"
    minor_digits: int = 2
