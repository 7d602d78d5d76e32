"""A resin's rate law from calorimeter runs and gel times, with errors and limits.

The heat flow of all runs is fitted at once: rate law, one heat of reaction, and a straight
baseline for each run. What is linear (heat and baselines) is solved for exactly at every step,
so that only the rate law's constants are searched.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from drainwright.engineering._resin_runs import (
    LINE,
    Bench,
    averaged,
    bench_of,
    heat_and_rest,
    rates_along,
    without_line,
)
from drainwright.engineering.dsc import Array, Reacted, Run, reacted
from drainwright.engineering.kinetics import GAS_CONSTANT, Glass, Kinetics
from drainwright.engineering.resin_data import isothermal_time
from drainwright.errors import ConvergenceError, Fault, InputError, OutOfRangeError

NAMES = ("ln k1", "E1", "ln k2", "E2", "m", "n", "r")
_LOW = np.array([-40.0, 1e4, -40.0, 1e4, 0.05, 0.3, 0.3])
_HIGH = np.array([5.0, 2e5, 5.0, 2e5, 3.0, 5.0, 1.0])
_SCALE = np.array([1.0, 1e4, 1.0, 1e4, 0.3, 0.5, 0.1])
_LAW = (0, 1, 2, 3, 4, 5)
"""Constants that runs at several temperatures tell; the ceiling r stays 1."""
_HOLD = (0, 2, 4, 5, 6)
"""Constants that a hold at one temperature tells; it tells no energy."""


@dataclass(frozen=True, slots=True)
class FitSettings:
    """What a fit takes as given.

    Parameters
    ----------
    gel_conversion : float or None
        Conversion at gel, which gel times are held against [1].
    gel_error : float
        Relative error of a gel time [1].
    glass : Glass or None
        Vitrification constants, taken as given.
    margin : float
        How far beyond the data's temperatures a prediction may go [K].
    suspicious : float
        Deviation of a run's own heat from the runs' median that makes it suspicious [1].
    """

    gel_conversion: float | None = None
    gel_error: float = 0.05
    glass: Glass | None = None
    margin: float = 15.0
    suspicious: float = 0.1


@dataclass(frozen=True, slots=True)
class RunFit:
    """How one run lies to the common fit.

    Parameters
    ----------
    reacted : Reacted
        The run with its fitted baseline taken off.
    fitted_rate : ndarray, shape (k,)
        The rate law's own rate along the run [1/s].
    residual : float
        Root mean square of what is left, over the largest heat flow [1].
    own_heat : float
        Heat of reaction that this run alone would give [J/kg].
    suspicious : str
        Why the run does not fit the others; "" where it does.
    """

    reacted: Reacted
    fitted_rate: Array
    residual: float
    own_heat: float
    suspicious: str


@dataclass(frozen=True, slots=True)
class ResinFit:
    """The fitted rate law with its errors.

    Parameters
    ----------
    kinetics : Kinetics
        The rate law.
    names : tuple of str
        Names of the fitted constants.
    values : ndarray, shape (p,)
        Fitted constants: logarithms of rates at `reference` [ln 1/s], energies [J/mol],
        exponents [1].
    covariance : ndarray, shape (p, p)
        Their covariance.
    reference : float
        Temperature at which the rates are given [K].
    heat_of_reaction : float
        Common heat of reaction [J/kg]; nan without runs.
    heat_error : float
        Its standard error [J/kg].
    runs : tuple of RunFit
        Each run beside the fit.
    gel_residuals : tuple of float
        Logarithm of computed over stated gel time, each [1].
    temperatures : tuple of float
        Least and greatest temperature that the data tell about [K].
    settings : FitSettings
        What was taken as given.
    """

    kinetics: Kinetics
    names: tuple[str, ...]
    values: Array
    covariance: Array
    reference: float
    heat_of_reaction: float
    heat_error: float
    runs: tuple[RunFit, ...]
    gel_residuals: tuple[float, ...]
    temperatures: tuple[float, float]
    settings: FitSettings

    @property
    def errors(self) -> Array:
        """Standard errors of the constants."""
        out: Array = np.sqrt(np.diag(self.covariance))
        return out

    @property
    def correlation(self) -> Array:
        """Correlation of the constants."""
        scale = self.errors
        out: Array = self.covariance / np.outer(scale, scale)
        return out


# ---------------------------------------------------------------- the fit


def _start(runs: Sequence[Run], reference: float) -> list[Array]:
    """Constants to start the search from: several, as the surface has valleys."""
    speed = [math.log(2.0 / _half_time(run)) for run in runs]
    inverse = [(1 / _temperature(run) - 1 / reference) / GAS_CONSTANT for run in runs]
    E = 55e3
    if len(runs) > 1 and np.ptp(inverse) > 1e-7:
        E = float(np.clip(-np.polyfit(inverse, speed, 1)[0], 2.5e4, 1.2e5))
    ln_k = float(np.mean([s + E * i for s, i in zip(speed, inverse, strict=True)]))
    return [
        np.array([ln_k - down, E + 5e3, ln_k + up, E, m, n])
        for down, up, m, n in ((2.5, 0.8, 0.9, 1.7), (1.0, 0.0, 0.5, 1.2), (5.0, 1.2, 1.2, 2.2))
    ]


def _half_time(run: Run) -> float:
    """Time in which the middle half of the heat came, doubled [s]."""
    line = np.interp(run.time, run.time[[0, -1]], run.heat_flow[[0, -1]])
    flow = run.heat_flow - (run.heat_flow[-1] if run.isothermal else line)
    steps = np.diff(run.time) * np.maximum((flow[1:] + flow[:-1]) / 2, 0.0)
    given = np.cumsum(steps)
    first, last = (float(run.time[1:][given >= share * given[-1]][0]) for share in (0.25, 0.75))
    return max(2 * (last - first), 1.0)


def _temperature(run: Run) -> float:
    """Temperature at which the reaction is fastest [K]."""
    line = np.interp(run.time, run.time[[0, -1]], run.heat_flow[[0, -1]])
    flow = run.heat_flow - (run.heat_flow[-1] if run.isothermal else line)
    return float(run.temperature[int(np.argmax(flow))])


def fit_resin(
    runs: Sequence[Run],
    gel_times: Sequence[tuple[float, float]] = (),
    settings: FitSettings | None = None,
) -> ResinFit:
    r"""Fit Kamal and Sourour's law to calorimeter runs, and to gel times where given.

    Least squares of :math:`q = m H \dot\alpha(\alpha, T) + a_r + b_r t` over all runs, each
    weighted by its own noise, and of the logarithm of the gel times. Standard errors come
    from the curvature at the best point, widened where the residuals exceed the noise.

    Valid between the data's temperatures; `predicted_gel_times` says where it extrapolates.

    Parameters
    ----------
    runs : sequence of Run
        At two temperatures or heating rates at least.
    gel_times : sequence of (temperature, time)
        Gel times: temperature [K] and time [s].
    settings : FitSettings or None
        What is taken as given.

    Returns
    -------
    ResinFit
        The law, its errors, and each run beside it.

    Raises
    ------
    InputError
        For fewer than two runs, runs that all hold one temperature, or gel times without
        gel conversion.
    ConvergenceError
        Where no start leads to a fit.

    Examples
    --------
    >>> from drainwright.engineering.dsc import checked_run
    >>> def hold(T):
    ...     k, t = 1e5 * np.exp(-50e3 / (GAS_CONSTANT * T)), np.linspace(0.0, 1.0, 600) ** 2
    ...     t = 6.0 / k * t
    ...     return checked_run("run", t, np.full(600, T), 4.0 * k * np.exp(-k * t), 1e-5)
    >>> fit = fit_resin([hold(320.0), hold(350.0)])
    >>> round(fit.heat_of_reaction / 1e3)
    400

    References
    ----------
    Kamal and Sourour, Polym. Eng. Sci. 13:59 (1973); Golub and Pereyra, SIAM J. Numer. Anal.
    10:413 (1973) (linear constants solved for apart).
    """
    given = settings or FitSettings()
    _check(runs, gel_times, given)
    reference = float(np.mean([_temperature(run) for run in runs]))
    bench = bench_of(runs)
    base = np.array([0.0, 5e4, 0.0, 5e4, 1.0, 1.0, 1.0])
    problem = _Problem(bench, tuple(gel_times), given, reference, _LAW, base)
    return _told(_search(problem, _start(runs, reference)), problem, runs)


def fit_hold(run: Run, heat_of_reaction: float, settings: FitSettings | None = None) -> ResinFit:
    r"""Fit rates, exponents and ceiling to one hold, with the heat of reaction known.

    The law with a ceiling, :math:`(k_1 + k_2 \alpha^m)(1-\alpha)^{n/2}(r-\alpha)^{n/2}`. One
    temperature tells no energy: the rates hold there only; `arrhenius` joins several holds.

    Valid at the run's temperature.

    Parameters
    ----------
    run : Run
        A hold at one temperature.
    heat_of_reaction : float
        Whole heat of reaction, from a run to full cure [J/kg].
    settings : FitSettings or None
        What is taken as given.

    Returns
    -------
    ResinFit
        `values` are ln k1, ln k2 [ln 1/s], m, n, r [1] at the run's temperature.

    Raises
    ------
    InputError
        For a run whose temperature moves.
    ConvergenceError
        Where no start leads to a fit.

    Examples
    --------
    >>> from drainwright.engineering.dsc import checked_run
    >>> def hold(T):
    ...     k, t = 1e5 * np.exp(-50e3 / (GAS_CONSTANT * T)), np.linspace(0.0, 1.0, 600) ** 2
    ...     t = 6.0 / k * t
    ...     return checked_run("run", t, np.full(600, T), 4.0 * k * np.exp(-k * t), 1e-5)
    >>> fit = fit_hold(hold(320.0), 4e5)
    >>> round(float(isothermal_time(0.5, [320.0], fit.kinetics)[0]))
    1005

    References
    ----------
    Kamal and Sourour, Polym. Eng. Sci. 13:59 (1973).
    """
    if not run.isothermal:
        raise InputError(Fault("dsc", f"{run.name} does not hold one temperature"))
    reference = float(np.median(run.temperature))
    base = np.array([0.0, 5e4, 0.0, 5e4, 1.0, 1.0, 1.0])
    problem = _Problem(
        bench_of([run]), (), settings or FitSettings(), reference, _HOLD, base, heat_of_reaction
    )
    starts = [np.append(x[[0, 2, 4, 5]], r) for r in (0.9, 0.98) for x in _start([run], reference)]
    return _told(_search(problem, starts), problem, [run])


def _check(
    runs: Sequence[Run], gel_times: Sequence[tuple[float, float]], settings: FitSettings
) -> None:
    if len(runs) < 2:
        raise InputError(Fault("dsc", "a rate law needs two runs at least", len(runs)))
    held = [_temperature(run) for run in runs if run.isothermal]
    if len(held) == len(runs) and max(held) - min(held) < 5.0:
        raise InputError(Fault("dsc", "all runs hold one temperature; energies need two", held[0]))
    if gel_times and settings.gel_conversion is None:
        raise InputError(Fault("gel_conversion", "is needed beside gel times and runs"))


@dataclass(frozen=True, slots=True)
class _Problem:
    """What is searched: the constants `free` of `base`, the others held."""

    bench: Bench
    gel_times: tuple[tuple[float, float], ...]
    settings: FitSettings
    reference: float
    free: tuple[int, ...]
    base: Array
    heat: float | None = None
    """Heat of reaction where it is known [J/kg]."""
    apart: bool = False
    """Whether each run has a heat of its own."""

    def whole(self, sets: Array) -> Array:
        """All seven constants of sets of free ones."""
        out = np.tile(self.base, (len(sets), 1))
        out[:, self.free] = sets
        return out

    def law(self, x: Array) -> Kinetics:
        """The rate law of a set of free constants."""
        return _law(self.whole(x[None, :])[0], self.reference, self.settings.glass)

    def rates(self, sets: Array) -> Array:
        """Rates along the runs."""
        return rates_along(self.whole(sets), self.bench, self.reference, self.settings.glass)

    def heats(self, sets: Array) -> tuple[Array, Array]:
        """Heats (sets, runs) and weighted residuals (samples, sets, runs)."""
        return heat_and_rest(self.rates(sets), self.bench, self.heat, apart=self.apart)

    def rest(self, x: Array) -> Array:
        """What is left of each run's heat flow (samples, runs) [W]."""
        out: Array = self.heats(x[None, :])[1][:, 0] / self.bench.weight
        return out

    def gel(self, x: Array) -> Array:
        """Logarithm of computed over stated gel time."""
        if not self.gel_times or self.settings.gel_conversion is None:
            return np.empty(0)
        T, stated = (np.array(one) for one in zip(*self.gel_times, strict=True))
        out: Array = np.log(isothermal_time(self.settings.gel_conversion, T, self.law(x)) / stated)
        return np.nan_to_num(out, posinf=20.0)

    def residuals(self, sets: Array) -> Array:
        """Weighted residuals, one column for each set of constants."""
        left = self.heats(sets)[1]
        gels = np.array([self.gel(x) / self.settings.gel_error for x in sets])
        return np.concatenate([left.transpose(0, 2, 1).reshape(-1, len(sets)), gels.T])

    def slopes(self, x: Array) -> tuple[Array, Array]:
        """Central differences of residuals (samples, free) and of the heat (free,)."""
        step = 1e-5 * _SCALE[list(self.free)]
        moved = np.vstack([x + np.diag(step), x - np.diag(step)])
        left, count = self.residuals(moved), x.size
        heat = self.heats(moved)[0][:, 0]
        return (
            (left[:, :count] - left[:, count:]) / (2 * step),
            (heat[:count] - heat[count:]) / (2 * step),
        )


