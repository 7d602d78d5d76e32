"""Compiled time stepping: ROS2 with step control, Hermite output, events and logs.

Two-stage Rosenbrock method of second order (γ = 1 − 1/√2, L-stable), for which any
approximation of the Jacobian keeps the order. Energy integrals ride along as further unknowns.

What the stages solve gives J k for nothing: h J k = (k − r)/γ for the right-hand side r. So f at
a stage and at the step's end is f at the start, plus that, plus what is not linear: the rates and
the gas. Conduction is evaluated once, at the start of a phase.
"""

# ruff: noqa: PLR0915, PLR0917
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

import math
from typing import Any, NamedTuple

from drainwright.engineering._compiled import inner, kernel
from drainwright.engineering._cure_gas import linear_march, march
from drainwright.engineering._cure_kernel import (
    along,
    conduction,
    factor,
    inward,
    rates,
    rates_and_slopes,
)

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)
IG = 1.0 / GAMMA
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
def _attempt(wall, law, gas, t, h, p, s, gm, gt, heat0):  # type: ignore[no-untyped-def]
    """One step from f0, r0; fills T1, a1, most of f1; returns error sums, energy increments."""
    gh = GAMMA * h
    big, small = s.big, s.small
    factor(wall, gm.cols[1], gh, s)
    for j in range(gm.cells.shape[1]):
        gt.cells[6, j] = gm.cells[6, j]
    inward(wall, big[2 + p], small[2 + p], s)
    dq = linear_march(wall, gas, gh, gm, big[7, 0], s.inside[0, 0], big[4, 0], gm.cols[2])
    Q1 = heat0 + gh * dq
    _outward(wall, big[4], s)
    _full_step(wall, h, p, s)
    low, end = wall.liner_row * big.shape[2], wall.liner_row * big.shape[2] + s.thin.shape[1]
    rates(law, s.flat[1 - p, low:end], s.thin[1 - p], s.thin[10])
    heat, _, _ = march(wall, gas, t + h, big[1 - p], gt)
    _second_side(wall, h, p, s, gm, gt)
    inward(wall, big[6], small[9], s)
    dq = linear_march(wall, gas, gh, gm, big[7, 0], s.inside[0, 0], big[5, 0], gm.cols[3])
    Q2 = heat - 2.0 * Q1 + gh * dq
    _outward(wall, big[5], s)
    errT, erra = _step_end(wall, h, p, s)
    o1, o2 = _outside_change(wall, big[4]), _outside_change(wall, big[5])
    o0 = _outside(wall, big[p])
    O1 = o0 + gh * o1
    O2 = o0 + h * o1 - 2.0 * O1 + gh * o2
    return errT, erra, h * (1.5 * Q1 + 0.5 * Q2), h * (1.5 * O1 + 0.5 * O2)


@inner
def _outward(wall, k, s):  # type: ignore[no-untyped-def]
    """Increments from the inside out; those of row 0 are known from the gas."""
    nr, nc = wall.cap.shape
    n0, parts, b = wall.liner_row + wall.heat.shape[0], wall.parts, s.big[7]
    inv, ratio = s.inside[0], s.inside[1]
    for i in range(1, n0):
        for c in range(nc):
            k[i, c] = b[i, c] * inv[i, c] + ratio[i - 1, c] * k[i - 1, c]
    for g in range(parts.shape[0] - 1):
        for i in range(n0, nr):
            v, w = s.outside[0, i, g], s.outside[1, i - 1, g]
            for c in range(parts[g], parts[g + 1]):
                k[i, c] = b[i, c] * v + w * k[i - 1, c]


@inner
def _full_step(wall, h, p, s):  # type: ignore[no-untyped-def]
    """First increments of conversion; a full step along the first increments in the liner."""
    low = wall.liner_row * wall.cap.shape[1]
    end = low + s.thin.shape[1]
    k1, T, T2 = s.flat[4], s.flat[p], s.flat[1 - p]
    for i in range(end):
        T2[i] = T[i] + h * k1[i]
    a, a2, r0, ka = s.thin[p], s.thin[1 - p], s.thin[2 + p], s.thin[8]
    keep, pull, warm = s.thin[6], s.thin[7], k1[low:end]
    for i in range(a.shape[0]):
        k = (r0[i] + pull[i] * warm[i]) * keep[i]
        ka[i] = k
        a2[i] = min(max(a[i] + h * k, 0.0), 1.0)


