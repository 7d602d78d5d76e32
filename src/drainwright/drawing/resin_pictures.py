"""Pictures of a resin's fit: heat flow with baseline and law, and what is left, run by run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from drainwright.drawing.cure_pictures import Array, Curve, Panel, picture
from drainwright.units import UnitSystem

_MOST = 300


@dataclass(frozen=True, slots=True)
class RunPicture:
    """One calorimeter run beside its fit: times [s], heat flows [W]."""

    name: str
    time: Array
    heat_flow: Array
    baseline: Array
    fitted: Array
    """Baseline and the law's heat together."""
    note: str = ""


def resin_picture(runs: Sequence[RunPicture], system: UnitSystem, prefix: str = "") -> str:
    """Two panels for each run, as SVG: heat flow over time in milliwatts, and what is left."""
    panels: list[Panel] = []
    for run in runs:
        step = max(1, run.time.size // _MOST)
        t, q, base, fit = (
            one[::step] for one in (run.time, run.heat_flow, run.baseline, run.fitted)
        )
        title = f"{run.name}: heat flow, mW" + (f" ({run.note})" if run.note else "")
        panels.append(
            Panel(
                title, "time", "number",
                (
                    Curve(t, 1e3 * q, "measured", ink=False), Curve(t, 1e3 * fit, "law"),
                    Curve(t, 1e3 * base, "baseline", ink=False),
                ),
            )
        )  # fmt: skip
        rest = 1e3 * (q - fit)
        most = float(np.abs(rest).max()) or 1e-9
        panels.append(
            Panel(
                f"{run.name}: what is left, mW", "time", "number", (Curve(t, rest, "left"),),
                (-1.1 * most, 1.1 * most), (0.0, ""), height=80.0,
            )
        )  # fmt: skip
    return picture(panels, system, "Calorimeter runs beside the fitted law", prefix)