def _law(x: Array, reference: float, glass: Glass | None) -> Kinetics:
    A = np.exp(x[[0, 2]] + x[[1, 3]] / (GAS_CONSTANT * reference))
    return Kinetics(
        "kamal", (float(A[0]), float(A[1])), (float(x[1]), float(x[3])),
        float(x[4]), float(x[5]), float(x[6]), glass,
    )  # fmt: skip


def _search(problem: _Problem, starts: Sequence[Array]) -> Array:
    """Best constants from several starts."""
    from scipy.optimize import least_squares

    low, high, scale = (one[list(problem.free)] for one in (_LOW, _HIGH, _SCALE))

    def residuals(x: Array) -> Array:
        out: Array = problem.residuals(x[None, :])[:, 0]
        return out

    def slopes(x: Array) -> Array:
        return problem.slopes(x)[0]

    best = None
    for start in starts:
        found = least_squares(
            residuals, np.clip(start, low + 1e-6, high - 1e-6), slopes, bounds=(low, high),
            x_scale=scale, max_nfev=60, ftol=1e-7,
        )  # fmt: skip
        if found.success and (best is None or found.cost < best.cost):
            best = found
        if best is not None and 2 * best.cost < 1.5 * best.fun.size:
            break  # within the noise: no other valley can be better
    if best is None:
        raise ConvergenceError("no rate law fits these runs")
    x: Array = best.x
    return x


