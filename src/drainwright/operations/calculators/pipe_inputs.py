"""Inputs that several calculators read alike: bores and walls of pipes."""

from __future__ import annotations

import math

from drainwright.operations.calculators.base import Inputs

LEAST_DIAMETER = 0.02
MOST_DIAMETER = 5.0
MOST_WATER = 100.0
"""Deepest groundwater taken [m]."""
MOST_PRESSURE = 1.0e6
"""Highest launch pressure taken [Pa]."""


def read_diameter(inputs: Inputs, key: str = "host_diameter", *, required: bool = True) -> float:
    """An inside diameter [m], NaN where absent or at fault."""
    return inputs.quantity(
        key, "diameter", required=required, low=LEAST_DIAMETER, high=MOST_DIAMETER
    )


def read_wall(
    inputs: Inputs, diameter: float, key: str = "wall", *, required: bool = True
) -> float:
    """A wall thinner than the radius [m], NaN where absent or at fault."""
    radius = MOST_DIAMETER / 2 if math.isnan(diameter) else diameter / 2
    return inputs.quantity(key, "thickness", required=required, above=0.0, below=radius)


def given(value: float) -> float | None:
    """An optional input: None where it was absent."""
    return None if math.isnan(value) else value
