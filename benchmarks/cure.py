"""The cure engine against general-purpose solvers on the same compiled equations.

Peers: scipy's BDF with the gas coupling in its Jacobian, and LSODA with a banded one; both call
the engine's own compiled right-hand side. Errors are root mean square over four depths, all
cells, every minute, against a reference; two references of different methods are compared first.
"""

from __future__ import annotations

import os
import platform
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
MINUTES = np.arange(60.0, 14_400.1, 60.0)
STEAM_END, END, AIM = 4200.0, 14_400.0, 0.02
LATENT = 2.2264e6


@dataclass
class Timed:
    """One run: seconds of one core, error in kelvin, what it was."""

    who: str
    seconds: float
    rms: float
    failed: str = ""


def cases() -> dict[str, Any]:
    """The problems: pure steam, one section, ample, stalled; and the stalled mixture."""
    from drainwright.engineering.cure_model import (
        CureCase,
        Grid,
        Host,
        Liner,
        Schedule,
        Supply,
    )
    from drainwright.engineering.kinetics import Glass, Kinetics

    resin = Kinetics(
        "kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8,
        glass=Glass(243.15, 383.15, 0.45, 6.0),
    )  # fmt: skip

    def one(power: float | None, cells: int, *, mixture: bool = False) -> CureCase:
        flow = None if power is None else power / LATENT
        gas = Supply(48_263.3, steam_supply=flow, mixture=mixture)
        return CureCase(
            20.0, 0.1016, Host(0.015, 1.4, 2500.0, 840.0), Liner(0.006), resin, 4.2e5, gas,
            schedule=Schedule(600.0, STEAM_END, 311.0, 0.85), grid=Grid(10, 6, 26, cells),
        )  # fmt: skip

    return {
        "one section": one(None, 1),
        "ample pure steam, 30 kW": one(30e3, 60),
        "stalled pure steam, 5 kW": one(5e3, 60),
        "stalled steam-air mixture, 5 kW": one(5e3, 60, mixture=True),
    }


class Equations:
    """A case as a vector equation: per column the liner's (T, α) pairs, then the other rows."""

    def __init__(self, case: Any) -> None:
        from drainwright.engineering import _cure_steps
        from drainwright.engineering._cure_run import Runner

        self.runner = Runner(case, (), 0.05)
        self.kernel = _cure_steps.right_hand_side
        rows, columns = self.runner.mesh.wall.cap.shape
        nl = self.runner.mesh.liner_cells
        self.shape = (rows, columns, nl)
        size = rows + nl
        self.at_T = np.array([2 * i if i < nl else nl + i for i in range(rows)])
        self.at_a = 2 * np.arange(nl) + 1
        base = size * np.arange(columns)
        self.index_T = self.at_T[:, None] + base
        self.index_a = self.at_a[:, None] + base
        self.size = size * columns
        self.calls = 0

    def start(self) -> Array:
        """The vector at steam on."""
        y = np.zeros(self.size)
        y[self.index_T] = self.runner.state.T
        y[self.index_a] = self.runner.state.a
        return y

    def rhs(self, gas: Any) -> Callable[[float, Array], Array]:
        """The right-hand side with one gas."""
        run = self.runner

        def function(t: float, y: Array) -> Array:
            self.calls += 1
            warm, cured = y[self.index_T], y[self.index_a]
            self.kernel(run.mesh.wall, run.law, gas, t, warm, cured, run.scratch, run.marched)
            out = np.empty(self.size)
            out[self.index_T] = run.scratch.big[0]
            out[self.index_a] = run.scratch.small[0]
            return out

        return function

    def sparsity(self) -> Any:
        """Structure of the Jacobian with the gas coupling: each wall feels all before it."""
        from scipy.sparse import lil_matrix

        rows, columns, nl = self.shape
        s = lil_matrix((self.size, self.size), dtype=int)
        for c in range(columns):
            for i in range(rows):
                for k in (i - 1, i, i + 1):
                    if 0 <= k < rows:
                        s[self.index_T[i, c], self.index_T[k, c]] = 1
                if i < nl:
                    for one in (self.index_T[i, c], self.index_a[i, c]):
                        s[one, self.index_T[i, c]] = 1
                        s[one, self.index_a[i, c]] = 1
            for before in range(c):
                s[self.index_T[0, c], self.index_T[0, before]] = 1
        return s.tocsr()


def ours(case: Any, tolerance: float) -> tuple[Array, float]:
    """Temperatures at four depths every minute, and seconds without keeping fields."""
    from drainwright.engineering._cure_run import Runner, steam_phase

    def run(times: Any) -> tuple[Any, float]:
        runner = Runner(case, times, tolerance)
        begin = time.process_time()
        steam_phase(runner, STEAM_END, at_event=False)
        runner.advance(runner.air_gas(), END)
        return runner, time.process_time() - begin

    kept, _ = run(MINUTES)
    seconds = min(run(())[1] for _ in range(5))
    return kept.T_out[:, depths(case)], seconds


