"""Compiled parts of the cure engine: rates, conduction, and the radial linear systems.

Fields are stored row by row from the inside out, `[row, column]`; a column is one place along
the pipe (and one line, top or invert). `wall` is a `Wall`, `law` a `Law`; see `cure_grid`.
"""

# ruff: noqa: C901, PLR0915, PLR0917
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

import math
from typing import Any, NamedTuple

from drainwright.engineering._compiled import inner

_R = 8.314462618


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
    T_low: float
    T_step: float
    k_table: Any
    a_table: Any
    Tg0: float
    Tg_span: float
    Tg_lambda: float
    width: float


@inner
def slowing(x):  # type: ignore[no-untyped-def]
    """Share of the rate left at a distance x of widths below the glass transition."""
    if x > 40.0:
        return math.exp(-x)
    if x < -40.0:
        return 1.0
    return 1.0 / (1.0 + math.exp(x))


@inner
def rates(law, T, a, row, R, R_T, R_a):  # type: ignore[no-untyped-def]
    """Rate of cure of every liner cell and its derivatives by temperature and conversion."""
    nl, nc = a.shape
    nT = law.k_table.shape[0] - 2
    na = law.a_table.shape[0] - 1
    iT = 1.0 / law.T_step
    for i in range(nl):
        for c in range(nc):
            t = T[row + i, c]
            x = (t - law.T_low) * iT
            x = min(max(x, 0.0), nT + 0.999)
            j = int(x)
            u = x - j
            kt = law.k_table
            p1, d1, p2, d2 = kt[j, 0], kt[j, 1], kt[j, 2], kt[j, 3]
            q1, g1, q2, g2 = kt[j + 1, 0], kt[j + 1, 1], kt[j + 1, 2], kt[j + 1, 3]
            b1 = 3.0 * (q1 - p1) - 2.0 * d1 - g1
            c1 = 2.0 * (p1 - q1) + d1 + g1
            k1 = p1 + u * (d1 + u * (b1 + u * c1))
            k1T = (d1 + u * (2.0 * b1 + 3.0 * u * c1)) * iT
            b2 = 3.0 * (q2 - p2) - 2.0 * d2 - g2
            c2 = 2.0 * (p2 - q2) + d2 + g2
            k2 = p2 + u * (d2 + u * (b2 + u * c2))
            k2T = (d2 + u * (2.0 * b2 + 3.0 * u * c2)) * iT
            v = min(max(a[i, c], 0.0), 1.0)
            if law.kind == 0:
                y = v * na
                j = min(int(y), na - 1)
                u = y - j
                at = law.a_table
                p1, d1, p2, d2 = at[j, 0], at[j, 1], at[j, 2], at[j, 3]
                q1, g1, q2, g2 = at[j + 1, 0], at[j + 1, 1], at[j + 1, 2], at[j + 1, 3]
                b1 = 3.0 * (q1 - p1) - 2.0 * d1 - g1
                c1 = 2.0 * (p1 - q1) + d1 + g1
                f1 = p1 + u * (d1 + u * (b1 + u * c1))
                f1a = (d1 + u * (2.0 * b1 + 3.0 * u * c1)) * na
                b2 = 3.0 * (q2 - p2) - 2.0 * d2 - g2
                c2 = 2.0 * (p2 - q2) + d2 + g2
                f2 = p2 + u * (d2 + u * (b2 + u * c2))
                f2a = (d2 + u * (2.0 * b2 + 3.0 * u * c2)) * na
                r = k1 * f1 + k2 * f2
                rT = k1T * f1 + k2T * f2
                ra = k1 * f1a + k2 * f2a
                r = max(r, 0.0)
            elif v <= 0.3:
                base = k1 + k2 * v
                form = (1.0 - v) * (0.47 - v)
                if base > 0.0:
                    r = base * form
                    rT = (k1T + k2T * v) * form
                    ra = k2 * form + base * (2.0 * v - 1.47)
                else:
                    r = 0.0
                    rT = 0.0
                    ra = 0.0
            else:
                p3, d3, q3, g3 = kt[j, 4], kt[j, 5], kt[j + 1, 4], kt[j + 1, 5]
                b3 = 3.0 * (q3 - p3) - 2.0 * d3 - g3
                c3 = 2.0 * (p3 - q3) + d3 + g3
                k3 = p3 + u * (d3 + u * (b3 + u * c3))
                k3T = (d3 + u * (2.0 * b3 + 3.0 * u * c3)) * iT
                r = k3 * (1.0 - v)
                rT = k3T * (1.0 - v)
                ra = -k3
            if law.glass == 1:
                left = 1.0 / (1.0 - (1.0 - law.Tg_lambda) * v)
                Tg = law.Tg0 + law.Tg_span * law.Tg_lambda * v * left
                s = slowing((Tg - t) / law.width)
                slope = s * (1.0 - s) / law.width
                rT = rT * s + r * slope
                ra = ra * s - r * slope * law.Tg_span * law.Tg_lambda * left * left
                r = r * s
            R[i, c] = r
            R_T[i, c] = rT
            R_a[i, c] = ra


