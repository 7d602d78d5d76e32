"""What the crew and the boiler need for one lateral, from its cure case.

The printed steam time is the longer of the maker's schedule and the simulated time. The crew
counts from a reading it can take: the exhaust at a temperature and no longer rising.
"""

from __future__ import annotations

import math
import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from drainwright.engineering import orifice, steam
from drainwright.engineering._cure_run import Runner, steam_phase
from drainwright.engineering.cure import (
    HORIZON,
    TOLERANCE,
    CureResult,
    Log,
    UnderSteam,
    cooled,
    under_steam,
    with_schedule,
)
from drainwright.engineering.cure_confidence import Confident, Spreads, hold_at_confidence
from drainwright.engineering.cure_model import CureCase, Place
from drainwright.engineering.cure_vent import vent_steam
from drainwright.engineering.kinetics import glass_transition
from drainwright.errors import require

if TYPE_CHECKING:
    from drainwright.engineering._cure_grid import Mesh

RISE = 2.0 * 5 / 9
"""An exhaust that rises less than this in five minutes is steady [K]."""
WINDOW = 300.0
REFRESH = 300.0
"""The vent should pass the tube's gas once in this time (from memory) [s]."""


@dataclass(frozen=True, slots=True)
class LetDown:
    """When pressure may be let down.

    Attributes
    ----------
    limit : float
        Wall temperature that must not be exceeded [K].
    cool_down : float or None
        Cooling time from steam off, so that the wall stays below the limit for the soak time
        after the air is shut; None if not within two days [s].
    first_below : float or None
        When the warmest liner cell is first below the limit [s].
    soak_rise : float
        How far the wall warms again after the air is shut [K].
    glass_transition : float or None
        Of the least cured point; None without a glass transition in the rate law [K].
    """

    limit: float
    cool_down: float | None
    first_below: float | None
    soak_rise: float
    glass_transition: float | None


@dataclass(frozen=True, slots=True)
class CurePlan:
    """The steam plan of one lateral.

    Attributes
    ----------
    hold_nominal : float or None
        Simulated steam time at the nominal inputs [s].
    hold_confident : float or None
        Simulated steam time at the confidence; None without confidence or if none is enough [s].
    level : float or None
        The confidence [1].
    hold_printed : float or None
        The longer of the maker's and the simulated time; None if the liner never cures [s].
    governed_by : str
        "maker", "simulation", or "never".
    last_place : Place
        Where the liner cures last.
    peak_temperature : float
        Highest liner temperature [K].
    peak_place : Place
        Where.
    peak_host : float
        Highest host temperature [K].
    exhaust_temperature : float
        What the exhaust must read before the count begins [K].
    exhaust_time : float or None
        When it is expected to read that and be steady; None if it never does [s].
    wait_after_exhaust : float or None
        Steam time counted from that reading [s].
    trouble_after : float or None
        Not at that reading by this time: trouble card [s].
    steam_used : float
        Steam until the printed time [kg].
    load_peak : float
        Highest condensing load [W].
    load_end : float
        Condensing load at the end [W].
    vent_flow : float
        Steam that the vent passes [kg/s].
    boiler_power : float
        Highest load and vent together, as latent heat [W].
    smallest_vent : float
        Orifice that passes the tube's gas once in five minutes [m].
    stall_supply : float
        Steam flow below which the front does not stand at the far end at the end; NaN where
        the margins were left out [kg/s].
    let_down : LetDown
        Cool-down.
    simulated : CureResult
        The nominal run to the printed time.
    confident : Confident or None
        The draws.
    """

    hold_nominal: float | None
    hold_confident: float | None
    level: float | None
    hold_printed: float | None
    governed_by: str
    last_place: Place
    peak_temperature: float
    peak_place: Place
    peak_host: float
    exhaust_temperature: float
    exhaust_time: float | None
    wait_after_exhaust: float | None
    trouble_after: float | None
    steam_used: float
    load_peak: float
    load_end: float
    vent_flow: float
    boiler_power: float
    smallest_vent: float
    stall_supply: float
    let_down: LetDown
    simulated: CureResult
    confident: Confident | None


