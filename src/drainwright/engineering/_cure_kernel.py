"""Compiled parts of the cure engine: rates, conduction, and the radial linear systems.

Fields are stored row by row from the inside out, `[row, column]`; a column is one place along
the pipe (and one line, top or invert). `wall` is a `Wall`, `law` a `Law`; see `cure_grid`.

Rows outside the liner conduct only, so that the factors of their linear systems are the same in
all columns of a part and are kept once (`Scratch.outside`); those of the liner's rows and of what
lies inside it are kept for every column (`Scratch.inside`).
"""

# ruff: noqa: N815
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from drainwright.engineering._compiled import exactly, inner, pasted
from drainwright.engineering._cure_bits import bits_of, exponent_of, float_of


class Wall(NamedTuple):
    """Arrays of the wall, per meter of pipe and full circumference.

    `col` holds a row each of conductances to steam, dry gas and air, weight (length times
    share of the girth) and conductance to moving groundwater. `hot` is the liner's heat of
    reaction over its capacity; `parts` bounds the runs of columns that are alike outside the
    liner.
    """

    cap: Any
    icap: Any
    con: Any
    heat: Any
    hot: Any
    col: Any
    parts: Any
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
    """The resin's rate law, as numbers; see `_cure_law`.

    Without a glass transition, `Tg0` lies so low that the slowing is 1.
    """

    kind: int
    A1: float
    A2: float
    A3: float
    ln_A1: float
    ln_A2: float
    B1: float
    B2: float
    B3: float
    m: float
    n: float
    r: float
    Tg0: float
    span: float
    lam: float
    iw: float


class Scratch(NamedTuple):
    """Arrays of one step, made once; p is 0 or 1 and changes with every step taken.

    `big` [n, row, column]: p T at the start, 1 − p at the end; 2 + p f at the start, 3 − p at
    the end; 4 and 5 increments; 6 right-hand side of the second stage, 7 swept right-hand side.
    `small` [n, liner row, column]: p, 1 − p conversion; 2 + p, 3 − p rate; 4, 5 its derivatives
    by temperature and conversion; 6 elimination, 7 coupling; 8 first increment, 9 right-hand
    side and 10 rate of the second stage. `inside`, `outside`
    [0 inverse pivot, 1 ratio; row; column or part]. `flat`, `thin` are `big`, `small` with rows and
    columns as one. `line` [0 least conversion, 1 warmest
    liner, 2 warmest host; column].
    """

    big: Any
    small: Any
    flat: Any
    thin: Any
    inside: Any
    outside: Any
    line: Any


def scratch_for(wall: Wall) -> Scratch:
    """Fresh scratch arrays for a problem's size."""
    rows, columns = wall.cap.shape
    liner, inside = wall.heat.shape[0], wall.liner_row + wall.heat.shape[0]
    big, small = np.zeros((8, rows, columns)), np.zeros((11, liner, columns))
    return Scratch(
        big,
        small,
        big.reshape(8, -1),
        small.reshape(11, -1),
        np.zeros((2, inside, columns)),
        np.zeros((2, rows, len(wall.parts) - 1)),
        np.zeros((3, columns)),
    )


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


@exactly
def fast_log(x):  # type: ignore[no-untyped-def]
    """log(x) of a normal number above 0 within 1e-11, in a form for vector code."""
    n = exponent_of(bits_of(x) + 0x00095F619980C433)
    m = float_of(bits_of(x) - ((n - 1023) << 52))
    s = (m - 1.0) / (m + 1.0)
    z = s * s
    p = z * (1.0 / 13.0) + 1.0 / 11.0
    p = p * z + 1.0 / 9.0
    p = p * z + 1.0 / 7.0
    p = p * z + 0.2
    p = p * z + 1.0 / 3.0
    p = p * z + 1.0
    e = float_of(n + 0x4330000000000000) - 4503599627371519.0
    return e * 0.6931471805599453 + 2.0 * s * p


