"""Compiled time stepping: ROS2 with step control, Hermite output, events and logs.

Two-stage Rosenbrock method of second order (γ = 1 − 1/√2, L-stable), for which any
approximation of the Jacobian keeps the order. Energy integrals ride along as further unknowns.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from drainwright.engineering._compiled import kernel
from drainwright.engineering._cure_gas import Marched, linear_march, march
from drainwright.engineering._cure_kernel import conduction, factor, inward, outward, rates

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)
LOG_COLUMNS = 9
DONE, TARGET, COOL, TOO_MANY = 0, 1, 2, 3


class Stop(NamedTuple):
    """When to stop: at `end`, at least conversion `target`, or warmest liner cell `cool`."""

    end: float
    target: float
    cool: float
    at_event: int


class Output(NamedTuple):
    """Asked-for times and rows, and where their values go; log of every step."""

    times: Any
    rows: Any
    T: Any
    a: Any
    log: Any
    Tg_log: Any


class State(NamedTuple):
    """Temperatures [row, column], conversions [liner row, column], and totals.

    `totals`: time, heat from gas, heat lost outside, next step, event time, event row,
    event column, peak temperature, its row, its column, its time, least margin seen, steps.
    """

    T: Any
    a: Any
    totals: Any
    peak: Any


class Scratch(NamedTuple):
    """Arrays of one step, made once."""

    f0: Any
    f1: Any
    r0: Any
    r1: Any
    T1: Any
    a1: Any
    kT: Any
    ka: Any
    lT: Any
    la: Any
    b: Any
    inv: Any
    ratio: Any
    keep: Any
    R_T: Any
    R_a: Any
    spare: Any


def scratch_for(rows: int, columns: int, liner: int) -> Scratch:
    """Fresh scratch arrays for a problem's size."""
    big, small = (rows, columns), (liner, columns)
    shapes = (big, big, small, small, big, small, big, small, big, small, big, big, big) + (
        small,
    ) * 4
    return Scratch(*(np.zeros(shape) for shape in shapes))


@kernel
def _outside(wall, T):  # type: ignore[no-untyped-def]
    """Heat lost through the outer edge and to moving groundwater."""
    last = T.shape[0] - 1
    total = 0.0
    for c in range(T.shape[1]):
        lost = wall.con[last, c] * (T[last, c] - wall.soil_temperature)
        lost += wall.chill[c] * (T[wall.chill_row, c] - wall.soil_temperature)
        total += wall.weight[c] * lost
    return total


@kernel
def _outside_change(wall, k):  # type: ignore[no-untyped-def]
    last = k.shape[0] - 1
    total = 0.0
    for c in range(k.shape[1]):
        lost = wall.con[last, c] * k[last, c] + wall.chill[c] * k[wall.chill_row, c]
        total += wall.weight[c] * lost
    return total


@kernel
def derivative(wall, law, gas, t, T, a, s, gm, f, r):  # type: ignore[no-untyped-def]
    """Right-hand side; fills f, r and the rates' derivatives. Returns heat, left, front."""
    rates(law, T, a, wall.liner_row, r, s.R_T, s.R_a)
    heat, left, front = march(wall, gas, t, T, gm)
    conduction(wall, T, r, gm.q, f)
    return heat, left, front


