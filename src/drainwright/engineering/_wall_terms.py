"""Terms that the wall clauses share, each checked against its range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within

Floats = NDArray[np.float64]


def diameter(host_diameter: ArrayLike) -> Floats:
    """Inside diameter of the host [m]."""
    return within("host_diameter", host_diameter, "m", above=0, high=100)


def pressure(name: str, values: ArrayLike) -> Floats:
    """A pressure on the liner [Pa]."""
    return within(name, values, "Pa", low=0, high=1e9)


def modulus(values: ArrayLike) -> Floats:
    """Initial modulus [Pa]."""
    return within("modulus", values, "Pa", above=0, high=1e12)


def long_term_modulus(initial: ArrayLike, retention: ArrayLike) -> Floats:
    """Long-term modulus [Pa]."""
    return np.asarray(modulus(initial) * within("retention", retention, above=0, high=1))


def strength(values: ArrayLike) -> Floats:
    """Long-term strength [Pa]."""
    return within("strength", values, "Pa", above=0, high=1e10)


def safety(values: ArrayLike) -> Floats:
    """Safety factor."""
    return within("safety_factor", values, low=1, high=20)


def dimension_ratio(wall: ArrayLike, host_diameter: ArrayLike) -> Floats:
    """D/t of a wall thinner than the radius."""
    share = within("wall", wall, "m", above=0) / diameter(host_diameter)
    within("wall over host_diameter", share, above=0, below=0.5)
    return np.asarray(1.0 / share)


def not_zero(values: Floats) -> Floats:
    """The values, 1 in place of 0: for a division whose result is 0 there anyway."""
    return np.where(values > 0, values, 1.0)
