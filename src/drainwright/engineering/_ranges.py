"""Range checks for arrays, as `drainwright.errors.require` does for one number."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.errors import require


def within(
    name: str,
    values: ArrayLike,
    unit: str = "",
    *,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    below: float | None = None,
) -> NDArray[np.float64]:
    """Return `values` as an array if all are finite and in range, else raise `OutOfRangeError`.

    `low` and `high` are inclusive, `above` and `below` exclusive; the error names the value
    that is farthest out.
    """
    array = np.asarray(values, dtype=np.float64)
    if array.size == 1:
        require(name, array.item(), unit, low=low, high=high, above=above, below=below)
    elif array.size:
        for extreme in (array.min(), array.max()):  # NaN comes through both
            require(name, float(extreme), unit, low=low, high=high, above=above, below=below)
    return array
