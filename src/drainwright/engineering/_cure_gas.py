"""Compiled march of the gas along the pipe: temperatures, heat given, and its exact Jacobian.

Modes: GIVEN a gas temperature everywhere; PURE steam of limited power, sharp front; MIXTURE of
steam and air; STREAM of air; AIR at one temperature; SHUT, no gas. `lin` keeps what the linear
stages need of each gas cell.
"""

# ruff: noqa: ARG001, C901, N815, PLR0912, PLR0915, PLR0917, PLR1714
# (compiled code: plain loops and arguments, no objects)

from __future__ import annotations

from typing import Any, NamedTuple

from drainwright.engineering._compiled import inner
from drainwright.engineering._cure_kernel import fast_exp
from drainwright.engineering.steam import LATENT_FIT, SATURATION_FIT

GIVEN, PURE, MIXTURE, STREAM, AIR, SHUT = 0, 1, 2, 3, 4, 5
CP_AIR = 1006.0
CP_STEAM = 1950.0
MASS_RATIO = 0.62198
_S0, _S1, _S2, _S3, _S4, _S5 = SATURATION_FIT
_L0, _L1, _L2, _L3 = LATENT_FIT


class Gas(NamedTuple):
    """What is blown in, and the ramp of its highest temperature."""

    mode: int
    ramp_T0: float
    ramp_T1: float
    ramp_t0: float
    ramp_t1: float
    power: float
    steam: float
    air: float
    pressure: float
    air_temperature: float
    steam_temperature: float


class Marched(NamedTuple):
    """Scratch of the march.

    `cells` [0–5 of the linear stage, 6 temperature; gas cell], `cols` [0 heat, 1 conductance,
    2 and 3 change of the heat in the two stages; column].
    """

    cells: Any
    cols: Any


@inner
def ramp(gas, t):  # type: ignore[no-untyped-def]
    """Highest gas temperature at a time."""
    if t >= gas.ramp_t1:
        return gas.ramp_T1
    if t <= gas.ramp_t0:
        return gas.ramp_T0
    share = (t - gas.ramp_t0) / (gas.ramp_t1 - gas.ramp_t0)
    return gas.ramp_T0 + share * (gas.ramp_T1 - gas.ramp_T0)


@inner
def _saturation(T):  # type: ignore[no-untyped-def]
    """Saturation pressure and its slope, by the fit of `steam.saturation_fit`."""
    z = 373.15 / T
    f = ((((_S0 * z + _S1) * z + _S2) * z + _S3) * z + _S4) * z + _S5
    g = (((5.0 * _S0 * z + 4.0 * _S1) * z + 3.0 * _S2) * z + 2.0 * _S3) * z + _S4
    p = fast_exp(f)
    return p, -p * g * z / T


@inner
def _latent(T):  # type: ignore[no-untyped-def]
    d = T - 373.15
    return ((_L0 * d + _L1) * d + _L2) * d + _L3, (3.0 * _L0 * d + 2.0 * _L1) * d + _L2


@inner
def march(wall, gas, t, T, out):  # type: ignore[no-untyped-def]
    """Heat into every column; returns heat given by the gas, steam left, front position."""
    nc = T.shape[1]
    q, ua = out.cols[0], out.cols[1]
    cap = ramp(gas, t)
    left, front = 0.0, 0.0
    if gas.mode == GIVEN or gas.mode == PURE:
        for c in range(nc):
            ua[c] = wall.col[0, c] if T[0, c] < cap else wall.col[1, c]
            q[c] = ua[c] * (cap - T[0, c])
        for j in range(out.cells.shape[1]):
            out.cells[6, j] = cap
        front = (out.cells.shape[1] - wall.lateral_gas) * wall.cell_length
    elif gas.mode == AIR:
        for c in range(nc):
            ua[c] = wall.col[2, c]
            q[c] = ua[c] * (gas.air_temperature - T[0, c])
        for j in range(out.cells.shape[1]):
            out.cells[6, j] = gas.air_temperature
    elif gas.mode == SHUT:
        for c in range(nc):
            ua[c] = 0.0
            q[c] = 0.0
    for c in range(nc):
        if wall.fluid[c] == 1 and gas.mode != SHUT:
            ua[c] = wall.col[2, c]
            q[c] = ua[c] * (gas.air_temperature - T[0, c])
        elif wall.fluid[c] == 2 and gas.mode != AIR and gas.mode != STREAM:
            ua[c] = 0.0
            q[c] = 0.0
    if gas.mode == PURE:
        left, front = _pure(wall, gas, T, out)
    elif gas.mode == MIXTURE:
        left, front = _mixture(wall, gas, cap, T, out)
    elif gas.mode == STREAM:
        _stream(wall, gas, T, out)
    total = 0.0
    for c in range(nc):
        total += wall.col[3, c] * q[c]
    return total, left, front


