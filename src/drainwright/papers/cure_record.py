"""The cure record: one page about one cure, from its log, for a person to sign."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from drainwright.acceptance.cure_series import Array, Readings, readings_of
from drainwright.checks import Check, Outcome
from drainwright.drawing.cure_log_pictures import (
    CureBand,
    LoggedCure,
    Unknown,
    cure_along,
    plan_against_log,
    unknowns_moved,
)
from drainwright.errors import InputError, PaperError
from drainwright.papers.paper import Data, Svg, make_pdf
from drainwright.papers.sheet_head import Issue, Subject, lateral_head
from drainwright.papers.shown import UNKNOWN, SourceList, reading, time_text
from drainwright.records.cure_log import TEMPERATURES, Channel, CureLog, Reads
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, show

_CODES = {Outcome.MET: "met", Outcome.NOT_MET: "not", Outcome.NOT_ASSESSED: "open"}
_WORDS = {
    Outcome.MET: "Every check is met.",
    Outcome.NOT_MET: "Not met: see the checks.",
    Outcome.NOT_ASSESSED: "Not assessed in part; that never counts as met.",
}
_MOST_NOTES = 6


@dataclass(frozen=True, slots=True)
class CureFacts:
    """What the record is made from."""

    sheet: WorkSheet
    log: CureLog
    verdict: CureVerdict
    issue: Issue


def cure_record_pdf(facts: CureFacts, *, system: UnitSystem | None = None) -> bytes:
    """The cure record as PDF; `PaperError` where it can't be set."""
    data = cure_record_data(facts, system or facts.sheet.project.units)
    return make_pdf("cure_record", data, facts.issue.timestamp)


