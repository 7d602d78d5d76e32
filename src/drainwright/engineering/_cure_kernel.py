"""Compiled parts of the cure engine: rates, conduction, and the radial linear systems.

Fields are stored row by row from the inside out, `[row, column]`; a column is one place along
the pipe (and one line, top or invert). `wall` is a `Wall`, `law` a `Law`; see `cure_grid`.
"""

# ruff: noqa: C901, PLR0912, PLR0917
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from drainwright.engineering._compiled import exactly, inner
from drainwright.engineering._cure_bits import bits_of, float_of


class Wall(NamedTuple):
    """Arrays of the wall, per meter of pipe and full circumference.

    `col` holds a row each of conductances to steam, dry gas and air, weight (length times
    share of the girth) and conductance to moving groundwater.
    """

    cap: Any
    icap: Any
    con: Any
    heat: Any
    col: Any
    first: Any
    fluid: Any
    chill_row: int
    axial: Any
    axial_start: int
    axial_stride: int
    liner_row: int
    host_end: int
    soil_temperature: float
    cell_length: float
    lateral_gas: int


class Law(NamedTuple):
    """The resin's rate law, as numbers and tables; see `_cure_law`."""

    kind: int
    glass: int
    A: Any
    B: Any
    a_table: Any
    Tg0: float
    Tg_span: float
    Tg_lambda: float
    width: float


@exactly
def fast_exp(x):  # type: ignore[no-untyped-def]
    """exp(x) within 1e-10, in a form that compilers turn into vector code."""
    x = min(max(x, -700.0), 700.0)
    z = x * 1.4426950408889634 + 6755399441055744.0
    n = z - 6755399441055744.0
    r = (x - n * 0.6931471803691238) - n * 1.9082149292705877e-10
    p = 1.0 / 40320.0
    p = p * r + 1.0 / 5040.0
    p = p * r + 1.0 / 720.0
    p = p * r + 1.0 / 120.0
    p = p * r + 1.0 / 24.0
    p = p * r + 1.0 / 6.0
    p = p * r + 0.5
    p = p * r + 1.0
    p = p * r + 1.0
    return p * float_of((bits_of(z) << 52) + (1023 << 52))


@inner
def rates(law, T, a, row, R, R_T, R_a):  # type: ignore[no-untyped-def]
    """Rate of cure of every liner cell and its derivatives by temperature and conversion.

    The rate is k1 f1 + k2 f2 (+ k3 f3), times the slowing; forms first, then plain arithmetic.
    """
    nl, nc = a.shape
    form = np.empty((6, nc))
    A1, A2, A3, B1, B2, B3 = law.A[0], law.A[1], law.A[2], law.B[0], law.B[1], law.B[2]
    kind, glass = law.kind, law.glass
    Tg0, span, lam, iw = law.Tg0, law.Tg_span * law.Tg_lambda, law.Tg_lambda, 1.0 / law.width
    for i in range(nl):
        if kind == 0:
            _forms(law.a_table, a, i, form)
        else:
            _jump_forms(a, i, form)
        for c in range(nc):
            u = 1.0 / T[row + i, c]
            k1 = A1 * fast_exp(-B1 * u)
            k2 = A2 * fast_exp(-B2 * u)
            R[i, c] = k1 * form[0, c] + k2 * form[2, c]
            R_T[i, c] = (k1 * B1 * form[0, c] + k2 * B2 * form[2, c]) * u * u
            R_a[i, c] = k1 * form[1, c] + k2 * form[3, c]
        if kind == 1:
            for c in range(nc):
                u = 1.0 / T[row + i, c]
                k3 = A3 * fast_exp(-B3 * u)
                keep = 1.0 if R[i, c] > 0.0 else 0.0
                R[i, c] = R[i, c] * keep + k3 * form[4, c]
                R_T[i, c] = R_T[i, c] * keep + k3 * B3 * u * u * form[4, c]
                R_a[i, c] = R_a[i, c] * keep + k3 * form[5, c]
        if glass == 1:
            for c in range(nc):
                v = min(max(a[i, c], 0.0), 1.0)
                left = 1.0 / (1.0 - (1.0 - lam) * v)
                x = (Tg0 + span * v * left - T[row + i, c]) * iw
                s = 1.0 / (1.0 + fast_exp(x))
                slope = s * (1.0 - s) * iw
                r = max(R[i, c], 0.0)
                R_T[i, c] = R_T[i, c] * s + r * slope
                R_a[i, c] = R_a[i, c] * s - r * slope * span * left * left
                R[i, c] = r * s
        else:
            for c in range(nc):
                R[i, c] = max(R[i, c], 0.0)


@inner
def _forms(table, a, i, form):  # type: ignore[no-untyped-def]
    """Kamal's forms (1 − α)ⁿ and αᵐ(1 − α)ⁿ and their slopes, by cubic Hermite tables."""
    na = table.shape[0] - 1
    for c in range(a.shape[1]):
        y = min(max(a[i, c], 0.0), 1.0) * na
        j = min(int(y), na - 1)
        u = y - j
        for k in range(0, 4, 2):
            p, d, q, g = table[j, k], table[j, k + 1], table[j + 1, k], table[j + 1, k + 1]
            b1 = 3.0 * (q - p) - 2.0 * d - g
            c1 = 2.0 * (p - q) + d + g
            form[k, c] = p + u * (d + u * (b1 + u * c1))
            form[k + 1, c] = (d + u * (2.0 * b1 + 3.0 * u * c1)) * na


