"""Flow out of the tube: an orifice in the end cap, with a hose or riser behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from drainwright.errors import ConvergenceError, require


@dataclass(frozen=True, slots=True)
class VentFlow:
    """What passes a vent.

    Attributes
    ----------
    flow : float
        Mass flow [kg/s].
    choked : bool
        Whether the orifice runs at the speed of sound.
    back_pressure : float
        Absolute pressure behind the orifice, before the hose [Pa].
    """

    flow: float
    choked: bool
    back_pressure: float


@dataclass(frozen=True, slots=True)
class Hose:
    """A vent hose or riser behind the orifice.

    Attributes
    ----------
    length : float
        Length [m].
    bore : float
        Inside diameter [m].
    friction : float
        Darcy friction factor [1].
    losses : float
        Entry, exit and bends, in velocity heads [1].
    """

    length: float
    bore: float
    friction: float = 0.03
    losses: float = 1.5


def critical_ratio(exponent: float) -> float:
    r"""Pressure ratio below which a nozzle is choked.

    .. math:: r = (2/(k+1))^{k/(k-1)}

    Valid for an ideal gas of constant exponent.

    Parameters
    ----------
    exponent : float
        Isentropic exponent k [1].

    Returns
    -------
    float
        Back pressure over upstream pressure [1].

    Raises
    ------
    OutOfRangeError
        For an exponent that is not above 1.

    Examples
    --------
    >>> round(critical_ratio(1.4), 4)
    0.5283

    References
    ----------
    Isentropic flow of an ideal gas, any textbook of gas dynamics.
    """
    require("exponent", exponent, "1", above=1.0, high=2.0)
    return float((2 / (exponent + 1)) ** (exponent / (exponent - 1)))


def nozzle_flow(
    pressure: float,
    specific_volume: float,
    back_pressure: float,
    exponent: float,
    *,
    diameter: float,
    discharge_coefficient: float = 0.61,
) -> VentFlow:
    r"""Mass flow through an orifice: discharge coefficient times isentropic nozzle.

    .. math:: \dot m = C_d A \sqrt{\frac{2k}{k-1}\,\frac{p_1}{v_1}
              \left(r^{2/k} - r^{(k+1)/k}\right)}, \quad
              r = \max(p_2/p_1,\ r_{crit})

    Valid for an ideal gas of constant exponent; above the critical ratio the flow is
    subcritical, below it choked.

    Parameters
    ----------
    pressure : float
        Absolute pressure upstream [Pa].
    specific_volume : float
        Upstream [m^3/kg].
    back_pressure : float
        Absolute pressure downstream [Pa].
    exponent : float
        Isentropic exponent [1].
    diameter : float
        Of the orifice [m].
    discharge_coefficient : float
        Discharge coefficient [1].

    Returns
    -------
    VentFlow
        Flow and whether it is choked.

    Raises
    ------
    OutOfRangeError
        For a pressure, volume, diameter or coefficient out of range.

    Examples
    --------
    >>> air = nozzle_flow(204_746.0, 0.4110, 101_325.0, 1.4, diameter=0.00635)
    >>> round(air.flow * 3600, 1), air.choked
    (33.6, True)

    References
    ----------
    de Saint-Venant and Wantzel (1839); any textbook of gas dynamics.
    """
    require("pressure", pressure, "Pa", above=0.0)
    require("specific_volume", specific_volume, "m^3/kg", above=0.0)
    require("back_pressure", back_pressure, "Pa", above=0.0)
    require("diameter", diameter, "m", low=0.0, high=1.0)
    require("discharge_coefficient", discharge_coefficient, "1", above=0.0, high=1.0)
    k = exponent
    critical = critical_ratio(k)
    ratio = back_pressure / pressure
    if ratio >= 1:
        return VentFlow(0.0, choked=False, back_pressure=back_pressure)
    choked = ratio <= critical
    r = max(ratio, critical)
    term = 2 * k / (k - 1) * pressure / specific_volume * (r ** (2 / k) - r ** ((k + 1) / k))
    area = math.pi * diameter**2 / 4
    flow = discharge_coefficient * area * math.sqrt(term)
    return VentFlow(flow, choked=choked, back_pressure=back_pressure)


def hose_flow(pressure: float, specific_volume: float, back_pressure: float, hose: Hose) -> float:
    r"""Mass flow through a hose between two pressures.

    .. math:: p_1^2 - p_2^2 = \frac{\dot m^2 p_1 v_1}{A^2}
              \left(\frac{fL}{d} + K + 2\ln\frac{p_1}{p_2}\right)

    Valid for isothermal flow (p v constant) below the speed of sound.

    Parameters
    ----------
    pressure : float
        Absolute pressure at its entry [Pa].
    specific_volume : float
        Of the gas at that pressure [m^3/kg].
    back_pressure : float
        Absolute pressure at its end [Pa].
    hose : Hose
        The hose.

    Returns
    -------
    float
        Mass flow [kg/s].

    Raises
    ------
    OutOfRangeError
        For a hose without bore or with negative length.

    Examples
    --------
    >>> round(hose_flow(110e3, 1.55, 101_325.0, Hose(10.0, 0.0254)) * 3600, 1)
    51.5

    References
    ----------
    Isothermal compressible pipe flow, Crane TP-410, chapter 1.
    """
    require("hose.length", hose.length, "m", low=0.0, high=500.0)
    require("hose.bore", hose.bore, "m", above=0.0, high=0.5)
    if pressure <= back_pressure:
        return 0.0
    heads = hose.friction * hose.length / hose.bore + hose.losses
    heads += 2 * math.log(pressure / back_pressure)
    area = math.pi * hose.bore**2 / 4
    return area * math.sqrt((pressure**2 - back_pressure**2) / (pressure * specific_volume * heads))


def vent_flow(
    pressure: float,
    specific_volume: float,
    exponent: float,
    *,
    barometer: float,
    diameter: float,
    discharge_coefficient: float = 0.61,
    hose: Hose | None = None,
) -> VentFlow:
    """Mass flow through an orifice with a hose or riser in series to the open air.

    The pressure between the two is found at which both pass the same flow; behind the
    orifice the gas keeps its p v (throttling). Valid as `nozzle_flow` and `hose_flow`.

    Parameters
    ----------
    pressure : float
        Absolute pressure in the tube [Pa].
    specific_volume : float
        Of the gas in the tube [m^3/kg].
    exponent : float
        Isentropic exponent [1].
    barometer : float
        Pressure outdoors [Pa].
    diameter : float
        Of the orifice [m].
    discharge_coefficient : float
        Of the orifice [1].
    hose : Hose or None
        What lies behind; None lets the orifice blow free.

    Returns
    -------
    VentFlow
        Flow, choked or not, and the pressure before the hose.

    Raises
    ------
    ConvergenceError
        Where no common flow is found.

    Examples
    --------
    >>> from drainwright.engineering.steam import saturated
    >>> steam = saturated(149_590.0)
    >>> free = vent_flow(149_590.0, steam.specific_volume, 1.135, barometer=101_325.0,
    ...                  diameter=0.00635)
    >>> round(free.flow * 3600 / 0.45359237)
    34

    References
    ----------
    `nozzle_flow` and `hose_flow` in series.
    """

    def through(back: float) -> VentFlow:
        return nozzle_flow(
            pressure, specific_volume, back, exponent,
            diameter=diameter, discharge_coefficient=discharge_coefficient,
        )  # fmt: skip

    if hose is None or pressure <= barometer:
        return through(barometer)
    low, high = barometer, pressure
    for _ in range(200):
        middle = 0.5 * (low + high)
        passed = through(middle)
        left = hose_flow(middle, specific_volume * pressure / middle, barometer, hose)
        if left < passed.flow:
            low = middle
        else:
            high = middle
        if high - low < 1e-9 * pressure:
            return passed
    raise ConvergenceError("no common flow of vent and hose")


# ---------------------------------------------------------------- steam with air
