"""Cures drawn from the spreads, with their logs and what the program is told beforehand."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from drainwright.acceptance.cure_series import Phases, Readings, phases_of, readings_of
from drainwright.engineering.cure_model import (
    Collar,
    CureCase,
    Host,
    Liner,
    Schedule,
    Soil,
    Supply,
)
from drainwright.engineering.kinetics import Glass, Kinetics
from drainwright.records.cure_log import Channel, CureLog, Reads, Series
from tests.acceptance.synthetic_logs import NAMES, Array, Made, Sensors, Truth, readings

SET_C = Kinetics(
    "kamal", (1.02e5, 1.53e5), (57e3, 50e3), 0.9, 1.8, glass=Glass(243.15, 383.15, 0.45, 6.0)
)
"""Set C of the reference values: constructed, for tests and the demo only."""
STEAM_ON = dt.datetime(2026, 11, 17, 16, 42, tzinfo=dt.UTC)
BOILER = 0.02


def case(*, blind: bool = False, length: float = 13.4) -> CureCase:
    """What is known of the cure before its log: the middle of the draws."""
    truth = Truth()
    vent = None if blind else 0.00635
    return CureCase(
        length,
        truth.diameter,
        Host(truth.host_wall, truth.host_k, 2500.0, 840.0),
        Liner(truth.wall, truth.liner_k, coating=truth.coating),
        SET_C,
        truth.heat,
        Supply(truth.gauge, steam_supply=BOILER, vent_diameter=vent),
        Soil(truth.soil_k, truth.soil_rho_c, truth.soil),
        Schedule(target_conversion=0.9),
        collar=Collar(0.4064, truth.collar_wall, truth.main_diameter),
    )


def drawn(rng: np.random.Generator, *, blind: bool = False, **fixed: Any) -> Truth:
    """A cure whose unknowns lie within their spreads (see docs/theory/cure-log.md)."""

    def times(spread: float) -> float:
        return math.exp(spread * float(np.clip(rng.standard_normal(), -3, 3)))

    plain = Truth()
    made = replace(
        plain,
        soil_k=plain.soil_k * times(0.25),
        soil=plain.soil + 2.0 * float(rng.standard_normal()),
        contact=1e-3 * times(1.0),
        supply=BOILER * times(0.75 if blind else 0.5),
        rate=times(0.15),
        heat=plain.heat * times(0.08),
        liner_k=plain.liner_k * times(0.134),
        host_k=plain.host_k * times(0.15),
        condensate=0.003 * times(0.5),
        bladder_k=plain.bladder_k * times(0.25),
        collar_water=1.0 * times(1.5),
        plug=min(0.03 * times(0.8), 0.4) if blind else 0.0,
        steam_time=float(rng.uniform(80, 170)) * 60.0,
    )
    return replace(made, **fixed)


@dataclass(frozen=True)
class Logged:
    """A log with what it means."""

    log: CureLog
    readings: Readings
    phases: Phases


READS = (
    (Reads.GAS_IN, None), (Reads.EXHAUST, None), (Reads.WALL_TOP, 1.0), (Reads.WALL_BOTTOM, 1.0),
    (Reads.WALL_TOP, -1.0), (Reads.WALL_BOTTOM, -1.0), (Reads.COLLAR, 0.0), (Reads.PRESSURE, None),
)  # fmt: skip


def channels(length: float) -> dict[str, Channel]:
    found = {}
    for name, (reads, at) in zip(NAMES, READS, strict=True):
        position = at if at is None or at >= 0 else length + at
        found[name] = Channel(name, reads, position)
    return found


def log_of(
    seconds: Array, values: dict[str, Array], length: float, lateral: str = "A-04"
) -> CureLog:
    """A record of the readings, times counted from the first."""
    start = STEAM_ON + dt.timedelta(seconds=float(seconds[0]))
    there = channels(length)
    series = tuple(
        Series(
            there[name],
            there[name].kind,
            tuple(None if not np.isfinite(v) else round(float(v), 2) for v in values[name]),
        )
        for name in NAMES
        if name in values
    )
    return CureLog(lateral, 1, start, tuple(float(s - seconds[0]) for s in seconds), series)


def logged(made: Made, sensors: Sensors, *, blind: bool = False) -> Logged:
    seconds, values = readings(made, sensors, blind=blind)
    log = log_of(seconds, values, made.truth.length)
    found = readings_of(log)
    return Logged(log, found, phases_of(found))
