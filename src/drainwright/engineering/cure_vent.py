"""What the vent takes, and what the boiler must give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering import orifice, steam
from drainwright.engineering.cure_model import Supply

Array = NDArray[np.float64]


def vent_air(supply: Supply) -> float:
    """Air that the vent passes at the pressure in the tube.

    Discharge coefficient times isentropic nozzle, exponent 1.4; zero for a blind end.

    Parameters
    ----------
    supply : Supply
        Pressure, vent and air temperature.

    Returns
    -------
    float
        Mass flow [kg/s].

    Examples
    --------
    >>> round(vent_air(Supply(34473.8)) * 3600, 1)
    19.8

    References
    ----------
    `orifice.nozzle_flow`.
    """
    if supply.vent_diameter is None:
        return 0.0
    volume = steam.GAS_CONSTANT_AIR * supply.air_temperature / supply.pressure
    return orifice.nozzle_flow(
        supply.pressure, volume, supply.barometer, steam.EXPONENT_AIR,
        diameter=supply.vent_diameter, discharge_coefficient=supply.discharge_coefficient,
    ).flow  # fmt: skip


def vent_steam(supply: Supply) -> float:
    """Steam that the vent passes at the pressure in the tube.

    Discharge coefficient times isentropic nozzle, exponent 1.135; zero for a blind end.

    Parameters
    ----------
    supply : Supply
        Pressure and vent.

    Returns
    -------
    float
        Mass flow [kg/s].

    Examples
    --------
    >>> round(vent_steam(Supply(48263.3)) * 3600 / 0.45359237)
    34

    References
    ----------
    `orifice.nozzle_flow`.
    """
    if supply.vent_diameter is None:
        return 0.0
    state = steam.saturated_by_fit(supply.pressure)
    return orifice.nozzle_flow(
        state.pressure, state.specific_volume, supply.barometer, steam.EXPONENT_STEAM,
        diameter=supply.vent_diameter, discharge_coefficient=supply.discharge_coefficient,
    ).flow  # fmt: skip


def steam_drawn(heat: Array, left: Array, supply: Supply) -> Array:
    """Steam that the boiler must give: condensed, and what the vent takes of the rest.

    Heat over latent heat, plus the smaller of what reaches the end and what the vent passes.

    Parameters
    ----------
    heat : ndarray, shape (k,)
        Heat flow into the walls [W].
    left : ndarray, shape (k,)
        Steam that reaches the far end [kg/s].
    supply : Supply
        Pressure and vent.

    Returns
    -------
    ndarray, shape (k,)
        Mass flow [kg/s].

    Examples
    --------
    >>> blind = Supply(48263.3, vent_diameter=None)
    >>> float(steam_drawn(np.array([2.2268e6]), np.array([0.0]), blind).round(2)[0])
    1.0

    References
    ----------
    Mass balance.
    """
    latent = steam.saturated_by_fit(supply.pressure).latent_heat
    drawn: Array = np.maximum(heat, 0.0) / latent + np.minimum(left, vent_steam(supply))
    return drawn
