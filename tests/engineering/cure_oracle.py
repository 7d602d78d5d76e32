"""A plain numpy right-hand side of the cure model, written anew, for general ODE solvers.

It shares with the engine the arrays of the wall and nothing of the kernels: rates come from
`kinetics.reaction_rate` without tables, the gas march from bracketing root finding.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import integrate
from scipy.optimize import brentq

from drainwright.engineering import steam
from drainwright.engineering._cure_grid import build_mesh
from drainwright.engineering._cure_run import LEAST_AIR
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.cure_vent import vent_air
from drainwright.engineering.kinetics import reaction_rate

Array = NDArray[np.float64]
CP_AIR, CP_STEAM, RATIO = 1006.0, 1950.0, 0.62198


class Oracle:
    """Right-hand sides of steam and cooling for one case."""

    def __init__(self, case: CureCase) -> None:
        self.case, self.mesh = case, build_mesh(case)
        self.wall = self.mesh.wall
        self.rows, self.columns = self.wall.cap.shape
        self.liner = self.mesh.liner_cells
        self.top = steam.saturated_by_fit(case.gas.pressure)
        self.wet, self.dry, self.air, self.weight, self.chill = self.wall.col
        self.cells = [
            np.arange(a, b) for a, b in zip(self.wall.first, self.wall.first[1:], strict=False)
        ]

    def start(self) -> Array:
        T = np.full((self.rows, self.columns), self.case.soil.temperature)
        a = np.full((self.liner, self.columns), self.case.start_conversion)
        return np.concatenate([T.ravel(), a.ravel()])

    def split(self, y: Array) -> tuple[Array, Array]:
        size = self.rows * self.columns
        return y[:size].reshape(self.rows, -1), y[size:].reshape(self.liner, -1)

    def rhs(self, t: float, y: Array, *, cooling: bool) -> Array:
        T, a = self.split(y)
        q = self.cool(T[0]) if cooling else self.steam(t, T[0])
        rate = reaction_rate(a, T[self.wall.liner_row :][: self.liner], self.case.kinetics)
        into = np.zeros_like(T)
        flux = self.wall.con[:-1] * (T[:-1] - T[1:])
        into[0] += q
        into[:-1] -= flux
        into[1:] += flux
        ground = self.case.soil.temperature
        into[-1] -= self.wall.con[-1] * (T[-1] - ground)
        into[self.wall.chill_row] -= self.chill * (T[self.wall.chill_row] - ground)
        into[self.wall.liner_row :][: self.liner] += self.wall.heat * rate
        s, c0 = self.wall.axial_stride, self.wall.axial_start
        if s:
            n = self.wall.host_end
            along = self.wall.axial[:, None] * (T[:n, c0:-s] - T[:n, c0 + s :])
            into[:n, c0:-s] -= along
            into[:n, c0 + s :] += along
        return np.concatenate([(into / self.wall.cap).ravel(), rate.ravel()])

    def ramp(self, t: float) -> float:
        heat_up = self.case.schedule.heat_up
        share = 1.0 if heat_up == 0 else min(t / heat_up, 1.0)
        ground = self.case.soil.temperature
        return ground + share * (self.top.temperature - ground)

    def steam(self, t: float, inner: Array) -> Array:
        cap = self.ramp(t)
        q: Array = np.where(inner < cap, self.wet, self.dry) * (cap - inner)
        other = self.wall.fluid == 1
        q[other] = (self.air * (self.case.gas.air_temperature - inner))[other]
        q[self.wall.fluid == 2] = 0.0
        if self.case.gas.steam_supply is None:
            return q
        return self.mixture(cap, inner, q) if self.case.gas.mixture else self.pure(q)

    def pure(self, q: Array) -> Array:
        assert self.case.gas.steam_supply is not None
        left = self.case.gas.steam_supply * self.top.latent_heat
        for cell in self.cells:
            own = cell[self.wall.fluid[cell] == 0]
            need = float((self.weight[own] * q[own]).sum())
            share = 1.0 if need <= max(left, 0.0) else left / need
            q[own] *= share
            left -= share * need
        return q

    def mixture(self, cap: float, inner: Array, q: Array) -> Array:
        gas = self.case.gas
        assert gas.steam_supply is not None
        m, T_in, T_air = gas.steam_supply, self.top.temperature, gas.air_temperature
        air = max(gas.air_supply, LEAST_AIR * m)
        for cell in self.cells:
            own = cell[self.wall.fluid[cell] == 0]

            def left(x: float, own: Array = own, m: float = m, T_in: float = T_in,
                     T_air: float = T_air) -> float:  # fmt: skip
                u = np.where(inner[own] < x, self.wet[own], self.dry[own])
                heat = float((self.weight[own] * u * (x - inner[own])).sum())
                brought = air * CP_AIR * (T_air - x) + m * CP_STEAM * (T_in - x)
                return m + (brought - heat) / float(steam.latent_heat_fit(x))

            def excess(x: float, left=left) -> float:  # type: ignore[no-untyped-def]
                p = float(steam.saturation_fit(x))
                return (gas.pressure - p) * left(x) - RATIO * air * p  # type: ignore[no-any-return]

            x = cap if excess(cap) >= 0 else float(brentq(excess, 255.0, cap, xtol=1e-10))
            m = max(left(x), 0.0)
            u = np.where(inner[own] < x, self.wet[own], self.dry[own])
            q[own] = u * (x - inner[own])
            T_in = T_air = x
        return q

    def cool(self, inner: Array) -> Array:
        gas = self.case.gas
        air = gas.air_supply or vent_air(gas)
        x = gas.air_temperature
        q: Array = self.air * (x - inner)
        if air <= 0:
            return q
        for cell in self.cells:
            own = cell[self.wall.fluid[cell] != 1]
            g = self.weight[own] * self.air[own]
            x = (air * CP_AIR * x + float((g * inner[own]).sum())) / (air * CP_AIR + float(g.sum()))
            q[own] = self.air[own] * (x - inner[own])
        return q


def solve(case: CureCase, times: Sequence[float], steam_end: float) -> tuple[Array, Array]:
    """Temperatures and conversions at rising times, by LSODA with tight tolerances."""
    oracle = Oracle(case)
    y, t = oracle.start(), 0.0
    T, a = [], []
    for stop, cooling in ((case.schedule.heat_up, False), (steam_end, False), (times[-1], True)):
        if stop <= t:
            continue
        asked = [x for x in times if t < x <= stop]
        ivp: Any = integrate.solve_ivp
        found = ivp(
            lambda t, y, cooling=cooling: oracle.rhs(t, y, cooling=cooling),
            (t, stop), y, method="LSODA", rtol=1e-7, atol=1e-6, t_eval=sorted({*asked, stop}),
        )  # fmt: skip
        assert found.success
        for n in range(len(asked)):
            parts = oracle.split(found.y[:, n])
            T.append(parts[0])
            a.append(parts[1])
        y, t = found.y[:, -1], stop
    return np.array(T), np.array(a)