def _told(x: Array, problem: _Problem, runs: Sequence[Run]) -> ResinFit:
    bench = problem.bench
    rates = problem.rates(x[None, :])
    heat = float(problem.heats(x[None, :])[0][0, 0])
    if heat <= 0:
        raise ConvergenceError("the runs give off no heat that a rate law can explain")
    left = problem.residuals(x[None, :])[:, 0]
    slopes, heat_slopes = problem.slopes(x)
    freedom = max(1, left.size - x.size - 1 - 2 * len(runs))
    widen = max(1.0, float(left @ left) / freedom)
    covariance = np.asarray(np.linalg.pinv(slopes.T @ slopes) * widen, dtype=float)
    shape = without_line(averaged(rates)) * (bench.mass * bench.weight)
    alone = 0.0 if problem.heat else widen / float(np.sum(shape**2))
    spans = [_span(run) for run in runs] + [(T, T) for T, _ in problem.gel_times]
    return ResinFit(
        problem.law(x), tuple(NAMES[place] for place in problem.free), x, covariance,
        problem.reference, heat, math.sqrt(alone + heat_slopes @ covariance @ heat_slopes),
        _beside(runs, problem, x, rates[:, 0], heat),
        tuple(float(one) for one in problem.gel(x)),
        (min(low for low, _ in spans), max(high for _, high in spans)), problem.settings,
    )  # fmt: skip


