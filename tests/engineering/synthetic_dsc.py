"""Calorimeter runs made from written rate laws by a general solver, for tests of the fit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

GAS = 8.314462618
Law = Callable[[float, float], float]


def kamal(A1: float, E1: float, A2: float, E2: float, m: float, n: float) -> Law:
    """Kamal and Sourour's rate by conversion and temperature [1/s]."""

    def rate(a: float, T: float) -> float:
        k1, k2 = A1 * math.exp(-E1 / GAS / T), A2 * math.exp(-E2 / GAS / T)
        a = min(max(a, 0.0), 1.0)
        return float((k1 + k2 * a**m) * (1 - a) ** n)

    return rate


def with_ceiling(k1: float, k2: float, m: float, n: float, r: float) -> Law:
    """The law with a ceiling, at one temperature [1/s]."""

    def rate(a: float, _: float) -> float:
        a = min(max(a, 0.0), r)
        return float((k1 + k2 * a**m) * ((1 - a) * (r - a)) ** (n / 2))

    return rate


@dataclass(frozen=True)
class Machine:
    """How a run is made: noise and drift as shares of the peak, mass [kg], heat [J/kg]."""

    noise: float = 0.01
    drift: float = 0.05
    mass: float = 8e-6
    heat: float = 4.2e5
    samples: int = 900
    wrong_mass: float = 1.0


def dsc(
    law: Law, start: float, heating: float, end: float, machine: Machine, seed: int
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Times [s], temperatures [K], heat flow [W] of a run from `start` [K] at `heating` [K/s]."""
    time = np.linspace(0.0, end, machine.samples)
    solved = solve_ivp(
        lambda t, y: [law(y[0], start + heating * t)], (0.0, end), [0.0], method="Radau",
        t_eval=time, rtol=1e-8, atol=1e-10,
    )  # fmt: skip
    temperature = start + heating * time
    rate = np.array([law(a, T) for a, T in zip(solved.y[0], temperature, strict=True)])
    flow = machine.mass * machine.wrong_mass * machine.heat * rate
    generator = np.random.default_rng(seed)
    peak = flow.max()
    flow = flow + peak * (
        generator.normal(0.0, machine.noise, time.size) + machine.drift * (0.3 + time / end)
    )
    return time, temperature, flow
