"""One batch of resin for one or several liners, weighed out by part, and weighed back.

Ratios are by weight. What stays in pails and rollers comes off; the ratio really reached is
held against the maker's letter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least, at_most
from drainwright.engineering.wet_out import split_by_weight
from drainwright.errors import Fault, InputError
from drainwright.records.material import Resin
from drainwright.records.specification import Specification
from drainwright.records.work_sheet import WorkSheet
from drainwright.sources import cite


@dataclass(frozen=True, slots=True)
class Share:
    """One liner's part of a batch [kg]."""

    lateral: str
    mass: float
    collar: float


@dataclass(frozen=True, slots=True)
class Batch:
    """One mix; SI."""

    resin: Resin
    shares: tuple[Share, ...]
    mass: float
    part_a: float
    part_b: float

    @property
    def volume_a(self) -> float | None:
        """Volume of part A [m^3], a cross-check of the scale; None without its density."""
        return self.part_a / self.resin.density_a if self.resin.density_a else None

    @property
    def volume_b(self) -> float | None:
        """Volume of part B [m^3]."""
        return self.part_b / self.resin.density_b if self.resin.density_b else None


def make_batch(sheets: Sequence[WorkSheet]) -> Batch:
    """A batch for the liners of these work sheets.

    Raises `InputError` for no sheet, for one without weighed resin, or for two resins.
    """
    if not sheets:
        raise InputError(Fault("laterals", "a batch needs at least one liner"))
    resin = sheets[0].resin
    shares = tuple(_share(sheet) for sheet in sheets)
    if resin is None or any(sheet.resin != resin for sheet in sheets):
        raise InputError(Fault("resin", "all liners of a batch take the same resin"))
    mass = sum(share.mass for share in shares)
    part_a, part_b = split_by_weight(mass, resin.ratio_a, resin.ratio_b)
    return Batch(resin, shares, mass, part_a, part_b)


def _share(sheet: WorkSheet) -> Share:
    mass, collar = sheet.figure("wetout.mass"), sheet.figure("wetout.collar_mass")
    if mass is None or not isinstance(mass.value, float):
        message = f"the work sheet of {sheet.lateral.key} has no resin weighed out"
        raise InputError(Fault("laterals", message, sheet.lateral.key))
    part = collar.value if collar is not None and isinstance(collar.value, float) else 0.0
    return Share(sheet.lateral.key, mass.value, part)


def weighed_checks(
    batch: Batch, specification: Specification, part_a: float, part_b: float, left: float
) -> tuple[Check, ...]:
    """Ratio and mass as really weighed: parts poured in, and what was left in pails and rollers.

    Masses in kg. The mass check asks that what went into the tubes reaches the batch without
    its excess.
    """
    wanted = batch.resin.ratio_a / batch.resin.ratio_b
    off = abs(part_a / part_b / wanted - 1) if part_b > 0 else float("inf")
    within = specification.limit("ratio_tolerance")
    refuse = specification.limit("ratio_refuse")
    used = part_a + part_b - left
    least = batch.mass / (1 + specification.value("excess"))
    return (
        at_most(
            "ratio by weight within the letter", off, within.value or 0.0, "share", within.source
        ),
        at_most("ratio by weight, refuse beyond", off, refuse.value or 0.0, "share", refuse.source),
        at_least("resin in the tubes", used, least, "mass", cite("practice")),
    )
