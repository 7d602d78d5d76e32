"""One case on its way through the phases: state, scratch, logs."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from drainwright.engineering import steam
from drainwright.engineering.cure_model import CureCase, Place
from drainwright.engineering.cure_vent import vent_air
from drainwright.errors import ConvergenceError

if TYPE_CHECKING:
    from drainwright.engineering._cure_grid import Mesh

Array = NDArray[np.float64]
LEAST_AIR = 0.002
"""Air that steam carries even where none is blown in, mass over mass (from memory)."""


class Runner:
    """State, scratch and logs of one case while it is carried through its phases."""

    def __init__(
        self, case: CureCase, times: Sequence[float], tolerance: float, mesh: Mesh | None = None
    ) -> None:
        from drainwright.engineering import (
            _cure_gas,
            _cure_grid,
            _cure_kernel,
            _cure_law,
            _cure_steps,
        )

        self.case, self.tolerance = case, tolerance
        self.gas, self.steps = _cure_gas, _cure_steps
        self.mesh = _cure_grid.build_mesh(case) if mesh is None else mesh
        self.law = _cure_law.law_numbers(case.kinetics)
        rows, columns = self.mesh.wall.cap.shape
        liner = self.mesh.liner_cells
        self.scratch = _cure_kernel.scratch_for(self.mesh.wall)
        cells = self.mesh.gas_cells
        self.marched, self.trial = (
            _cure_gas.Marched(np.full((7, cells), case.soil.temperature), np.zeros((4, columns)))
            for _ in range(2)
        )
        self.state = self._start()
        self.start_energy = self._energy()
        self.times = np.asarray(sorted(times), dtype=float)
        count = self.times.size
        self.T_out = np.full((count, rows if count else 0, columns), np.nan)
        self.a_out = np.full((count, liner, columns), np.nan)
        self.logs: list[Array] = []
        self.on: list[NDArray[np.bool_]] = []
        self.state_steam = steam.saturated_by_fit(case.gas.pressure)

    def _start(self) -> Any:
        case, mesh = self.case, self.mesh
        T = np.full(mesh.wall.cap.shape, case.soil.temperature)
        if case.start_temperature is not None:
            T[: mesh.liner_row + mesh.liner_cells] = case.start_temperature
        a = np.full((mesh.liner_cells, T.shape[1]), case.start_conversion)
        totals = np.zeros(20)
        totals[3], totals[4] = 1.0, -1.0
        return self.steps.State(T, a, totals)

    def _energy(self) -> float:
        """Stored heat less heat of reaction set free [J]."""
        wall, state = self.mesh.wall, self.state
        stored = (wall.cap * (state.T - self.case.soil.temperature)).sum(axis=0)
        freed = (wall.heat * state.a).sum(axis=0)
        return float(((stored - freed) * wall.col[3]).sum())

    def energy_error(self) -> float:
        """Missing energy over the largest of what came in, went out and was set free."""
        wall, state = self.mesh.wall, self.state
        came, went = float(state.totals[1]), float(state.totals[2])
        freed = float(((wall.heat * state.a).sum(axis=0) * wall.col[3]).sum())
        missing = self._energy() - self.start_energy - came + went
        return abs(missing) / max(abs(came), abs(went), freed, 1.0)

    def advance(self, gas: Any, end: float, *, at_event: bool = False, cool: float = 0.0) -> int:
        """Run one phase; returns the reason it stopped."""
        target = self.case.schedule.target_conversion if gas.mode <= self.gas.MIXTURE else 0.0
        stop = self.steps.Stop(end, target, cool, 1 if at_event else 0)
        log = np.empty((4000, self.steps.LOG_COLUMNS))
        out = self.steps.Output(self.times, self.T_out, self.a_out, log)
        self.state.totals[3] = min(max(self.state.totals[3], 0.5), 5.0)
        reason, count = self.steps.integrate(
            self.mesh.wall, self.law, gas, stop, self.state, out, self.scratch,
            self.marched, self.trial, self.tolerance,
        )  # fmt: skip
        if reason == self.steps.TOO_MANY:
            raise ConvergenceError("the cure model needs too many steps")
        kept = log[: min(count, log.shape[0])]
        self.logs.append(kept)
        self.on.append(np.full(len(kept), gas.mode <= self.gas.MIXTURE))
        return int(reason)

    def steam_gas(self) -> Any:
        """The gas while steam is on, ramp included."""
        supply, mode = self.case.gas, self.gas
        flow = supply.steam_supply
        kind = mode.GIVEN if flow is None else (mode.MIXTURE if supply.mixture else mode.PURE)
        top = self.state_steam.temperature
        amount = flow or 0.0
        return mode.Gas(
            kind, self.case.soil.temperature, top, 0.0, self.case.schedule.heat_up,
            amount * self.state_steam.latent_heat, amount,
            max(supply.air_supply, LEAST_AIR * amount), supply.pressure,
            supply.air_temperature, top,
        )  # fmt: skip

    def air_gas(self, *, shut: bool = False) -> Any:
        """The gas while cooling, or none."""
        supply, mode = self.case.gas, self.gas
        flow = supply.air_supply or vent_air(supply)
        kind = mode.SHUT if shut else (mode.AIR if flow <= 0 else mode.STREAM)
        T = supply.air_temperature
        return mode.Gas(kind, T, T, 0.0, 0.0, 0.0, 0.0, flow, supply.pressure, T, T)

    def place(self, row: int, column: int) -> Place:
        """A liner cell in words."""
        found = self.mesh.columns[column]
        case = self.case
        wall = case.collar.wall if case.collar and found.part != "lateral" else case.liner.wall
        depth = wall * (row + 0.5) / self.mesh.liner_cells
        return Place(found.part, found.line, found.position, depth)

    def copy_state(self) -> Any:
        """The state, to come back to."""
        return self.steps.State(*(array.copy() for array in self.state))

    def branch(self) -> Runner:
        """Another runner that goes on from here by itself; it keeps no fields."""
        from drainwright.engineering._cure_kernel import scratch_for

        other = copy.copy(self)
        other.state = self.copy_state()
        other.logs, other.on = list(self.logs), list(self.on)
        other.times, other.T_out, other.a_out = self.times[:0], self.T_out[:0], self.a_out[:0]
        other.marched, other.trial = (
            self.gas.Marched(*(array.copy() for array in was)) for was in (self.marched, self.trial)
        )
        other.scratch = scratch_for(self.mesh.wall)
        for name in ("big", "small", "inside", "outside", "line"):
            getattr(other.scratch, name)[...] = getattr(self.scratch, name)
        return other


def steam_phase(runner: Runner, end: float, *, at_event: bool = True) -> bool:
    """Heat-up and steam to `end` or the event; true if the event stopped it."""
    heat_up = runner.case.schedule.heat_up
    gas = runner.steam_gas()
    now = float(runner.state.totals[0])
    if now < heat_up:
        reason = runner.advance(gas, min(heat_up, end), at_event=at_event)
        if reason == runner.steps.TARGET:
            return True
    if end > heat_up:
        return bool(runner.advance(gas, end, at_event=at_event) == runner.steps.TARGET)
    return False
