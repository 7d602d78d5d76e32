"""How much less rain-derived flow a relined basin brings, beside a control basin, with intervals.

Storms before and after the work are compared by several methods, since the definition is part
of the number. All of them give a reduction, 1 less the ratio of after to before.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from drainwright.engineering._ranges import within
from drainwright.engineering._student import quantile
from drainwright.engineering.ratio_interval import fieller_interval, slope_through_origin
from drainwright.errors import Fault, InputError

Floats = NDArray[np.float64]
RAIN_SLOPE, RAIN_LOG = "rain slope", "rain log"
CONTROL_LOG, LOG_RATIO, DOUBLE_MASS = "control log ancova", "log ratio", "double mass"
METHODS = (RAIN_SLOPE, RAIN_LOG, CONTROL_LOG, LOG_RATIO, DOUBLE_MASS)
"""Methods in the order in which they are told."""


@dataclass(frozen=True, slots=True)
class Storms:
    """The storms of one period; volumes in one unit, rain in one unit.

    Attributes
    ----------
    rain : ndarray, shape (n,)
        Depth of rain [m].
    treated : ndarray, shape (n,)
        Rain-derived volume of the relined basin [m^3].
    control : ndarray, shape (n,), optional
        Rain-derived volume of the control basin [m^3]; None without one.
    """

    rain: Floats
    treated: Floats
    control: Floats | None = None


@dataclass(frozen=True, slots=True)
class Reduction:
    """What one method says.

    Attributes
    ----------
    method : str
        Its name.
    reduction : float
        Reduction [1]; negative where more came after the work.
    low : float
        Lower end of the interval [1]; NaN for a method without one.
    high : float
        Upper end of the interval [1]; NaN for a method without one.
    p_value : float
        Two-sided probability of so large a change by chance [1]; NaN without an interval.
    spread : float
        Residual standard deviation of the logarithm [1]; NaN where none is fitted.
    """

    method: str
    reduction: float
    low: float = math.nan
    high: float = math.nan
    p_value: float = math.nan
    spread: float = math.nan


@dataclass(frozen=True, slots=True)
class Proof:
    """All methods, and the one that is reported.

    Attributes
    ----------
    methods : tuple of Reduction
        What each method says.
    reported : str
        The method the program stands by; "" where there is no control basin.
    why : str
        Why that one.
    interaction : float
        Two-sided probability that the two lines have one slope [1]; NaN without a control.
    """

    methods: tuple[Reduction, ...]
    reported: str
    why: str
    interaction: float = math.nan


def storms_of(rain: ArrayLike, treated: ArrayLike, control: ArrayLike | None = None) -> Storms:
    """The storms of one period, checked.

    Parameters
    ----------
    rain : array_like, shape (n,)
        Depth of rain [m].
    treated : array_like, shape (n,)
        Rain-derived volume of the relined basin [m^3].
    control : array_like, shape (n,), optional
        Rain-derived volume of the control basin [m^3].

    Returns
    -------
    Storms
        The storms.

    Raises
    ------
    OutOfRangeError
        If a number is not above 0: methods take logarithms.
    InputError
        If there are fewer than three storms, or the numbers of values differ.

    Examples
    --------
    >>> storms_of([0.02, 0.03, 0.04], [90.0, 150.0, 200.0]).control is None
    True

    References
    ----------
    Clausen and Spooner, EPA 841-F-93-009.
    """
    columns = {"rain": rain, "treated": treated} | ({} if control is None else {"control": control})
    arrays = {name: within(name, values, above=0.0) for name, values in columns.items()}
    count = arrays["rain"].size
    if any(one.shape != (count,) for one in arrays.values()):
        raise InputError(Fault("storms", "rain and volumes must be as many"))
    if count < 3:
        raise InputError(Fault("storms", "each period needs at least three", count))
    return Storms(arrays["rain"], arrays["treated"], arrays.get("control"))


def rain_slope(before: Storms, after: Storms, confidence: float = 0.95) -> Reduction:
    """Reduction of the volume per depth of rain, slopes through the origin.

    The two slopes share one residual variance; the interval of their ratio is Fieller's.

    Parameters
    ----------
    before : Storms
        Storms before the work.
    after : Storms
        Storms after it.
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Reduction
        1 less the ratio of the slopes.

    Raises
    ------
    OutOfRangeError
        If the confidence is outside 0.5 to 0.999.

    Examples
    --------
    >>> dry, wet = storms_of([1, 2, 3], [2, 4.1, 6]), storms_of([1, 2, 3], [1, 2.1, 3])
    >>> round(rain_slope(dry, wet).reduction, 3)
    0.496

    References
    ----------
    City of Eugene OR, volume over rain; Fieller, interval of a ratio.
    """
    first = slope_through_origin(before.rain, before.treated)
    second = slope_through_origin(after.rain, after.treated)
    left = np.concatenate(
        [before.treated - first * before.rain, after.treated - second * after.rain]
    )
    degrees = left.size - 2
    variance = float(left @ left) / degrees
    spread = variance / float(before.rain @ before.rain), variance / float(after.rain @ after.rain)
    t = quantile(confidence, degrees)
    low, high = fieller_interval(second, first, (spread[1], spread[0]), t)
    error = math.sqrt(sum(spread))
    p = _p_value((second - first) / error if error > 0 else math.inf, degrees)
    return Reduction(RAIN_SLOPE, 1.0 - second / first, 1.0 - high, 1.0 - low, p)


def rain_log(before: Storms, after: Storms, confidence: float = 0.95) -> Reduction:
    r"""Reduction at equal rain, by a common slope of the logarithms.

    .. math:: \ln V = a + b \ln P + \beta \, [after], \qquad reduction = 1 - e^{\beta}

    Parameters
    ----------
    before : Storms
        Storms before the work.
    after : Storms
        Storms after it.
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Reduction
        The reduction.

    Raises
    ------
    OutOfRangeError
        If the confidence is outside 0.5 to 0.999.

    Examples
    --------
    >>> dry, wet = storms_of([1, 2, 3], [2, 4.1, 6]), storms_of([1, 2, 3], [1, 2.1, 3])
    >>> round(rain_log(dry, wet).reduction, 3)
    0.496

    References
    ----------
    Clausen and Spooner, EPA 841-F-93-009, with rain in the place of the control.
    """
    return _common_slope(RAIN_LOG, before, after, (before.rain, after.rain), confidence)


def control_log_ancova(before: Storms, after: Storms, confidence: float = 0.95) -> Reduction:
    r"""Reduction at equal flow of the control, by analysis of covariance of the logarithms.

    .. math:: \ln V = a + b \ln C + \beta \, [after], \qquad reduction = 1 - e^{\beta}

    Valid where the slope b is the same in both periods: see `interaction_p_value`.

    Parameters
    ----------
    before : Storms
        Storms before the work, with a control.
    after : Storms
        Storms after it, with a control.
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Reduction
        The reduction.

    Raises
    ------
    InputError
        If there is no control.

    Examples
    --------
    >>> before = storms_of([1, 2, 3], [2, 4.1, 6], [1, 2, 3])
    >>> after = storms_of([1, 2, 3], [1, 2.1, 3], [1, 2, 3])
    >>> round(control_log_ancova(before, after).reduction, 3)
    0.496

    References
    ----------
    Clausen and Spooner, EPA 841-F-93-009.
    """
    return _common_slope(CONTROL_LOG, before, after, _controls(before, after), confidence)


def _controls(before: Storms, after: Storms) -> tuple[Floats, Floats]:
    if before.control is None or after.control is None:
        raise InputError(Fault("control", "this method needs a control basin in both periods"))
    return before.control, after.control


def _common_slope(
    name: str, before: Storms, after: Storms, beside: tuple[Floats, Floats], confidence: float
) -> Reduction:
    y = np.log(np.concatenate([before.treated, after.treated]))
    x = np.log(np.concatenate(beside))
    is_after = np.repeat([0.0, 1.0], [before.treated.size, after.treated.size])
    beta, error, degrees, spread = _last_term(np.column_stack([np.ones_like(x), x, is_after]), y)
    return _from_log(name, beta, error, degrees, spread, confidence)


def _last_term(design: Floats, y: Floats) -> tuple[float, float, int, float]:
    """Estimate and standard error of the last term, degrees of freedom, residual spread."""
    count, terms = design.shape
    if np.linalg.matrix_rank(design) < terms:
        raise InputError(Fault("storms", "are too alike: rain or control must differ among them"))
    q, r = np.linalg.qr(design)
    coefficients = np.linalg.solve(r, q.T @ y)
    left = y - design @ coefficients
    degrees = count - terms
    variance = float(left @ left) / degrees
    # the last diagonal of (X'X)^-1 is that of R alone
    return float(coefficients[-1]), math.sqrt(variance) / abs(r[-1, -1]), degrees, variance**0.5


def _from_log(
    name: str, beta: float, error: float, degrees: int, spread: float, confidence: float
) -> Reduction:
    t = quantile(confidence, degrees)
    p = _p_value(beta / error if error > 0 else math.copysign(math.inf, beta), degrees)
    low, high = -math.expm1(beta + t * error), -math.expm1(beta - t * error)
    return Reduction(name, -math.expm1(beta), low, high, p, spread)


def _p_value(t: float, degrees: int) -> float:
    return float(2.0 * stats.t.sf(abs(t), degrees))


def interaction_p_value(before: Storms, after: Storms) -> float:
    r"""Probability that treated and control are as proportional after the work as before.

    .. math:: \ln V = a + b \ln C + \beta [after] + \gamma [after] \ln C, \qquad \gamma = 0

    Parameters
    ----------
    before : Storms
        Storms before the work, with a control.
    after : Storms
        Storms after it, with a control.

    Returns
    -------
    float
        Two-sided probability of so large a difference of slopes by chance [1].

    Raises
    ------
    InputError
        If there is no control, or the control is the same in all storms of a period.

    Examples
    --------
    >>> before = storms_of([1, 2, 3, 4], [2, 4.1, 6, 8.2], [1, 2, 3, 4])
    >>> after = storms_of([1, 2, 3, 4], [1, 2.1, 3, 3.9], [1, 2, 3, 4])
    >>> interaction_p_value(before, after) > 0.05
    True

    References
    ----------
    Clausen and Spooner, EPA 841-F-93-009.
    """
    x = np.log(np.concatenate(_controls(before, after)))
    y = np.log(np.concatenate([before.treated, after.treated]))
    is_after = np.repeat([0.0, 1.0], [before.treated.size, after.treated.size])
    design = np.column_stack([np.ones_like(x), x, is_after, is_after * x])
    gamma, error, degrees, _ = _last_term(design, y)
    return _p_value(gamma / error if error > 0 else math.inf, degrees)


def log_ratio(before: Storms, after: Storms, confidence: float = 0.95) -> Reduction:
    r"""Reduction of the ratio of treated to control, before and after, control and impact.

    .. math:: \beta = \overline{\ln (V/C)}_{after} - \overline{\ln (V/C)}_{before}

    Parameters
    ----------
    before : Storms
        Storms before the work, with a control.
    after : Storms
        Storms after it, with a control.
    confidence : float
        Confidence of the interval [1].

    Returns
    -------
    Reduction
        The reduction, 1 - exp(beta).

    Raises
    ------
    InputError
        If there is no control.

    Examples
    --------
    >>> before = storms_of([1, 2, 3], [2, 4, 6], [1, 2, 3])
    >>> after = storms_of([1, 2, 3], [1.1, 2, 3], [1, 2, 3])
    >>> round(log_ratio(before, after).reduction, 3)
    0.484

    References
    ----------
    Two samples with one variance, Student's t; before-after/control-impact design.
    """
    controls = _controls(before, after)
    first = np.log(before.treated / controls[0])
    second = np.log(after.treated / controls[1])
    degrees = first.size + second.size - 2
    left = np.concatenate([first - first.mean(), second - second.mean()])
    spread = math.sqrt(float(left @ left) / degrees)
    error = spread * math.sqrt(1.0 / first.size + 1.0 / second.size)
    beta = float(second.mean() - first.mean())
    return _from_log(LOG_RATIO, beta, error, degrees, spread, confidence)


def double_mass(before: Storms, after: Storms) -> Reduction:
    """Reduction of the total treated over the total control: no interval.

    Parameters
    ----------
    before : Storms
        Storms before the work, with a control.
    after : Storms
        Storms after it, with a control.

    Returns
    -------
    Reduction
        The reduction; interval and probability are NaN.

    Raises
    ------
    InputError
        If there is no control.

    Examples
    --------
    >>> before = storms_of([1, 2, 3], [2, 4, 6], [1, 2, 3])
    >>> round(double_mass(before, storms_of([1, 2, 3], [1, 2, 3], [1, 2, 3])).reduction, 3)
    0.5

    References
    ----------
    Slopes of the double-mass curve, computed.
    """
    first, second = _controls(before, after)
    ratio = (after.treated.sum() / second.sum()) / (before.treated.sum() / first.sum())
    return Reduction(DOUBLE_MASS, 1.0 - float(ratio))


def control_adjusted_slope(before: Storms, after: Storms) -> float:
    """Reduction of the slope on rain, less what the control's slope on rain changed.

    Parameters
    ----------
    before : Storms
        Storms before the work, with a control.
    after : Storms
        Storms after it, with a control.

    Returns
    -------
    float
        1 less the ratio of the treated slopes over that of the control's [1].

    Raises
    ------
    InputError
        If there is no control.

    Examples
    --------
    >>> before = storms_of([1, 2, 3], [2, 4, 6], [1, 2, 3])
    >>> after = storms_of([1, 2, 3], [1, 2, 3], [0.5, 1.0, 1.5])
    >>> control_adjusted_slope(before, after)
    0.0

    References
    ----------
    Slopes through the origin, computed.
    """
    first, second = _controls(before, after)
    treated = slope_through_origin(after.rain, after.treated) / slope_through_origin(
        before.rain, before.treated
    )
    control = slope_through_origin(after.rain, second) / slope_through_origin(before.rain, first)
    return 1.0 - treated / control


def prove_reduction(before: Storms, after: Storms, confidence: float = 0.95) -> Proof:
    """Every method that the data allow, and the one to report.

    The analysis of covariance with the control is reported, unless treated and control are no
    more proportional (interaction below 5 %): then the log ratio. Without a control nothing
    is: a slope on rain alone is never the only evidence, since wet ground and season move it.

    Parameters
    ----------
    before : Storms
        Storms before the work.
    after : Storms
        Storms after it.
    confidence : float
        Confidence of the intervals [1].

    Returns
    -------
    Proof
        The methods, the one reported, and why.

    Raises
    ------
    InputError
        If the storms of a period are too alike.

    Examples
    --------
    >>> before = storms_of([1, 2, 3, 4], [2, 4.1, 6, 8.2], [1, 2, 3, 4])
    >>> after = storms_of([1, 2, 3, 4], [1, 2.1, 3, 3.9], [1, 2, 3, 4])
    >>> prove_reduction(before, after).reported
    'control log ancova'

    References
    ----------
    Clausen and Spooner, EPA 841-F-93-009; City of Eugene OR, on rain-only slopes.
    """
    by_rain = (rain_slope(before, after, confidence), rain_log(before, after, confidence))
    if before.control is None or after.control is None:
        why = (
            "There is no control basin. A change against rain alone may come from wet ground or "
            "season: it is never the only evidence, and no number is reported."
        )
        return Proof(by_rain, "", why)
    interaction = interaction_p_value(before, after)
    methods = (
        *by_rain,
        control_log_ancova(before, after, confidence),
        log_ratio(before, after, confidence),
        double_mass(before, after),
    )
    if interaction < 0.05:
        why = (
            f"Treated and control are no more proportional after the work (interaction p = "
            f"{interaction:.3f}), so that one line for both periods does not fit; the log ratio "
            "compares their means."
        )
        return Proof(methods, LOG_RATIO, why, interaction)
    why = (
        f"One slope fits both periods (interaction p = {interaction:.2f}); the control takes "
        "rain, wet ground and season out."
    )
    return Proof(methods, CONTROL_LOG, why, interaction)
