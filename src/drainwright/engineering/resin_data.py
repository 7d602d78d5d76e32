"""What a data sheet or a calorimeter's runs tell of a resin: gel point, energies, heat rise."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.engineering.kinetics import GAS_CONSTANT, Kinetics, reaction_rate
from drainwright.errors import OutOfRangeError, require


def gel_conversion(functionality_resin: float, functionality_hardener: float) -> float:
    r"""Conversion at the gel point of a stoichiometric step-growth mix.

    .. math:: \alpha_{gel} = 1 / \sqrt{(f - 1)(g - 1)}

    Valid for equal reactivity and no loops.

    Parameters
    ----------
    functionality_resin : float
        Reacting groups of a resin molecule [1], above 1 (2 for a diepoxide).
    functionality_hardener : float
        Reacting groups of a hardener molecule [1], above 1 (4 for a diamine).

    Returns
    -------
    float
        Conversion at gel [1].

    Raises
    ------
    OutOfRangeError
        Where no network can form.

    Examples
    --------
    >>> round(gel_conversion(4, 2), 4)
    0.5774

    References
    ----------
    Flory, J. Am. Chem. Soc. 63:3083 (1941); Stockmayer, J. Chem. Phys. 11:45 (1943).
    """
    product = (functionality_resin - 1) * (functionality_hardener - 1)
    require("functionality", product, "1", low=1.0, reason="no network forms below")
    return 1 / math.sqrt(product)


def kissinger_energy(heating_rates: ArrayLike, peak_temperatures: ArrayLike) -> float:
    r"""Activation energy from the peak temperatures of runs at constant heating rate.

    Slope of :math:`\ln(\beta / T_p^2)` over :math:`1/T_p`, times −R, by least squares.

    Parameters
    ----------
    heating_rates : array_like, shape (k,)
        Heating rates, in any one unit [K/s].
    peak_temperatures : array_like, shape (k,)
        Temperatures of the exotherm's peak [K].

    Returns
    -------
    float
        Activation energy [J/mol].

    Raises
    ------
    OutOfRangeError
        With fewer than two runs.

    Examples
    --------
    >>> round(kissinger_energy([5, 20], [383.15, 419.45]) / 1e3, 1)
    44.4

    References
    ----------
    Kissinger, Anal. Chem. 29:1702 (1957).
    """
    rates = np.asarray(heating_rates, dtype=float)
    peaks = np.asarray(peak_temperatures, dtype=float)
    if rates.size < 2 or rates.size != peaks.size:
        raise OutOfRangeError("heating_rates", rates.size, "runs", 2)
    slope = np.polyfit(1 / peaks, np.log(rates / peaks**2), 1)[0]
    return float(-GAS_CONSTANT * slope)


def activation_energy(first: tuple[float, float], second: tuple[float, float]) -> float:
    r"""Activation energy from two times to the same cure at two temperatures.

    .. math:: E = R \ln(t_1/t_2) / (1/T_1 - 1/T_2)

    Parameters
    ----------
    first : tuple of (temperature, time)
        Temperature [K] and time [s].
    second : tuple of (temperature, time)
        The same at another temperature: temperature [K] and time [s].

    Returns
    -------
    float
        Activation energy [J/mol].

    Raises
    ------
    OutOfRangeError
        For equal temperatures or times that are not above zero.

    Examples
    --------
    >>> round(activation_energy((325.15, 45 * 60), (286.15, 7 * 3600)) / 1e3, 1)
    44.3

    References
    ----------
    Arrhenius's law for a rate that only temperature changes.
    """
    (T1, t1), (T2, t2) = first, second
    require("temperature", abs(T1 - T2), "K", above=0.0, reason="the two must differ")
    require("time", min(t1, t2), "s", above=0.0)
    return GAS_CONSTANT * math.log(t1 / t2) / (1 / T1 - 1 / T2)


def adiabatic_rise(heat_of_reaction: float, heat_capacity: float) -> float:
    r"""Temperature rise of a resin that keeps all its heat of reaction.

    .. math:: \Delta T = H / c_p

    Parameters
    ----------
    heat_of_reaction : float
        Heat of reaction of the resin [J/kg].
    heat_capacity : float
        Heat capacity of the resin [J/kg/K].

    Returns
    -------
    float
        Rise [K].

    Raises
    ------
    OutOfRangeError
        For values that are not above zero.

    Examples
    --------
    >>> round(adiabatic_rise(473.6e3, 1260.0), 1)
    375.9

    References
    ----------
    Energy balance.
    """
    require("heat_of_reaction", heat_of_reaction, "J/kg", above=0.0)
    require("heat_capacity", heat_capacity, "J/kg/K", above=0.0)
    return heat_of_reaction / heat_capacity


def arrhenius(
    temperatures: ArrayLike, log_rates: ArrayLike, errors: ArrayLike
) -> tuple[float, float, float]:
    r"""Rate factor and activation energy from rates at several temperatures.

    Weighted straight line of :math:`\ln k` over :math:`1/T`; the slope is −E/R.

    Parameters
    ----------
    temperatures : array_like, shape (k,)
        Temperatures [K].
    log_rates : array_like, shape (k,)
        Logarithms of the rates [ln 1/s].
    errors : array_like, shape (k,)
        Their standard errors [1].

    Returns
    -------
    tuple of float
        Logarithm of the factor A [ln 1/s], energy E [J/mol], standard error of E [J/mol].

    Raises
    ------
    OutOfRangeError
        With fewer than two temperatures, or errors that are not above zero.

    Examples
    --------
    >>> ln_A, E, _ = arrhenius([300.0, 320.0, 340.0], [-8.0, -6.75, -5.6471], [0.1, 0.1, 0.1])
    >>> round(E / 1e3, 1)
    49.9

    References
    ----------
    Arrhenius's law; weighted least squares.
    """
    T, y, s = (np.asarray(one, dtype=float) for one in (temperatures, log_rates, errors))
    if np.unique(T).size < 2:
        raise OutOfRangeError("temperatures", np.unique(T).size, "", 2)
    require("errors", float(s.min()), "1", above=0.0)
    design = np.stack([np.ones_like(T), -1 / (GAS_CONSTANT * T)], axis=1) / s[:, None]
    found, *_ = np.linalg.lstsq(design, y / s, rcond=None)
    left = y / s - design @ found
    widen = max(1.0, float(left @ left) / max(1, T.size - 2))
    spread = np.linalg.inv(design.T @ design) * widen
    return float(found[0]), float(found[1]), float(np.sqrt(spread[1, 1]))


_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)


def isothermal_time(
    conversion: float, temperature: ArrayLike, kinetics: Kinetics
) -> NDArray[np.float64]:
    r"""Time to a conversion at constant temperatures, by quadrature.

    .. math:: t = \int_0^{\alpha} d\alpha / \dot\alpha(\alpha, T)

    Valid for laws whose rate is above zero at the start. Infinite where the law's ceiling or
    vitrification stops it before.

    Parameters
    ----------
    conversion : float
        Conversion to be reached [1].
    temperature : array_like, shape (k,)
        Temperatures [K].
    kinetics : Kinetics
        The rate law.

    Returns
    -------
    ndarray, shape (k,)
        Times [s].

    Raises
    ------
    OutOfRangeError
        For a conversion outside 0 to 1.

    Examples
    --------
    >>> first_order = Kinetics("kamal", (1e-3, 0.0), (0.0, 0.0))
    >>> isothermal_time(0.5, [300.0], first_order).round(3).tolist()
    [693.147]

    References
    ----------
    Gauss–Legendre quadrature in the square root of conversion, 48 points.
    """
    require("conversion", conversion, "1", low=0.0, high=1.0)
    T = np.atleast_1d(np.asarray(temperature, dtype=float))
    root = math.sqrt(conversion) * (1 + _NODES) / 2
    a = root**2
    rate = reaction_rate(a[None, :], T[:, None], kinetics)
    with np.errstate(divide="ignore"):
        slowness = np.where(rate > 1e-300, 1 / np.maximum(rate, 1e-300), np.inf)
    out: NDArray[np.float64] = (
        (slowness * 2 * root * _WEIGHTS).sum(axis=1) * math.sqrt(conversion) / 2
    )
    return out
