"""Tightness: what the method asks for against what was read, or why it could not be tested."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Proof, Subject, answered
from drainwright.checks import Check, Outcome, at_least, at_most, not_assessed
from drainwright.engineering.air_cooling import pressures_without_cooling
from drainwright.engineering.groundwater import water_pressure
from drainwright.engineering.tightness import (
    METHODS,
    PRESSURE_MOST,
    Fall,
    air_or_water_test,
    allowed_water,
    exfiltration_limit,
    fall_of,
    groundwater_raise,
)
from drainwright.errors import InputError
from drainwright.records.specification import Specification
from drainwright.records.tightness_report import TestScope, TightnessReport
from drainwright.sources import Citation, cite

_SOURCES = {
    "ncpi": cite("cortland-1978"),
    "astm-c828": cite("astm-c828", "X1, X2"),
    "astm-f1417": cite("astm-f1417", "Table 2"),
    "exfiltration": cite("astm-f1216", "exfiltration", "M"),
    "water-level": cite("oakland"),
}
_DROP = "pressure drop within the test time"
_SLACK = 1e-6
"""Units do not come back exactly; readings are no better than this share."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a method asks for: start pressure and drop [Pa], time [s], and where from."""

    start: float
    drop: float
    time: float
    source: Citation
    raised: float = 0.0
    """Part of the start pressure that groundwater asks for [Pa]."""


def tightness(case: Case) -> Subject:
    """The newest test of the whole, and of the collar alone where there is one."""
    given = sorted(case.tightness, key=lambda one: one.number)
    whole = [one for one in given if one.scope is TestScope.WHOLE]
    packer = [one for one in given if one.scope is TestScope.PACKER]
    checks: list[Check] = []
    if not whole:
        why = "no test of the lined length is on record"
        checks.append(not_assessed("tightness of the lined length", "", cite("owner"), why))
    elif whole[-1].not_isolated:
        why = f"cannot be isolated: {whole[-1].not_isolated}"
        checks.append(not_assessed("tightness of the lined length", "", cite("owner"), why))
    else:
        checks += _report(case, whole[-1])
    if packer and (not whole or whole[-1].not_isolated):
        checks += [_named(check) for check in _report(case, packer[-1])]
    counted = (*whole[-1:], *packer[-1:])
    proofs = tuple(
        Proof(f"test {one.number}, {one.at:%Y-%m-%d}, by {one.by}", f"tightness_report {one.key}")
        for one in counted
    )
    remarks = [words for one in counted for words in _remarks(one)]
    if len(given) > len(counted):
        remarks.append(f"{len(given)} tests are on record; the newest counts.")
    return Subject("tightness", "Tightness", tuple(checks), proofs, tuple(remarks))


def _named(check: Check) -> Check:
    return replace(check, name=f"collar between packers: {check.name}")


def demand_of(report: TightnessReport, limits: Specification) -> Demand:
    """What the report's method asks for; `InputError` for a method nobody knows.

    Air tests last at least as long as the specification says and are raised for groundwater.
    """
    method = report.method
    raised = groundwater_raise(report.water_above_pipe or 0.0)
    if method == "hold":
        start, drop, time = (limits.value(f"hold_{part}") for part in ("pressure", "drop", "time"))
        source = limits.limit("hold_pressure").source
        return Demand(start + raised, drop, time, source, raised)
    if method == "water-level":
        head = float(water_pressure(limits.value("level_head")))
        return Demand(head, 0.0, limits.value("level_time"), _SOURCES["water-level"])
    source = _SOURCES.get(method, cite("en1610"))
    diameters = [one.diameter for one in report.sections]
    lengths = [one.length for one in report.sections]
    if method == "exfiltration":
        return Demand(0.0, math.inf, 0.0, source)
    test = air_or_water_test(method, diameters, lengths)
    if method == "en1610-w":
        return Demand(test.start_pressure, test.allowed_drop, test.test_time, source)
    time = max(test.test_time, limits.value("tightness_time_least"))
    return Demand(test.start_pressure + raised, test.allowed_drop, time, source, raised)


def _report(case: Case, report: TightnessReport) -> Iterator[Check]:
    known = (*METHODS, "hold", "water-level", "exfiltration")
    if report.method not in known:
        why = f"“{report.method}” is none of {', '.join(known)}"
        yield not_assessed("method", "", cite("owner"), why)
        return
    try:
        asked = demand_of(report, case.specification)
    except InputError as error:
        why = "; ".join(fault.message for fault in error.faults)
        yield not_assessed("what the method asks for", "", cite("owner"), why)
        return
    yield from _set_up(case, report)
    yield from _asked(report, asked)
    if report.method in ("en1610-w", "exfiltration"):
        yield _water(report, asked)
        return
    try:
        yield from _read(case, report, asked)
    except InputError as error:
        why = "; ".join(fault.message for fault in error.faults)
        yield not_assessed(_DROP, "pressure", asked.source, why)