@pasted
def _kamal(law, T, a):  # type: ignore[no-untyped-def]
    """Both terms of Kamal's law, the slowing and what the slopes need besides."""
    v = min(max(a, 0.0), 1.0)
    x = max((1.0 - v) * (law.r - v), 1e-30)
    u = 1.0 / T
    both = law.n * 0.5 * fast_log(x)
    one = fast_exp(law.ln_A1 - law.B1 * u + both)
    two = fast_exp(law.ln_A2 - law.B2 * u + both + law.m * fast_log(max(v, 1e-60)))
    left = 1.0 / (1.0 - (1.0 - law.lam) * v)
    slowed = 1.0 / (1.0 + fast_exp((law.Tg0 + law.span * v * left - T) * law.iw))
    return v, x, u, one, two, left, slowed


@inner
def rates(law, T, a, R):  # type: ignore[no-untyped-def]
    """Rate of cure of liner cells; arrays are flat."""
    if law.kind == 1:
        for i in range(a.shape[0]):
            R[i], _, _ = _jump(law, T[i], a[i])
    else:
        for i in range(a.shape[0]):
            _, _, _, one, two, _, slowed = _kamal(law, T[i], a[i])
            R[i] = (one + two) * slowed


@inner
def rates_and_slopes(law, T, a, R, R_T, R_a):  # type: ignore[no-untyped-def]
    """Rate of cure of liner cells and its derivatives by temperature and conversion."""
    if law.kind == 1:
        for i in range(a.shape[0]):
            R[i], R_T[i], R_a[i] = _jump(law, T[i], a[i])
    else:
        for i in range(a.shape[0]):
            v, x, u, one, two, left, slowed = _kamal(law, T[i], a[i])
            r = (one + two) * slowed
            slope = r * (1.0 - slowed) * law.iw
            R[i] = r
            R_T[i] = (law.B1 * one + law.B2 * two) * u * u * slowed + slope
            less = 0.5 * law.n * r * (1.0 + law.r - 2.0 * v) / x + slope * law.span * left * left
            R_a[i] = law.m * two * slowed / max(v, 1e-4) - less


@inner
def _jump(law, T, a):  # type: ignore[no-untyped-def]
    """Rate and slopes of Lee, Loos and Springer, before and after the jump at 0.3."""
    v, u = min(max(a, 0.0), 1.0), 1.0 / T
    k1 = law.A1 * fast_exp(-law.B1 * u)
    k2 = law.A2 * fast_exp(-law.B2 * u)
    k3 = law.A3 * fast_exp(-law.B3 * u)
    r, r_T, r_a = k3 * (1.0 - v), k3 * law.B3 * u * u * (1.0 - v), -k3
    if v <= 0.3:
        f, f_a = (1.0 - v) * (0.47 - v), 2.0 * v - 1.47
        r = max((k1 + k2 * v) * f, 0.0)
        r_T = (k1 * law.B1 + k2 * law.B2 * v) * u * u * f
        r_a = k2 * f + (k1 + k2 * v) * f_a
    left = 1.0 / (1.0 - (1.0 - law.lam) * v)
    slowed = 1.0 / (1.0 + fast_exp((law.Tg0 + law.span * v * left - T) * law.iw))
    slope = r * slowed * (1.0 - slowed) * law.iw
    return r * slowed, r_T * slowed + slope, r_a * slowed - slope * law.span * left * left


@inner
def conduction(wall, T, fT):  # type: ignore[no-untyped-def]
    """Rate of change of temperature by conduction, to the ground and its water too."""
    nr, nc = T.shape
    con, col = wall.con, wall.col
    ground, chilled = wall.soil_temperature, wall.chill_row
    for c in range(nc):
        fT[0, c] = 0.0
    for i in range(nr):
        for c in range(nc):
            flux = con[i, c] * (T[i, c] - (T[i + 1, c] if i < nr - 1 else ground))
            fT[i, c] -= flux
            if i < nr - 1:
                fT[i + 1, c] = flux
    for c in range(nc):
        fT[chilled, c] -= col[4, c] * (T[chilled, c] - ground)
    for i in range(nr):
        for c in range(nc):
            fT[i, c] *= wall.icap[i, c]
    if wall.axial_stride > 0:
        along(wall, T, 1.0, fT)


