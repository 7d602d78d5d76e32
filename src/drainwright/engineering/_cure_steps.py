"""Compiled time stepping: ROS2 with step control, Hermite output, events and logs.

Two-stage Rosenbrock method of second order (γ = 1 − 1/√2, L-stable), for which any
approximation of the Jacobian keeps the order. Energy integrals ride along as further unknowns.
"""

# ruff: noqa: PLR0917, PLR1730, SIM300
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from drainwright.engineering._compiled import inner, kernel
from drainwright.engineering._cure_gas import linear_march, march
from drainwright.engineering._cure_kernel import (
    conduction,
    factor,
    inward,
    outward,
    rates,
)

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
    """Asked-for times and where their fields go; log of every step."""

    times: Any
    T: Any
    a: Any
    log: Any


class State(NamedTuple):
    """Temperatures [row, column], conversions [liner row, column], and totals.

    `totals`: 0 time, 1 heat from gas, 2 heat lost outside, 3 next step, 4 event time, 5 its
    row, 6 its column, 7 peak temperature, 8 row, 9 column, 10 time, 12 steps, 14 hottest host,
    15 least conversion now, 16 its row, 17 its column, 18 warmest liner cell now.
    """

    T: Any
    a: Any
    totals: Any


class Scratch(NamedTuple):
    """Arrays of one step, made once.

    `big` [n, row, column]: 0 f, 1 f at the end, 2 T at the end, 3 first and 4 second
    increments, 5 right-hand side, 6 inverse pivots, 7 ratios. `small` [n, liner row, column]:
    0 rate, 1 rate at the end, 2 conversion at the end, 3 first and 4 second increments,
    5 elimination, 6 and 7 derivatives by temperature and conversion, 8 spare.
    """

    big: Any
    small: Any


def scratch_for(rows: int, columns: int, liner: int) -> Scratch:
    """Fresh scratch arrays for a problem's size."""
    return Scratch(np.zeros((8, rows, columns)), np.zeros((9, liner, columns)))


@inner
def _outside(wall, T):  # type: ignore[no-untyped-def]
    """Heat lost through the outer edge and to moving groundwater."""
    last = T.shape[0] - 1
    total = 0.0
    for c in range(T.shape[1]):
        lost = wall.con[last, c] * (T[last, c] - wall.soil_temperature)
        lost += wall.col[4, c] * (T[wall.chill_row, c] - wall.soil_temperature)
        total += wall.col[3, c] * lost
    return total


@inner
def _outside_change(wall, k):  # type: ignore[no-untyped-def]
    last = k.shape[0] - 1
    total = 0.0
    for c in range(k.shape[1]):
        lost = wall.con[last, c] * k[last, c] + wall.col[4, c] * k[wall.chill_row, c]
        total += wall.col[3, c] * lost
    return total


@inner
def derivative(wall, law, gas, t, T, a, s, gm, f, r):  # type: ignore[no-untyped-def]
    """Right-hand side; fills f, r and the rates' derivatives. Returns heat, left, front."""
    rates(law, T, a, wall.liner_row, r, s.small[6], s.small[7])
    heat, left, front = march(wall, gas, t, T, gm)
    conduction(wall, T, r, gm.cols[0], f)
    return heat, left, front


@inner
def attempt(wall, law, gas, t, h, state, s, gm, gt, heat0):  # type: ignore[no-untyped-def]
    """One step from f0, r0; fills T1, a1; returns error sums and energy increments."""
    gh = GAMMA * h
    factor(wall, gm.cols[1], gh, s.small[6], s.small[7], s.big[6], s.big[7], s.small[5])
    for j in range(gm.cells.shape[1]):
        gt.cells[6, j] = gm.cells[6, j]
    Q1, O1, Q2, O2 = 0.0, 0.0, heat0, _outside(wall, state.T)
    rT, ra = s.big[0], s.small[0]
    for stage in range(2):
        inward(wall, gh, rT, ra, s.small[7], s.small[5], s.big[7], s.big[5])
        dq = linear_march(wall, gas, gh, state.T, gm, s.big[5], s.big[6], s.big[4, 0])
        outward(wall, gh, s.big[5], s.big[6], s.small[6], s.small[5], ra, s.big[4], s.small[4])
        Q2 += gh * dq
        O2 += gh * _outside_change(wall, s.big[4])
        if stage == 0:
            _first_stage(h, state, s)
            rates(law, s.big[2], s.small[2], wall.liner_row, s.small[4], s.small[8], s.small[1])
            heat, _, _ = march(wall, gas, t + h, s.big[2], gt)
            conduction(wall, s.big[2], s.small[4], gt.cols[0], s.big[4])
            Q1, O1 = Q2, O2
            Q2, O2 = heat - 2.0 * Q1, _outside(wall, s.big[2]) - 2.0 * O1
            _less_twice(s)
            rT, ra = s.big[4], s.small[4]
    errT, erra = _combine(h, state, s)
    return errT, erra, h * (1.5 * Q1 + 0.5 * Q2), h * (1.5 * O1 + 0.5 * O2)


