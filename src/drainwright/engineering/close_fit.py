"""Buckling of a ring in close fit inside a rigid host: Glock's solution, a second opinion.

ASTM F1216 multiplies the pressure of a free ring by a fixed factor K; Glock's solution follows
the one-sided contact of the liner with its host. It is offered beside F1216, labeled as an
independent second opinion; no conformity with another design rule is claimed. Both meet near
D/t 30; for thicker walls F1216 allows more than Glock, for thinner ones less.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within

LABEL = "close-fit buckling (Glock), independent second opinion"


def close_fit_pressure(
    wall: ArrayLike, host_diameter: ArrayLike, modulus: ArrayLike, poisson_ratio: ArrayLike
) -> NDArray[np.float64]:
    r"""Water pressure at which a close-fit ring buckles in a rigid host.

    .. math:: P_{cr} = \frac{E}{1 - \nu^2}\left(\frac{t}{D}\right)^{2.2}

    Valid for a circle without gap and without friction, in a thin wall. There is no safety
    factor in it.

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Inside diameter of the host, D [m].
    modulus : array_like, shape (...)
        Flexural modulus; the long-term one for standing groundwater [Pa].
    poisson_ratio : array_like, shape (...)
        Poisson's ratio [1].

    Returns
    -------
    ndarray, shape (...)
        Critical pressure [Pa].

    Raises
    ------
    OutOfRangeError
        If an input is outside its range or the wall not below the radius.

    Examples
    --------
    >>> round(float(close_fit_pressure(1.0, 30.0, 250e3, 0.3)), 1)  # psi, as the modulus
    154.6

    References
    ----------
    Glock (1977), from memory; compared with tests by Omara et al., J. Eng. Mech. 1997, abstract.
    """
    diameter = within("host_diameter", host_diameter, "m", above=0)
    share = within("wall", wall, "m", above=0) / diameter
    within("wall over host_diameter", share, above=0, below=0.5)
    stiff = within("modulus", modulus, "Pa", above=0, high=1e12)
    poisson = within("poisson_ratio", poisson_ratio, low=0, below=0.5)
    return np.asarray(stiff / (1.0 - poisson**2) * share**2.2)


def contact_coefficient(wall: ArrayLike, host_diameter: ArrayLike) -> NDArray[np.float64]:
    r"""Glock's pressure over that of a free ring: what K stands for in F1216.

    .. math:: K_{Glock} = \frac{P_{cr}}{\frac{2 E}{1 - \nu^2}\,(DR - 1)^{-3}}
              = \tfrac{1}{2}\,(DR - 1)^3\,DR^{-2.2}

    Valid as `close_fit_pressure`. Where it is below the enhancement factor used, F1216 is on
    the unsafe side of Glock.

    Parameters
    ----------
    wall : array_like, shape (...)
        Wall of the liner, t [m].
    host_diameter : array_like, shape (...)
        Inside diameter of the host, D [m].

    Returns
    -------
    ndarray, shape (...)
        Enhancement by contact [1].

    Raises
    ------
    OutOfRangeError
        If the wall is not between 0 and the radius.

    Examples
    --------
    >>> round(float(contact_coefficient(1.0, 30.0)), 2)
    6.86

    References
    ----------
    Glock (1977), from memory; ASTM F1216-09, equation X1.1, second-hand.
    """
    diameter = within("host_diameter", host_diameter, "m", above=0)
    share = within("wall", wall, "m", above=0) / diameter
    within("wall over host_diameter", share, above=0, below=0.5)
    ratio = 1.0 / share
    return np.asarray(0.5 * (ratio - 1.0) ** 3 * ratio**-2.2)
