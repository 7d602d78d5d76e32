"""Infiltration and inflow in a sewer's flow: night flow, share of the rain, unit triangles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, OutOfRangeError, require

Floats = NDArray[np.float64]
MGD = 3.785411784e-3 * 1e6 / 86400.0
"""One million US gallons a day [m^3/s]."""


@dataclass(frozen=True, slots=True)
class Triangle:
    """One unit triangle of rain-derived flow.

    Attributes
    ----------
    share : float
        Share of the rain that it carries, R [1].
    rise : float
        Time from the rain to the peak, T [s].
    recession : float
        Time of fall over time of rise, K [1].
    """

    share: float
    rise: float
    recession: float

    @property
    def end(self) -> float:
        """Time from the rain until it has run off, T (1 + K) [s]."""
        return self.rise * (1.0 + self.recession)

    @property
    def peak(self) -> float:
        """Ordinate at the peak, 2 R/(T (1 + K)) [1/s]."""
        return 2.0 * self.share / self.end


def triangle_run_off(triangle: Triangle, time: ArrayLike) -> Floats:
    r"""Share of the rain that has run off through a triangle until a time.

    .. math::
        S(t) = \frac{R t^2}{T^2 (1 + K)} \quad (t \le T), \qquad
        S(t) = R - \frac{R (T (1 + K) - t)^2}{T^2 K (1 + K)} \quad (t > T)

    Parameters
    ----------
    triangle : Triangle
        The triangle.
    time : array_like, shape (n,)
        Time since the rain, t [s].

    Returns
    -------
    ndarray, shape (n,)
        Share of the rain that has run off [1].

    Raises
    ------
    OutOfRangeError
        If a number of the triangle is out of range: R 0 to 1, T and K above 0.

    Examples
    --------
    >>> triangle_run_off(Triangle(0.03, 3600.0, 2.0), [3600.0, 10800.0]).round(4).tolist()
    [0.01, 0.03]

    References
    ----------
    Area of a triangle with base T (1 + K) and peak 2 R/(T (1 + K)), computed.
    """
    require("R", triangle.share, "1", low=0.0, high=1.0)
    require("T", triangle.rise, "s", above=0.0, high=60 * 86400.0)
    require("K", triangle.recession, "1", above=0.0, high=1000.0)
    t = np.clip(np.asarray(time, dtype=np.float64), 0.0, triangle.end)
    rise, ratio = triangle.rise, triangle.recession
    rising = triangle.share * t**2 / (rise**2 * (1.0 + ratio))
    left = (triangle.end - t) ** 2 / (rise**2 * ratio * (1.0 + ratio))
    return np.where(t <= rise, rising, triangle.share * (1.0 - left))


def triangle_ordinates(triangles: Sequence[Triangle], step: float) -> Floats:
    """Averages of the summed triangles over each interval, until the longest has ended.

    Differences of the closed-form area, so that times `step` they sum to the shares: values
    taken at points lose or create water unless T and K T are multiples of the step.

    Parameters
    ----------
    triangles : sequence of Triangle, shape (m,)
        The triangles; their shares sum to at most 1.
    step : float
        Interval [s].

    Returns
    -------
    ndarray, shape (n,)
        Average ordinate of each interval [1/s].

    Raises
    ------
    OutOfRangeError
        If the step is not above 0, the shares sum to more than 1, or more than a million
        intervals were needed.
    InputError
        If there is no triangle.

    Examples
    --------
    >>> hour = 3600.0
    >>> triangles = [Triangle(0.02, hour, 2.0), Triangle(0.03, 3 * hour, 2.0)]
    >>> round(float(triangle_ordinates(triangles, hour).sum()) * hour, 6)
    0.05

    References
    ----------
    Synthetic unit hydrograph of triangles (R, T, K), computed.
    """
    if not triangles:
        raise InputError(Fault("triangles", "at least one is needed"))
    require("step", step, "s", above=0.0)
    require("sum of R", math.fsum(one.share for one in triangles), "1", high=1.0 + 1e-12)
    count = math.ceil(max(one.end for one in triangles) / step - 1e-9)
    require("intervals", count, "1", low=1, high=1e6)
    times = step * np.arange(count + 1)
    area = np.sum([triangle_run_off(one, times) for one in triangles], axis=0)
    return np.asarray(np.diff(area) / step)


def rain_response(ordinates: ArrayLike, rain: ArrayLike, area: float) -> Floats:
    r"""Flow that rain in successive intervals gives through unit ordinates.

    .. math:: Q_n = A \sum_i P_i h_{n-i}

    Parameters
    ----------
    ordinates : array_like, shape (n,)
        Interval averages of the unit response, h [1/s].
    rain : array_like, shape (m,)
        Depth of rain in each interval, P [m].
    area : float
        Area of the basin, A [m^2].

    Returns
    -------
    ndarray, shape (n + m - 1,)
        Average flow of each interval, Q [m^3/s].

    Raises
    ------
    OutOfRangeError
        If a depth or the area is negative.

    Examples
    --------
    >>> rain_response([1e-5, 2e-5], [0.01, 0.0, 0.02], 1e4).round(6).tolist()
    [0.001, 0.002, 0.002, 0.004]

    References
    ----------
    Superposition of equal responses, any hydrology textbook.
    """
    depths = within("rain", rain, "m", low=0.0, high=5.0)
    require("area", area, "m^2", low=0.0)
    return np.convolve(np.asarray(ordinates, dtype=np.float64), depths) * area


def rain_share(volume: float, depth: float, area: float) -> float:
    """The R-value: rain-derived volume over the rain that fell, volume/(depth area).

    Parameters
    ----------
    volume : float
        Rain-derived infiltration and inflow of the event [m^3].
    depth : float
        Depth of rain [m].
    area : float
        Area of the basin [m^2].

    Returns
    -------
    float
        R-value [1]; above 1 where more came than fell on the basin.

    Raises
    ------
    OutOfRangeError
        If the volume is negative, or depth or area is not above 0.

    Examples
    --------
    >>> round(rain_share(1233.48, 0.0508, 404685.6), 3)
    0.06

    References
    ----------
    City of Eugene OR, definition of the R-value.
    """
    require("volume", volume, "m^3", low=0.0)
    require("depth", depth, "m", above=0.0)
    require("area", area, "m^2", above=0.0)
    return volume / (depth * area)


def stevens_schutzbach(minimum_flow: float, average_flow: float) -> float:
    r"""Base infiltration from the least and the average daily dry-weather flow.

    .. math:: BI = \frac{0.4\,MDF}{1 - 0.6\,(MDF/ADF)^{ADF^{0.7}}}

    Flows enter in million gallons a day, since ADF is an exponent: the answer depends on the
    size of the basin. Good where infiltration is below 25 % of the flow.

    Parameters
    ----------
    minimum_flow : float
        Least flow of the day, MDF [m^3/s].
    average_flow : float
        Average flow of the day, ADF [m^3/s].

    Returns
    -------
    float
        Base infiltration, BI [m^3/s].

    Raises
    ------
    OutOfRangeError
        If the average is not above 0, or the minimum is negative or above the average.

    Examples
    --------
    >>> round(stevens_schutzbach(0.5 * MGD, 1.0 * MGD) / MGD, 6)
    0.285714

    References
    ----------
    Stevens and Schutzbach, base infiltration, in a second-hand copy; range by Mitchell,
    Stevens and Nazaroff, 2006, abstract.
    """
    least, average = _dry_flows(minimum_flow, average_flow)
    least, average = least / MGD, average / MGD
    return float(MGD * 0.4 * least / (1.0 - 0.6 * (least / average) ** (average**0.7)))


def _dry_flows(minimum_flow: float, average_flow: float) -> tuple[float, float]:
    average = require("average_flow", average_flow, "m^3/s", above=0.0, high=1000.0)
    least = require(
        "minimum_flow", minimum_flow, "m^3/s", low=0.0, high=average,
        reason="the least flow can't be above the average",
    )  # fmt: skip
    return least, average


def minimum_flow_factor(minimum_flow: float, factor: float) -> float:
    """Base infiltration as a share of the least flow of the day, BI = f MDF.

    Parameters
    ----------
    minimum_flow : float
        Least flow of the day, MDF [m^3/s].
    factor : float
        Share of it that is infiltration, f [1]; 0.80 to 0.90 is used.

    Returns
    -------
    float
        Base infiltration, BI [m^3/s].

    Raises
    ------
    OutOfRangeError
        If the flow is negative or the factor is outside 0 to 1.

    Examples
    --------
    >>> round(minimum_flow_factor(0.010, 0.85), 4)
    0.0085

    References
    ----------
    From memory.
    """
    require("minimum_flow", minimum_flow, "m^3/s", low=0.0)
    require("factor", factor, "1", low=0.0, high=1.0)
    return factor * minimum_flow


def wastewater_production(minimum_flow: float, average_flow: float, factor: float) -> float:
    r"""Base infiltration left over when the wastewater itself is taken off.

    .. math:: BI = ADF - \frac{ADF - MDF}{X}

    Wastewater S falls to (1 - X) S at night while infiltration stays: ADF - MDF = X S.

    Parameters
    ----------
    minimum_flow : float
        Least flow of the day, MDF [m^3/s].
    average_flow : float
        Average flow of the day, ADF [m^3/s].
    factor : float
        Share by which wastewater falls at night, X [1].

    Returns
    -------
    float
        Base infiltration, BI [m^3/s].

    Raises
    ------
    OutOfRangeError
        If the flows are out of range, or the factor is above 1 or so small that more
        wastewater than flow would come out.

    Examples
    --------
    >>> round(wastewater_production(0.010, 0.025, 0.8), 5)
    0.00625

    References
    ----------
    From memory; the balance it follows from stands above.
    """
    least, average = _dry_flows(minimum_flow, average_flow)
    lowest = 1.0 - least / average
    if not lowest <= factor <= 1.0 or factor <= 0.0:
        raise OutOfRangeError("factor", factor, "1", lowest, 1.0)
    return average - (average - least) / factor


def annual_infiltration(average: float, dry_month: float) -> float:
    """Infiltration of a year, from the average flow and that of the driest month.

    Parameters
    ----------
    average : float
        Average flow of the year [m^3/s].
    dry_month : float
        Average flow of the month without infiltration [m^3/s].

    Returns
    -------
    float
        Volume of 365 days [m^3].

    Raises
    ------
    OutOfRangeError
        If a flow is negative, or the dry month's is above the average.

    Examples
    --------
    >>> round(annual_infiltration(4.033 * MGD, 3.573 * MGD) / 3.785411784e-3 / 1e6, 2)
    167.9

    References
    ----------
    City of Roseville MN, night-minimum sheet 2004 to 2007.
    """
    require("average", average, "m^3/s", low=0.0)
    require("dry_month", dry_month, "m^3/s", low=0.0, high=average)
    return (average - dry_month) * 365.0 * 86400.0


def annuity_factor(rate: float, years: float) -> float:
    r"""Present worth of 1 a year.

    .. math:: a = \frac{1 - (1 + i)^{-n}}{i}

    Parameters
    ----------
    rate : float
        Real interest, i [1]; 0 gives the number of years.
    years : float
        Number of years, n [1].

    Returns
    -------
    float
        Present worth, a [1].

    Raises
    ------
    OutOfRangeError
        If the rate is outside 0 to 1, or the years are outside 0 to 1000.

    Examples
    --------
    >>> round(annuity_factor(0.03, 50), 4)
    25.7298

    References
    ----------
    Geometric series, computed.
    """
    require("rate", rate, "1", low=0.0, high=1.0)
    require("years", years, "1", low=0.0, high=1000.0)
    return years if rate == 0.0 else -math.expm1(-years * math.log1p(rate)) / rate