@inner
def _jump_forms(a, i, form):  # type: ignore[no-untyped-def]
    """Forms of Lee, Loos and Springer, before and after the jump at 0.3."""
    for c in range(a.shape[1]):
        v = min(max(a[i, c], 0.0), 1.0)
        early = 1.0 if v <= 0.3 else 0.0
        f = (1.0 - v) * (0.47 - v) * early
        slope = (2.0 * v - 1.47) * early
        form[0, c] = f
        form[1, c] = slope
        form[2, c] = v * f
        form[3, c] = f + v * slope
        form[4, c] = (1.0 - v) * (1.0 - early)
        form[5, c] = early - 1.0


@inner
def conduction(wall, T, R, q, fT):  # type: ignore[no-untyped-def]
    """Rate of change of temperature: conduction, gas heat q, reaction, ground."""
    nr, nc = T.shape
    nl = R.shape[0]
    row = wall.liner_row
    con, icap, heat, col = wall.con, wall.icap, wall.heat, wall.col
    ground, chilled = wall.soil_temperature, wall.chill_row
    for c in range(nc):
        fT[0, c] = q[c]
    for i in range(nr - 1):
        for c in range(nc):
            flux = con[i, c] * (T[i, c] - T[i + 1, c])
            fT[i, c] -= flux
            fT[i + 1, c] = flux
    last = nr - 1
    for c in range(nc):
        fT[last, c] -= con[last, c] * (T[last, c] - ground)
    for c in range(nc):
        fT[chilled, c] -= col[4, c] * (T[chilled, c] - ground)
    for i in range(nl):
        for c in range(nc):
            fT[row + i, c] += heat[i, c] * R[i, c]
    if wall.axial_stride > 0:
        _along(wall, T, fT)
    for i in range(nr):
        for c in range(nc):
            fT[i, c] *= icap[i, c]


@inner
def _along(wall, T, fT):  # type: ignore[no-untyped-def]
    """Conduction along the pipe between neighbors of one line."""
    s = wall.axial_stride
    for i in range(wall.host_end):
        g = wall.axial[i]
        for c in range(wall.axial_start, T.shape[1] - s):
            flux = g * (T[i, c] - T[i, c + s])
            fT[i, c] -= flux
            fT[i, c + s] += flux


@inner
def factor(wall, ua, gh, R_T, R_a, inv, ratio, keep):  # type: ignore[no-untyped-def]
    """Factors of I − γh J, from the outside in; conversions eliminated cell by cell."""
    nr, nc = inv.shape
    nl = R_T.shape[0]
    row = wall.liner_row
    con, cap, heat, col = wall.con, wall.cap, wall.heat, wall.col
    for i in range(nl):
        for c in range(nc):
            keep[i, c] = 1.0 / (1.0 - min(gh * R_a[i, c], 0.5))
    for i in range(nr - 1, -1, -1):
        if i > 0:
            for c in range(nc):
                inv[i, c] = cap[i, c] + gh * (con[i, c] + con[i - 1, c])
        else:
            for c in range(nc):
                inv[i, c] = cap[i, c] + gh * (con[i, c] + ua[c])
        if i == wall.chill_row:
            for c in range(nc):
                inv[i, c] += gh * col[4, c]
        k = i - row
        if 0 <= k < nl:
            for c in range(nc):
                source = gh * heat[k, c] * R_T[k, c] * keep[k, c]
                inv[i, c] -= min(source, 0.5 * cap[i, c])
        if i < nr - 1:
            for c in range(nc):
                g = gh * con[i, c]
                ratio[i, c] = g * inv[i + 1, c]
                inv[i, c] = 1.0 / (inv[i, c] - g * ratio[i, c])
        else:
            for c in range(nc):
                inv[i, c] = 1.0 / inv[i, c]


@inner
def inward(wall, gh, rT, ra, R_a, keep, ratio, b):  # type: ignore[no-untyped-def]
    """Right-hand sides carried from the outside in."""
    nr, nc = b.shape
    nl = ra.shape[0]
    row = wall.liner_row
    cap, heat = wall.cap, wall.heat
    for i in range(nr):
        for c in range(nc):
            b[i, c] = cap[i, c] * rT[i, c]
    for k in range(nl):
        for c in range(nc):
            back = min(gh * R_a[k, c], 0.5)
            b[row + k, c] += heat[k, c] * back * keep[k, c] * ra[k, c]
    for i in range(nr - 2, -1, -1):
        for c in range(nc):
            b[i, c] += ratio[i, c] * b[i + 1, c]


@inner
def outward(wall, gh, b, inv, R_T, keep, ra, kT, ka):  # type: ignore[no-untyped-def]
    """Increments from the inside out; kT[0] is known from the gas."""
    nr, nc = b.shape
    nl = ra.shape[0]
    row = wall.liner_row
    con = wall.con
    for i in range(1, nr):
        for c in range(nc):
            kT[i, c] = (b[i, c] + gh * con[i - 1, c] * kT[i - 1, c]) * inv[i, c]
    for k in range(nl):
        for c in range(nc):
            ka[k, c] = (ra[k, c] + gh * R_T[k, c] * kT[row + k, c]) * keep[k, c]