@kernel
def attempt(wall, law, gas, t, h, state, s, gm, gt, heat0):  # type: ignore[no-untyped-def]
    """One step from f0, r0; fills T1, a1; returns error sums and energy increments."""
    nr, nc = state.T.shape
    nl = state.a.shape[0]
    gh = GAMMA * h
    factor(wall, gm.ua, gh, s.R_T, s.R_a, s.inv, s.ratio, s.keep)
    inward(wall, gh, s.f0, s.r0, s.R_a, s.keep, s.ratio, s.b)
    dq = linear_march(wall, gas, gh, state.T, gm, s.b, s.inv, s.kT[0])
    outward(wall, gh, s.b, s.inv, s.R_T, s.keep, s.r0, s.kT, s.ka)
    Q1 = heat0 + gh * dq
    O1 = _outside(wall, state.T) + gh * _outside_change(wall, s.kT)
    for i in range(nr):
        for c in range(nc):
            s.T1[i, c] = state.T[i, c] + h * s.kT[i, c]
    for k in range(nl):
        for c in range(nc):
            s.a1[k, c] = min(max(state.a[k, c] + h * s.ka[k, c], 0.0), 1.0)
    gt.Tg[:] = gm.Tg
    rates(law, s.T1, s.a1, wall.liner_row, s.la, s.spare, s.r1)
    heat1, _, _ = march(wall, gas, t + h, s.T1, gt)
    conduction(wall, s.T1, s.la, gt.q, s.lT)
    O2 = _outside(wall, s.T1) - 2.0 * O1
    for i in range(nr):
        for c in range(nc):
            s.lT[i, c] -= 2.0 * s.kT[i, c]
    for k in range(nl):
        for c in range(nc):
            s.la[k, c] -= 2.0 * s.ka[k, c]
    inward(wall, gh, s.lT, s.la, s.R_a, s.keep, s.ratio, s.b)
    dq = linear_march(wall, gas, gh, state.T, gm, s.b, s.inv, s.lT[0])
    outward(wall, gh, s.b, s.inv, s.R_T, s.keep, s.la, s.lT, s.la)
    Q2 = heat1 - 2.0 * Q1 + gh * dq
    O2 += gh * _outside_change(wall, s.lT)
    errT, erra = 0.0, 0.0
    for i in range(nr):
        for c in range(nc):
            k1, k2 = s.kT[i, c], s.lT[i, c]
            e = 0.5 * h * (k1 + k2)
            errT += e * e
            s.T1[i, c] = state.T[i, c] + h * (1.5 * k1 + 0.5 * k2)
    for k in range(nl):
        for c in range(nc):
            k1, k2 = s.ka[k, c], s.la[k, c]
            e = 0.5 * h * (k1 + k2)
            erra += e * e
            s.a1[k, c] = min(max(state.a[k, c] + h * (1.5 * k1 + 0.5 * k2), 0.0), 1.0)
    return errT, erra, h * (1.5 * Q1 + 0.5 * Q2), h * (1.5 * O1 + 0.5 * O2)


@kernel
def _hermite(u, h, y0, f0, y1, f1):  # type: ignore[no-untyped-def]
    v = u - 1.0
    return (1.0 + 2.0 * u) * v * v * y0 + u * u * (3.0 - 2.0 * u) * y1 + h * u * v * (v * f0 + u * f1)


@kernel
def _write(out, index, t, h, state, s):  # type: ignore[no-untyped-def]
    """Hermite values at every asked-for time up to t + h; returns the next index."""
    nc = state.T.shape[1]
    nl = state.a.shape[0]
    while index < out.times.shape[0] and out.times[index] <= t + h * (1.0 + 1e-12):
        u = min(max((out.times[index] - t) / h, 0.0), 1.0)
        for n in range(out.rows.shape[0]):
            i = out.rows[n]
            for c in range(nc):
                out.T[index, n, c] = _hermite(
                    u, h, state.T[i, c], s.f0[i, c], s.T1[i, c], s.f1[i, c]
                )
        if out.a.shape[0] > 0:
            for k in range(nl):
                for c in range(nc):
                    out.a[index, k, c] = _hermite(
                        u, h, state.a[k, c], s.r0[k, c], s.a1[k, c], s.r1[k, c]
                    )
        index += 1
    return index


@kernel
def _reached(stop, h, state, s):  # type: ignore[no-untyped-def]
    """Share of the step at which the last liner cell reaches the target, and the cell; else 2."""
    last, row, column = -1.0, 0, 0
    for k in range(state.a.shape[0]):
        for c in range(state.a.shape[1]):
            if s.a1[k, c] < stop.target:
                return 2.0, 0, 0
    for k in range(state.a.shape[0]):
        for c in range(state.a.shape[1]):
            if state.a[k, c] < stop.target:
                low, high = max(last, 0.0), 1.0
                y = _hermite(low, h, state.a[k, c], s.r0[k, c], s.a1[k, c], s.r1[k, c])
                if y >= stop.target:
                    continue
                for _ in range(40):
                    u = 0.5 * (low + high)
                    y = _hermite(u, h, state.a[k, c], s.r0[k, c], s.a1[k, c], s.r1[k, c])
                    if y < stop.target:
                        low = u
                    else:
                        high = u
                last, row, column = high, k, c
    return max(last, 0.0), row, column


@kernel
def _cooled(wall, stop, h, state, s):  # type: ignore[no-untyped-def]
    """Share of the step at which the warmest liner cell is at the limit; else 2."""
    nl = state.a.shape[0]
    row = wall.liner_row
    low, high = 0.0, 1.0
    for step in range(31):
        u = 1.0 if step == 0 else 0.5 * (low + high)
        warm = False
        for k in range(nl):
            i = row + k
            for c in range(state.T.shape[1]):
                y = _hermite(u, h, state.T[i, c], s.f0[i, c], s.T1[i, c], s.f1[i, c])
                if y > stop.cool:
                    warm = True
                    break
            if warm:
                break
        if step == 0 and warm:
            return 2.0
        if warm:
            low = u
        elif step > 0:
            high = u
    return high