def depths(case: Any) -> list[int]:
    """Rows of the four depths: inner, middle, outer liner, and the host's outer row."""
    nl, nh = case.grid.liner_cells, case.grid.host_cells
    return [0, nl // 2, nl - 1, nl + nh - 1]


def peer(case: Any, method: str, tolerance: float) -> tuple[Array, float]:
    """The same by a solver of scipy."""
    from scipy import integrate

    equations = Equations(case)
    options: dict[str, Any] = {"rtol": tolerance, "atol": tolerance * 10}
    if method == "LSODA":
        options |= {"lband": 2, "uband": 2}
    else:
        options |= {"jac_sparsity": equations.sparsity()}
    y, t, out = equations.start(), 0.0, []
    run = equations.runner
    begin = time.process_time()
    for stop, gas in (
        (600.0, run.steam_gas()), (STEAM_END, run.steam_gas()), (END, run.air_gas()),
    ):  # fmt: skip
        asked = MINUTES[np.logical_and(t < MINUTES, stop >= MINUTES)]
        solve: Any = integrate.solve_ivp
        found = solve(equations.rhs(gas), (t, stop), y, method=method, t_eval=asked, **options)
        if not found.success:
            raise RuntimeError(found.message)
        out.append(found.y)
        y, t = found.y[:, -1], stop
    seconds = time.process_time() - begin
    values = np.concatenate(out, axis=1).T[:, equations.index_T[depths(case)]]
    return values, seconds


def rms(a: Array, b: Array) -> float:
    """Root mean square of a difference."""
    return float(np.sqrt(np.mean((a - b) ** 2)))


def aim(run: Callable[[float], tuple[Array, float]], reference: Array, who: str, first: float,
        limit: float = 60.0) -> Timed:  # fmt: skip
    """The run whose error lies nearest to the aimed one, within a half if it can be had."""
    best: Timed | None = None
    tolerance = first
    for _ in range(9):
        try:
            values, seconds = run(tolerance)
        except (RuntimeError, FloatingPointError, ValueError) as error:
            return best or Timed(who, np.nan, np.nan, str(error)[:60])
        error = rms(values, reference)
        now = Timed(who, seconds, error)
        if best is None or abs(np.log(error / AIM)) < abs(np.log(best.rms / AIM)):
            best = now
        if 0.8 * AIM <= error <= 1.2 * AIM or seconds > limit:
            break
        tolerance *= min(max((AIM / error) ** 0.9, 0.05), 20.0)
    return best


def measure() -> list[str]:
    """The table's lines."""
    lines = [
        "| problem | drainwright, ms at rms K | BDF, gas in Jacobian | LSODA, banded | faster |",
        "|---|---|---|---|---|",
    ]
    for name, case in cases().items():
        ours(case, 0.1)
        reference, _ = ours(case, 1e-3)
        second, _ = ours(case, 2.5e-4)
        agree = rms(reference, second)
        me = aim(lambda tol, c=case: ours(c, tol), second, "drainwright", 0.1)
        peers = [
            aim(lambda tol, c=case, m=m: peer(c, m, tol), second, m, 1e-4) for m in ("BDF", "LSODA")
        ]
        fine = [p for p in peers if not p.failed and p.rms <= 2.5 * AIM]
        better = min((p.seconds for p in fine), default=float("nan"))
        other = "" if not fine else f"{better / me.seconds:.1f} ×"
        lines.append(f"| {name} | {text(me)} | {text(peers[0])} | {text(peers[1])} | {other} |")
        print(lines[-1], f"(own references differ by {agree:.4f} K)", flush=True)
    return lines


def text(run: Timed) -> str:
    """A cell of the table."""
    if run.failed:
        return f"fails: {run.failed}"
    note = "" if run.rms <= 1.5 * AIM else " (not at equal error)"
    return f"{run.seconds * 1e3:.1f} at {run.rms:.3f}{note}"


def page() -> str:
    """The page."""
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    lines = measure()
    after = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    machine = (
        f"Machine: {platform.processor() or platform.machine()}, {os.cpu_count()} cores, "
        f"Python {platform.python_version()}, {time.strftime('%Y-%m-%d')}. Load average "
        f"{load:.1f} before, {after:.1f} after: above 1, other work ran beside, and only the "
        "ratios within a line mean something."
    )
    problem = (
        "20 m of 4 in clay, 6 mm liner, 42 × 60 cells (one section: 42 × 1), 7 psig, steam "
        "70 min, then air to 4 h. Processor time of one core. All call the same compiled "
        f"right-hand side; tolerances are set so that the error is {AIM} K within a half, root "
        "mean square over four depths × all cells × every minute. The last column compares with "
        "the better peer that comes within 2.5 times that error; a peer that fails is not counted."
    )
    title = "# The cure engine against general solvers"
    return "\n".join([title, "", machine, "", problem, "", *lines, ""])


def main() -> None:
    """Write docs/benchmarks/cure.md."""
    from pathlib import Path

    target = Path(__file__).resolve().parent.parent / "docs" / "benchmarks" / "cure.md"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(page(), encoding="utf-8")
    print(f"wrote {target}")


if __name__ == "__main__":
    main()
