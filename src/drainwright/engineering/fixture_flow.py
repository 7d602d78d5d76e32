"""Peak flow of a building from its fixture units, by a plumbing code's table.

Codes differ below about 160 units, so a result is told with the name of its table.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering._ranges import within
from drainwright.errors import Fault, InputError
from drainwright.units import GALLON

TABLE = "NSPC Table B.5.4"
SUPPLIES = ("tank", "flush valve")
"""How water closets are flushed."""

# fixture units, peak flow in gal/min with tanks, with flush valves (none printed for 3 units)
_ROWS = (
    (3, 3.0, None),
    (6, 5.0, 23.0),
    (10, 8.0, 27.0),
    (14, 10.5, 30.0),
    (120, 49.0, 74.0),
    (160, 57.0, 83.0),
    (200, 65.0, 91.0),
    (300, 85.0, 110.0),
    (500, 125.0, 140.0),
    (1000, 210.0, 210.0),
)


def fixture_flow(fixture_units: ArrayLike, supply: str) -> NDArray[np.float64]:
    r"""Peak flow for a number of fixture units.

    .. math:: Q = Q_i + (Q_{i+1} - Q_i)\,\frac{u - u_i}{u_{i+1} - u_i}

    Between the table's rows by straight line. Valid within the rows at hand: 3 to 1000 units
    with tanks, 6 to 1000 with flush valves.

    Parameters
    ----------
    fixture_units : array_like, shape (...)
        Fixture units of all fixtures on the line [1].
    supply : str
        One of `SUPPLIES`.

    Returns
    -------
    ndarray, shape (...)
        Peak flow [m^3/s].

    Raises
    ------
    OutOfRangeError
        If a number of units is outside the table.
    InputError
        If the supply is not known.

    Examples
    --------
    >>> round(float(fixture_flow(20, "tank")) / 6.30902e-5, 2)  # gal/min, between 14 and 120
    12.68

    References
    ----------
    NSPC Table B.5.4, the rows at hand.
    """
    if supply not in SUPPLIES:
        raise InputError(Fault("supply", f"“{supply}” is not one of {', '.join(SUPPLIES)}", supply))
    column = 1 + SUPPLIES.index(supply)
    rows = [(float(row[0]), float(row[column] or 0)) for row in _ROWS if row[column] is not None]
    units, flows = zip(*rows, strict=True)
    wanted = within("fixture_units", fixture_units, low=units[0], high=units[-1])
    return np.asarray(np.interp(wanted, units, flows) * (GALLON / 60.0))