@inner
def _first_stage(h, state, s):  # type: ignore[no-untyped-def]
    """Keep the first increments and go a full step along them."""
    big, small = s.big, s.small
    T, a = state.T, state.a
    nr, nc = T.shape
    for i in range(nr):
        for c in range(nc):
            big[3, i, c] = big[4, i, c]
            big[2, i, c] = T[i, c] + h * big[4, i, c]
    for k in range(a.shape[0]):
        for c in range(nc):
            small[3, k, c] = small[4, k, c]
            small[2, k, c] = min(max(a[k, c] + h * small[4, k, c], 0.0), 1.0)


@inner
def _less_twice(s):  # type: ignore[no-untyped-def]
    big, small = s.big, s.small
    nr, nc = big.shape[1], big.shape[2]
    for i in range(nr):
        for c in range(nc):
            big[4, i, c] -= 2.0 * big[3, i, c]
    for k in range(small.shape[1]):
        for c in range(nc):
            small[4, k, c] -= 2.0 * small[3, k, c]


@inner
def _combine(h, state, s):  # type: ignore[no-untyped-def]
    """The step's end from both stages; sums of the squared differences of the two orders."""
    big, small = s.big, s.small
    T, a = state.T, state.a
    nr, nc = T.shape
    errT, erra = 0.0, 0.0
    for i in range(nr):
        for c in range(nc):
            k1, k2 = big[3, i, c], big[4, i, c]
            e = 0.5 * h * (k1 + k2)
            errT += e * e
            big[2, i, c] = T[i, c] + h * (1.5 * k1 + 0.5 * k2)
    for k in range(a.shape[0]):
        for c in range(nc):
            k1, k2 = small[3, k, c], small[4, k, c]
            e = 0.5 * h * (k1 + k2)
            erra += e * e
            small[2, k, c] = min(max(a[k, c] + h * (1.5 * k1 + 0.5 * k2), 0.0), 1.0)
    return errT, erra


@inner
def _hermite(u, h, y0, f0, y1, f1):  # type: ignore[no-untyped-def]
    v = u - 1.0
    return (
        (1.0 + 2.0 * u) * v * v * y0 + u * u * (3.0 - 2.0 * u) * y1 + h * u * v * (v * f0 + u * f1)
    )


@inner
def _write(out, index, t, h, state, s):  # type: ignore[no-untyped-def]
    """Hermite values at every asked-for time up to t + h; returns the next index."""
    nc = state.T.shape[1]
    nl = state.a.shape[0]
    while index < out.times.shape[0] and out.times[index] <= t + h * (1.0 + 1e-12):
        u = min(max((out.times[index] - t) / h, 0.0), 1.0)
        for i in range(out.T.shape[1]):
            for c in range(nc):
                out.T[index, i, c] = _hermite(
                    u, h, state.T[i, c], s.big[0, i, c], s.big[2, i, c], s.big[1, i, c]
                )
        if out.a.shape[0] > 0:
            for k in range(nl):
                for c in range(nc):
                    out.a[index, k, c] = _hermite(
                        u, h, state.a[k, c], s.small[0, k, c], s.small[2, k, c], s.small[1, k, c]
                    )
        index += 1
    return index


@inner
def _reached(stop, h, state, s):  # type: ignore[no-untyped-def]
    """Share of the step at which the last liner cell reaches the target, and the cell; else 2."""
    last, row, column = -1.0, 0, 0
    for k in range(state.a.shape[0]):
        for c in range(state.a.shape[1]):
            if s.small[2, k, c] < stop.target:
                return 2.0, 0, 0
    for k in range(state.a.shape[0]):
        for c in range(state.a.shape[1]):
            if state.a[k, c] < stop.target:
                low, high = max(last, 0.0), 1.0
                y = _hermite(
                    low, h, state.a[k, c], s.small[0, k, c], s.small[2, k, c], s.small[1, k, c]
                )
                if y >= stop.target:
                    continue
                for _ in range(40):
                    u = 0.5 * (low + high)
                    y = _hermite(
                        u, h, state.a[k, c], s.small[0, k, c], s.small[2, k, c], s.small[1, k, c]
                    )
                    if y < stop.target:
                        low = u
                    else:
                        high = u
                last, row, column = high, k, c
    return max(last, 0.0), row, column


@inner
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
                y = _hermite(u, h, state.T[i, c], s.big[0, i, c], s.big[2, i, c], s.big[1, i, c])
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