@inner
def _pure(wall, gas, T, out):  # type: ignore[no-untyped-def]
    """Cells are full of steam until the power is used up; beyond, the gas is still and dry."""
    left = gas.power
    front = 0.0
    done = False
    for j in range(out.cells.shape[1]):
        c0, c1 = wall.first[j], wall.first[j + 1]
        need = 0.0
        for c in range(c0, c1):
            if wall.fluid[c] == 0:
                need += wall.col[3, c] * out.cols[0, c]
        step = wall.cell_length if j >= wall.lateral_gas else 0.0
        if not done and need <= left:
            out.cells[0, j] = 0.0
            left -= need
            front += step
            continue
        share = 0.0 if done else left / need
        out.cells[0, j] = 2.0 if done else 1.0
        out.cells[1, j] = share
        out.cells[2, j] = need
        front += share * step
        left = 0.0
        done = True
        mean, weight = 0.0, 0.0
        for c in range(c0, c1):
            mean += wall.col[3, c] * T[0, c]
            weight += wall.col[3, c]
            if wall.fluid[c] == 0:
                out.cols[0, c] *= share
                out.cols[1, c] *= share
        out.cells[6, j] = share * out.cells[6, j] + (1.0 - share) * mean / weight
    return left, front


@inner
def _cell(wall, T, j, Tg, out):  # type: ignore[no-untyped-def]
    """Conductance of a gas cell's columns, its product with their temperatures."""
    total, heat = 0.0, 0.0
    for c in range(wall.first[j], wall.first[j + 1]):
        if wall.fluid[c] == 0:
            u = wall.col[0, c] if T[0, c] < Tg else wall.col[1, c]
            out.cols[1, c] = u
            total += wall.col[3, c] * u
            heat += wall.col[3, c] * u * T[0, c]
    return total, heat


@inner
def _mixture(wall, gas, cap, T, out):  # type: ignore[no-untyped-def]
    """Saturated mixture cell by cell: steam that condenses warms the wall and the air.

    The temperature of a cell is found by Newton's method within a bracket; the last correction is
    small enough to be carried into the properties by their slopes.
    """
    m, T_steam, T_air, P = gas.steam, gas.steam_temperature, gas.air_temperature, gas.pressure
    top, wet = min(cap, gas.ramp_T1), MASS_RATIO * gas.air
    L_top, L_top_T = _latent(top)
    p_top, _ = _saturation(top)
    half = 0.5 * (cap + wall.soil_temperature)
    front, before, seen, lin = 0.0, cap, False, out.cells
    for j in range(lin.shape[1]):
        flow = gas.air * CP_AIR + m * CP_STEAM
        brought = gas.air * CP_AIR * T_air + m * CP_STEAM * T_steam
        U, UT = _cell(wall, T, j, top, out)
        Tg, L, L_T, m_T = top, L_top, L_top_T, 0.0
        capped = (P - p_top) * (m + (brought + UT - (flow + U) * top) / L) >= wet * p_top
        if not capped:
            low, high, Tg = 255.0, top, min(max(lin[6, j], 255.0), top)
            p, p_T = p_top, 0.0
            for _ in range(60):
                U, UT = _cell(wall, T, j, Tg, out)
                L, L_T = _latent(Tg)
                p, p_T = _saturation(Tg)
                excess = (brought + UT - (flow + U) * Tg) / L
                value = (P - p) * (m + excess) - wet * p
                slope = -p_T * (m + excess) - wet * p_T
                slope -= (P - p) * ((flow + U) / L + excess * L_T / L)
                if value > 0.0:
                    low = Tg
                else:
                    high = Tg
                new = Tg - value / slope if slope < 0.0 else 0.5 * (low + high)
                if not low <= new <= high:
                    new = 0.5 * (low + high)
                move = new - Tg
                Tg = new
                if abs(move) < 1e-6:
                    L += L_T * move
                    p += p_T * move
                    break
            m_T = wet * P * p_T / (P - p) ** 2
        excess = brought + UT - (flow + U) * Tg
        lin[0, j] = 1.0 if capped else 0.0
        lin[1, j] = -m_T - (flow + U) / L - excess * L_T / (L * L)
        lin[2, j] = 1.0 + CP_STEAM * (T_steam - Tg) / L
        lin[3, j] = flow / L
        lin[4, j] = 1.0 / L
        lin[5, j] = m_T
        lin[6, j] = Tg
        m = max(m + excess / L, 0.0)
        for c in range(wall.first[j], wall.first[j + 1]):
            if wall.fluid[c] == 0:
                out.cols[0, c] = out.cols[1, c] * (Tg - T[0, c])
        T_steam = Tg
        T_air = Tg
        if j >= wall.lateral_gas and not seen:
            if Tg >= half:
                front += wall.cell_length
            else:
                seen = True
                if before > Tg:
                    front += ((before - half) / (before - Tg) - 0.5) * wall.cell_length
        before = Tg
    return m, max(front, 0.0)