@kernel
def _note(wall, out, n, t, state, gm, sums):  # type: ignore[no-untyped-def]
    """Log a step and keep the peaks of liner and host."""
    nl, nc = state.a.shape
    row = wall.liner_row
    least, k0, c0 = 2.0, 0, 0
    warmest, host = 0.0, 0.0
    tot = state.totals
    for k in range(nl):
        for c in range(nc):
            if state.a[k, c] < least:
                least, k0, c0 = state.a[k, c], k, c
            T = state.T[row + k, c]
            if T > warmest:
                warmest = T
                if T > tot[7]:
                    tot[7], tot[8], tot[9], tot[10] = T, k, c, t
    for i in range(row + nl, wall.host_end):
        for c in range(nc):
            if state.T[i, c] > host:
                host = state.T[i, c]
    state.peak[0] = max(state.peak[0], host)
    state.peak[1], state.peak[2], state.peak[3] = least, k0, c0
    state.peak[4] = warmest
    last = gm.Tg.shape[0] - 1
    if n < out.log.shape[0]:
        out.log[n, 0] = t
        out.log[n, 1] = sums[0]
        out.log[n, 2] = sums[1]
        out.log[n, 3] = sums[2]
        out.log[n, 4] = least
        out.log[n, 5] = warmest
        out.log[n, 6] = host
        out.log[n, 7] = gm.Tg[last]
        out.log[n, 8] = tot[1]


@kernel
def integrate(wall, law, gas, stop, state, out, s, gm, gt, tolerance):  # type: ignore[no-untyped-def]
    """Advance the state to the end or an event; returns why it stopped and the log's length."""
    nr, nc = state.T.shape
    nl = state.a.shape[0]
    tot = state.totals
    t, h = tot[0], tot[3]
    index, n, tries = 0, 0, 0
    watch = tot[4] < 0.0 and stop.target > 0.0
    sums = derivative(wall, law, gas, t, state.T, state.a, s, gm, s.f0, s.r0)
    while index < out.times.shape[0] and out.times[index] < t:
        index += 1
    _note(wall, out, n, t, state, gm, sums)
    n += 1
    while t < stop.end * (1.0 - 1e-12):
        tries += 1
        if tries > 200000:
            tot[0], tot[3] = t, h
            return TOO_MANY, n
        h = min(h, stop.end - t)
        if h < stop.end - t < 2.0 * h:
            h = 0.5 * (stop.end - t)
        errT, erra, dQ, dO = attempt(wall, law, gas, t, h, state, s, gm, gt, sums[0])
        err = math.sqrt(errT / (nr * nc)) / tolerance
        err = max(err, math.sqrt(erra / (nl * nc)) / (tolerance * 0.005))
        if not err < 1e9:
            h *= 0.1
            continue
        if err > 1.0:
            h *= max(0.2, 0.85 / math.sqrt(err))
            continue
        new = derivative(wall, law, gas, t + h, s.T1, s.a1, s, gm, s.f1, s.r1)
        reason, u = DONE, 1.0
        if watch:
            u, k, c = _reached(stop, h, state, s)
            if u <= 1.0:
                tot[4], tot[5], tot[6] = t + u * h, k, c
                watch = False
                reason = TARGET if stop.at_event == 1 else DONE
        if stop.cool > 0.0:
            u = _cooled(wall, stop, h, state, s)
            reason = COOL if u <= 1.0 else DONE
        if reason != DONE and u < 1.0:
            h = max(u * h, 1e-6)
            march(wall, gas, t, state.T, gm)
            rates(law, state.T, state.a, wall.liner_row, s.r0, s.R_T, s.R_a)
            _, _, dQ, dO = attempt(wall, law, gas, t, h, state, s, gm, gt, sums[0])
            new = derivative(wall, law, gas, t + h, s.T1, s.a1, s, gm, s.f1, s.r1)
        index = _write(out, index, t, h, state, s)
        t += h
        tot[1] += dQ
        tot[2] += dO
        tot[12] += 1.0
        state.T[:, :] = s.T1
        state.a[:, :] = s.a1
        s.f0[:, :] = s.f1
        s.r0[:, :] = s.r1
        sums = new
        _note(wall, out, n, t, state, gm, sums)
        n += 1
        h *= min(4.0, max(0.3, 0.85 / math.sqrt(max(err, 1e-6))))
        if reason != DONE:
            tot[0], tot[3] = t, h
            return reason, n
    tot[0], tot[3] = t, h
    return DONE, n
