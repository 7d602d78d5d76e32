"""How many storms a proof needs, and the smallest change that some storms can show."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from drainwright.engineering._student import quantile
from drainwright.errors import OutOfRangeError, require

Floats = NDArray[np.float64]


def storms_needed(
    reduction: float, spread: float, *, power: float = 0.8, significance: float = 0.05
) -> int:
    """Storms in each period that a reduction needs to be seen, by the noncentral t.

    Two samples of ln with one standard deviation, two-sided.

    Parameters
    ----------
    reduction : float
        Reduction to be seen [1].
    spread : float
        Residual standard deviation of the logarithm [1].
    power : float
        Probability that it is seen [1].
    significance : float
        Two-sided level of the test [1].

    Returns
    -------
    int
        Storms before, and as many after [1].

    Raises
    ------
    OutOfRangeError
        If the reduction is 0 or 1 and above, the spread is not above 0, or more than 100 000
        storms were needed.

    Examples
    --------
    >>> storms_needed(0.30, 0.25)
    9

    References
    ----------
    Noncentral t of a two-sample test, computed.
    """
    require("reduction", reduction, "1", above=-10.0, below=1.0)
    require("spread", spread, "1", above=0.0, high=10.0)
    require("power", power, "1", low=0.05, high=0.999)
    require("significance", significance, "1", low=1e-6, high=0.5)
    effect = abs(math.log1p(-reduction)) / spread
    low, high, most = 2, 2, 100_000
    while effect > 0.0 and high < most and _power(effect, high, significance) < power:
        low, high = high, 2 * high
    if effect == 0.0 or high >= most:
        raise OutOfRangeError("reduction", reduction, "1", reason="too small to be seen at all")
    while low < high:
        middle = (low + high) // 2
        if _power(effect, middle, significance) >= power:
            high = middle
        else:
            low = middle + 1
    return high


def _power(effect: float, count: int, significance: float) -> float:
    degrees = 2 * count - 2
    limit = stats.t.ppf(1.0 - significance / 2.0, degrees)
    shift = effect * math.sqrt(count / 2.0)
    return float(stats.nct.sf(limit, degrees, shift) + stats.nct.cdf(-limit, degrees, shift))


def smallest_change(
    spreads: tuple[float, float], counts: tuple[int, int], confidence: float = 0.95
) -> float:
    r"""Smallest reduction that these storms can show at all.

    .. math:: MDC = t \sqrt{MSE/n_1 + MSE/n_2}, \qquad reduction = 1 - e^{-MDC}

    Parameters
    ----------
    spreads : tuple of float
        Residual standard deviation of the logarithm, before and after [1].
    counts : tuple of int
        Storms before and after [1].
    confidence : float
        Confidence [1].

    Returns
    -------
    float
        Reduction [1].

    Raises
    ------
    OutOfRangeError
        If a spread is negative or there are fewer than two storms in a period.

    Examples
    --------
    >>> round(smallest_change((0.25, 0.25), (6, 6)), 3)
    0.275

    References
    ----------
    Smallest detectable change of paired basins, from memory.
    """
    square = 0.0
    for spread, count in zip(spreads, counts, strict=True):
        require("spread", spread, "1", low=0.0)
        require("storms", count, "1", low=2)
        square += spread**2 / count
    return -math.expm1(-quantile(confidence, sum(counts) - 2) * math.sqrt(square))
