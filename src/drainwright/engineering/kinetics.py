"""How fast a resin cures: rate laws, glass transition, and cure along a temperature history.

The rate of cure is a function of the cure reached (conversion, 0 to 1) and the temperature.
Two forms are known: Kamal and Sourour's, with an optional ceiling `r`, and Lee, Loos and
Springer's, whose rate jumps at conversion 0.3; integration stops there and starts anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from drainwright.errors import Fault, raise_if_any, require

GAS_CONSTANT = 8.314462618
"""Molar gas constant [J/mol/K]."""
MODELS = ("kamal", "lee-loos-springer")
BRANCH = 0.3
"""Conversion at which the form of Lee, Loos and Springer changes."""
_CEILING = 0.47
HORIZON = 3.2e7
"""Longest time searched for a target [s]: about a year; later counts as never."""


@dataclass(frozen=True, slots=True)
class Glass:
    """Glass transition by DiBenedetto, and the width over which the reaction freezes.

    Attributes
    ----------
    Tg0 : float
        Glass transition of the unreacted mix [K].
    Tg_full : float
        Glass transition of the fully cured resin [K].
    Tg_lambda : float
        Shape of the curve between them [1].
    vitrification_width : float
        Width of the slowing [K].
    """

    Tg0: float
    Tg_full: float
    Tg_lambda: float
    vitrification_width: float


@dataclass(frozen=True, slots=True)
class Kinetics:
    """A resin's rate law.

    Attributes
    ----------
    model : str
        "kamal" or "lee-loos-springer".
    A : tuple of float
        Rate factors, two for Kamal, three for Lee, Loos and Springer [1/s].
    E : tuple of float
        Activation energies, as many [J/mol].
    m : float
        Exponent of the conversion [1].
    n : float
        Exponent of what is left [1].
    r : float
        Ceiling of the conversion where the fit has one, else 1 [1].
    glass : Glass or None
        Vitrification; None leaves it out.
    """

    model: str
    A: tuple[float, ...]
    E: tuple[float, ...]
    m: float = 1.0
    n: float = 1.0
    r: float = 1.0
    glass: Glass | None = None

    def __post_init__(self) -> None:
        raise_if_any(_faults(self))


def _faults(k: Kinetics) -> list[Fault]:
    found: list[Fault] = []
    if k.model not in MODELS:
        return [Fault("model", f"“{k.model}” is not one of {', '.join(MODELS)}", k.model)]
    wanted = 2 if k.model == "kamal" else 3
    if len(k.A) != wanted or len(k.E) != wanted:
        return [Fault("A", f"{k.model} has {wanted} rates", len(k.A))]
    for number, (factor, energy) in enumerate(zip(k.A, k.E, strict=True), 1):
        negative_allowed = k.model != "kamal" and number == 2
        if not math.isfinite(factor) or (factor < 0 and not negative_allowed):
            found.append(Fault(f"A{number}", f"{factor:g} 1/s is outside 0 or more", factor))
        if not 0 <= energy <= 4e5:
            found.append(
                Fault(f"E{number}", f"{energy:g} J/mol is outside 0 to 400000", energy, "J/mol")
            )
    for name, value, low, high in (("m", k.m, 0.0, 5.0), ("n", k.n, 0.0, 8.0), ("r", k.r, 0.05, 1)):
        if not low <= value <= high:
            found.append(Fault(name, f"{value:g} is outside {low:g} to {high:g}", value, "1"))
    return found + (_glass_faults(k.glass) if k.glass else [])


def _glass_faults(g: Glass) -> list[Fault]:
    found: list[Fault] = []
    if not 100 <= g.Tg0 <= 500:
        found.append(Fault("Tg0", f"{g.Tg0:g} K is outside 100 to 500 K", g.Tg0, "K", 100, 500))
    if not g.Tg0 < g.Tg_full <= 700:
        found.append(
            Fault("Tg_full", f"{g.Tg_full:g} K must lie above Tg0, to 700 K", g.Tg_full, "K")
        )
    if not 0 < g.Tg_lambda <= 2:
        found.append(
            Fault("Tg_lambda", f"{g.Tg_lambda:g} is outside 0 to 2, 0 excluded", g.Tg_lambda, "1")
        )
    if not 0.5 <= g.vitrification_width <= 50:
        width = g.vitrification_width
        found.append(
            Fault("vitrification_width", f"{width:g} K is outside 0.5 to 50 K", width, "K", 0.5, 50)
        )
    return found


def glass_transition(conversion: ArrayLike, glass: Glass) -> NDArray[np.float64]:
    r"""Glass transition temperature of a partly cured resin.

    .. math:: T_g = T_{g0} + (T_{g\infty} - T_{g0})\,
              \frac{\lambda \alpha}{1 - (1 - \lambda)\alpha}

    Valid for conversions 0 to 1.

    Parameters
    ----------
    conversion : array_like, shape (...)
        Conversion [1].
    glass : Glass
        The resin's constants.

    Returns
    -------
    ndarray, shape (...)
        Glass transition [K].

    Examples
    --------
    >>> glass = Glass(243.15, 383.15, 0.45, 6.0)
    >>> glass_transition([0.0, 0.5, 1.0], glass).round(2).tolist()
    [243.15, 286.6, 383.15]

    References
    ----------
    DiBenedetto, J. Polym. Sci. B 25:1949 (1987).
    """
    a = np.asarray(conversion, dtype=float)
    share = glass.Tg_lambda * a / (1 - (1 - glass.Tg_lambda) * a)
    out: NDArray[np.float64] = glass.Tg0 + (glass.Tg_full - glass.Tg0) * share
    return out


def reaction_rate(
    conversion: ArrayLike, temperature: ArrayLike, kinetics: Kinetics
) -> NDArray[np.float64]:
    r"""Rate of cure.

    Kamal and Sourour, with ceiling r: :math:`(k_1 + k_2 \alpha^m)(1-\alpha)^{n/2}
    (r-\alpha)^{n/2}`, which for r = 1 is the usual :math:`(1-\alpha)^n`; Lee, Loos and
    Springer: :math:`(k_1 + k_2 \alpha)(1-\alpha)(0.47-\alpha)` up to 0.3 and
    :math:`k_3 (1-\alpha)` above; :math:`k_i = A_i \exp(-E_i/RT)`. With a glass transition the
    rate is multiplied by :math:`1/(1 + \exp((T_g - T)/w))`. Never below zero.

    Valid within the temperatures of the fit, which is the user's to judge.

    Parameters
    ----------
    conversion : array_like, shape (...)
        Conversion [1].
    temperature : array_like, shape (...)
        Temperature [K].
    kinetics : Kinetics
        The rate law.

    Returns
    -------
    ndarray, shape (...)
        Rate [1/s].

    Examples
    --------
    >>> first_order = Kinetics("kamal", (1e-3, 0.0), (0.0, 0.0))
    >>> round(float(reaction_rate(0.5, 353.15, first_order)), 6)
    0.0005

    References
    ----------
    Kamal and Sourour, Polym. Eng. Sci. 13:59 (1973); Lee, Loos and Springer,
    J. Compos. Mater. 16:510 (1982).
    """
    a = np.clip(np.asarray(conversion, dtype=float), 0.0, 1.0)
    T = np.asarray(temperature, dtype=float)
    k = [A * np.exp(-E / (GAS_CONSTANT * T)) for A, E in zip(kinetics.A, kinetics.E, strict=True)]
    if kinetics.model == "kamal":
        left = (1 - a) ** (kinetics.n / 2) * np.maximum(kinetics.r - a, 0.0) ** (kinetics.n / 2)
        rate = (k[0] + k[1] * a**kinetics.m) * left
    else:
        early = np.maximum(k[0] + k[1] * a, 0.0) * (1 - a) * (_CEILING - a)
        rate = np.where(a <= BRANCH, early, k[2] * (1 - a))
    if kinetics.glass is not None:
        rate = rate * _mobility(a, T, kinetics.glass)
    out: NDArray[np.float64] = np.asarray(rate, dtype=float)
    return out


def _mobility(a: NDArray[np.float64], T: NDArray[np.float64], glass: Glass) -> NDArray[np.float64]:
    x = np.clip((glass_transition(a, glass) - T) / glass.vitrification_width, -500, 500)
    out: NDArray[np.float64] = 1 / (1 + np.exp(x))
    return out


# ---------------------------------------------------------------- along a history


def _scalar_rate(k: Kinetics, *, late: bool) -> Callable[[float, float], float]:
    """Rate (1/s) of one point; `late` picks the branch of Lee, Loos and Springer."""
    A, E, R = k.A, k.E, GAS_CONSTANT

    def rate(a: float, T: float) -> float:
        a = min(max(a, 0.0), 1.0)
        if k.model == "kamal":
            k1, k2 = (A[i] * math.exp(-E[i] / (R * T)) for i in (0, 1))
            left = (1 - a) ** (k.n / 2) * max(k.r - a, 0.0) ** (k.n / 2)
            out = (k1 + k2 * a**k.m) * left
        elif late:
            out = A[2] * math.exp(-E[2] / (R * T)) * (1 - a)
        else:
            k1, k2 = (A[i] * math.exp(-E[i] / (R * T)) for i in (0, 1))
            out = max(k1 + k2 * a, 0.0) * (1 - a) * (_CEILING - a)
        return float(out if k.glass is None else out * _slowing(a, T, k.glass))

    return rate


def _slowing(a: float, T: float, g: Glass) -> float:
    Tg = g.Tg0 + (g.Tg_full - g.Tg0) * g.Tg_lambda * a / (1 - (1 - g.Tg_lambda) * a)
    return 1 / (1 + math.exp(min(max((Tg - T) / g.vitrification_width, -500.0), 500.0)))


@dataclass(frozen=True, slots=True)
class _Piece:
    """A solved stretch of time."""

    start: float
    end: float
    dense: Callable[[Any], Any]
    last: float


class _Solver:
    """Conversion along straight pieces of temperature, with stops at the jump and the target."""

    def __init__(self, kinetics: Kinetics, start: float, target: float | None) -> None:
        self.kinetics = kinetics
        self.late = kinetics.model != "kamal" and start > BRANCH
        self.value = start
        self.target = target
        self.reached: float | None = 0.0 if target is not None and start >= target else None
        self.pieces: list[_Piece] = []

    def run(self, t0: float, t1: float, T0: float, slope: float) -> None:
        """Advance from t0 to t1 [s] with temperature T0 + slope (t − t0)."""
        while t1 - t0 > 1e-9 * max(1.0, abs(t1)):
            t0_new = self._leg(t0, t1, T0, slope)
            T0 += slope * (t0_new - t0)
            t0 = t0_new

    def _leg(self, t0: float, t1: float, T0: float, slope: float) -> float:
        from scipy import integrate

        solve: Any = integrate.solve_ivp
        rate = _scalar_rate(self.kinetics, late=self.late)

        def slope_of(t: float, y: Sequence[float]) -> list[float]:
            return [rate(y[0], T0 + slope * (t - t0))]

        marks = self._marks()
        events = [_crossing(mark) for mark in marks]
        out = solve(
            slope_of, (t0, t1), [self.value], method="LSODA", rtol=1e-10, atol=1e-12,
            dense_output=True, events=events or None,
        )  # fmt: skip
        end = float(out.t[-1])
        self.value = float(out.y[0, -1])
        for mark, times in zip(marks, out.t_events or [], strict=False):
            if len(times):
                self._pass(mark, float(times[0]))
                end, self.value = float(times[0]), mark
        self.pieces.append(_Piece(t0, end, out.sol, self.value))
        return end

    def _marks(self) -> list[float]:
        marks = [BRANCH] if self.kinetics.model != "kamal" and not self.late else []
        if self.target is not None and self.reached is None:
            marks.append(self.target)
        return [min(marks)] if marks else []

    def _pass(self, mark: float, time: float) -> None:
        if self.kinetics.model != "kamal" and mark == BRANCH:
            self.late = True
        if self.target is not None and self.reached is None and mark >= self.target:
            self.reached = time

    def at(self, time: float) -> float:
        """Conversion at a time within what was run."""
        for piece in self.pieces:
            if time <= piece.end:
                if time >= piece.end * (1 - 1e-12):
                    return piece.last
                return float(piece.dense(time)[0])
        return self.value


def _crossing(mark: float) -> Callable[[float, Sequence[float]], float]:
    def event(_: float, y: Sequence[float]) -> float:
        return y[0] - mark

    event.terminal = True  # type: ignore[attr-defined]
    event.direction = 1  # type: ignore[attr-defined]
    return event


def _history(history: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    points = [(float(t), float(T)) for t, T in history]
    faults = [Fault("history", "holds no point", None)] if not points else []
    if any(b[0] <= a[0] for a, b in pairwise(points)):
        faults.append(Fault("history", "its times must rise"))
    faults += [
        Fault("history", f"{T:g} K is outside 150 to 700 K", T, "K", 150, 700)
        for _, T in points
        if not 150 <= T <= 700
    ]
    faults += [Fault("history", "a time is negative", t, "s", 0) for t, _ in points if not t >= 0]
    raise_if_any(faults)
    if points[0][0] > 0:
        points.insert(0, (0.0, points[0][1]))
    return points


def _follow(solver: _Solver, points: list[tuple[float, float]], end: float) -> None:
    for (t0, T0), (t1, T1) in pairwise(points):
        if t0 < end:
            solver.run(t0, min(t1, end), T0, (T1 - T0) / (t1 - t0))
    if end > points[-1][0]:
        solver.run(points[-1][0], end, points[-1][1], 0.0)


def conversion_along(
    history: Sequence[tuple[float, float]],
    times: ArrayLike,
    kinetics: Kinetics,
    *,
    start_conversion: float = 0.0,
) -> NDArray[np.float64]:
    """Conversion at given times along a temperature history.

    The rate law integrated with relative tolerance 1e-10; the temperature runs straight
    between the points of the history and stays at its last value after it.

    Parameters
    ----------
    history : sequence of (time, temperature), shape (p,)
        Times [s] from zero, rising, and temperatures [K]; one point is an isothermal hold.
    times : array_like, shape (k,)
        Times asked for, in any order [s].
    kinetics : Kinetics
        The rate law.
    start_conversion : float
        Conversion at time zero [1].

    Returns
    -------
    ndarray, shape (k,)
        Conversion [1].

    Raises
    ------
    OutOfRangeError
        For a start outside 0 to 1 or a negative time.
    InputError
        For a history whose times don't rise or whose temperatures leave 150 to 700 K.

    Examples
    --------
    >>> first_order = Kinetics("kamal", (1e-3, 0.0), (0.0, 0.0))
    >>> conversion_along([(0.0, 353.15)], [1000.0], first_order).round(6).tolist()
    [0.632121]

    References
    ----------
    Petzold, SIAM J. Sci. Stat. Comput. 4:136 (1983) (the integrator).
    """
    require("start_conversion", start_conversion, "1", low=0.0, high=1.0)
    wanted = np.atleast_1d(np.asarray(times, dtype=float))
    for time in wanted:
        require("times", float(time), "s", low=0.0, high=HORIZON)
    points = _history(history)
    solver = _Solver(kinetics, start_conversion, None)
    if wanted.size:
        _follow(solver, points, float(wanted.max()))
    return np.array([solver.at(float(t)) if t > 0 else start_conversion for t in wanted])


def time_to_conversion(
    target: float,
    history: Sequence[tuple[float, float]],
    kinetics: Kinetics,
    *,
    start_conversion: float = 0.0,
) -> float | None:
    """Time at which a conversion is reached along a temperature history.

    The same integration as `conversion_along`, stopped where the conversion crosses the
    target; the last temperature of the history is held. A target that is not reached within
    a year counts as never reached.

    Parameters
    ----------
    target : float
        Conversion asked for [1].
    history : sequence of (time, temperature), shape (p,)
        Times [s] and temperatures [K], as in `conversion_along`.
    kinetics : Kinetics
        The rate law.
    start_conversion : float
        Conversion at time zero [1].

    Returns
    -------
    float or None
        Time [s]; None where never reached.

    Raises
    ------
    OutOfRangeError
        For a target or start outside 0 to 1.

    Examples
    --------
    >>> glass = Glass(243.15, 383.15, 0.45, 6.0)
    >>> law = Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8, glass=glass)
    >>> round(time_to_conversion(0.6, [(0.0, 353.15)], law) / 60, 1)
    9.9

    References
    ----------
    Petzold, SIAM J. Sci. Stat. Comput. 4:136 (1983) (the integrator).
    """
    require("target", target, "1", low=0.0, high=1.0)
    require("start_conversion", start_conversion, "1", low=0.0, high=1.0)
    solver = _Solver(kinetics, start_conversion, target)
    if start_conversion >= target:
        return 0.0
    if target >= kinetics.r:
        return None
    points = _history(history)
    for end in (points[-1][0], 1e3, 1e4, 1e5, 1e6, HORIZON):
        _follow_on(solver, points, end)
        if solver.reached is not None:
            break
    return solver.reached


def _follow_on(solver: _Solver, points: list[tuple[float, float]], end: float) -> None:
    """Advance a solver that may have advanced before."""
    done = solver.pieces[-1].end if solver.pieces else 0.0
    for (t0, T0), (t1, T1) in pairwise(points):
        slope = (T1 - T0) / (t1 - t0)
        if t1 > done:
            begin = max(t0, done)
            solver.run(begin, t1, T0 + slope * (begin - t0), slope)
            if solver.reached is not None:
                return
    begin = max(points[-1][0], done)
    if end > begin:
        solver.run(begin, end, points[-1][1], 0.0)


# ---------------------------------------------------------------- single numbers