@inner
def _stream(wall, gas, T, out):  # type: ignore[no-untyped-def]
    """Air that warms along the pipe."""
    Tin = gas.air_temperature
    flow = gas.air * CP_AIR
    for j in range(out.cells.shape[1]):
        total, heat = flow, flow * Tin
        for c in range(wall.first[j], wall.first[j + 1]):
            if wall.fluid[c] != 1:
                out.cols[1, c] = wall.col[2, c]
                total += wall.col[3, c] * out.cols[1, c]
                heat += wall.col[3, c] * out.cols[1, c] * T[0, c]
        Tin = heat / total
        out.cells[6, j] = Tin
        for c in range(wall.first[j], wall.first[j + 1]):
            if wall.fluid[c] != 1:
                out.cols[0, c] = out.cols[1, c] * (Tin - T[0, c])


@inner
def linear_march(wall, gas, gh, out, b, inv, k0, dq):  # type: ignore[no-untyped-def]
    """First-row increments k0 of a stage and heats dq; returns the change of the total heat."""
    change = 0.0
    lost, dm, dTs, dTa = 0.0, 0.0, 0.0, 0.0
    for j in range(out.cells.shape[1]):
        c0, c1 = wall.first[j], wall.first[j + 1]
        dT, share = 0.0, 0.0
        if gas.mode == PURE and out.cells[0, j] == 1.0:
            share = _front_change(wall, gh, out, b, inv, j, lost)
        elif gas.mode == MIXTURE and out.cells[0, j] == 0.0:
            a0, a1 = 0.0, 0.0
            for c in range(c0, c1):
                if wall.fluid[c] == 0:
                    wu = wall.col[3, c] * out.cols[1, c] * out.cells[4, j]
                    a0 += wu * b[c] * inv[c]
                    a1 += wu * gh * out.cols[1, c] * inv[c]
            rhs = out.cells[2, j] * dm + _sensible(gas, out, j, dTs) + a0
            dT = -rhs / (out.cells[1, j] + a1)
        elif gas.mode == STREAM:
            a0, a1 = gas.air * CP_AIR * dTa, gas.air * CP_AIR
            for c in range(c0, c1):
                if wall.fluid[c] != 1:
                    wu = wall.col[3, c] * out.cols[1, c]
                    a0 += wu * b[c] * inv[c]
                    a1 += wu * (1.0 - gh * out.cols[1, c] * inv[c])
            dT = a0 / a1
            dTa = dT
        taken = 0.0
        for c in range(c0, c1):
            d = 0.0
            if wall.fluid[c] == 0 or (wall.fluid[c] == 2 and gas.mode == STREAM):
                d = dT * out.cols[1, c]
                if share != 0.0:
                    d += share * out.cols[0, c] / max(out.cells[1, j], 1e-300)
            k0[c] = (b[c] + gh * d) * inv[c]
            dq[c] = d - out.cols[1, c] * k0[c]
            change += wall.col[3, c] * dq[c]
            if wall.fluid[c] == 0:
                taken += wall.col[3, c] * dq[c]
        lost += taken
        if gas.mode == MIXTURE:
            if out.cells[0, j] == 0.0:
                dm = out.cells[5, j] * dT
            else:
                dm = out.cells[2, j] * dm + _sensible(gas, out, j, dTs) - taken * out.cells[4, j]
            dTs = dT
    return change


@inner
def _sensible(gas, out, j, dT):  # type: ignore[no-untyped-def]
    """Change of steam left by a change of the temperature upstream; the first cell has none."""
    return out.cells[3, j] * dT if j > 0 else 0.0


@inner
def _front_change(wall, gh, out, b, inv, j, lost):  # type: ignore[no-untyped-def]
    """Change of the filled share of the cell where pure steam ends."""
    share, need = out.cells[1, j], out.cells[2, j]
    a0, a1 = -lost, need
    for c in range(wall.first[j], wall.first[j + 1]):
        if wall.fluid[c] == 0 and share > 0.0:
            wu = wall.col[3, c] * out.cols[1, c]
            full = out.cols[0, c] / share
            a0 += wu * b[c] * inv[c]
            a1 -= wu * gh * full * inv[c]
    return a0 / a1 if a1 > 0.0 else 0.0