def _set_up(case: Case, report: TightnessReport) -> Iterator[Check]:
    source = cite("practice", "plugs and what lies inside the test")
    told = bool(report.plugs and report.inside)
    note = "; ".join(plug.place for plug in report.plugs) or "plugs are not written down"
    if not report.inside:
        note = "what lies inside the test is not written down"
    yield answered("plugs and what lies inside", source, note, yes=True if told else None)
    lined = case.figure("length.lined")
    if report.scope is TestScope.WHOLE and lined is not None and report.sections:
        tested = sum(one.length for one in report.sections)
        give = case.figure("length.uncertainty") or 0.0
        yield at_least("length inside the test", tested, max(lined - give, 0.0), "length", source)
    if report.method not in ("en1610-w", "exfiltration", "water-level"):
        yield _groundwater(report)


def _groundwater(report: TightnessReport) -> Check:
    source = cite("eldridge")
    if report.water_above_pipe is None:
        return not_assessed("groundwater that day", "length", source, "nobody looked")
    return answered("groundwater that day", source, "the start pressure counts it", yes=True)


def _asked(report: TightnessReport, asked: Demand) -> Iterator[Check]:
    """The form itself must not have asked for less than the method does."""
    source = asked.source
    if report.start_pressure is not None and asked.start:
        reached = report.start_pressure * (1 + _SLACK)
        yield at_least("start pressure on the form", reached, asked.start, "pressure", source)
    if report.allowed_drop is not None and math.isfinite(asked.drop):
        drop = report.allowed_drop * (1 - _SLACK)
        yield at_most("allowed drop on the form", drop, asked.drop, "pressure", source)
    if report.test_time is not None and asked.time:
        reached = report.test_time * (1 + _SLACK)
        yield at_least("test time on the form", reached, asked.time, "time", source)
    if asked.raised:
        name = "start pressure with groundwater"
        yield at_most(name, asked.start, PRESSURE_MOST, "pressure", cite("eldridge"))


def _water(report: TightnessReport, asked: Demand) -> Check:
    """Water added, against what the wetted surface or the length may lose."""
    diameters = [one.diameter for one in report.sections]
    lengths = [one.length for one in report.sections]
    lasted = report.readings[-1].time if report.readings else report.test_time
    if report.water_added is None or lasted is None or not report.sections:
        why = "the water added, the time or the tested sections are not written down"
        return not_assessed("water lost", "volume", asked.source, why)
    if report.method == "en1610-w":
        most = allowed_water(diameters, lengths)
        if lasted * (1 + _SLACK) < asked.time:
            return not_assessed("water lost", "volume", asked.source, "ended before the test time")
    else:
        most = lasted * sum(exfiltration_limit(d, n) for d, n in zip(diameters, lengths,
                                                                     strict=True))  # fmt: skip
    return at_most("water lost", report.water_added, most, "volume", asked.source)


def _read(case: Case, report: TightnessReport, asked: Demand) -> Iterator[Check]:
    readings = [(one.time, one.pressure) for one in report.readings]
    fall = fall_of(readings, asked.time)
    first = fall.first_pressure * (1 + _SLACK)
    yield at_least("start pressure reached", first, asked.start, "pressure", asked.source)
    calm = _without_cooling(case, report, asked)
    raw = _judged(_DROP, fall, asked)
    if calm is None:
        yield raw
        return
    name = f"{_DROP}, temperature of the air taken off"
    steady = _judged(name, calm, asked)
    if raw.outcome is Outcome.NOT_MET and steady.outcome is Outcome.MET:
        why = "the air cooled and alone explains it: let it settle and test again"
        yield replace(raw, outcome=Outcome.NOT_ASSESSED, note=why)
    else:
        yield raw
    yield steady


def _without_cooling(case: Case, report: TightnessReport, asked: Demand) -> Fall | None:
    warm = [one.temperature for one in report.readings if one.temperature is not None]
    if len(warm) < len(report.readings) or report.method == "water-level":
        return None
    kept = pressures_without_cooling(
        [one.pressure for one in report.readings], warm, case.barometer
    )
    times = [one.time for one in report.readings]
    return fall_of(list(zip(times, kept, strict=True)), asked.time)


def _judged(name: str, fall: Fall, asked: Demand) -> Check:
    slack = _SLACK * (fall.first_pressure + 1.0)
    if fall.drop > asked.drop + slack:
        return at_most(name, fall.drop, asked.drop, "pressure", asked.source)
    if not fall.complete:
        why = "readings end before the test time"
        return not_assessed(name, "pressure", asked.source, why)
    return Check(name, fall.drop, asked.drop, "pressure", Outcome.MET, asked.source, most=True)


def _remarks(report: TightnessReport) -> Iterator[str]:
    if report.not_isolated:
        yield "A lateral that cannot be isolated counts in no number of tight ones."
        return
    inside = f"inside: {report.inside}" if report.inside else "what lies inside is not told"
    yield f"Test {report.number}, method {report.method}, {report.scope}; {inside}."
    if report.readings and any(one.temperature is None for one in report.readings):
        yield "The temperature of the air was not read: cooling looks like a leak."
    if report.remark:
        yield report.remark
