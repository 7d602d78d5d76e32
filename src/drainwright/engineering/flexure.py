"""Three-point bending of flat specimens (ASTM D790, ISO 178): modulus, strength, strain.

The modulus moves by 1 to 3 % with the part of the curve it is fitted to: every fit says which.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, require

STANDARDS: tuple[str, ...] = ("ASTM D790", "ISO 178")
"""Standards with a rule for the part of the curve that gives the modulus."""
STRAIN_MOST = 0.05
"""Strain up to which ASTM D790 takes the strength [1]."""
_ISO_WINDOW = (0.0005, 0.0025)
_WINDOW_SPAN = 0.002
_LEAST_POINTS = 5
_SURE = 0.005

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Specimen:
    """A bar on two supports, loaded in the middle.

    Attributes
    ----------
    span : float
        Distance of the supports, L [m].
    width : float
        Width of the bar, b [m].
    depth : float
        Depth of the bar in the direction of the load, d [m].
    """

    span: float
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class Bending:
    """What a bending curve gives.

    Attributes
    ----------
    modulus : float
        Flexural modulus, E [Pa].
    strength : float
        Flexural strength, S [Pa].
    strain_at_peak : float
        Outer strain at the largest load, toe taken off [1].
    toe : float
        Deflection at which the straight part starts, taken off [m].
    window : tuple of float
        Least and largest strain of the part that gave the modulus, toe taken off [1].
    slope_error : float
        Standard error of the fitted slope over the slope: the noise of the curve [1].
    """

    modulus: float
    strength: float
    strain_at_peak: float
    toe: float
    window: tuple[float, float]
    slope_error: float = 0.0


def modulus_from_slope(slope: float, specimen: Specimen) -> float:
    r"""Flexural modulus from the slope of the load over the deflection.

    .. math:: E = \frac{L^3 m}{4 b d^3}

    Valid for spans of about 16 times the depth, small deflections.

    Parameters
    ----------
    slope : float
        Load over deflection, m [N/m].
    specimen : Specimen
        The bar.

    Returns
    -------
    float
        Flexural modulus [Pa].

    Raises
    ------
    OutOfRangeError
        If a size or the slope is not above 0.

    Examples
    --------
    >>> round(modulus_from_slope(53.4e3, Specimen(0.096, 0.025, 0.006)) / 1e6, 2)
    2187.26

    References
    ----------
    ASTM D790 and ISO 178, from memory.
    """
    require("slope", slope, "N/m", above=0.0)
    _check(specimen)
    return specimen.span**3 * slope / (4.0 * specimen.width * specimen.depth**3)


def bending_stress(load: ArrayLike, specimen: Specimen) -> Floats:
    r"""Stress in the outer fiber at mid-span.

    .. math:: \sigma = \frac{3 P L}{2 b d^2}

    Valid for small deflections.

    Parameters
    ----------
    load : array_like, shape (...)
        Load, P [N].
    specimen : Specimen
        The bar.

    Returns
    -------
    ndarray, shape (...)
        Stress [Pa].

    Raises
    ------
    OutOfRangeError
        If a size is not above 0.

    Examples
    --------
    >>> round(float(bending_stress(165.0, Specimen(0.096, 0.025, 0.006))) / 1e6, 2)
    26.4

    References
    ----------
    ASTM D790 and ISO 178, from memory.
    """
    _check(specimen)
    force = within("load", load, "N")
    return np.asarray(1.5 * force * specimen.span / (specimen.width * specimen.depth**2))


def outer_strain(deflection: ArrayLike, specimen: Specimen) -> Floats:
    r"""Strain in the outer fiber at mid-span.

    .. math:: \varepsilon = \frac{6 s d}{L^2}

    Valid for small deflections.

    Parameters
    ----------
    deflection : array_like, shape (...)
        Deflection at mid-span, s [m].
    specimen : Specimen
        The bar.

    Returns
    -------
    ndarray, shape (...)
        Strain [1].

    Raises
    ------
    OutOfRangeError
        If a size is not above 0.

    Examples
    --------
    >>> round(float(outer_strain(0.002, Specimen(0.096, 0.025, 0.006))), 5)
    0.00781

    References
    ----------
    ASTM D790 and ISO 178, from memory.
    """
    _check(specimen)
    bent = within("deflection", deflection, "m")
    return np.asarray(6.0 * bent * specimen.depth / specimen.span**2)


def crosshead_rate(specimen: Specimen) -> float:
    r"""Speed of the crosshead for an outer strain of 1 % a minute.

    .. math:: R = \frac{Z L^2}{6 d}, \quad Z = 0.01 / \text{min}

    Valid for procedure A of ASTM D790; ISO 178 takes the listed speed nearest to it.

    Parameters
    ----------
    specimen : Specimen
        The bar.

    Returns
    -------
    float
        Speed [m/s].

    Raises
    ------
    OutOfRangeError
        If a size is not above 0.

    Examples
    --------
    >>> round(crosshead_rate(Specimen(0.096, 0.025, 0.006)) * 60e3, 2)
    2.56

    References
    ----------
    ASTM D790, procedure A, and ISO 178, from memory.
    """
    _check(specimen)
    return 0.01 / 60.0 * specimen.span**2 / (6.0 * specimen.depth)


def bending_from_curve(
    deflection: ArrayLike, load: ArrayLike, specimen: Specimen, standard: str
) -> Bending:
    """Modulus, strength and strain at the peak of a measured curve, its toe taken off.

    The tangent is the steepest line by least squares over a stretch of strain of 0.002 (a
    quarter of the strain at the peak if that is less), m = max(d P/d s); where it meets P = 0 the
    deflection starts. Noise would make the steepest short stretch too steep: the stretch grows by
    halves, up to half the strain at the peak, until its slope is sure to 0.5 %. What follows the
    largest deflection (the way back) is left out. ASTM D790 takes the tangent's m, and the
    strength up to a strain of 0.05; ISO 178 takes a line through the points between strains
    0.0005 and 0.0025. Valid for curves with a straight part and a rising load; both signs of
    load and deflection are read.

    Parameters
    ----------
    deflection : array_like, shape (n,)
        Deflection at mid-span, s [m].
    load : array_like, shape (n,)
        Load, P [N].
    specimen : Specimen
        The bar.
    standard : str
        One of `STANDARDS`.

    Returns
    -------
    Bending
        Modulus and strength [Pa], strain at the peak and window [1], toe [m].

    Raises
    ------
    InputError
        If the curve is too short, has no rising part, or does not reach the window.

    Examples
    --------
    >>> s = np.linspace(0, 0.003, 50)
    >>> bar = Specimen(0.096, 0.025, 0.006)
    >>> bent = bending_from_curve(s, 53.4e3 * s, bar, "ISO 178")
    >>> round(bent.modulus / 1e6, 2)
    2187.26

    References
    ----------
    ASTM D790 with its annex on toe compensation, and ISO 178, from memory.
    """
    if standard not in STANDARDS:
        raise InputError(Fault("standard", f"is none of {', '.join(STANDARDS)}", standard))
    bent, force = _upright(within("deflection", deflection), within("load", load))
    peak = int(np.argmax(force))
    bent_up, force_up = bent[: peak + 1], force[: peak + 1]
    if len(np.unique(bent_up)) < _LEAST_POINTS:
        raise InputError(Fault("curve", f"needs {_LEAST_POINTS} points or more before the peak"))
    strain = outer_strain(bent_up, specimen)
    line = _tangent(bent_up, force_up, strain)
    slope, ends, error = line.slope, line.ends, line.error
    toe = line.middle - line.at_middle / slope
    shift = float(outer_strain(toe, specimen))
    window = (ends[0] - shift, ends[1] - shift)
    stress = bending_stress(force, specimen)
    whole = outer_strain(bent, specimen) - shift
    if standard == "ISO 178":
        slope, error = _iso_slope(strain - shift, bent_up, force_up)
        window = _ISO_WINDOW
    else:
        inside = whole <= STRAIN_MOST
        peak = int(np.argmax(np.where(inside, stress, -np.inf)))
    modulus = modulus_from_slope(slope, specimen)
    return Bending(modulus, float(stress[peak]), float(whole[peak]), toe, window, error)


def _check(specimen: Specimen) -> None:
    for name in ("span", "width", "depth"):
        require(name, getattr(specimen, name), "m", above=0.0)


def _upright(bent: Floats, force: Floats) -> tuple[Floats, Floats]:
    """Both columns with the sign that makes the larger part positive, in order of deflection.

    Readings behind the largest deflection are the way back and are left out.
    """
    if bent.ndim != 1 or bent.shape != force.shape or bent.size < _LEAST_POINTS:
        message = f"needs {_LEAST_POINTS} points or more, a load for each deflection"
        raise InputError(Fault("curve", message))
    bent = bent * (1.0 if bent.max() >= -bent.min() else -1.0)
    force = force * (1.0 if force.max() >= -force.min() else -1.0)
    last = int(np.argmax(bent))
    if last < _LEAST_POINTS:  # written from the end of the test to its start
        bent, force = bent[::-1], force[::-1]
        last = int(np.argmax(bent))
    bent, force = bent[: last + 1], force[: last + 1]
    order = np.argsort(bent, kind="stable")
    return bent[order], force[order]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line fitted to a stretch: slope, its middle, the strains of its ends, relative error."""

    slope: float
    middle: float
    at_middle: float
    ends: tuple[float, float]
    error: float