def cure_record_data(facts: CureFacts, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    sheet, verdict = facts.sheet, facts.verdict
    sources = SourceList()
    materials = (sheet.resin, sheet.tube)
    subject = Subject(
        sheet.project, sheet.segment, sheet.lateral, sheet.survey, facts.issue, "cure record",
        demo_material=any(one is not None and one.demo for one in materials),
        made_from=verdict.made_from,
    )  # fmt: skip
    checks: list[Data] = [_check(check, system, sources) for check in verdict.checks]
    notes = [finding.words for finding in verdict.findings]
    hidden = len(notes) - _MOST_NOTES
    return {
        **lateral_head(subject, system, "Cure record"),
        "attempt": f"attempt {verdict.attempt}",
        "outcome": {"code": _CODES[verdict.outcome], "words": _WORDS[verdict.outcome]},
        "facts": [list(fact) for fact in _facts(facts, system)],
        "time": _svg(_by_time, facts, system),
        "along": _svg(_along, facts, system),
        "unknowns": _svg(_unknowns, facts, system),
        "least": verdict.least_place,
        "checks": checks,
        "notes": list(notes[:_MOST_NOTES]),
        "hidden": max(hidden, 0),
        "leaves_out": list(verdict.leaves_out),
        "sources": sources.data(),
    }


def _svg(draw: object, facts: CureFacts, system: UnitSystem) -> Svg | None:
    """A picture, or nothing where the log does not hold it."""
    try:
        text = draw(facts, system)  # type: ignore[operator]
    except InputError:
        return None
    return Svg(text) if text else None


def _facts(facts: CureFacts, system: UnitSystem) -> Iterator[tuple[str, str]]:
    verdict, zone = facts.verdict, facts.sheet.project.zone
    yield "steam on", time_text(verdict.steam_on, zone, system) or UNKNOWN
    yield "steam shut", time_text(verdict.steam_off, zone, system) or UNKNOWN
    if verdict.steam_on and verdict.steam_off:
        flowed = (verdict.steam_off - verdict.steam_on).total_seconds()
        yield "steam flowed", reading(flowed, "time", system).text
    yield "let down", time_text(verdict.let_down, zone, system) or UNKNOWN
    yield "logger’s files", ", ".join(file.name for file in facts.log.files) or UNKNOWN
    marks = ", ".join(file.sha256[:12] for file in facts.log.files)
    yield "their SHA-256 begins", marks or UNKNOWN
    if verdict.misfit is not None:
        yield "left unexplained", show(verdict.misfit, "temperature_difference", system).text


def _check(check: Check, system: UnitSystem, sources: SourceList) -> dict[str, Data]:
    return {
        "code": _CODES[check.outcome],
        "outcome": str(check.outcome),
        "name": check.name,
        "demand": reading(check.demand, check.kind, system).text,
        "capacity": reading(check.capacity, check.kind, system).text,
        "ratio": UNKNOWN if check.ratio is None else f"{check.ratio:.2f}",
        "note": check.note,
        "ref": sources.number(check.source),
    }


def channel_name(channel: Channel, system: UnitSystem) -> str:
    """A channel as a curve is named."""
    if channel.position is None or channel.reads in (Reads.EXHAUST, Reads.COLLAR, Reads.GAS_IN):
        return channel.reads.value
    side = channel.reads.value.removeprefix("wall, ")
    return f"{side}, {show(channel.position, 'length', system).text}"


def _by_time(facts: CureFacts, system: UnitSystem) -> str:
    log, verdict = facts.log, facts.verdict
    readings = readings_of(log)
    if verdict.steam_on is None or not readings.seconds.size:
        return ""
    on = log.since_start(verdict.steam_on)
    every = max(1, readings.seconds.size // 400)
    time = (readings.seconds - on)[::every]
    temperatures = [
        (channel_name(one.channel, system), one.values[::every])
        for one in readings.all_of(*TEMPERATURES)
    ]
    gauge = readings.one(Reads.PRESSURE)
    least = facts.sheet.figure("pressure.cool_least")
    exhaust = facts.sheet.figure("steam.exhaust")
    return plan_against_log(
        LoggedCure(
            time,
            temperatures,
            _planned(facts, readings),
            None if verdict.steam_off is None else log.since_start(verdict.steam_off) - on,
            None if exhaust is None else (float(exhaust.value), "exhaust must read"),
            None if gauge is None else gauge.values[::every],
            None if least is None else (float(least.value), "at least"),
        ),
        system,
        "t-",
    )


def _planned(facts: CureFacts, readings: Readings) -> tuple[Array, Array] | None:
    """The planned gas: up in the heat-up time, held for the printed time."""
    gas, hold = facts.sheet.figure("steam.gas"), facts.sheet.figure("steam.hold")
    if gas is None or hold is None or isinstance(gas.value, str) or isinstance(hold.value, str):
        return None
    sensor = readings.one(Reads.GAS_IN) or readings.one(Reads.EXHAUST)
    value = facts.sheet.specification.value
    start = value("soil_temperature") if sensor is None else float(np.nanmedian(sensor.values[:5]))
    times = np.array([0.0, value("heat_up"), max(hold.value, value("heat_up") + 1.0)])
    return times, np.array([start, gas.value, gas.value])


def _along(facts: CureFacts, system: UnitSystem) -> str:
    along = facts.verdict.along
    target = facts.sheet.specification.limit("target_cure").value
    if along is None or target is None or len(along.positions) < 2:
        return ""
    band = CureBand(
        np.array(along.positions), np.array(along.cure), np.array(along.cure_low),
        np.array(along.cure_high), target,
    )  # fmt: skip
    return cure_along(band, system, "a-")


def _unknowns(facts: CureFacts, system: UnitSystem) -> str:
    found = facts.verdict.estimated
    if not found:
        return ""
    rows = [Unknown(one.words, one.kind, one.value, one.score, one.error) for one in found]
    return unknowns_moved(rows, system, "u-")


def refuse_other(sheet: WorkSheet, log: CureLog) -> None:
    """Raise `PaperError` where log and sheet are of different laterals."""
    if sheet.lateral.key != log.lateral:
        raise PaperError(f"the log is of {log.lateral}, the work sheet of {sheet.lateral.key}")
