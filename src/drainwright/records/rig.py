"""The rig: what a crew's equipment can reach, hold and read."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Gauge:
    """An instrument with its calibration."""

    key: str
    reads: str
    calibrated_on: dt.date | None = None
    calibration_due: dt.date | None = None


@dataclass(frozen=True, slots=True)
class TubeCapacity:
    """The longest tube the carrier stores, by size and wall [m]."""

    diameter: float
    wall: float
    length: float


@dataclass(frozen=True, slots=True)
class Rig:
    """One launch rig; SI, None where not stated."""

    key: str
    hose_reach: float | None = None
    cable_reach: float | None = None
    capacities: tuple[TubeCapacity, ...] = ()
    smallest_opening: float | None = None
    smallest_main: float | None = None
    largest_main: float | None = None
    clock_from: float | None = None
    clock_to: float | None = None
    maximum_pressure: float | None = None
    bladder_maximum_pressure: float | None = None
    bladder_maximum_temperature: float | None = None
    position_error: float | None = None
    boiler_power: float | None = None
    air_supply: float | None = None
    cap_vent: float | None = None
    hose_bore: float | None = None
    vent_hose_length: float | None = None
    cap_maximum_pressure: float | None = None
    cable_reference: str = ""
    """Where the cable is read, such as carrier nose, hose gland or manhole rim."""
    cable_tied_to: str = ""
    """What the cable is tied to: end cap, or carrier."""
    tube_stored: str = ""
    """How the carrier stores the tube: straight or folded."""
    gauges: tuple[Gauge, ...] = ()