def _tangent(bent: Floats, force: Floats, strain: Floats) -> _Line:
    """The steepest stretch, as short as the noise of the curve lets it be."""
    reach = float(strain[-1] - strain[0])
    stretch = min(_WINDOW_SPAN, reach / 4.0)
    line = _steepest(bent, force, strain, stretch)
    while line.error > _SURE and stretch < reach / 2.0:
        stretch = min(1.5 * stretch, reach / 2.0)
        line = _steepest(bent, force, strain, stretch)
    return line


def _steepest(bent: Floats, force: Floats, strain: Floats, stretch: float) -> _Line:
    """The steepest line over a stretch of strain; all stretches at once, by running sums."""
    count = len(strain)
    first = np.arange(count)
    stop = np.maximum(np.searchsorted(strain, strain + stretch * (1 - 1e-9)), first + 2)
    inside = stop < count
    first, stop = first[inside], stop[inside]
    x, y = bent - bent.mean(), force - force.mean()
    sums = [np.concatenate(([0.0], np.cumsum(one))) for one in (x, y, x * x, x * y)]
    sx, sy, sxx, sxy = (one[stop + 1] - one[first] for one in sums)
    n = stop + 1 - first
    spread = sxx - sx * sx / n
    flat = spread <= 1e-12 * max(float(sums[2][-1]), 1e-300)
    slopes = np.where(flat, -np.inf, (sxy - sx * sy / n) / np.where(flat, 1.0, spread))
    if slopes.size == 0 or not np.max(slopes) > 0.0:
        raise InputError(Fault("curve", "has no rising part"))
    best = int(np.argmax(slopes))
    low, high = int(first[best]), int(stop[best])
    part, loads = bent[low : high + 1], force[low : high + 1]
    slope, error = _fit(part, loads)
    ends = (float(strain[low]), float(strain[high]))
    return _Line(slope, float(part.mean()), float(loads.mean()), ends, error)


def _fit(x: Floats, y: Floats) -> tuple[float, float]:
    """Slope by least squares, and its standard error over the slope."""
    gap = x - x.mean()
    spread = float(np.sum(gap**2))
    slope = float(np.sum(gap * (y - y.mean()))) / spread
    rest = float(np.sum((y - y.mean() - slope * gap) ** 2))
    if len(x) < 3 or slope == 0.0:
        return slope, 0.0
    return slope, float(np.sqrt(rest / (len(x) - 2) / spread)) / abs(slope)


def _iso_slope(strain: Floats, bent: Floats, force: Floats) -> tuple[float, float]:
    """Slope between the strains of ISO 178, and its error; the chord where points are few."""
    low, high = _ISO_WINDOW
    if strain[-1] < high:
        raise InputError(Fault("curve", f"does not reach a strain of {high:g} before its peak"))
    inside = (strain >= low) & (strain <= high)
    x, y = bent[inside], force[inside]
    if len(np.unique(x)) < _LEAST_POINTS:
        x, y = np.interp([low, high], strain, bent), np.interp([low, high], strain, force)
    return _fit(x, y)
