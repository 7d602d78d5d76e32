"""Slopes through the origin, and the interval of the ratio of two of them."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.errors import Fault, InputError, require

Floats = NDArray[np.float64]


def slope_through_origin(x: ArrayLike, y: ArrayLike) -> float:
    r"""Slope of a line through the origin.

    .. math:: b = \frac{\sum x y}{\sum x^2}

    Parameters
    ----------
    x : array_like, shape (n,)
        Abscissas, any unit [1].
    y : array_like, shape (n,)
        Ordinates, any unit [1].

    Returns
    -------
    float
        Slope, b [1].

    Raises
    ------
    InputError
        If all abscissas are 0.

    Examples
    --------
    >>> slope_through_origin([1.0, 2.0], [2.0, 4.0])
    2.0

    References
    ----------
    Least squares, computed.
    """
    abscissas = np.asarray(x, dtype=np.float64)
    square = float(abscissas @ abscissas)
    if square == 0.0:
        raise InputError(Fault("x", "are all 0"))
    return float(abscissas @ np.asarray(y, dtype=np.float64)) / square


def fieller_interval(
    numerator: float,
    denominator: float,
    variances: tuple[float, float],
    t_value: float,
) -> tuple[float, float]:
    r"""Interval of the ratio of two independent estimates.

    .. math:: (a - \rho b)^2 = t^2 (v_a + \rho^2 v_b)

    Valid where the denominator differs from 0 at the same level; else it has no two ends.

    Parameters
    ----------
    numerator : float
        Estimate, a [1].
    denominator : float
        Estimate, b [1].
    variances : tuple of float
        Variances of the two, v_a and v_b [1].
    t_value : float
        Quantile of Student's t, t [1].

    Returns
    -------
    tuple of float
        Lower and upper end of the ratio [1]; NaN for both where there are no two ends.

    Raises
    ------
    OutOfRangeError
        If a variance or the quantile is negative.

    Examples
    --------
    >>> low, high = fieller_interval(1.0, 2.0, (0.01, 0.01), 2.0)
    >>> round(low, 4), round(high, 4)
    (0.3926, 0.6175)

    References
    ----------
    Fieller, interval of a ratio.
    """
    top = require("variance", variances[0], "1", low=0.0)
    bottom = require("variance", variances[1], "1", low=0.0)
    square = require("t_value", t_value, "1", low=0.0) ** 2
    a = denominator**2 - square * bottom
    b = numerator * denominator
    c = numerator**2 - square * top
    if a <= 0.0:
        return math.nan, math.nan
    root = math.sqrt(max(b * b - a * c, 0.0))
    return (b - root) / a, (b + root) / a
