"""Calorimeter runs side by side, and a rate law's rates along them; for `resin_fit` alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drainwright.engineering.dsc import Array, Run, noise
from drainwright.engineering.kinetics import GAS_CONSTANT, Glass

SAMPLES = 300
"""Even steps to which each run is brought."""


@dataclass(frozen=True, slots=True)
class Bench:
    """Every run on even steps, side by side; columns are runs."""

    time: Array
    temperature: Array
    middle: Array
    heat_flow: Array
    mass: Array
    weight: Array


def bench_of(runs: Sequence[Run]) -> Bench:
    share = np.linspace(0.0, 1.0, SAMPLES)
    time, at, middle, flow, weight = [], [], [], [], []
    for run in runs:
        t = run.time[0] + share * (run.time[-1] - run.time[0])
        half = (t[1:] + t[:-1]) / 2
        time.append(t - t[0])
        at.append(np.interp(t, run.time, run.temperature))
        middle.append(np.interp(half, run.time, run.temperature))
        q = _means(run, t)
        flow.append(q)
        floor = 5e-4 * float(np.ptp(q))  # no machine is better than that
        counted = math.sqrt(run.time.size / SAMPLES)  # averages scatter less, fillers tell nothing
        weight.append(counted / max(noise(run.heat_flow), floor * counted, 1e-12))
    times, at_times, halves, flows = (np.array(one).T for one in (time, at, middle, flow))
    return Bench(
        times, at_times, halves, flows, np.array([run.mass for run in runs]), np.array(weight)
    )


def _means(run: Run, t: Array) -> Array:
    """Heat flow averaged over the step around each time, so that every sample counts."""
    steps = np.diff(run.time) * (run.heat_flow[1:] + run.heat_flow[:-1]) / 2
    given = np.concatenate([[0.0], np.cumsum(steps)])
    edges = np.concatenate([t[:1], (t[1:] + t[:-1]) / 2, t[-1:]])
    out: Array = np.diff(np.interp(edges, run.time, given)) / np.diff(edges)
    return out


def rates_along(x: Array, bench: Bench, reference: float, glass: Glass | None) -> Array:
    """Rates (samples, sets, runs) of several sets of constants, by Runge and Kutta's fourth order.

    `x` has shape (sets, 7): the six constants and the ceiling r.
    """
    parts = [x[:, place, None] for place in range(7)]
    ln_k1, E1, ln_k2, E2, m, n, r = parts

    def constants(T: Array) -> tuple[Array, Array]:
        inverse = (1 / T - 1 / reference) / GAS_CONSTANT
        return np.exp(ln_k1 - E1 * inverse), np.exp(ln_k2 - E2 * inverse)

    def rate(a: Array, T: Array, k: tuple[Array, Array]) -> Array:
        a = np.clip(a, 0.0, 1.0)
        left = ((1 - a) * np.maximum(r - a, 0.0)) ** (n / 2)
        out: Array = (k[0] + k[1] * a**m) * left
        if glass is not None:
            share = glass.Tg_lambda * a / (1 - (1 - glass.Tg_lambda) * a)
            Tg = glass.Tg0 + (glass.Tg_full - glass.Tg0) * share
            out = out / (1 + np.exp(np.clip((Tg - T) / glass.vitrification_width, -60, 60)))
        return out

    out = np.empty((SAMPLES, x.shape[0], bench.mass.size))
    a = np.zeros(out.shape[1:])
    k = constants(bench.temperature[0])
    out[0] = rate(a, bench.temperature[0], k)
    for step in range(SAMPLES - 1):
        h = bench.time[step + 1] - bench.time[step]
        T_half, T_end = bench.middle[step], bench.temperature[step + 1]
        k_half, k_end = constants(T_half), constants(T_end)
        f1 = out[step]
        f2 = rate(a + h / 2 * f1, T_half, k_half)
        f3 = rate(a + h / 2 * f2, T_half, k_half)
        f4 = rate(a + h * f3, T_end, k_end)
        a = a + h / 6 * (f1 + 2 * f2 + 2 * f3 + f4)
        out[step + 1] = rate(a, T_end, k_end)
    return out


LINE = np.linalg.qr(np.stack([np.ones(SAMPLES), np.linspace(-0.5, 0.5, SAMPLES)], axis=1))[0]
"""What a straight baseline can be, on even steps; the same for every run."""


def without_line(columns: Array) -> Array:
    """Columns (samples, ...) less the straight line that fits each best."""
    out: Array = columns - np.tensordot(LINE, np.tensordot(LINE.T, columns, 1), 1)
    return out


def averaged(rates: Array) -> Array:
    """Rates (samples, ...) averaged over the step around each sample, as the heat flow is."""
    out = np.empty_like(rates)
    out[1:-1] = (rates[:-2] + 6 * rates[1:-1] + rates[2:]) / 8
    out[0], out[-1] = (3 * rates[0] + rates[1]) / 4, (3 * rates[-1] + rates[-2]) / 4
    return out


def heat_and_rest(
    rates: Array, bench: Bench, known: float | None = None, *, apart: bool = False
) -> tuple[Array, Array]:
    """Heat of reaction (sets, runs) and weighted residuals (samples, sets, runs).

    One heat for all runs, the `known` one where it is given, or one for each run `apart`.
    """
    shape = without_line(averaged(rates)) * (bench.mass * bench.weight)
    target = without_line(bench.heat_flow) * bench.weight
    if known is None:
        over = "jk" if apart else "j"
        heat = np.einsum(f"ijk,ik->{over}", shape, target)
        heat = heat / np.einsum(f"ijk,ijk->{over}", shape, shape)
        heat = np.broadcast_to(heat.reshape(rates.shape[1], -1), rates.shape[1:])
    else:
        heat = np.full(rates.shape[1:], known)
    return heat, target[:, None, :] - heat * shape
