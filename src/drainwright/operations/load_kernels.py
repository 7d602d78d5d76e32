"""Compile the cure models' kernels ahead, so that nobody waits for it later (read)."""

from __future__ import annotations

import numpy as np

from drainwright.engineering.cure import simulate
from drainwright.engineering.cure_model import Collar, CureCase, Grid, Host, Liner, Supply
from drainwright.engineering.driven_cure import Drive, Unknowns, follow
from drainwright.engineering.kinetics import Kinetics


def load_kernels() -> None:
    """Compute one small case; kernels not yet in the user's cache are compiled and kept there."""
    case = CureCase(
        length=10.0,
        host_diameter=0.1016,
        host=Host(0.015, 1.4, 2500.0, 840.0),
        liner=Liner(0.003),
        kinetics=Kinetics("kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8),
        heat_of_reaction=4.2e5,
        gas=Supply(48_263.3),
        grid=Grid(axial_cells=4, invert=True),
        collar=Collar(0.4, 0.003, 0.2),
    )
    simulate(case)
    times = np.arange(0.0, 121.0, 20.0)
    gas = np.linspace(288.0, 320.0, times.size)
    pressure = np.full(times.size, case.gas.pressure)
    follow(case, Drive(times, gas, gas, pressure, times >= 0.0), Unknowns())


if __name__ == "__main__":
    load_kernels()
