"""Steam, air and their mixture: saturation, air share, barometer, boiler; vents: `orifice`.

Properties come from IAPWS-IF97 through a library that is loaded when first asked. A fit of
the saturation line serves the compiled kernels; its error is stated and tested.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.errors import OutOfRangeError, require

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
HEAT_AIR = 1006.0
"""Specific heat of air at constant pressure [J/kg/K]."""
HEAT_STEAM = 1950.0
"""Specific heat of steam at constant pressure, near saturation [J/kg/K]."""
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
    from drainwright.engineering._steam_tables import property_of

    water = "IF97::Water"
    liquid, vapor = (property_of("H", "P", pressure, "Q", q, water) for q in (0, 1))
    return SaturatedSteam(
        pressure,
        float(property_of("T", "P", pressure, "Q", 1, water)),
        float(vapor - liquid),
        1 / float(property_of("D", "P", pressure, "Q", 1, water)),
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
    from drainwright.engineering._steam_tables import property_of

    return float(property_of("P", "T", temperature, "Q", 1, "IF97::Water"))


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


def air_for_gas(pressure: float, temperature: float, air_temperature: float) -> float:
    r"""Mass of cold air that dry saturated steam can take to make gas of a wanted temperature.

    .. math:: \frac{\dot m_a}{\dot m_s} = \frac{1 + c_s (T_s - T)/L}{1/r + c_a (T - T_a)/L}

    A part of the steam condenses and warms the air; the rest is :math:`1/r` per mass of air, with
    r of `air_per_steam`, L the latent heat at T, c_s 1950 and c_a 1006 J/kg/K. No heat is lost on
    the way. Valid as `steam_share`, for air that is not warmer than the gas.

    Parameters
    ----------
    pressure : float
        Absolute pressure of the mixture [Pa].
    temperature : float
        Wanted gas temperature, below that of pure steam [K].
    air_temperature : float
        Temperature of the air blown in [K].

    Returns
    -------
    float
        Mass ratio air to steam at the inlet [1].

    Raises
    ------
    OutOfRangeError
        For a gas not below pure steam, or air warmer than the gas.

    Examples
    --------
    >>> round(air_for_gas(149_590.0, 347.039, 293.15), 2)
    4.55

    References
    ----------
    Mass and heat balance; Dalton's law with IAPWS R7-97.
    """
    require("air_temperature", air_temperature, "K", low=230.0, high=temperature)
    ratio = air_per_steam(pressure, temperature)
    require("temperature", temperature, "K", low=275.0, below=saturated(pressure).temperature)
    latent = float(latent_heat_fit(temperature))
    given = 1.0 + HEAT_STEAM * (saturated(pressure).temperature - temperature) / latent
    return given / (1.0 / ratio + HEAT_AIR * (temperature - air_temperature) / latent)


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
