"""A rate law as the compiled kernels read it."""

from __future__ import annotations

import math
from functools import lru_cache

from drainwright.engineering._cure_kernel import Law
from drainwright.engineering.kinetics import GAS_CONSTANT, Kinetics


@lru_cache(maxsize=4096)
def law_numbers(kinetics: Kinetics) -> Law:
    """The rate law as the kernels read it."""
    glass = kinetics.glass
    A, B = (*kinetics.A, 0.0)[:3], [E / GAS_CONSTANT for E in (*kinetics.E, 0.0)[:3]]
    full, lam = (glass.Tg_full, glass.Tg_lambda) if glass else (0.0, 1.0)
    Tg0 = glass.Tg0 if glass else -1e6
    return Law(
        kind=0 if kinetics.model == "kamal" else 1,
        A1=A[0], A2=A[1], A3=A[2],
        ln_A1=_log(A[0]), ln_A2=_log(A[1]),
        B1=B[0], B2=B[1], B3=B[2],
        m=float(kinetics.m), n=float(kinetics.n), r=float(kinetics.r),
        Tg0=Tg0,
        span=(full - Tg0) * lam if glass else 0.0,
        lam=lam,
        iw=1.0 / glass.vitrification_width if glass else 1.0,
    )  # fmt: skip


def _log(factor: float) -> float:
    """Logarithm of a rate factor; of none, so low that the exponential vanishes."""
    return math.log(factor) if factor > 0 else -1e4
