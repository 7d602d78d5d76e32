"""Pictures of a logged cure: plan against log, cure over the length with its band, the unknowns.

Arrays in, SVG out. Ink is what was read or found; graphite is what was planned or known before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.drawing.cure_pictures import Curve, Panel, picture
from drainwright.drawing.svg import FAINT, GRAPHITE, INK, Sheet
from drainwright.errors import Fault, InputError
from drainwright.units import UnitSystem, show

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LoggedCure:
    """What was read since steam on, and what was planned; SI."""

    time: Array
    temperatures: Sequence[tuple[str, Array]]
    """Name and values of each sensor; NaN where it read nothing."""
    planned: tuple[Array, Array] | None = None
    """Times and temperatures of the planned gas."""
    steam_off: float | None = None
    reading: tuple[float, str] | None = None
    """What the exhaust had to read, and its name."""
    pressure: Array | None = None
    least_pressure: tuple[float, str] | None = None


def plan_against_log(logged: LoggedCure, system: UnitSystem, prefix: str = "") -> str:
    """Temperatures and pressure over time, with the planned gas and the limits."""
    if logged.time.size < 2 or not logged.temperatures:
        raise InputError(Fault("log", "holds too few readings to draw"))
    curves = [
        Curve(logged.time, values, name)
        for name, values in logged.temperatures
        if np.isfinite(values).any()
    ]
    if logged.planned is not None:
        curves.append(Curve(*logged.planned, "gas as planned", ink=False))
    off = None if logged.steam_off is None else (logged.steam_off, "steam shut")
    panels = [
        Panel(
            "Temperatures since steam on", "time", "temperature", tuple(curves),
            level=logged.reading, mark=off,
        )
    ]  # fmt: skip
    if logged.pressure is not None and np.isfinite(logged.pressure).any():
        gauge = Curve(logged.time, logged.pressure, "tube")
        panels.append(
            Panel(
                "Tube pressure", "time", "pressure", (gauge,),
                level=logged.least_pressure, mark=off, height=90.0,
            )
        )  # fmt: skip
    return picture(panels, system, "Plan against log over time", prefix)


@dataclass(frozen=True, slots=True)
class CureBand:
    """Cure along the pipe with its band; conversions."""

    positions: Array
    cure: Array
    low: Array
    high: Array
    target: float


def cure_along(band: CureBand, system: UnitSystem, prefix: str = "") -> str:
    """Cure over the length: the estimate in ink, the edges of the band in graphite."""
    curves = (
        Curve(band.positions, band.high, "95 %, high", ink=False),
        Curve(band.positions, band.cure, "estimate"),
        Curve(band.positions, band.low, "95 %, low", ink=False),
    )
    lowest = min(float(band.low.min()), band.target) - 0.05
    panel = Panel(
        "Cure along the pipe from the tap, the less cured of top and bottom", "length", "share",
        curves, (max(lowest, 0.0), 1.0), (band.target, "wanted"), height=150.0,
    )  # fmt: skip
    return picture((panel,), system, "Cure along the pipe with its 95 percent band", prefix)


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown: its words, kind and SI value, and where it moved in its prior's deviations."""

    words: str
    kind: str
    value: float
    score: float
    error: float


_ROW, _LEFT, _RIGHT, _WIDE = 19.0, 250.0, 120.0, 760.0
_REACH = 4.0


def unknowns_moved(unknowns: Sequence[Unknown], system: UnitSystem, prefix: str = "") -> str:
    """How far the log moved what nobody measured: prior in graphite, estimate in ink."""
    height = 34.0 + _ROW * len(unknowns)
    sheet = Sheet(_WIDE, height, prefix)
    middle = (_LEFT + _WIDE - _RIGHT) / 2
    unit = (_WIDE - _RIGHT - _LEFT) / (2 * _REACH)

    def at(score: float) -> float:
        return middle + unit * min(max(score, -_REACH), _REACH)

    top, bottom = 14.0, 14.0 + _ROW * len(unknowns)
    for score in (-2.0, 0.0, 2.0):
        dash = "" if score == 0.0 else "2 3"
        sheet.line(
            [(at(score), top), (at(score), bottom)],
            "scale",
            FAINT,
            1,
            stroke_dasharray=dash or None,
        )
        words = "as thought" if score == 0.0 else f"{score:+g} sd"
        sheet.text((at(score), bottom + 14), words, anchor="middle", role="pale")
    for number, one in enumerate(unknowns):
        y = top + _ROW * (number + 0.5)
        sheet.text((_LEFT - 12, y + 4), one.words, anchor="end")
        sheet.line([(at(-1.96), y), (at(1.96), y)], "prior", GRAPHITE, 1)
        low, high = at(one.score - 1.96 * one.error), at(one.score + 1.96 * one.error)
        sheet.line([(low, y), (high, y)], "band", INK, 5)
        sheet.line([(at(one.score), y - 6), (at(one.score), y + 6)], "estimate", INK, 2)
        sheet.text((_WIDE - _RIGHT + 10, y + 4), show(one.value, one.kind, system).text)
    return sheet.render("What the log says of soil, contact, supply and resin")
