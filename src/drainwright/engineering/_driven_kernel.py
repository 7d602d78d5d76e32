"""Compiled part of the measured-gas cure model: one implicit step after another.

Second-order backward differences with variable steps (BDF2); the rate of cure is linearized
at the extrapolated state, conversions are eliminated cell by cell, each column from the soil
inwards, and the gas is solved cell after cell along the pipe. Rows count from the inside out.
"""

# ruff: noqa: PLR0917
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from drainwright.engineering._compiled import inner, kernel

RATIO = 0.62198
"""Molar masses of water and air."""


class Columns(NamedTuple):
    """Arrays of the radial columns, per meter of pipe and full girth.

    `cap`, `con` are [row, column] (the last row conducts to the undisturbed soil), `heat` is
    [liner row, column]; `gas` holds rows of conductances to condensing steam, dry gas and air,
    the weight (length times share of the girth), and the conductance to water outside.
    """

    cap: Any
    con: Any
    heat: Any
    gas: Any
    first: Any
    """First column of each gas cell, and one more [cell + 1]."""
    fill: Any
    """Share of each gas cell that steam reaches [cell]."""
    wet_row: int
    ground: float


class Rate(NamedTuple):
    """The resin's rate law as plain numbers."""

    lee: int
    glass: int
    A1: float
    A2: float
    A3: float
    B1: float
    B2: float
    B3: float
    m: float
    n: float
    r: float
    Tg0: float
    Tg_span: float
    Tg_lambda: float
    width: float


class GasIn(NamedTuple):
    """The gas at every time: at the inlet, at the far end, pressure, and whether steam flows."""

    times: Any
    inlet: Any
    far: Any
    pressure: Any
    steam: Any
    supply: float
    air: float
    latent: float
    table: Any
    """Saturation pressure at TABLE_FROM + k · TABLE_STEP."""


TABLE_FROM, TABLE_STEP, TABLE_SIZE = 240.0, 0.5, 401


class Kept(NamedTuple):
    """What is kept at every time."""

    gas: Any
    face: Any
    """Outer face of the liner [time, column]."""
    inside: Any
    least: Any
    """Least conversion across the wall [time, column]."""
    warmest: Any


@inner
def _boils(table, T):  # type: ignore[no-untyped-def]
    """Saturation pressure, straight between the table's logarithms."""
    u = min(max((T - 240.0) / 0.5, 0.0), table.shape[0] - 1.001)
    k = int(u)
    return np.exp(table[k] + (u - k) * (table[k + 1] - table[k]))


@inner
def _rate(law, a, T):  # type: ignore[no-untyped-def]
    """Rate of cure and its slopes by temperature and conversion."""
    a = min(max(a, 0.0), 1.0)
    u = 1.0 / T
    k1 = law.A1 * np.exp(-law.B1 * u)
    k2 = law.A2 * np.exp(-law.B2 * u)
    if law.lee == 0:
        left = max(1.0 - a, 1e-12)
        ceiling = max(law.r - a, 1e-12)
        h = 0.5 * law.n
        shape = (left * ceiling) ** h
        power = max(a, 1e-12) ** law.m
        k = k1 + k2 * power
        R = k * shape
        R_T = (k1 * law.B1 + k2 * law.B2 * power) * u * u * shape
        R_a = k2 * law.m * power / max(a, 1e-6) * shape - R * h * (1.0 / left + 1.0 / ceiling)
    elif a <= 0.3:
        k = k1 + k2 * a
        shape = (1.0 - a) * (0.47 - a)
        R = max(k, 0.0) * shape
        R_T = (k1 * law.B1 + k2 * law.B2 * a) * u * u * shape if k > 0.0 else 0.0
        R_a = k2 * shape + k * (2.0 * a - 1.47) if k > 0.0 else 0.0
    else:
        k3 = law.A3 * np.exp(-law.B3 * u)
        R = k3 * (1.0 - a)
        R_T = R * law.B3 * u * u
        R_a = -k3
    if law.glass == 1:
        free = 1.0 / (1.0 - (1.0 - law.Tg_lambda) * a)
        span = law.Tg_span * law.Tg_lambda
        x = min(max((law.Tg0 + span * a * free - T) / law.width, -60.0), 60.0)
        s = 1.0 / (1.0 + np.exp(x))
        slope = s * (1.0 - s) / law.width
        R_T = R_T * s + R * slope
        R_a = R_a * s - R * slope * span * free * free
        R = R * s
    return R, R_T, R_a