def _span(run: Run) -> tuple[float, float]:
    """Temperatures between which nine tenths of the heat came [K]."""
    line = np.interp(run.time, run.time[[0, -1]], run.heat_flow[[0, -1]])
    flow = run.heat_flow - (run.heat_flow[-1] if run.isothermal else line)
    given = np.cumsum(np.maximum(flow, 0.0) * np.gradient(run.time))
    inside = (given >= 0.05 * given[-1]) & (given <= 0.95 * given[-1])
    T = run.temperature[inside]
    return float(T.min()), float(T.max())


def _beside(
    runs: Sequence[Run], problem: _Problem, x: Array, rates: Array, heat: float
) -> tuple[RunFit, ...]:
    """Each run beside the fit; a law with a heat for each run tells which one is odd."""
    bench = problem.bench
    left = bench.heat_flow - heat * bench.mass * averaged(rates)
    lines = LINE @ (LINE.T @ left)
    own = replace(problem, apart=True, heat=None).heats(x[None, :])[0][0]
    scatter = np.std(left - lines, axis=0) / np.ptp(bench.heat_flow, axis=0)
    if len(runs) > 2 and np.ptp(own) > problem.settings.suspicious * heat:
        free = replace(problem, apart=True)
        moved = _search(free, [x])
        own = free.heats(moved[None, :])[0][0]
        scatter = np.std(free.rest(moved), axis=0) / np.ptp(bench.heat_flow, axis=0)
    middle, usual = float(np.median(own)), float(np.median(scatter))
    found = []
    for place, run in enumerate(runs):
        since = run.time - run.time[0]
        base = np.interp(since, bench.time[:, place], lines[:, place])
        rate = np.interp(since, bench.time[:, place], rates[:, place])
        words = _suspicion(
            float(own[place]) / middle, float(scatter[place]), usual, problem.settings
        )
        found.append(
            RunFit(reacted(run, base, heat), rate, float(scatter[place]), float(own[place]), words)
        )
    return tuple(found)


