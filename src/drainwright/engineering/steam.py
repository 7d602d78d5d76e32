"""Steam, air and their mixture: saturation, flow through a vent and its hose, air share.

Properties come from IAPWS-IF97 through a library that is loaded when first asked. A fit of
the saturation line serves the compiled kernels; its error is stated and tested.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.errors import ConvergenceError, OutOfRangeError, require

STANDARD_BAROMETER = 101_325.0
"""Standard atmosphere [Pa]."""
EXPONENT_STEAM = 1.135
"""Isentropic exponent of saturated steam [1]."""
EXPONENT_AIR = 1.4
"""Isentropic exponent of air [1]."""
GAS_CONSTANT_AIR = 287.055
"""Of dry air [J/kg/K]."""
GAS_CONSTANT_STEAM = 461.526
"""Of water vapor [J/kg/K]."""
BOILER_HORSEPOWER = 9809.5
"""34.5 lb/h of steam from and at 212 °F [W]."""
FIT_LOW, FIT_HIGH = 273.2, 460.0
SATURATION_FIT = (
    -1.7051026913622487,
    9.99511794082435,
    -22.75990375677228,
    23.419268370315848,
    -23.329799489455382,
    25.907422268565178,
)
"""ln(p/Pa) as a polynomial in 373.15 K / T, highest power first; see `saturation_fit`."""
LATENT_FIT = (
    -0.015884006781656985,
    -3.5624216343754194,
    -2643.9112819368456,
    2256607.081916754,
)
"""Latent heat [J/kg] as a polynomial in T − 373.15 K, highest power first."""

COMPRESSIBILITY_FIT = (
    -1.0454413482648153e-08,
    -3.2067339332519193e-06,
    -0.0003660483390301041,
    0.984521773401147,
)
"""p v / R T of saturated vapor as a polynomial in T − 373.15 K, highest power first."""


@dataclass(frozen=True, slots=True)
class SaturatedSteam:
    """Dry saturated steam at one pressure.

    Attributes
    ----------
    pressure : float
        Absolute pressure [Pa].
    temperature : float
        Saturation temperature [K].
    latent_heat : float
        Heat of condensation [J/kg].
    specific_volume : float
        Of the vapor [m^3/kg].
    """

    pressure: float
    temperature: float
    latent_heat: float
    specific_volume: float


@lru_cache(maxsize=1)
def _properties() -> Any:
    from CoolProp import CoolProp

    return CoolProp.PropsSI


@lru_cache(maxsize=1024)
def saturated(pressure: float) -> SaturatedSteam:
    """Properties of dry saturated steam.

    IAPWS-IF97; valid from 0.62 kPa to 2 MPa, where its tables hold.

    Parameters
    ----------
    pressure : float
        Absolute pressure [Pa].

    Returns
    -------
    SaturatedSteam
        Temperature, latent heat, specific volume.

    Raises
    ------
    OutOfRangeError
        Outside the range of validity.

    Examples
    --------
    >>> round(saturated(101_325.0).temperature - 273.15, 2)
    99.97

    References
    ----------
    IAPWS R7-97 (2012), industrial formulation 1997.
    """
    require("pressure", pressure, "Pa", low=620.0, high=2e6)
    get = _properties()
    water = "IF97::Water"
    liquid, vapor = (get("H", "P", pressure, "Q", q, water) for q in (0, 1))
    return SaturatedSteam(
        pressure,
        float(get("T", "P", pressure, "Q", 1, water)),
        float(vapor - liquid),
        1 / float(get("D", "P", pressure, "Q", 1, water)),
    )


def saturation_pressure(temperature: float) -> float:
    """Pressure at which steam condenses.

    IAPWS-IF97; valid from 275 K to 480 K.

    Parameters
    ----------
    temperature : float
        Temperature [K].

    Returns
    -------
    float
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRangeError
        Outside the range of validity.

    Examples
    --------
    >>> round(saturation_pressure(373.124) / 1e3, 1)
    101.3

    References
    ----------
    IAPWS R7-97 (2012), equation 30.
    """
    require("temperature", temperature, "K", low=275.0, high=480.0)
    return float(_properties()("P", "T", temperature, "Q", 1, "IF97::Water"))


def saturation_fit(temperature: ArrayLike) -> NDArray[np.float64]:
    r"""Saturation pressure by the fit that the compiled kernels use.

    .. math:: \ln p = \sum_i c_i (373.15/T)^i

    Fitted to IAPWS-IF97 between 273.2 and 460 K; within that range the temperature belonging
    to a pressure is within 0.001 K of it.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Absolute pressure [Pa].

    Examples
    --------
    >>> round(float(saturation_fit(373.124)) / 1e3, 1)
    101.3

    References
    ----------
    Least squares on IAPWS R7-97.
    """
    z = 373.15 / np.asarray(temperature, dtype=float)
    out: NDArray[np.float64] = np.exp(np.polyval(SATURATION_FIT, z))
    return out


def latent_heat_fit(temperature: ArrayLike) -> NDArray[np.float64]:
    """Latent heat by the fit that the compiled kernels use.

    A cubic in T − 373.15 K, fitted to IAPWS-IF97 between 273.2 and 460 K within 0.02 %.

    Parameters
    ----------
    temperature : array_like, shape (...)
        Saturation temperature [K].

    Returns
    -------
    ndarray, shape (...)
        Latent heat [J/kg].

    Examples
    --------
    >>> round(float(latent_heat_fit(373.124)) / 1e3)
    2257

    References
    ----------
    Least squares on IAPWS R7-97.
    """
    z = np.asarray(temperature, dtype=float) - 373.15
    return np.asarray(np.polyval(LATENT_FIT, z), dtype=np.float64)


@lru_cache(maxsize=4096)
def saturated_by_fit(pressure: float) -> SaturatedSteam:
    """Properties of dry saturated steam by the fits, without loading the property library.

    `saturation_fit` inverted by Newton's method, `latent_heat_fit`, and a cubic for the
    vapor's compressibility. Valid from 0.62 kPa to 1 MPa; temperature within 0.001 K, latent
    heat within 0.02 %, specific volume within 0.05 % of IAPWS-IF97.

    Parameters
    ----------
    pressure : float
        Absolute pressure [Pa].

    Returns
    -------
    SaturatedSteam
        Temperature, latent heat, specific volume.

    Raises
    ------
    OutOfRangeError
        Outside the range of validity.

    Examples
    --------
    >>> round(saturated_by_fit(101_325.0).temperature - 273.15, 2)
    99.97

    References
    ----------
    Least squares on IAPWS R7-97.
    """
    require("pressure", pressure, "Pa", low=620.0, high=1e6)
    slopes = np.polyder(np.array(SATURATION_FIT))
    wanted, z = math.log(pressure), 1.0
    for _ in range(30):
        step = (float(np.polyval(SATURATION_FIT, z)) - wanted) / float(np.polyval(slopes, z))
        z -= step
        if abs(step) < 1e-14:
            break
    T = 373.15 / z
    compressibility = float(np.polyval(COMPRESSIBILITY_FIT, T - 373.15))
    volume = compressibility * GAS_CONSTANT_STEAM * T / pressure
    return SaturatedSteam(pressure, T, float(latent_heat_fit(T)), volume)


# ---------------------------------------------------------------- vent


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


def mixture_temperature(pressure: float, steam_share: float) -> float:
    """Temperature at which a steam-air mixture is saturated.

    Saturation at the steam's partial pressure, share times pressure (Dalton). Valid where
    the partial pressure is above 0.62 kPa.

    Parameters
    ----------
    pressure : float
        Absolute pressure of the mixture [Pa].
    steam_share : float
        Mole share of the steam [1].

    Returns
    -------
    float
        Temperature [K].

    Raises
    ------
    OutOfRangeError
        For a share outside 0 to 1, 0 excluded.

    Examples
    --------
    >>> round(mixture_temperature(149_590.0, 0.5) - 273.15, 1)
    91.7

    References
    ----------
    Dalton's law with IAPWS R7-97.
    """
    require("steam_share", steam_share, "1", above=0.0, high=1.0)
    return saturated(pressure * steam_share).temperature


def steam_share(pressure: float, temperature: float) -> float:
    """Mole share of steam in a mixture that is saturated at a wanted temperature.

    Saturation pressure over the mixture's pressure (Dalton). Valid up to the saturation
    temperature of pure steam, where the share is 1.

    Parameters
    ----------
    pressure : float
        Absolute pressure of the mixture [Pa].
    temperature : float
        Wanted gas temperature [K].

    Returns
    -------
    float
        Mole share [1].

    Raises
    ------
    OutOfRangeError
        For a temperature above that of pure steam at this pressure.

    Examples
    --------
    >>> round(steam_share(149_590.0, 355.372), 2), round(steam_share(149_590.0, 366.483), 2)
    (0.35, 0.53)

    References
    ----------
    Dalton's law with IAPWS R7-97.
    """
    top = saturated(pressure).temperature
    require("temperature", temperature, "K", low=275.0, high=top + 1e-9)
    return min(saturation_pressure(temperature) / pressure, 1.0)


def air_per_steam(pressure: float, temperature: float) -> float:
    r"""Mass of air per mass of steam that holds a wanted gas temperature.

    .. math:: \frac{\dot m_a}{\dot m_s} = \frac{R_s}{R_a}\,\frac{1 - x}{x}

    with x the steam's mole share at that temperature. Valid as `steam_share`; the heat that
    warms the air is not counted.

    Parameters
    ----------
    pressure : float
        Absolute pressure of the mixture [Pa].
    temperature : float
        Wanted gas temperature [K].

    Returns
    -------
    float
        Mass ratio air to steam [1].

    Examples
    --------
    >>> round(air_per_steam(149_590.0, saturated(149_590.0).temperature), 6)
    0.0

    References
    ----------
    Dalton's law with IAPWS R7-97.
    """
    x = steam_share(pressure, temperature)
    return GAS_CONSTANT_STEAM / GAS_CONSTANT_AIR * (1 - x) / x


def barometer_at(elevation: float) -> float:
    r"""Usual barometer at an elevation.

    .. math:: p = 101325\,(1 - 2.25577 \cdot 10^{-5} h)^{5.25588}

    The standard atmosphere; valid from −500 m to 5,000 m, weather aside (± 3 %).

    Parameters
    ----------
    elevation : float
        Above sea level [m].

    Returns
    -------
    float
        Pressure [Pa].

    Raises
    ------
    OutOfRangeError
        Outside −500 m to 5,000 m.

    Examples
    --------
    >>> round(barometer_at(0.0)), round(barometer_at(1609.0) / 1e3, 1)
    (101325, 83.4)

    References
    ----------
    ISO 2533:1975, standard atmosphere.
    """
    require("elevation", elevation, "m", low=-500.0, high=5000.0)
    return float(STANDARD_BAROMETER * (1 - 2.25577e-5 * elevation) ** 5.25588)


def boiler_power(steam_flow: float, latent_heat: float) -> float:
    r"""Power that a steam flow carries as latent heat.

    .. math:: P = \dot m\, h_{fg}

    Feed water is not counted: a boiler fed with cold water needs about a fifth more.

    Parameters
    ----------
    steam_flow : float
        Mass flow [kg/s].
    latent_heat : float
        Heat of condensation [J/kg].

    Returns
    -------
    float
        Power [W].

    Raises
    ------
    OutOfRangeError
        For a negative flow.

    Examples
    --------
    >>> round(boiler_power(34.5 * 0.45359237 / 3600, 2_256_500.0) / 1e3, 2)
    9.81

    References
    ----------
    Energy balance; ABMA, boiler horsepower.
    """
    if not steam_flow >= 0:
        raise OutOfRangeError("steam_flow", steam_flow, "kg/s", 0.0)
    return steam_flow * latent_heat
