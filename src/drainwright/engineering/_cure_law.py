"""Tables of a rate law for the compiled kernels: cubic Hermite in conversion."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering._cure_kernel import Law
from drainwright.engineering.kinetics import GAS_CONSTANT, Kinetics

NODES = 1024


@lru_cache(maxsize=4096)
def law_tables(kinetics: Kinetics) -> Law:
    """The rate law as the kernels read it."""
    glass = kinetics.glass
    return Law(
        kind=0 if kinetics.model == "kamal" else 1,
        glass=0 if glass is None else 1,
        A=np.array((*kinetics.A, 0.0)[:3]),
        B=np.array((*kinetics.E, 0.0)[:3]) / GAS_CONSTANT,
        a_table=_conversion_table(kinetics.m, kinetics.n, kinetics.r),
        Tg0=glass.Tg0 if glass else 0.0,
        Tg_span=glass.Tg_full - glass.Tg0 if glass else 0.0,
        Tg_lambda=glass.Tg_lambda if glass else 1.0,
        width=glass.vitrification_width if glass else 1.0,
    )


@lru_cache(maxsize=64)
def _conversion_table(m: float, n: float, r: float) -> NDArray[np.float64]:
    a = np.linspace(0.0, 1.0, NODES + 1)
    h = n / 2
    left, ceiling = np.maximum(1 - a, 1e-300), np.maximum(r - a, 1e-300)
    inside = a < r
    g = np.where(inside, left**h * ceiling**h, 0.0)
    g_a = np.where(inside, -h * g * (1 / left + 1 / ceiling), -1.0 if n == 1 == r else 0.0)
    inner = np.maximum(a, 1e-300)
    f = inner**m * g
    f_a = m * inner ** (m - 1) * g + inner**m * g_a
    table = np.stack([g, g_a / NODES, f, f_a / NODES], axis=1)
    table[0, 3] = 2 * (f[1] - f[0]) - table[1, 3] if m < 1 else table[0, 3]
    return table