@inner
def _inwards(cols, law, h, c, T, T1, a, a1, w, flow):  # type: ignore[no-untyped-def]
    """Eliminate a column from the soil inwards; `w` is [5, row]: diagonal, right side, rates."""
    rows, liner = T.shape[0], a.shape[0]
    c0, c1, c2, ratio = flow
    for i in range(rows):
        up = cols.con[i, c]
        down = cols.con[i - 1, c] if i > 0 else 0.0
        w[0, i] = c0 * cols.cap[i, c] + h * (up + down)
        w[1, i] = cols.cap[i, c] * (c1 * T[i, c] - c2 * T1[i, c])
    w[1, rows - 1] += h * cols.con[rows - 1, c] * cols.ground
    w[0, cols.wet_row] += h * cols.gas[4, c]
    w[1, cols.wet_row] += h * cols.gas[4, c] * cols.ground
    for i in range(liner):
        Ts = T[i, c] + ratio * (T[i, c] - T1[i, c])
        As = min(max(a[i, c] + ratio * (a[i, c] - a1[i, c]), 0.0), 1.0)
        R, R_T, R_a = _rate(law, As, Ts)
        R_a = min(R_a, 0.4 / h)
        known = c1 * a[i, c] - c2 * a1[i, c]
        q = R - R_T * Ts - R_a * As
        D = c0 - h * R_a
        w[2, i] = known + h * q
        w[3, i] = h * R_T
        w[4, i] = D
        w[0, i] -= h * cols.heat[i, c] * c0 * R_T / D
        w[1, i] += h * cols.heat[i, c] * (c0 * q + R_a * known) / D
    for i in range(rows - 1, 0, -1):
        f = h * cols.con[i - 1, c] / w[0, i]
        w[0, i - 1] -= f * h * cols.con[i - 1, c]
        w[1, i - 1] += f * w[1, i]


@inner
def _drawn(cols, j, x, h, base, wet):  # type: ignore[no-untyped-def]
    """Heat that a gas cell at temperature x gives to its columns [W]."""
    total = 0.0
    for c in range(cols.first[j], cols.first[j + 1]):
        own = base[1, c] / base[0, c]
        U = cols.gas[0, c] if x > own else cols.gas[1, c]
        G = U * base[0, c] / (base[0, c] + h * U)
        total += cols.gas[3, c] * G * (x - own)
    return total * cols.fill[j] * wet


@inner
def _cell(cols, gas, j, k, h, base, m, cap):  # type: ignore[no-untyped-def]
    """Temperature of a gas cell with steam, and the steam that leaves it."""
    P = gas.pressure[k]
    air = gas.air
    ps = _boils(gas.table, cap)
    out = m - _drawn(cols, j, cap, h, base, 1.0) / gas.latent
    if ((P - ps) * out - RATIO * air * ps >= 0.0 or ps >= P) and out > 0.0:
        return cap, out
    low, high = cap - 5.0, cap
    for c in range(cols.first[j], cols.first[j + 1]):
        low = min(low, base[1, c] / base[0, c] - 5.0)
    low = min(low, cap - 5.0)
    for _ in range(60):
        x = 0.5 * (low + high)
        ps = _boils(gas.table, x)
        out = m - _drawn(cols, j, x, h, base, 1.0) / gas.latent
        if (P - ps) * out - RATIO * air * ps > 0.0:
            low = x
        else:
            high = x
        if high - low < 1e-3:
            break
    x = 0.5 * (low + high)
    return x, max(m - _drawn(cols, j, x, h, base, 1.0) / gas.latent, 0.0)


