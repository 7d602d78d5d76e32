"""The planned cure and what the logger read, on one time axis (read)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from drainwright.acceptance.cure_series import Phases, Readings, Sensor, phases_of, readings_of
from drainwright.drawing.cure_pictures import Curve, Panel, picture
from drainwright.engineering.cure_probes import Probe, probe_rows
from drainwright.errors import NotFoundError
from drainwright.operations.cure_view import PlannedRun, planned_run
from drainwright.operations.planned_site import behind_sheet
from drainwright.papers.shown import time_text
from drainwright.records.cure_log import WALLS, Channel, CureLog, Reads
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.project import Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, RecordStore, Stored
from drainwright.units import UnitSystem, show

Array = NDArray[np.float64]
MOST = 8
"""Sensors drawn at most."""


@dataclass(frozen=True, slots=True)
class AgainstLog:
    """One log laid over the plan: its picture and what differs, in words."""

    title: str
    svg: str
    facts: tuple[tuple[str, str], ...]
    why_not: str = ""
    verdict: str = ""
    """Outcome of the verdict on record; empty where none is."""
    checks: tuple[str, ...] = ()
    """Its checks in words."""


def cure_against_log(store: RecordStore, project: Project, key: str) -> tuple[AgainstLog, ...]:
    """Every log of lateral `key` over its plan as issued; none where nothing was logged."""
    with store.read() as session:
        logs = [s.record for s in session.every(project.key, CureLog, Filters(lateral=key))]
        if not logs:
            return ()
        try:
            sheet: Stored[WorkSheet] = session.get(project.key, WorkSheet, key)
        except NotFoundError:
            return ()
        behind = behind_sheet(session, project.key, sheet.record)
        verdicts = {
            one.record.key: one.record
            for one in session.every(project.key, CureVerdict, Filters(lateral=key))
        }
    run = planned_run(sheet.revision.sha256, behind)
    return tuple(_with_verdict(_against(log, run, project), verdicts.get(log.key)) for log in logs)


def _with_verdict(found: AgainstLog, verdict: CureVerdict | None) -> AgainstLog:
    if verdict is None:
        return found
    checks = tuple(f"{check.name}: {check.outcome.value}" for check in verdict.checks)
    return replace(found, verdict=verdict.outcome.value, checks=checks)


def _against(log: CureLog, run: PlannedRun | str, project: Project) -> AgainstLog:
    when = time_text(log.start, project.zone, project.units)
    title = f"Attempt {log.attempt}, logged from {when}"
    if isinstance(run, str):
        return AgainstLog(title, "", (), f"there is no planned cure: {run}")
    readings = readings_of(log)
    phases = phases_of(readings)
    if phases.steam_on is None:
        return AgainstLog(title, "", (), "the log does not show when steam came on")
    panels: list[Panel] = []
    facts = [_steam_fact(run, phases)]
    for sensor in readings.sensors:
        pair = _pair(sensor, readings, phases.steam_on, run)
        if pair is not None and len(panels) < MOST:
            name = channel_words(sensor.channel, project.units)
            panels.append(Panel(name, "time", "temperature", pair, height=112.0))
            facts.append((name, _apart(pair, phases, run.hold, project.units)))
    if not panels:
        return AgainstLog(title, "", tuple(facts), "no channel reads what the plan computes")
    label = "Planned and measured temperatures since steam on"
    svg = picture(panels, project.units, label, f"l{log.attempt}-")
    return AgainstLog(title, svg, tuple(facts))


def channel_words(channel: Channel, system: UnitSystem) -> str:
    """What a channel reads and where, in words."""
    if channel.position is None:
        return channel.reads.value
    end = "the far end" if channel.from_end else "the tap"
    return f"{channel.reads}, {show(channel.position, 'length', system).text} from {end}"


def _steam_fact(run: PlannedRun, phases: Phases) -> tuple[str, str]:
    planned = f"{run.hold / 60:.0f} min planned"
    if phases.steam_on is None or phases.steam_off is None:
        return "steam flowed", f"no end in the log, {planned}"
    return "steam flowed", f"{(phases.steam_off - phases.steam_on) / 60:.0f} min, {planned}"


def _pair(
    sensor: Sensor, readings: Readings, steam_on: float, run: PlannedRun
) -> tuple[Curve, Curve] | None:
    """Planned and measured; None for what the plan does not compute."""
    planned = _planned(sensor.channel, run)
    good = np.isfinite(sensor.values)
    time = readings.seconds[good] - steam_on
    values = sensor.values[good]
    inside = (time >= -600.0) & (time <= float(run.result.log.time[-1]))
    if planned is None or inside.sum() < 2:
        return None
    measured = Curve(time[inside], values[inside], "measured", ink=False)
    return Curve(*planned, "planned"), measured


def _planned(channel: Channel, run: PlannedRun) -> tuple[Array, Array] | None:
    """Times and temperatures that the plan expects of a channel."""
    log = run.result.log
    if channel.reads is Reads.EXHAUST:
        return log.time, log.exhaust
    if channel.reads not in WALLS or channel.position is None:
        return None
    at = run.case.length - channel.position if channel.from_end else channel.position
    if not 0 <= at <= run.case.length:
        return None
    line = "top" if channel.reads is Reads.WALL_TOP else "invert"
    times = tuple(float(time) for time in run.times)
    found = probe_rows(run.case, run.result.fields, Probe(at, "liner outer", line, times))[0]
    return run.times, np.array([np.nan if v is None else v for v in found])


def _apart(pair: tuple[Curve, Curve], phases: Phases, hold: float, system: UnitSystem) -> str:
    """How far apart while steam flowed, planned and in fact, from the tenth minute on."""
    planned, measured = pair
    on, off = phases.steam_on or 0.0, phases.steam_off
    until = hold if off is None else min(off - on, hold)
    hot = (measured.x >= 600.0) & (measured.x <= until)
    if not hot.any():
        return "not logged while steam flowed"
    apart = measured.y[hot] - np.interp(measured.x[hot], planned.x, planned.y)
    low, high = (
        show(float(value), "temperature_difference", system, 0)
        for value in (apart.min(), apart.max())
    )
    return f"measured less planned {low.number} to {high.text}, from minute 10 on"