def _suspicion(heat: float, scatter: float, usual: float, settings: FitSettings) -> str:
    """Why a run does not fit the others."""
    words = []
    if abs(heat - 1) > settings.suspicious:
        words.append(f"its own heat is {heat:.2f} times the others’: mass, pan or cure before")
    if scatter > max(3 * usual, 0.03):
        words.append(f"its curve leaves the fit by {scatter:.0%}: temperature or timing")
    return "; ".join(words)


# ---------------------------------------------------------------- predictions


@dataclass(frozen=True, slots=True)
class GelPrediction:
    """A predicted gel time.

    Parameters
    ----------
    temperature : float
        Temperature [K].
    time : float or None
        Gel time [s]; None where it is refused or never reached.
    low, high : float or None
        Bounds of the 95 % interval from the constants' errors alone [s].
    standing : str
        "within the data", "extrapolated", or "refused: beyond the margin".
    """

    temperature: float
    time: float | None
    low: float | None
    high: float | None
    standing: str


def predicted_gel_times(fit: ResinFit, temperatures: ArrayLike) -> tuple[GelPrediction, ...]:
    """Gel times by the fitted law, with the errors of its constants carried through.

    Valid within the data's temperatures and the stated margin; beyond it none is given.

    Parameters
    ----------
    fit : ResinFit
        The fitted law; its settings hold the gel conversion.
    temperatures : array_like, shape (k,)
        Temperatures [K].

    Returns
    -------
    tuple of GelPrediction
        One for each temperature.

    Raises
    ------
    OutOfRangeError
        Where the settings hold no gel conversion.

    Examples
    --------
    >>> from drainwright.engineering.dsc import checked_run
    >>> def hold(T):
    ...     k, t = 1e5 * np.exp(-50e3 / (GAS_CONSTANT * T)), np.linspace(0.0, 1.0, 600) ** 2
    ...     t = 6.0 / k * t
    ...     return checked_run("run", t, np.full(600, T), 4.0 * k * np.exp(-k * t), 1e-5)
    >>> fit = fit_resin([hold(320.0), hold(350.0)], settings=FitSettings(gel_conversion=0.5))
    >>> [one.standing for one in predicted_gel_times(fit, [330.0, 310.0, 280.0])]
    ['within the data', 'extrapolated', 'refused: beyond the margin']

    References
    ----------
    First-order error propagation.
    """
    gel = fit.settings.gel_conversion
    if gel is None:
        raise OutOfRangeError("gel_conversion", math.nan, "1", 0.0, 1.0)
    T = np.atleast_1d(np.asarray(temperatures, dtype=float))
    whole = np.array([0.0, 5e4, 0.0, 5e4, 1.0, 1.0, 1.0])
    places = [NAMES.index(name) for name in fit.names]
    step = 1e-4 * _SCALE[places]

    def logs(values: Array) -> Array:
        whole[places] = values
        law = _law(whole, fit.reference, fit.settings.glass)
        out: Array = np.log(isothermal_time(gel, T, law))
        return out

    middle = logs(fit.values)
    with np.errstate(invalid="ignore"):
        slopes = np.array([
            (logs(fit.values + move) - logs(fit.values - move)) / (2 * size)
            for move, size in zip(np.diag(step), step, strict=True)
        ])  # fmt: skip
    spread = 1.96 * np.sqrt(np.einsum("pk,pq,qk->k", slopes, fit.covariance, slopes))
    return tuple(
        _prediction(fit, float(t), float(log), float(wide))
        for t, log, wide in zip(T, middle, spread, strict=True)
    )


def _prediction(fit: ResinFit, T: float, log: float, wide: float) -> GelPrediction:
    low, high = fit.temperatures
    margin = fit.settings.margin
    if not low - margin <= T <= high + margin:
        return GelPrediction(T, None, None, None, "refused: beyond the margin")
    standing = "within the data" if low <= T <= high else "extrapolated"
    if not math.isfinite(log) or log > 25:
        return GelPrediction(T, None, None, None, standing)
    return GelPrediction(T, math.exp(log), math.exp(log - wide), math.exp(log + wide), standing)