@inner
def along(wall, T, scale, fT):  # type: ignore[no-untyped-def]
    """Add conduction along the pipe between neighbors of one line, times a scale."""
    s = wall.axial_stride
    for i in range(wall.host_end):
        g = wall.axial[i] * scale
        for c in range(wall.axial_start, T.shape[1] - s):
            flux = g * (T[i, c] - T[i, c + s])
            fT[i, c] -= flux * wall.icap[i, c]
            fT[i, c + s] += flux * wall.icap[i, c + s]


@inner
def factor(wall, ua, gh, s):  # type: ignore[no-untyped-def]
    """Factors of I − γh J, from the outside in; conversions eliminated cell by cell."""
    nr, nc = wall.cap.shape
    nl, row, parts = wall.heat.shape[0], wall.liner_row, wall.parts
    con, cap, heat, col = wall.con, wall.cap, wall.heat, wall.col
    n0 = row + nl
    inv, ratio, out = s.inside[0], s.inside[1], s.outside
    keep, pull = s.small[6], s.small[7]
    for g in range(parts.shape[0] - 1):
        c = parts[g]
        back = 0.0
        for i in range(nr - 1, n0 - 1, -1):
            pivot = cap[i, c] + gh * (con[i, c] + con[i - 1, c]) - back
            if i == wall.chill_row:
                pivot += gh * col[4, c]
            out[0, i, g] = 1.0 / pivot
            out[1, i - 1, g] = gh * con[i - 1, c] / pivot
            back = gh * con[i - 1, c] * out[1, i - 1, g]
        for c in range(parts[g], parts[g + 1]):
            ratio[n0 - 1, c] = out[1, n0 - 1, g]
    R_T, R_a, flat_keep, flat_pull = s.thin[4], s.thin[5], s.thin[6], s.thin[7]
    for i in range(wall.hot.shape[0]):
        flat_keep[i] = 1.0 / (1.0 - min(gh * R_a[i], 0.5))
        flat_pull[i] = min(gh * R_T[i], 0.25 / max(wall.hot[i], 1e-30))
    for i in range(n0 - 1, -1, -1):
        above = con[i - 1] if i > 0 else ua
        k = i - row
        for c in range(nc):
            pivot = cap[i, c] + gh * (con[i, c] * (1.0 - ratio[i, c]) + above[c])
            if k >= 0:
                pivot -= heat[k, c] * pull[k, c] * keep[k, c]
            inv[i, c] = 1.0 / pivot
        if i > 0:
            for c in range(nc):
                ratio[i - 1, c] = gh * con[i - 1, c] * inv[i, c]


@inner
def inward(wall, r, ra, s):  # type: ignore[no-untyped-def]
    """Right-hand sides carried from the outside in, to s.big[7]."""
    nr, nc = wall.cap.shape
    nl, row, parts = wall.heat.shape[0], wall.liner_row, wall.parts
    cap, heat, b, keep = wall.cap, wall.heat, s.big[7], s.small[6]
    ratio = s.inside[1]
    n0 = row + nl
    for g in range(parts.shape[0] - 1):
        c0, c1 = parts[g], parts[g + 1]
        m = cap[nr - 1, c0]
        for c in range(c0, c1):
            b[nr - 1, c] = m * r[nr - 1, c]
        for i in range(nr - 2, n0 - 1, -1):
            m, w = cap[i, c0], s.outside[1, i, g]
            for c in range(c0, c1):
                b[i, c] = m * r[i, c] + w * b[i + 1, c]
    for k in range(nl - 1, -1, -1):
        i = row + k
        for c in range(nc):
            b[i, c] = cap[i, c] * r[i, c] + ratio[i, c] * b[i + 1, c]
            b[i, c] += heat[k, c] * (keep[k, c] - 1.0) * ra[k, c]
    for i in range(row - 1, -1, -1):
        for c in range(nc):
            b[i, c] = cap[i, c] * r[i, c] + ratio[i, c] * b[i + 1, c]
