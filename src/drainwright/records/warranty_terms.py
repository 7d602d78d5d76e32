"""Terms of the warranty, as the contract has them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class WarrantyTerms:
    """A project's terms. Starting values: common practice, no source; the contract wins."""

    years: int = 1
    sample_share: float = 0.1
    seed: int = 1
    wet_months: tuple[int, ...] = (3, 4, 5)
    """Months with high groundwater, in which a leak shows."""
    days_before_end: int = 30
    """The inspection is done at least this long before the end."""
    key: str = "warranty"
