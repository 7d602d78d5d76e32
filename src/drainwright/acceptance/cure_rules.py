"""How much of the maker's schedule and of the exhaust's rule a log shows, at any moment of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from drainwright.acceptance.cure_series import Phases, Readings
from drainwright.records.cure_log import Reads
from drainwright.records.material import CureStep
from drainwright.records.work_sheet import WorkSheet

Array = NDArray[np.float64]
LONGEST_COUNTED = 60.0
"""Of the time between two readings no more than this is counted [s]."""
WINDOW = 300.0
_SAG = 2.0
"""An exhaust that falls this far below its reading no longer counts [K]."""


@dataclass(frozen=True, slots=True)
class StepReached:
    """One step of the maker's schedule: what is asked for and how long the log shows it."""

    step: CureStep
    reached: float
    """[s]"""

    @property
    def left(self) -> float:
        """What is missing [s]."""
        return max(self.step.time - self.reached, 0.0)


@dataclass(frozen=True, slots=True)
class ExhaustRule:
    """Steam for a time after the exhaust reads a temperature and stands there."""

    reading: float
    """[K]"""
    wait: float
    """[s]"""
    rise: float
    """Less than this in five minutes is steady [K]."""


@dataclass(frozen=True, slots=True)
class ExhaustReached:
    """When the exhaust stood at its reading, and how long steam flowed from then."""

    steady_at: float | None
    reached: float


def steam_span(readings: Readings, phases: Phases) -> tuple[float, float] | None:
    """From steam on to steam shut, or to the end of the log; None without steam."""
    if phases.steam_on is None or not readings.seconds.size:
        return None
    end = float(readings.seconds[-1]) if phases.steam_off is None else phases.steam_off
    return (phases.steam_on, end) if end > phases.steam_on else None


def maker_steps(
    readings: Readings, phases: Phases, schedule: Sequence[CureStep]
) -> tuple[StepReached, ...]:
    """The steps one after another, counted where the coldest gas is at their temperature.

    A step counts from where the one before it is fulfilled; hotter counts for a cooler step.
    """
    span = steam_span(readings, phases)
    if span is None:
        return tuple(StepReached(step, 0.0) for step in schedule)
    seconds, gas = readings.seconds, readings.coldest_gas()
    found = []
    start = span[0]
    for step in schedule:
        counted = _counted(seconds, gas >= step.temperature, (start, span[1]))
        found.append(StepReached(step, float(counted[-1])))
        enough = np.flatnonzero(counted >= step.time)
        start = float(seconds[enough[0]]) if enough.size else span[1]
    return tuple(found)


def _counted(seconds: Array, good: NDArray[np.bool_], span: tuple[float, float]) -> Array:
    """Time for which a condition held until each reading, within a span [s]."""
    inside = (seconds > span[0]) & (seconds <= span[1])
    steps = np.minimum(np.diff(seconds, prepend=seconds[0]), LONGEST_COUNTED)
    both = good & np.concatenate([good[:1], good[:-1]])
    return np.asarray(np.cumsum(np.where(inside & both, steps, 0.0)), dtype=float)


def sheet_number(sheet: WorkSheet, key: str) -> float | None:
    """The number of a work sheet's figure; None where the sheet has none."""
    figure = sheet.figure(key)
    if figure is None or isinstance(figure.value, str):
        return None
    return float(figure.value)


def exhaust_rule(sheet: WorkSheet) -> ExhaustRule | None:
    """The rule on a work sheet; None where it has none."""
    reading, wait = (sheet_number(sheet, f"steam.{key}") for key in ("exhaust", "after_exhaust"))
    if reading is None or wait is None:
        return None
    return ExhaustRule(reading, wait, sheet.specification.value("exhaust_rise_most"))


def exhaust_reached(readings: Readings, phases: Phases, rule: ExhaustRule) -> ExhaustReached | None:
    """How far the rule is kept; None without an exhaust or without steam."""
    exhaust = readings.one(Reads.EXHAUST)
    span = steam_span(readings, phases)
    if exhaust is None or span is None:
        return None
    seconds, values = readings.seconds, exhaust.filled(readings.seconds)
    before = np.interp(seconds - WINDOW, seconds, values)
    steady = (
        (seconds >= span[0] + WINDOW)
        & (seconds <= span[1])
        & (values >= rule.reading)
        & (values - before < rule.rise)
    )
    first = np.flatnonzero(steady)
    if not first.size:
        return ExhaustReached(None, 0.0)
    at = float(seconds[first[0]])
    good = np.isfinite(exhaust.values) & (exhaust.values >= rule.reading - _SAG)
    counted = _counted(seconds, good, (at, span[1]))
    return ExhaustReached(at, float(counted[-1]))
