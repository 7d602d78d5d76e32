"""Small logs for tests, drawn by hand: ramps and plateaus, no model behind them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from drainwright.records.cure_log import Channel, CureLog, Reads, Series

Array = NDArray[np.float64]
START = dt.datetime(2026, 11, 17, 16, 40, tzinfo=dt.UTC)
HOT, COLD = 384.0, 288.0
PSI = 6894.757293168


def corners(seconds: Array, *points: tuple[float, float]) -> Array:
    """Straight lines through (minute, value)."""
    drawn: Array = np.interp(seconds / 60.0, [m for m, _ in points], [v for _, v in points])
    return drawn


def log(
    minutes: float, series: dict[Channel, Array], every: float = 10.0, **changes: object
) -> CureLog:
    """A log of `minutes` from START."""
    seconds = np.arange(0.0, minutes * 60.0 + 1e-6, every)
    made = tuple(
        Series(
            channel,
            channel.kind,
            tuple(None if not np.isfinite(v) else round(float(v), 2) for v in values),
        )
        for channel, values in series.items()
    )
    return CureLog("A-04", 1, START, tuple(float(s) for s in seconds), made)


GAS = Channel("T1", Reads.GAS_IN)
EXHAUST = Channel("T2", Reads.EXHAUST, 13.4)
WALL = Channel("T3", Reads.WALL_TOP, 1.0)
PRESSURE = Channel("P1", Reads.PRESSURE)


def plain(
    minutes: float = 120.0, every: float = 10.0, keep: Sequence[Channel] = ()
) -> tuple[Array, dict[Channel, Array]]:
    """Steam on at 5 min, hot at 15; exhaust hot at 20; shut at 100, cold at 110."""
    t = np.arange(0.0, minutes * 60.0 + 1e-6, every)
    return t, {
        GAS: corners(t, (0, COLD), (5, COLD), (15, HOT), (100, HOT), (110, 300)),
        EXHAUST: corners(t, (0, COLD), (7, COLD), (20, HOT - 1), (100, HOT - 1), (112, 302)),
        WALL: corners(t, (0, COLD), (6, COLD), (60, 365), (100, 370), (120, 340)),
        PRESSURE: corners(t, (0, 7 * PSI), (120, 7 * PSI)),
    }