@inner
def conduction(wall, T, R, q, fT):  # type: ignore[no-untyped-def]
    """Rate of change of temperature: conduction, gas heat q, reaction, ground."""
    nr, nc = T.shape
    nl = R.shape[0]
    row = wall.liner_row
    con = wall.con
    for c in range(nc):
        fT[0, c] = q[c]
    for i in range(nr - 1):
        for c in range(nc):
            flux = con[i, c] * (T[i, c] - T[i + 1, c])
            fT[i, c] -= flux
            fT[i + 1, c] = flux
    last = nr - 1
    for c in range(nc):
        fT[last, c] -= con[last, c] * (T[last, c] - wall.soil_temperature)
        fT[wall.chill_row, c] -= wall.col[4, c] * (T[wall.chill_row, c] - wall.soil_temperature)
    for i in range(nl):
        for c in range(nc):
            fT[row + i, c] += wall.heat[i, c] * R[i, c]
    if wall.axial_stride > 0:
        _along(wall, T, fT)
    for i in range(nr):
        for c in range(nc):
            fT[i, c] *= wall.icap[i, c]


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
    con = wall.con
    for i in range(nl):
        for c in range(nc):
            keep[i, c] = 1.0 / (1.0 - min(gh * R_a[i, c], 0.5))
    for i in range(nr - 1, -1, -1):
        for c in range(nc):
            d = wall.cap[i, c] + gh * con[i, c]
            if i > 0:
                d += gh * con[i - 1, c]
            else:
                d += gh * ua[c]
            inv[i, c] = d
        if i == wall.chill_row:
            for c in range(nc):
                inv[i, c] += gh * wall.col[4, c]
        k = i - row
        if 0 <= k < nl:
            for c in range(nc):
                source = gh * wall.heat[k, c] * R_T[k, c] * keep[k, c]
                inv[i, c] -= min(source, 0.5 * wall.cap[i, c])
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
    for i in range(nr):
        for c in range(nc):
            b[i, c] = wall.cap[i, c] * rT[i, c]
    for k in range(nl):
        for c in range(nc):
            back = min(gh * R_a[k, c], 0.5)
            b[row + k, c] += wall.heat[k, c] * back * keep[k, c] * ra[k, c]
    for i in range(nr - 2, -1, -1):
        for c in range(nc):
            b[i, c] += ratio[i, c] * b[i + 1, c]


@inner
def outward(wall, gh, b, inv, R_T, keep, ra, kT, ka):  # type: ignore[no-untyped-def]
    """Increments from the inside out; kT[0] is known from the gas."""
    nr, nc = b.shape
    nl = ra.shape[0]
    row = wall.liner_row
    for i in range(1, nr):
        for c in range(nc):
            kT[i, c] = (b[i, c] + gh * wall.con[i - 1, c] * kT[i - 1, c]) * inv[i, c]
    for k in range(nl):
        for c in range(nc):
            ka[k, c] = (ra[k, c] + gh * R_T[k, c] * kT[row + k, c]) * keep[k, c]
