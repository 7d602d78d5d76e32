"""Statistics of few test values: mean, spread, confidence, and outliers that are only flagged."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, require


@dataclass(frozen=True, slots=True)
class SampleStatistics:
    """What a sample tells about the quantity it was taken of.

    Attributes
    ----------
    count : int
        Number of values, n.
    mean : float
        Mean of all values, none left out [any].
    deviation : float
        Sample standard deviation; not a number for a single value [any].
    mean_low : float
        Lower end of the two-sided confidence interval of the mean [any].
    mean_high : float
        Upper end of it [any].
    least : float
        Least value [any].
    outliers : tuple of int
        Places of values that one value too far away would explain, counted from 0.
    """

    count: int
    mean: float
    deviation: float
    mean_low: float
    mean_high: float
    least: float
    outliers: tuple[int, ...]


def sample_statistics(values: Sequence[float], confidence: float = 0.95) -> SampleStatistics:
    r"""Mean, standard deviation, confidence interval of the mean, and a flag for an outlier.

    .. math:: \bar{x} \pm t_{(1+c)/2,\,n-1} \frac{s}{\sqrt{n}}, \qquad
              G = \frac{\max|x_i - \bar{x}|}{s} > \frac{n-1}{\sqrt{n}}
              \sqrt{\frac{t^2}{n - 2 + t^2}}, \; t = t_{1 - \alpha/(2n),\,n-2}

    An outlier is flagged with α = 1 - c and stays in every figure. Valid for values that scatter
    about normally; two values or more give an interval, three or more an outlier.

    Parameters
    ----------
    values : sequence of float, shape (n,)
        The values [any].
    confidence : float
        Confidence of the interval, c [1].

    Returns
    -------
    SampleStatistics
        Count, mean, deviation, interval, least value, places of outliers.

    Raises
    ------
    InputError
        If there is no value.
    OutOfRangeError
        If a value is not finite, or the confidence is not between 0 and 1.

    Examples
    --------
    >>> found = sample_statistics([276920, 187218, 369998, 270265, 214134])
    >>> round(found.mean), round(found.deviation), found.outliers
    (263707, 70398, ())

    References
    ----------
    Student's t and Grubbs' test, any textbook of statistics; ASTM E178, from memory.
    """
    sample = within("values", values)
    require("confidence", confidence, "", above=0.0, below=1.0)
    count = int(sample.size)
    if sample.ndim != 1 or count == 0:
        raise InputError(Fault("values", "needs one value or more"))
    mean, least = float(sample.mean()), float(sample.min())
    if count == 1:
        return SampleStatistics(1, mean, math.nan, math.nan, math.nan, least, ())
    from scipy.special import stdtrit  # Student's t; far lighter to load than scipy.stats

    deviation = float(sample.std(ddof=1))
    half = float(stdtrit(count - 1, (1 + confidence) / 2)) * deviation / math.sqrt(count)
    outliers: tuple[int, ...] = ()
    if count >= 3 and deviation > 0:
        t = float(stdtrit(count - 2, 1 - (1 - confidence) / (2 * count)))
        most = (count - 1) / math.sqrt(count) * math.sqrt(t**2 / (count - 2 + t**2))
        away = np.abs(sample - mean) / deviation
        far = int(np.argmax(away))
        outliers = (far,) if away[far] > most else ()
    return SampleStatistics(count, mean, deviation, mean - half, mean + half, least, outliers)
