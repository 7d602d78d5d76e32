"""The cure as read by hand: wall and exhaust over time, from the field entries."""

from __future__ import annotations

import numpy as np

from drainwright.acceptance.case import Case
from drainwright.drawing.cure_pictures import Curve, Panel, picture
from drainwright.papers.paper import Data, Svg
from drainwright.records.attempt import Attempt
from drainwright.units import UnitSystem

_READ = (
    ("exhaust_temperature", "exhaust"),
    ("wall_top", "wall, top"),
    ("wall_bottom", "wall, bottom"),
)


def cure_chart(case: Case, system: UnitSystem) -> Data:
    """The chart as SVG; None without three readings of anything after steam on."""
    attempt = case.cured
    started = attempt.time_of("steam_on") if attempt else None
    if attempt is None or started is None:
        return None
    curves = tuple(
        curve
        for name, words in _READ
        if (curve := _curve(attempt, name, words, started.timestamp())) is not None
    )
    if not curves:
        return None
    down = case.figure("steam.letdown")
    level = None if down is None else (down, "let down below")
    panel = Panel("read by hand, from steam on", "time", "temperature", curves, level=level)
    return Svg(picture((panel,), system, "Wall and exhaust as read by hand", f"{case.key}-"))


def _curve(attempt: Attempt, name: str, words: str, started: float) -> Curve | None:
    read = [(event.at.timestamp() - started, value) for event, value in attempt.readings(name)]
    read = sorted({at: value for at, value in read if at >= 0}.items())
    if len(read) < 3:
        return None
    x, y = (np.array(column, dtype=float) for column in zip(*read, strict=True))
    return Curve(x, y, words, ink="wall" in name)