def plan(
    case: CureCase,
    *,
    maker_hold: float = 0.0,
    level: float | None = 0.95,
    draws: int = 300,
    seed: int = 1,
    spreads: Spreads | None = None,
    letdown_limit: float = 310.928,
    below_glass: float = 15.0,
    soak_time: float = 600.0,
    margins: bool = True,
) -> CurePlan:
    """Steam plan of a lateral: how long, how sure, what to read, how much steam, when to let down.

    Nominal run, draws at the confidence, and one run to the printed time with cool-down and
    soak-back. Valid as `cure.simulate`.

    Parameters
    ----------
    case : CureCase
        The nominal case; its schedule's steam time is not used.
    maker_hold : float
        Steam time of the resin maker's schedule; 0 where there is none [s].
    level : float or None
        Confidence; None leaves the draws out [1].
    draws : int
        Number of draws.
    seed : int
        Seed of the draws.
    spreads : Spreads or None
        Spreads of the inputs.
    letdown_limit : float
        Wall temperature of the specification [K].
    below_glass : float
        The wall must also be this much below its glass transition [K].
    soak_time : float
        And stay there this long after the cooling air is shut [s].
    margins : bool
        Whether to run the two cases more that `trouble_after` and `stall_supply` take; without
        them the one is None, the other NaN [1].

    Returns
    -------
    CurePlan
        The plan.

    Raises
    ------
    InputError
        As `cure.simulate` and `hold_at_confidence`.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Grid, Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3),
    ...                 grid=Grid(axial_cells=4))
    >>> made = plan(case, maker_hold=7200.0, level=None)
    >>> made.governed_by, made.hold_printed
    ('maker', 7200.0)

    References
    ----------
    docs/theory/cure.md.
    """
    require("maker_hold", maker_hold, "s", low=0.0, high=HORIZON)
    nominal = under_steam(with_schedule(case, steam=None))
    mesh = nominal.runner.mesh
    confident = None
    if level is not None and nominal.hold is not None:
        confident = hold_at_confidence(case, level=level, draws=draws, seed=seed, spreads=spreads)
    needed = nominal.hold if confident is None else confident.hold
    printed = None if needed is None else max(needed, maker_hold)
    end = printed if printed is not None else max(maker_hold, case.schedule.heat_up + 3600.0)
    wall = _Limits(letdown_limit, below_glass, soak_time)
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:  # kernels hold no lock
        stall = pool.submit(_stall, case, end, mesh) if margins else None
        steamed = under_steam(with_schedule(case, steam=max(end, case.schedule.heat_up)), mesh=mesh)
        last = pool.submit(_let_down, _at_end(case, end, steamed), end, wall)
        run = cooled(steamed)
        exhaust, reads = _exhaust(run.log)
        trouble = None
        if margins:
            trouble = _trouble(case, reads, exhaust, end, spreads or Spreads(), mesh)
        cold, stalls = last.result(), math.nan if stall is None else stall.result()
    latent = steam.saturated_by_fit(case.gas.pressure).latent_heat
    on = run.log.steam_on
    heat = np.maximum(run.log.heat[on], 0.0)
    governed = "never" if needed is None else ("maker" if maker_hold > needed else "simulation")
    through = vent_steam(case.gas)
    return CurePlan(
        hold_nominal=nominal.hold,
        hold_confident=None if confident is None else confident.hold,
        level=level if confident is not None else None,
        hold_printed=printed,
        governed_by=governed,
        last_place=nominal.last_place,
        peak_temperature=run.peak_temperature,
        peak_place=run.peak_place,
        peak_host=run.peak_host,
        exhaust_temperature=exhaust,
        exhaust_time=reads,
        wait_after_exhaust=None if reads is None or printed is None else max(printed - reads, 0.0),
        trouble_after=trouble,
        steam_used=run.steam_used,
        load_peak=float(heat.max()),
        load_end=float(heat[-1]),
        vent_flow=through,
        boiler_power=float(heat.max()) + through * latent,
        smallest_vent=smallest_vent(case),
        stall_supply=stalls / latent,
        let_down=cold,
        simulated=run,
        confident=confident,
    )


def _exhaust(log: Log) -> tuple[float, float | None]:
    """Reading to wait for, 3 K below the exhaust's last, and when it stands there steady."""
    on = log.steam_on
    time, exhaust = log.time[on], log.exhaust[on]
    reading = math.floor(float(exhaust[-1]) - 3.0)
    return reading, _steady(time, exhaust, reading)


def _steady(
    time: np.ndarray[tuple[int], np.dtype[np.float64]],
    exhaust: np.ndarray[tuple[int], np.dtype[np.float64]],
    reading: float,
) -> float | None:
    for now in np.arange(60.0, float(time[-1]) + 60.0, 60.0):
        value = float(np.interp(now, time, exhaust))
        before = float(np.interp(max(now - WINDOW, 0.0), time, exhaust))
        if now >= WINDOW and value >= reading and value - before < RISE:
            return float(now)
    return None


def _trouble(
    case: CureCase, reads: float | None, exhaust: float, end: float, spreads: Spreads, mesh: Mesh
) -> float | None:
    """When the weakest supply that is still within its spread would read it; or twice as late."""
    if reads is None:
        return None
    supply = case.gas.steam_supply
    if supply is None:
        return reads + 2 * WINDOW
    weak = supply * math.exp(-2 * spreads.steam_supply)
    slow = replace(case, gas=replace(case.gas, steam_supply=weak))
    log = under_steam(with_schedule(slow, steam=max(end, case.schedule.heat_up)), mesh=mesh).log
    late = _steady(log.time[log.steam_on], log.exhaust[log.steam_on], exhaust)
    return 2 * reads if late is None else max(late, reads + WINDOW)