@inner
def _gas_along(cols, gas, k, h, base, gT, conduct):  # type: ignore[no-untyped-def]
    """Gas temperature of every cell and the conductance of every column, for one step."""
    cells = cols.fill.shape[0]
    m = gas.supply
    for j in range(cells):
        if gas.steam[k]:
            x, m = _cell(cols, gas, j, k, h, base, m, gas.inlet[k])
        else:
            share = (j + 0.5) / cells
            x = gas.inlet[k] + share * (gas.far[k] - gas.inlet[k])
        gT[j] = x
        for c in range(cols.first[j], cols.first[j + 1]):
            own = base[1, c] / base[0, c]
            U = cols.gas[2, c]
            if gas.steam[k]:
                U = cols.gas[0, c] if x > own else cols.gas[1, c]
            conduct[c] = U * cols.fill[j]


@inner
def _outwards(cols, h, c, gT, U, T, T1, a, a1, w):  # type: ignore[no-untyped-def]
    """Solve a column from the inside out; the old state becomes the one before."""
    rows, liner = T.shape[0], a.shape[0]
    x = (w[1, 0] + h * U * gT) / (w[0, 0] + h * U)
    for i in range(rows):
        if i > 0:
            x = (w[1, i] + h * cols.con[i - 1, c] * x) / w[0, i]
        T1[i, c] = T[i, c]
        T[i, c] = x
        if i < liner:
            new = (w[2, i] + w[3, i] * x) / w[4, i]
            a1[i, c] = a[i, c]
            a[i, c] = min(max(new, a1[i, c]), 1.0)


@inner
def _keep(cols, kept, k, T, a, gT, half):  # type: ignore[no-untyped-def]
    """Note gas, outer face of the liner, inside, least conversion and warmest cell."""
    liner = a.shape[0]
    for j in range(gT.shape[0]):
        kept.gas[k, j] = gT[j]
    for c in range(T.shape[1]):
        flux = cols.con[liner - 1, c] * (T[liner - 1, c] - T[liner, c])
        kept.face[k, c] = T[liner - 1, c] - flux * half[c]
        kept.inside[k, c] = T[0, c]
        least, warm = 1.0, 0.0
        for i in range(liner):
            least = min(least, a[i, c])
            warm = max(warm, T[i, c])
        kept.least[k, c] = least
        kept.warmest[k, c] = warm


@kernel
def follow_gas(cols, law, gas, T, a, half, kept):  # type: ignore[no-untyped-def]
    """Carry T and a through all times of the gas; fills `kept`. `half`: outer half cell [m K/W]."""
    rows, nc = T.shape
    T1, a1 = T.copy(), a.copy()
    work = np.empty((nc, 5, rows))
    base = np.empty((2, nc))
    conduct = np.empty(nc)
    gT = np.empty(cols.fill.shape[0])
    for j in range(gT.shape[0]):
        gT[j] = gas.inlet[0]
    _keep(cols, kept, 0, T, a, gT, half)
    before = 0.0
    for k in range(1, gas.times.shape[0]):
        h = gas.times[k] - gas.times[k - 1]
        restart = before == 0.0 or gas.steam[k] != gas.steam[k - 1]
        w = 0.0 if restart else h / before
        flow = (1.0, 1.0, 0.0, 0.0)
        if not restart:
            flow = ((1.0 + 2.0 * w) / (1.0 + w), 1.0 + w, w * w / (1.0 + w), w)
        for c in range(nc):
            _inwards(cols, law, h, c, T, T1, a, a1, work[c], flow)
            base[0, c] = work[c, 0, 0]
            base[1, c] = work[c, 1, 0]
        _gas_along(cols, gas, k, h, base, gT, conduct)
        for j in range(gT.shape[0]):
            for c in range(cols.first[j], cols.first[j + 1]):
                _outwards(cols, h, c, gT[j], conduct[c], T, T1, a, a1, work[c])
        _keep(cols, kept, k, T, a, gT, half)
        before = h