@inner
def _second_side(wall, h, p, s, gm, gt):  # type: ignore[no-untyped-def]
    """Right-hand sides of the second stage: f at the full step less twice the first increment."""
    nc = wall.cap.shape[1]
    f, k1, r = s.flat[2 + p], s.flat[4], s.flat[6]
    for i in range(r.shape[0]):
        r[i] = (1.0 - IG) * f[i] + (IG - 2.0) * k1[i]
    r0, ka, ra, r2 = s.thin[2 + p], s.thin[8], s.thin[9], s.thin[10]
    inside = r[wall.liner_row * nc : wall.liner_row * nc + ra.shape[0]]
    for i in range(ra.shape[0]):
        inside[i] += wall.hot[i] * (r2[i] - r0[i] - (ka[i] - r0[i]) * IG)
        ra[i] = r2[i] - 2.0 * ka[i]
    for c in range(nc):
        r[c] += (gt.cols[0, c] - gm.cols[0, c] - h * gm.cols[2, c]) * wall.icap[0, c]
    if wall.axial_stride > 0:
        along(wall, s.big[4], h, s.big[6])


@inner
def _step_end(wall, h, p, s):  # type: ignore[no-untyped-def]
    """The step's end, f there but for rates and gas; sums of squared errors."""
    low = wall.liner_row * wall.cap.shape[1]
    T, T1, f, f1 = s.flat[p], s.flat[1 - p], s.flat[2 + p], s.flat[3 - p]
    k1, k2, r = s.flat[4], s.flat[5], s.flat[6]
    errT, erra = 0.0, 0.0
    for i in range(T.shape[0]):
        x, y, z = k1[i], k2[i], f[i]
        errT += (x + y) * (x + y)
        T1[i] = T[i] + h * (1.5 * x + 0.5 * y)
        f1[i] = z + IG * (1.5 * (x - z) + 0.5 * (y - r[i]))
    a, a1, r0, ka = s.thin[p], s.thin[1 - p], s.thin[2 + p], s.thin[8]
    ra, rest, keep, pull = s.thin[9], s.thin[10], s.thin[6], s.thin[7]
    warm = k2[low : low + a.shape[0]]
    for i in range(a.shape[0]):
        x, z = ka[i], r0[i]
        y = (ra[i] + pull[i] * warm[i]) * keep[i]
        erra += (x + y) * (x + y)
        a1[i] = min(max(a[i] + h * (1.5 * x + 0.5 * y), 0.0), 1.0)
        rest[i] = z + IG * (1.5 * (x - z) + 0.5 * (y - ra[i]))
    return 0.25 * h * h * errT, 0.25 * h * h * erra


@inner
def _extremes(wall, p, s):  # type: ignore[no-untyped-def]
    """Least conversion, warmest liner and host of every column."""
    nl, nc = wall.heat.shape
    row, T, a, line = wall.liner_row, s.big[p], s.small[p], s.line
    for c in range(nc):
        line[0, c], line[1, c], line[2, c] = a[0, c], T[row, c], T[row + nl, c]
    for k in range(1, nl):
        for c in range(nc):
            line[0, c] = min(line[0, c], a[k, c])
            line[1, c] = max(line[1, c], T[row + k, c])
    for i in range(row + nl + 1, wall.host_end):
        for c in range(nc):
            line[2, c] = max(line[2, c], T[i, c])


@inner
def _finish(wall, law, gas, t, h, p, s, gm, gt):  # type: ignore[no-untyped-def]
    """Rates, gas and f at the step's end; returns heat, steam left, front."""
    nc = wall.cap.shape[1]
    f1, r1, rest = s.flat[3 - p], s.thin[3 - p], s.thin[10]
    low, end = wall.liner_row * nc, wall.liner_row * nc + r1.shape[0]
    rates_and_slopes(law, s.flat[1 - p, low:end], s.thin[1 - p], r1, s.thin[4], s.thin[5])
    sums = march(wall, gas, t + h, s.big[1 - p], gt)
    inside = f1[low:end]
    for i in range(r1.shape[0]):
        inside[i] += wall.hot[i] * (r1[i] - rest[i])
    for c in range(nc):
        linear = h * (1.5 * gm.cols[2, c] + 0.5 * gm.cols[3, c])
        f1[c] += (gt.cols[0, c] - gm.cols[0, c] - linear) * wall.icap[0, c]
    if wall.axial_stride > 0 and h > 0.0:
        along(wall, s.big[4], 1.5 * h, s.big[3 - p])
        along(wall, s.big[5], 0.5 * h, s.big[3 - p])
    _extremes(wall, 1 - p, s)
    return sums