@inner
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
    state.totals[14] = max(state.totals[14], host)
    state.totals[15], state.totals[16], state.totals[17] = least, k0, c0
    state.totals[18] = warmest
    last = gm.cells.shape[1] - 1
    if n < out.log.shape[0]:
        out.log[n, 0] = t
        out.log[n, 1] = sums[0]
        out.log[n, 2] = sums[1]
        out.log[n, 3] = sums[2]
        out.log[n, 4] = least
        out.log[n, 5] = warmest
        out.log[n, 6] = host
        out.log[n, 7] = gm.cells[6, last]
        out.log[n, 8] = tot[1]


@inner
def _events(wall, stop, watch, t, h, state, s):  # type: ignore[no-untyped-def]
    """Why the step ends before its end, if so, and the share of it that counts."""
    tot = state.totals
    reason, share = DONE, 1.0
    if watch:
        u, k, c = _reached(stop, h, state, s)
        if u <= 1.0:
            tot[4], tot[5], tot[6] = t + u * h, k, c
            if stop.at_event == 1:
                reason, share = TARGET, u
    if stop.cool > 0.0:
        u = _cooled(wall, stop, h, state, s)
        if u <= 1.0:
            reason, share = COOL, u
    return reason, share


@inner
def _take(state, s):  # type: ignore[no-untyped-def]
    """The step's end becomes the start of the next."""
    big, small = s.big, s.small
    T, a = state.T, state.a
    nr, nc = T.shape
    for i in range(nr):
        for c in range(nc):
            T[i, c] = big[2, i, c]
            big[0, i, c] = big[1, i, c]
    for k in range(a.shape[0]):
        for c in range(nc):
            a[k, c] = small[2, k, c]
            small[0, k, c] = small[1, k, c]


@inner
def _back(state, s):  # type: ignore[no-untyped-def]
    """Make the start of the step current again, to take a shorter one."""
    big, small = s.big, s.small
    T, a = state.T, state.a
    nr, nc = T.shape
    for i in range(nr):
        for c in range(nc):
            big[2, i, c] = T[i, c]
    for k in range(a.shape[0]):
        for c in range(nc):
            small[2, k, c] = a[k, c]


@kernel
def integrate(wall, law, gas, stop, state, out, s, gm, gt, tolerance):  # type: ignore[no-untyped-def]
    """Advance the state to the end or an event; returns why it stopped and the log's length.

    Each turn evaluates the candidate T1, a1 (at first the start itself, h = 0), takes it, and
    tries the next step. A step that an event cuts goes back to its start and is done again.
    """
    nr, nc = state.T.shape
    nl = state.a.shape[0]
    tot = state.totals
    t, wish, h = tot[0], tot[3], 0.0
    index, n, tries = 0, 0, 0
    watch = tot[4] < 0.0 and stop.target > 0.0
    again, cut, reason = False, False, DONE
    err, dQ, dO = 1.0, 0.0, 0.0
    while index < out.times.shape[0] and out.times[index] < t:
        index += 1
    _back(state, s)
    while True:
        sums = derivative(wall, law, gas, t + h, s.big[2], s.small[2], s, gm, s.big[1], s.small[1])
        if h > 0.0 and not cut:
            reason, share = _events(wall, stop, watch, t, h, state, s)
            watch = watch and tot[4] < 0.0
            if reason != DONE and share < 1.0:
                wish, h, cut = max(share * h, 1e-6), 0.0, True
                _back(state, s)
                continue
        if h > 0.0:
            index = _write(out, index, t, h, state, s)
            t += h
            tot[1] += dQ
            tot[2] += dO
            tot[12] += 1.0
        again = cut and h == 0.0
        _take(state, s)
        if not again:
            _note(wall, out, n, t, state, gm, sums)
            n += 1
        if (reason != DONE and not again) or t >= stop.end * (1.0 - 1e-12):
            break
        while True:
            tries += 1
            h = min(wish, stop.end - t)
            if h < stop.end - t < 2.0 * h and not again:
                h = 0.5 * (stop.end - t)
            errT, erra, dQ, dO = attempt(wall, law, gas, t, h, state, s, gm, gt, sums[0])
            err = math.sqrt(errT / (nr * nc)) / tolerance
            err = max(err, math.sqrt(erra / (nl * nc)) / (tolerance * 0.005))
            if again or err <= 1.0 or tries > 100000:
                break
            wish = h * max(0.2, 0.85 / math.sqrt(err)) if err < 1e9 else 0.1 * h
        if tries > 100000:
            tot[0] = t
            return TOO_MANY, n
        wish = h * min(4.0, max(0.3, 0.85 / math.sqrt(max(err, 1e-6))))
    tot[0], tot[3] = t, wish
    return reason, n


@kernel
def right_hand_side(wall, law, gas, t, T, a, s, gm):  # type: ignore[no-untyped-def]
    """The equations alone, for other solvers; the result is in s.big[0] and s.small[0]."""
    heat, _, _ = derivative(wall, law, gas, t, T, a, s, gm, s.big[0], s.small[0])
    return heat
