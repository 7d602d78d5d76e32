"""The steam time at a confidence: many cases, sampled within stated spreads, with a seed.

Each draw changes soil, resin, wall, contact and supply at once; the steam time that covers the
wanted share of the draws is the answer. It covers the spread of the inputs, not the model's own
error, which is not known before the model is compared with instrumented liners.
"""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering.cure import hold_time
from drainwright.engineering.cure_model import CureCase
from drainwright.errors import Fault, InputError, raise_if_any

TOLERANCE = 0.2
"""Error aimed at in a step of a draw [K]."""


@dataclass(frozen=True, slots=True)
class Spreads:
    """Standard deviations of the inputs; relative ones are of the logarithm.

    Attributes
    ----------
    soil_conductivity : float
        Relative [1].
    soil_temperature : float
        Absolute [K].
    resin_rate : float
        Relative, of all rate factors together [1].
    heat_of_reaction : float
        Relative [1].
    liner_wall : float
        Relative [1].
    liner_conductivity : float
        Relative [1].
    host_conductivity : float
        Relative [1].
    contact : float
        Relative, of the film between steam and liner [1].
    steam_supply : float
        Relative; half as much again at a blind end, which no sensor sees [1].
    gauge_pressure : float
        Relative [1].
    """

    soil_conductivity: float = 0.25
    soil_temperature: float = 2.0
    resin_rate: float = 0.15
    heat_of_reaction: float = 0.08
    liner_wall: float = 0.06
    liner_conductivity: float = 0.12
    host_conductivity: float = 0.15
    contact: float = 0.5
    steam_supply: float = 0.10
    gauge_pressure: float = 0.05


@dataclass(frozen=True, slots=True)
class Confident:
    """Steam time at a confidence.

    Attributes
    ----------
    hold : float or None
        Steam time that covers the wanted share of the draws; None if too many never cure [s].
    level : float
        The share asked for [1].
    draws : int
        How many were drawn.
    never : int
        How many did not reach the target within the horizon.
    holds : ndarray, shape (draws,)
        All steam times, rising; infinite where never reached [s].
    """

    hold: float | None
    level: float
    draws: int
    never: int
    holds: NDArray[np.float64]


def draw_case(case: CureCase, spreads: Spreads, normal: Sequence[float]) -> CureCase:
    """A case with its uncertain inputs moved by given numbers of standard deviations.

    Relative spreads multiply by exp(s z); absolute ones add s z. Valid for z within ± 3, to
    which `hold_at_confidence` cuts its draws.

    Parameters
    ----------
    case : CureCase
        The nominal case.
    spreads : Spreads
        Standard deviations.
    normal : sequence of float, shape (10,)
        Standard normal numbers, in the order of the fields of `Spreads` [1].

    Returns
    -------
    CureCase
        The moved case.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> draw_case(case, Spreads(), [0.0] * 10) == case
    True

    References
    ----------
    None.
    """
    names = [item.name for item in fields(Spreads)]
    move = {name: getattr(spreads, name) * z for name, z in zip(names, normal, strict=True)}
    times = {name: math.exp(value) for name, value in move.items()}
    gas, law = case.gas, case.kinetics
    supply = gas.steam_supply
    widened = 1.5 if gas.vent_diameter is None else 1.0
    return replace(
        case,
        soil=replace(
            case.soil,
            conductivity=case.soil.conductivity * times["soil_conductivity"],
            temperature=case.soil.temperature + move["soil_temperature"],
        ),
        kinetics=replace(law, A=tuple(factor * times["resin_rate"] for factor in law.A)),
        heat_of_reaction=case.heat_of_reaction * times["heat_of_reaction"],
        liner=replace(
            case.liner,
            wall=case.liner.wall * times["liner_wall"],
            conductivity=case.liner.conductivity * times["liner_conductivity"],
        ),
        host=replace(case.host, conductivity=case.host.conductivity * times["host_conductivity"]),
        gas=replace(
            gas,
            film_steam=gas.film_steam * times["contact"],
            steam_supply=None if supply is None else supply * times["steam_supply"] ** widened,
            gauge_pressure=gas.gauge_pressure * times["gauge_pressure"],
        ),
    )


def hold_at_confidence(
    case: CureCase,
    *,
    level: float = 0.95,
    draws: int = 500,
    seed: int = 1,
    spreads: Spreads | None = None,
    horizon: float = 43_200.0,
) -> Confident:
    """Steam time that is long enough for a share of what the inputs may be.

    Independent draws, normal or lognormal, cut at three standard deviations; the answer is
    the smallest order statistic that covers the level. The same seed gives the same answer.

    Parameters
    ----------
    case : CureCase
        The nominal case.
    level : float
        Share to be covered, 0.5 to below 1 [1].
    draws : int
        Number of draws, 20 to 20,000.
    seed : int
        Seed of the draws.
    spreads : Spreads or None
        Standard deviations; None takes the defaults.
    horizon : float
        Longest steam time searched in a draw [s].

    Returns
    -------
    Confident
        The answer and all draws.

    Raises
    ------
    InputError
        For a level, a number of draws or a spread out of range.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Grid, Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3),
    ...                 grid=Grid(axial_cells=1))
    >>> hold_at_confidence(case, draws=20).hold > hold_at_confidence(case, level=0.5, draws=20).hold
    True

    References
    ----------
    Order statistics of a sample.
    """
    used = spreads or Spreads()
    raise_if_any(_faults(level, draws, used))
    count = len(fields(Spreads))
    normal = np.clip(np.random.default_rng(seed).standard_normal((draws, count)), -3.0, 3.0)

    def one(row: NDArray[np.float64]) -> float:
        try:
            moved = draw_case(case, used, row.tolist())
        except InputError:
            return math.nan
        found = hold_time(moved, horizon=horizon, tolerance=TOLERANCE)
        return math.inf if found is None else found

    one(np.zeros(count))  # loads the kernels before the threads start
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        found = np.array(list(pool.map(one, normal)))
    holds = np.sort(found[~np.isnan(found)])
    if holds.size < draws / 2:
        raise InputError(Fault("confidence", "the spreads lead out of the model's range"))
    value = float(holds[min(math.ceil(level * holds.size), holds.size) - 1])
    never = int(np.isinf(holds).sum())
    return Confident(value if math.isfinite(value) else None, level, draws, never, holds)


def _faults(level: float, draws: int, spreads: Spreads) -> list[Fault]:
    found = []
    if not 0.5 <= level < 1:
        found.append(Fault("confidence.level", f"{level:g} is outside 0.5 to below 1", level, "1"))
    if not 20 <= draws <= 20_000:
        found.append(Fault("confidence.draws", f"{draws} is outside 20 to 20000", draws, "1"))
    for item in fields(Spreads):
        value = getattr(spreads, item.name)
        most = 15.0 if item.name == "soil_temperature" else 1.0
        if not 0 <= value <= most:
            message = f"{value:g} is outside 0 to {most:g}"
            found.append(Fault(f"confidence.{item.name}", message, value))
    return found