@inner
def _copy(source, target, scale):  # type: ignore[no-untyped-def]
    """Copy an array, times a scale, cell by cell."""
    for i in range(source.shape[0]):
        for c in range(source.shape[1]):
            target[i, c] = scale * source[i, c]


@inner
def _stand(wall, p, s, gm):  # type: ignore[no-untyped-def]
    """A step of no length: its end is its start, f there but for rates and gas."""
    _copy(s.big[p], s.big[1 - p], 1.0)
    _copy(s.small[p], s.small[1 - p], 1.0)
    _copy(s.small[p], s.small[10], 0.0)
    for c in range(gm.cols.shape[1]):
        gm.cols[0, c] = 0.0
    conduction(wall, s.big[p], s.big[3 - p])


@inner
def _hermite(u, h, y0, f0, y1, f1):  # type: ignore[no-untyped-def]
    v = u - 1.0
    return (
        (1.0 + 2.0 * u) * v * v * y0 + u * u * (3.0 - 2.0 * u) * y1 + h * u * v * (v * f0 + u * f1)
    )


@inner
def _between(u, h, arrays, p, out):  # type: ignore[no-untyped-def]
    """Hermite values within a step of all that is kept as [p start, 2 + p its slope]."""
    for i in range(out.shape[0]):
        for c in range(out.shape[1]):
            out[i, c] = _hermite(
                u, h, arrays[p, i, c], arrays[2 + p, i, c], arrays[1 - p, i, c],
                arrays[3 - p, i, c],
            )  # fmt: skip


@inner
def _write(out, index, t, h, p, s):  # type: ignore[no-untyped-def]
    """Hermite values at every asked-for time up to t + h; returns the next index."""
    while index < out.times.shape[0] and out.times[index] <= t + h * (1.0 + 1e-12):
        u = min(max((out.times[index] - t) / h, 0.0), 1.0)
        _between(u, h, s.big, p, out.T[index])
        _between(u, h, s.small, p, out.a[index])
        index += 1
    return index


@inner
def _reached(stop, h, p, s):  # type: ignore[no-untyped-def]
    """Share of the step at which the last liner cell reaches the target, and the cell."""
    last, row, column = 0.0, 0, 0
    a, y = s.small, 0.0
    for k in range(a.shape[1]):
        for c in range(a.shape[2]):
            if a[p, k, c] >= stop.target:
                continue
            low, high = last, 1.0
            for n in range(41):
                u = low if n == 0 else 0.5 * (low + high)
                y = _hermite(u, h, a[p, k, c], a[2 + p, k, c], a[1 - p, k, c], a[3 - p, k, c])
                if n == 0 and y >= stop.target:
                    break
                if y < stop.target:
                    low = u
                else:
                    high = u
                if n == 40:
                    last, row, column = high, k, c
    return last, row, column


@inner
def _cooled(wall, stop, h, p, s):  # type: ignore[no-untyped-def]
    """Share of the step at which the warmest liner cell is at the limit."""
    low, high, T = 0.0, 1.0, s.big
    for _ in range(30):
        u = 0.5 * (low + high)
        warm = False
        for i in range(wall.liner_row, wall.liner_row + wall.heat.shape[0]):
            for c in range(T.shape[2]):
                y = _hermite(u, h, T[p, i, c], T[2 + p, i, c], T[1 - p, i, c], T[3 - p, i, c])
                warm = warm or y > stop.cool
        if warm:
            low = u
        else:
            high = u
    return high


@inner
def _note(wall, out, n, t, p, s, tot, gm, sums):  # type: ignore[no-untyped-def]
    """Log a step and keep the peaks of liner and host."""
    nl, nc = wall.heat.shape
    row = wall.liner_row
    least, coldest, warmest, hot, host = 2.0, 0, 0.0, 0, 0.0
    for c in range(nc):
        if s.line[0, c] < least:
            least, coldest = s.line[0, c], c
        if s.line[1, c] > warmest:
            warmest, hot = s.line[1, c], c
        host = max(host, s.line[2, c])
    if warmest > tot[7]:
        tot[7], tot[9], tot[10] = warmest, hot, t
        for k in range(nl):
            if s.big[p, row + k, hot] == warmest:
                tot[8] = k
    for k in range(nl - 1, -1, -1):
        if s.small[p, k, coldest] == least:
            tot[16] = k
    tot[14] = max(tot[14], host)
    tot[15], tot[17], tot[18] = least, coldest, warmest
    if n < out.log.shape[0]:
        last = gm.cells.shape[1] - 1
        log = out.log[n]
        log[0], log[1], log[2], log[3] = t, sums[0], sums[1], sums[2]
        log[4], log[5], log[6], log[7] = least, warmest, host, gm.cells[6, last]
        log[8] = tot[1]