def _stall(case: CureCase, end: float, mesh: Mesh) -> float:
    """Condensing load [W] of the fully steamed pipe at the end: less, and the front falls short."""
    ample = replace(case, gas=replace(case.gas, steam_supply=None))
    log = under_steam(with_schedule(ample, steam=max(end, case.schedule.heat_up)), mesh=mesh).log
    return float(max(log.heat[log.steam_on][-1], 0.0))


def smallest_vent(case: CureCase) -> float:
    r"""Smallest orifice that still refreshes the far end.

    The tube's gas, as air at its pressure, passes once in five minutes:
    :math:`d = \sqrt{V \rho / (300\,s \cdot \dot m_1)}` with the flow per diameter squared.
    The five minutes are from memory.

    Parameters
    ----------
    case : CureCase
        The case.

    Returns
    -------
    float
        Diameter [m].

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> 0.001 < smallest_vent(case) < 0.01
    True

    References
    ----------
    `orifice.nozzle_flow`.
    """
    gas = case.gas
    volume = math.pi / 4 * (case.host_diameter - 2 * case.liner.wall) ** 2 * case.length
    specific = steam.GAS_CONSTANT_AIR * gas.air_temperature / gas.pressure
    unit = orifice.nozzle_flow(
        gas.pressure, specific, gas.barometer, steam.EXPONENT_AIR,
        diameter=0.01, discharge_coefficient=gas.discharge_coefficient,
    ).flow  # fmt: skip
    wanted = max(volume / specific / REFRESH, gas.air_supply if gas.mixture else 0.0)
    return 0.01 * math.sqrt(wanted / unit) if unit > 0 else math.inf


def let_down(
    case: CureCase,
    steam_end: float,
    *,
    limit: float = 310.928,
    below_glass: float = 15.0,
    soak_time: float = 600.0,
) -> LetDown:
    """When the wall is cold enough to let pressure down, and stays so.

    The limit is the smaller of the specification's and the glass transition of the least
    cured point less a margin; cooling lasts until the wall stays below it for the soak time
    after the air is shut.

    Parameters
    ----------
    case : CureCase
        The case.
    steam_end : float
        Steam time [s].
    limit : float
        Wall temperature of the specification [K].
    below_glass : float
        Margin below the glass transition [K].
    soak_time : float
        How long the wall must stay below after the air is shut [s].

    Returns
    -------
    LetDown
        The times.

    Examples
    --------
    >>> let_down.__name__
    'let_down'

    References
    ----------
    Specification; docs/theory/cure.md.
    """
    wall = _Limits(limit, below_glass, soak_time)
    return _let_down(_at_end(case, steam_end), steam_end, wall)


class _Limits(NamedTuple):
    """What `let_down` is asked to hold."""

    limit: float
    below_glass: float
    soak_time: float


def _at_end(case: CureCase, end: float, steamed: UnderSteam | None = None) -> Runner:
    """A runner at the end of steam: a branch of a run that ended there, or a run of its own."""
    if steamed is not None and end >= case.schedule.heat_up:
        return steamed.runner.branch()
    runner = Runner(with_schedule(case, steam=None), (), TOLERANCE)
    steam_phase(runner, end, at_event=False)
    return runner


def _let_down(runner: Runner, steam_end: float, wall: _Limits) -> LetDown:
    case, limit = runner.case, wall.limit
    Tg = None
    if case.kinetics.glass is not None:
        Tg = float(glass_transition(runner.state.a.min(), case.kinetics.glass))
        limit = min(limit, Tg - wall.below_glass)
    coldest_air = max(case.gas.air_temperature, case.soil.temperature)
    if limit <= coldest_air + 0.5:
        return LetDown(limit, None, None, 0.0, Tg)
    start, aim, first, rise = steam_end, limit, None, 0.0
    for _ in range(8):
        if runner.state.totals[18] > aim:
            reason = runner.advance(runner.air_gas(), start + 2 * HORIZON, cool=aim)
            if reason != runner.steps.COOL:
                return LetDown(limit, None, first, rise, Tg)
        done = float(runner.state.totals[0]) - start
        first = done if first is None else first
        kept = runner.copy_state()
        before = len(runner.logs)
        runner.advance(runner.air_gas(shut=True), start + done + wall.soak_time)
        warmest = float(np.concatenate(runner.logs[before:])[:, 5].max())
        rise = warmest - float(kept.totals[18])
        if warmest <= limit + 0.02:
            return LetDown(limit, done, first, rise, Tg)
        runner.state = kept
        aim = max(aim - 1.1 * (warmest - limit), coldest_air + 0.2)
    return LetDown(limit, None, first, rise, Tg)
