"""How long steam must flow until the last point of the liner is cured.

A case (`cure_model`) is carried through its phases: heat-up, steam, change to air, cool-down.
The answer is the time at which the last liner cell reaches the target with steam on, where
that is, and what the crew, the boiler and the host feel meanwhile. The model has not been
compared with instrumented liners yet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering._cure_run import Runner, steam_phase
from drainwright.engineering.cure_model import CureCase, Place
from drainwright.engineering.cure_vent import steam_drawn, vent_steam
from drainwright.errors import Fault, InputError

if TYPE_CHECKING:
    from drainwright.engineering._cure_grid import Mesh

Array = NDArray[np.float64]
HORIZON = 86_400.0
"""Longest steam time searched [s]."""
COOL_HORIZON = 172_800.0
"""Longest cool-down searched [s]."""
TOLERANCE = 0.05
"""Error aimed at in a step, root mean square over the field [K]."""


@dataclass(frozen=True, slots=True)
class Log:
    """What was noted at every step of the computation, all phases.

    Attributes
    ----------
    time : ndarray, shape (k,)
        Since steam on [s].
    heat : ndarray, shape (k,)
        Heat flow from the gas [W].
    left : ndarray, shape (k,)
        Steam that reaches the far end [kg/s].
    front : ndarray, shape (k,)
        Distance that steam reaches [m].
    least_conversion : ndarray, shape (k,)
        Of all liner cells [1].
    warmest_liner : ndarray, shape (k,)
        Of all liner cells [K].
    warmest_host : ndarray, shape (k,)
        Of all host cells [K].
    exhaust : ndarray, shape (k,)
        Gas temperature at the far end [K].
    steam_on : ndarray of bool, shape (k,)
        Whether steam was on.
    """

    time: Array
    heat: Array
    left: Array
    front: Array
    least_conversion: Array
    warmest_liner: Array
    warmest_host: Array
    exhaust: Array
    steam_on: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Fields:
    """Temperatures and conversions at asked-for times.

    Attributes
    ----------
    times : ndarray, shape (t,)
        Since steam on [s].
    temperature : ndarray, shape (t, rows, columns)
        Rows from the inside out, one column per place along the pipe [K].
    conversion : ndarray, shape (t, liner rows, columns)
        Conversion [1].
    """

    times: Array
    temperature: Array
    conversion: Array


@dataclass(frozen=True, slots=True)
class CureResult:
    """The answer for one case.

    Attributes
    ----------
    hold : float or None
        Steam time until the last liner cell reaches the target; None if not in a day [s].
    last_place : Place
        Where that is, or the least cured point at the end of steam.
    steam_end : float
        When steam was shut in this run [s].
    conversion_at_end : float
        Least conversion after cool-down [1].
    peak_temperature : float
        Highest liner temperature [K].
    peak_place : Place
        Where.
    peak_time : float
        When [s].
    peak_host : float
        Highest host temperature [K].
    steam_used : float
        Steam drawn until steam was shut [kg].
    cool_down : float or None
        From steam off until the warmest liner cell is below the limit [s].
    energy_error : float
        What is missing in the energy balance, over the heat turned over [1].
    saturation_temperature : float
        Of pure steam at the pressure in the tube [K].
    vent_steam : float
        Steam that the vent passes at that pressure [kg/s].
    log : Log
        Every step.
    fields : Fields
        At the asked-for times.
    steps : int
        Accepted time steps.
    """

    hold: float | None
    last_place: Place
    steam_end: float
    conversion_at_end: float
    peak_temperature: float
    peak_place: Place
    peak_time: float
    peak_host: float
    steam_used: float
    cool_down: float | None
    energy_error: float
    saturation_temperature: float
    vent_steam: float
    log: Log
    fields: Fields
    steps: int


def hold_time(
    case: CureCase, *, horizon: float = HORIZON, tolerance: float = TOLERANCE
) -> float | None:
    """Steam time until the last liner cell reaches the target, nothing else computed.

    One run with steam on, stopped by the event; see `simulate` for the equations.

    Parameters
    ----------
    case : CureCase
        The case.
    horizon : float
        Longest time searched [s].
    tolerance : float
        Error aimed at in a step [K].

    Returns
    -------
    float or None
        Steam time [s]; None where the target is not reached within the horizon.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> 10 < hold_time(case) / 60 < 60
    True

    References
    ----------
    docs/theory/cure.md.
    """
    runner = Runner(case, (), tolerance)
    steam_phase(runner, horizon)
    event = float(runner.state.totals[4])
    return event if event >= 0 else None


def simulate(
    case: CureCase, *, times: Sequence[float] = (), tolerance: float = TOLERANCE
) -> CureResult:
    r"""Carry a case through heat-up, steam and cool-down.

    Heat balance of every cell, conduction across the wall and, if asked, along it; reaction

    .. math:: \rho c\,\partial_t T = \nabla\cdot(k \nabla T) + \rho w H\,\partial_t\alpha,
              \qquad \partial_t \alpha = f(\alpha, T)

    with the gas along the pipe in quasi-steady balance; second order in time. Valid within
    the assumptions of docs/theory/cure.md; not yet compared with instrumented liners.

    Parameters
    ----------
    case : CureCase
        The case.
    times : sequence of float
        Times at which the fields are kept, since steam on [s].
    tolerance : float
        Error aimed at in a step, root mean square over the field [K].

    Returns
    -------
    CureResult
        The answer.

    Raises
    ------
    InputError
        For a target that the resin's vitrification does not allow at the gas temperature.
    ConvergenceError
        If the time stepping fails.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> simulate(case).energy_error < 1e-3
    True

    References
    ----------
    docs/theory/cure.md.
    """
    return cooled(under_steam(case, times=times, tolerance=tolerance))


@dataclass(frozen=True, slots=True)
class UnderSteam:
    """A case carried through heat-up and steam, not yet cooled.

    Attributes
    ----------
    runner : Runner
        The run, at the end of steam.
    hold : float or None
        Steam time until the last cell reaches the target, had steam stayed on; None if not
        within a day [s].
    last_place : Place
        Where that is.
    end : float
        When steam goes off [s].
    """

    runner: Runner
    hold: float | None
    last_place: Place
    end: float

    @property
    def log(self) -> Log:
        """What was noted until now."""
        return _log(self.runner)


def under_steam(
    case: CureCase,
    *,
    times: Sequence[float] = (),
    tolerance: float = TOLERANCE,
    mesh: Mesh | None = None,
) -> UnderSteam:
    """Carry a case through heat-up and steam, the first part of `simulate`.

    Equations and validity as `simulate`.

    Parameters
    ----------
    case : CureCase
        The case.
    times : sequence of float
        Times at which the fields are kept, since steam on [s].
    tolerance : float
        Error aimed at in a step, root mean square over the field [K].
    mesh : Mesh or None
        The arrays of another case that differs in schedule and flows alone, to spare their
        making.

    Returns
    -------
    UnderSteam
        The run so far.

    Raises
    ------
    InputError
        As `simulate`.
    ConvergenceError
        As `simulate`.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> found = under_steam(case)
    >>> found.hold == found.end == hold_time(case)
    True

    References
    ----------
    docs/theory/cure.md.
    """
    runner = Runner(case, times, tolerance, mesh)
    asked = case.schedule.steam
    hit = steam_phase(runner, HORIZON if asked is None else asked, at_event=asked is None)
    if asked is None and not hit:
        _refuse_target(case, runner.state_steam.temperature)
    totals = runner.state.totals.copy()
    event = totals[4:7]
    if asked is not None and event[0] < 0:
        event = _later_event(runner)
    reached = event[0] >= 0
    row, column = event[1:] if reached else totals[16:18]
    place = runner.place(int(row), int(column))
    hold = float(event[0]) if reached else None
    return UnderSteam(runner, hold, place, float(runner.state.totals[0]))


def cooled(steamed: UnderSteam) -> CureResult:
    """Cool a case that was carried through its steam, the second part of `simulate`.

    Equations and validity as `simulate`.

    Parameters
    ----------
    steamed : UnderSteam
        The run so far; it is carried on.

    Returns
    -------
    CureResult
        The answer.

    Raises
    ------
    ConvergenceError
        As `simulate`.

    Examples
    --------
    >>> cooled.__name__
    'cooled'

    References
    ----------
    docs/theory/cure.md.
    """
    runner = steamed.runner
    used = _steam_used(runner)
    cool_down = _cool(runner, steamed.end)
    if runner.times.size and runner.times[-1] > runner.state.totals[0]:
        runner.advance(runner.air_gas(shut=True), float(runner.times[-1]))
    return _result(runner, steamed, used, cool_down)


def _later_event(runner: Runner) -> Array:
    """When the target would be reached had steam stayed on; the runner comes back unchanged."""
    kept, logs, on = runner.copy_state(), list(runner.logs), list(runner.on)
    times = runner.times
    runner.times = times[:0]
    if runner.state.totals[0] < HORIZON:
        steam_phase(runner, HORIZON)
    event: Array = runner.state.totals[4:7].copy()
    runner.state, runner.logs, runner.on, runner.times = kept, logs, on, times
    if event[0] < 0:
        _refuse_target(runner.case, runner.state_steam.temperature)
    return event


def _refuse_target(case: CureCase, temperature: float) -> None:
    """Raise if the resin alone, held a day at the gas temperature, falls short of the target."""
    from drainwright.engineering.kinetics import conversion_along

    if case.kinetics.glass is None:
        return
    held = conversion_along(
        [(0.0, temperature)], [HORIZON], case.kinetics, start_conversion=case.start_conversion
    )
    reach = float(held[0])
    target = case.schedule.target_conversion
    if reach < target:
        message = (
            f"{target:g} is more than this resin reaches in a day at the gas temperature "
            f"{temperature:.1f} K, {reach:.4f}: it vitrifies before"
        )
        raise InputError(
            Fault("schedule.target_conversion", message, target, "1", 0.0, round(reach, 4))
        )


def _cool(runner: Runner, start: float) -> float | None:
    """Cool until the warmest liner cell is below the limit; None if that takes too long."""
    limit = runner.case.schedule.cool_to
    if runner.state.totals[18] <= limit:
        return 0.0
    reason = runner.advance(runner.air_gas(), start + COOL_HORIZON, cool=limit)
    if reason != runner.steps.COOL:
        return None
    return float(runner.state.totals[0]) - start


def _steam_used(runner: Runner) -> float:
    """Steam condensed and vented until now [kg], by the trapezoidal rule over the steps."""
    rows = np.concatenate(runner.logs)
    drawn = steam_drawn(rows[:, 1], _left_mass(runner, rows[:, 2]), runner.case.gas)
    return float(np.trapezoid(drawn, rows[:, 0]))


def _left_mass(runner: Runner, left: Array) -> Array:
    """Steam that reaches the end [kg/s]; a pure march counts in watts, ample is without end."""
    gas = runner.steam_gas()
    if gas.mode == runner.gas.GIVEN:
        return np.full_like(left, np.inf)
    return left / runner.state_steam.latent_heat if gas.mode == runner.gas.PURE else left


def _log(runner: Runner) -> Log:
    rows = np.concatenate(runner.logs)
    return Log(
        rows[:, 0], rows[:, 1], _left_mass(runner, rows[:, 2]), rows[:, 3], rows[:, 4],
        rows[:, 5], rows[:, 6], rows[:, 7], np.concatenate(runner.on),
    )  # fmt: skip


def _result(
    runner: Runner, steamed: UnderSteam, used: float, cool_down: float | None
) -> CureResult:
    totals = runner.state.totals
    return CureResult(
        hold=steamed.hold,
        last_place=steamed.last_place,
        steam_end=steamed.end,
        conversion_at_end=float(runner.state.a.min()),
        peak_temperature=float(totals[7]),
        peak_place=runner.place(int(totals[8]), int(totals[9])),
        peak_time=float(totals[10]),
        peak_host=float(totals[14]),
        steam_used=used,
        cool_down=cool_down,
        energy_error=runner.energy_error(),
        saturation_temperature=runner.state_steam.temperature,
        vent_steam=vent_steam(runner.case.gas),
        log=_log(runner),
        fields=Fields(runner.times, runner.T_out, runner.a_out),
        steps=int(totals[12]),
    )


def with_schedule(case: CureCase, **changes: Any) -> CureCase:
    """The same case with parts of its schedule replaced.

    `dataclasses.replace` on the schedule.

    Parameters
    ----------
    case : CureCase
        The case.
    **changes : Any
        Fields of `Schedule`.

    Returns
    -------
    CureCase
        The changed case.

    Examples
    --------
    >>> from drainwright.engineering.cure_model import Host, Liner, Supply
    >>> from drainwright.engineering.kinetics import Kinetics
    >>> resin = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8)
    >>> clay = Host(0.015, 1.4, 2500.0, 840.0)
    >>> case = CureCase(10.0, 0.1016, clay, Liner(0.003), resin, 4.2e5, Supply(48263.3))
    >>> with_schedule(case, steam=3600.0).schedule.steam
    3600.0

    References
    ----------
    None.
    """
    return replace(case, schedule=replace(case.schedule, **changes))
