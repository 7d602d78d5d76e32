"""Readings of the finished wall against what was specified: mean and least, and their shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError, require


@dataclass(frozen=True, slots=True)
class WallSummary:
    """Readings of the wall, and their shares of the specified one.

    Attributes
    ----------
    count : int
        Number of readings.
    mean : float
        Mean of all readings [m].
    least : float
        Least reading [m].
    mean_share : float
        Mean over specified wall [1].
    least_share : float
        Least reading over specified wall [1].
    """

    count: int
    mean: float
    least: float
    mean_share: float
    least_share: float


def wall_summary(readings: Sequence[float], specified: float) -> WallSummary:
    r"""Mean and least reading of a wall, absolute and as shares of the specified wall.

    .. math:: \bar{t}/t_s, \qquad \min t_i / t_s

    Valid for readings without coating, on the round part of the liner.

    Parameters
    ----------
    readings : sequence of float, shape (n,)
        Wall as read, t [m].
    specified : float
        Specified wall, t_s [m].

    Returns
    -------
    WallSummary
        Count, mean and least reading [m], both as shares [1].

    Raises
    ------
    InputError
        If there is no reading.
    OutOfRangeError
        If a reading or the specified wall is not above 0.

    Examples
    --------
    >>> round(wall_summary([0.0142], 0.018).mean_share, 3)
    0.789

    References
    ----------
    Arithmetic mean; the rules that judge it are in the project's specification.
    """
    walls = within("readings", readings, "m", above=0.0)
    require("specified", specified, "m", above=0.0)
    if walls.ndim != 1 or walls.size == 0:
        raise InputError(Fault("readings", "needs one reading or more"))
    mean, least = float(walls.mean()), float(walls.min())
    return WallSummary(int(walls.size), mean, least, mean / specified, least / specified)


def rise_of_curved_piece(width: float, radius: float) -> float:
    r"""How far the middle of a piece cut from a pipe stands above its edges.

    .. math:: h = r - \sqrt{r^2 - b^2/4}

    A piece cut along the pipe and laid on flat supports rests on its edges; where h is not small
    against its wall, the test is not one of a flat bar. Valid for pieces narrower than the bore.

    Parameters
    ----------
    width : float
        Width of the piece, b [m].
    radius : float
        Inside radius of the pipe it was cut from, r [m].

    Returns
    -------
    float
        Rise, h [m].

    Raises
    ------
    OutOfRangeError
        If the radius is not above 0, or the width is not above 0 and below the bore.

    Examples
    --------
    >>> round(1e3 * rise_of_curved_piece(0.010, 0.0508), 2)
    0.25

    References
    ----------
    Plain geometry of a circle.
    """
    require("radius", radius, "m", above=0.0)
    require("width", width, "m", above=0.0, below=2.0 * radius)
    return float(radius - (radius**2 - width**2 / 4.0) ** 0.5)