@inner
def _events(wall, stop, watch, t, h, p, s, tot):  # type: ignore[no-untyped-def]
    """Why the step ends before its end, if so, and the share of it that counts."""
    reason, share = DONE, 1.0
    least, warmest = 2.0, 0.0
    for c in range(s.line.shape[1]):
        least = min(least, s.line[0, c])
        warmest = max(warmest, s.line[1, c])
    if watch and least >= stop.target:
        u, k, c = _reached(stop, h, p, s)
        tot[4], tot[5], tot[6] = t + u * h, k, c
        if stop.at_event == 1:
            reason, share = TARGET, u
    if stop.cool > 0.0 and warmest <= stop.cool:
        reason, share = COOL, _cooled(wall, stop, h, p, s)
    return reason, share


@kernel
def integrate(wall, law, gas, stop, state, out, s, gm, gt, tolerance):  # type: ignore[no-untyped-def]
    """Advance the state to the end or an event; returns why it stopped and the log's length.

    Each turn finishes a step, at first one of no length, takes it and tries the next. A step that
    an event cuts goes back to its start and is done again with its length.
    """
    tot = state.totals
    t, wish, h = tot[0], tot[3], 0.0
    index, n, tries, p = 0, 0, 0, stop.at_event * 0
    watch = tot[4] < 0.0 and stop.target > 0.0
    cut, reason, err, dQ, dO = False, DONE, 1.0, 0.0, 0.0
    while index < out.times.shape[0] and out.times[index] < t:
        index += 1
    _copy(state.T, s.big[p], 1.0)
    _copy(state.a, s.small[p], 1.0)
    _stand(wall, p, s, gm)
    while True:
        sums = _finish(wall, law, gas, t, h, p, s, gm, gt)
        if h > 0.0 and not cut:
            reason, share = _events(wall, stop, watch, t, h, p, s, tot)
            watch = watch and tot[4] < 0.0
            if reason != DONE and share < 1.0:
                wish, h, cut = max(share * h, 1e-6), 0.0, True
                _stand(wall, p, s, gm)
                continue
        if h > 0.0:
            index = _write(out, index, t, h, p, s)
            t += h
            tot[1] += dQ
            tot[2] += dO
            tot[12] += 1.0
        again = cut and h == 0.0
        p, gm, gt = 1 - p, gt, gm
        if not again:
            _note(wall, out, n, t, p, s, tot, gm, sums)
            n += 1
        if (reason != DONE and not again) or t >= stop.end * (1.0 - 1e-12):
            break
        while True:
            tries += 1
            h = min(wish, stop.end - t)
            if h < stop.end - t < 2.0 * h and not again:
                h = 0.5 * (stop.end - t)
            errT, erra, dQ, dO = _attempt(wall, law, gas, t, h, p, s, gm, gt, sums[0])
            err = math.sqrt(errT / s.flat.shape[1]) / tolerance
            err = max(err, math.sqrt(erra / s.thin.shape[1]) / (tolerance * 0.005))
            if again or err <= 1.0 or tries > 100000:
                break
            wish = h * max(0.2, 0.85 / math.sqrt(err)) if err < 1e9 else 0.1 * h
        if tries > 100000:
            reason = TOO_MANY
            break
        wish = h * min(4.0, max(0.3, 0.85 / math.sqrt(max(err, 1e-6))))
    _copy(s.big[p], state.T, 1.0)
    _copy(s.small[p], state.a, 1.0)
    tot[0], tot[3] = t, wish
    return reason, n


@kernel
def right_hand_side(wall, law, gas, t, T, a, s, gm):  # type: ignore[no-untyped-def]
    """The equations alone, for other solvers; the result is in s.big[0] and s.small[0]."""
    _copy(T, s.big[1], 1.0)
    _copy(a, s.small[1], 1.0)
    low = wall.liner_row * T.shape[1]
    inside = s.flat[0, low : low + s.thin.shape[1]]
    rates(law, s.flat[1, low : low + s.thin.shape[1]], s.thin[1], s.thin[0])
    heat, _, _ = march(wall, gas, t, T, gm)
    conduction(wall, T, s.big[0])
    for i in range(inside.shape[0]):
        inside[i] += wall.hot[i] * s.thin[0, i]
    for c in range(T.shape[1]):
        s.big[0, 0, c] += gm.cols[0, c] * wall.icap[0, c]
    return heat
