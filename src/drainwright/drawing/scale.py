"""Scales and their ticks: distances along the pipe, and levels with soil that may be left out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainwright.units import UnitSystem, from_si, kind_unit, to_si

# step between labels: step between the smallest ticks, in the reader's unit
_STEPS = {
    0.1: 0.05, 0.2: 0.1, 0.5: 0.1, 1: 0.25, 2: 0.5, 5: 1, 10: 1, 20: 5, 50: 10, 100: 10,
    200: 50, 500: 100, 1000: 100,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Linear:
    """A linear scale: `at(value) = zero + value * per_unit`."""

    zero: float
    per_unit: float

    def at(self, value: float) -> float:
        """Position on the drawing."""
        return self.zero + value * self.per_unit


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels [m] to heights on the drawing, `top` at `zero`; soil between `cut` is left out.

    `cut` is (upper level, lower level); `gap` is the height of the break on the drawing.
    """

    top: float
    zero: float
    per_unit: float
    cut: tuple[float, float] | None = None
    gap: float = 0.0

    def at(self, level: float) -> float:
        """Height on the drawing, downwards."""
        straight = self.zero + (self.top - level) * self.per_unit
        if self.cut is None:
            return straight
        upper, lower = self.cut
        if level >= upper:
            return straight
        left_out = (upper - lower) * self.per_unit - self.gap
        if level <= lower:
            return straight - left_out
        share = (upper - level) / (upper - lower)
        return self.zero + (self.top - upper) * self.per_unit + share * self.gap

    def hides(self, level: float) -> bool:
        """Whether a level lies in the soil that is left out."""
        return self.cut is not None and self.cut[1] < level < self.cut[0]


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on a scale: SI value, its label ("" for a small one) and weight 0, 1 or 2."""

    value: float
    label: str
    weight: int


def ticks(
    low: float,
    high: float,
    per_si: float,
    system: UnitSystem,
    least: float,
    *,
    kind: str = "length",
) -> list[Tick]:
    """Ticks from `low` to `high` [SI unit of `kind`] at round numbers of the reader's unit.

    Labels stand at least `least` units of the drawing apart at `per_si` units per SI unit,
    small ticks at least 5.
    """
    unit = kind_unit(kind, system)
    per_unit = per_si * (to_si(1.0, unit) - to_si(0.0, unit))
    step = next((step for step in _STEPS if step * per_unit >= least), max(_STEPS))
    small = _STEPS[step]
    if small * per_unit < 5:
        small = step
    shares = round(step / small)
    first = math.ceil(from_si(low, unit) / small - 1e-9)
    last = math.floor(from_si(high, unit) / small + 1e-9)
    found = []
    for count in range(first, last + 1):
        value = count * small
        labelled = count % shares == 0
        middle = shares % 2 == 0 and count % (shares // 2) == 0
        text = f"{value:.2f}".rstrip("0").rstrip(".").replace("-", "−") if labelled else ""
        found.append(Tick(to_si(value, unit), text, 2 if labelled else 1 if middle else 0))
    return found
