"""The verdict on a cure: rules kept or not, and the cure at the least place with its band."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from drainwright.acceptance.cure_checks import Evidence, downgraded, rule_checks, shut_out
from drainwright.acceptance.cure_estimate import (
    SIGMAS,
    Estimate,
    Question,
    drive_of,
    estimate,
    watched_of,
)
from drainwright.acceptance.cure_events import events_of
from drainwright.acceptance.cure_priors import priors_of
from drainwright.acceptance.cure_series import Told, phases_of, readings_of
from drainwright.acceptance.cure_site import SiteCase
from drainwright.checks import Check, Outcome, not_assessed
from drainwright.engineering.cure_model import CureCase
from drainwright.engineering.driven_cure import Column, layout_of
from drainwright.records.cure_log import CureLog, LogFinding, Reads
from drainwright.records.cure_verdict import CureVerdict, Estimated
from drainwright.records.live_cure import CureAlong
from drainwright.records.work_sheet import DocumentRef, WorkSheet
from drainwright.sources import cite
from drainwright.units import FOOT, UnitSystem, show

MODEL = cite("cure-model")
NOT_COMPARED = (
    "The model has not been compared with instrumented liners; its own error against a real wall "
    "is not in the band."
)
NOT_SEEN = (
    "Heat around the girth between top and bottom, folds, bends, wrinkles, taps inside the lined "
    "length, resin-poor places and mixing errors are not seen."
)
BLIND = "Blind end: nothing reads the far end; the band is wider there for that reason."
NO_COLLAR = "No sensor reads the collar: its cure rests on the model and the gas alone."
UNEXPLAINED = 7.0
"""With more than this between readings and model no cure is told [K]."""
ODD = 6.0
"""A sensor this far from what the rest explains is named [K]."""


@dataclass(frozen=True, slots=True)
class LogCase:
    """A log to be judged, with the sheet it is held against and the case of the model."""

    sheet: WorkSheet
    log: CureLog
    site: SiteCase
    told: Told
    gauges: Mapping[str, dt.date | None] = field(default_factory=dict)
    """When the calibration of each of the rig's instruments runs out."""
    made_from: tuple[DocumentRef, ...] = ()


def judge(given: LogCase) -> CureVerdict:
    """The verdict on a log."""
    readings = readings_of(given.log)
    phases = phases_of(readings, given.told)
    system = given.sheet.project.units
    seen = Evidence(given.sheet, given.log, readings, phases)
    findings = [*given.log.findings, *events_of(readings, phases, system)]
    found, lacks = fitted(seen, given.site)
    if found is not None and found.estimate is not None:
        findings += _odd(found, system)
    checks = (*rule_checks(seen), *_cure_checks(given, found, lacks, findings))
    used = [one.channel for one in given.log.series]
    checks = downgraded(checks, used, given.gauges, given.log.start.date())
    checks = shut_out(checks, findings)
    log = given.log

    def moment(second: float | None) -> dt.datetime | None:
        return None if second is None else log.at(second)

    return CureVerdict(
        lateral=log.lateral,
        attempt=log.attempt,
        checks=checks,
        findings=tuple(findings),
        steam_on=moment(phases.steam_on),
        steam_off=moment(phases.steam_off),
        let_down=moment(phases.let_down),
        along=None if found is None else found.along,
        least_place="" if found is None else found.least_place,
        estimated=() if found is None else tuple(estimated_of(found.estimate)),
        misfit=None if found is None else found.estimate.misfit,
        leaves_out=leaves_out(given.site.case, seen),
        made_from=given.made_from,
    )


@dataclass(frozen=True, slots=True)
class Fitted:
    """The estimate of a log and the cure along the pipe at the log's end."""

    estimate: Estimate
    question: Question
    along: CureAlong
    least: tuple[float, float, float]
    """Cure, low and high of the least cured place."""
    least_place: str


def fitted(seen: Evidence, site: SiteCase) -> tuple[Fitted | None, str]:
    """The estimate at the end of the log, or why there is none."""
    if site.case is None:
        return None, site.lacks
    end = float(seen.readings.seconds[-1]) if seen.readings.seconds.size else 0.0
    drive = drive_of(seen.readings, seen.phases, site.case, end)
    if drive is None:
        return None, "the log shows no gas, or no steam"
    columns = layout_of(site.case).columns
    watched = watched_of(seen.readings, seen.phases, columns)
    question = Question(site.case, drive, watched, priors_of(site.case))
    found = estimate(question)
    along, least, place = along_of(found, drive.times.size - 1)
    return Fitted(found, question, along, least, place), ""


def along_of(
    found: Estimate, at: int, sigmas: float = SIGMAS
) -> tuple[CureAlong, tuple[float, float, float], str]:
    """Cure along the pipe at a time: the less cured of top and bottom; the least place of all."""
    cure, low, high = found.band(at, sigmas)
    columns = found.driven.columns
    lateral = [n for n, one in enumerate(columns) if one.part == "lateral"]
    collar = [n for n, one in enumerate(columns) if one.part != "lateral"]
    positions = sorted({columns[n].position for n in lateral})
    worst = [
        min((n for n in lateral if columns[n].position == at_), key=lambda n: float(low[n]))
        for at_ in positions
    ]
    ends = [min(collar, key=lambda n: float(low[n]))] if collar else []
    along = CureAlong(
        tuple(positions),
        tuple(float(cure[n]) for n in worst),
        tuple(float(low[n]) for n in worst),
        tuple(float(high[n]) for n in worst),
        tuple(float(v[ends[0]]) for v in (cure, low, high)) if ends else (),
    )
    least = int(np.argmin(low))
    band = (float(cure.min()), float(low.min()), float(high.min()))
    return along, band, place_words(columns[least])


def place_words(column: Column) -> str:
    """Where a column of the model is, in the crew's words."""
    if column.part != "lateral":
        return column.part.replace("middle", "under the bladder").replace("edge", "at its edge")
    line = {"top": ", top", "invert": ", bottom"}.get(column.line, "")
    at = column.position
    return f"{at / FOOT:.0f} ft ({at:.1f} m) up the lateral{line}"


def _cure_checks(
    given: LogCase, found: Fitted | None, lacks: str, findings: list[LogFinding]
) -> Iterator[Check]:
    """Cure over the length and of the collar: met only where the band's lower edge reaches it."""
    limit = given.sheet.specification.limit("target_cure")
    if limit.value is None:
        return
    name = "cure at the least place of the length"
    if found is None:
        yield not_assessed(name, "share", MODEL, f"not estimated: {lacks}")
        return
    off = found.estimate.misfit
    if off is not None and off > UNEXPLAINED:
        shown = show(off, "temperature_difference", given.sheet.project.units, 0).text
        words = f"the model leaves {shown} of the readings unexplained: a sensor or place is wrong"
        yield not_assessed(name, "share", MODEL, words)
        return
    gaps = [one.words for one in findings if one.key == "gap" and one.grave]
    if gaps:
        yield not_assessed(name, "share", MODEL, gaps[0])
        return
    along = found.along
    at = int(np.argmin(along.cure_low))
    system = given.sheet.project.units
    where = f"{show(along.positions[at], 'length', system).text} from the tap"
    length = (along.cure[at], along.cure_low[at], along.cure_high[at])
    yield banded(name, length, limit.value, where)
    if along.collar_cure:
        cure, low, high = along.collar_cure
        yield banded("cure of the collar", (cure, low, high), limit.value, "the collar")


def banded(name: str, band: tuple[float, float, float], limit: float, where: str) -> Check:
    """Met where even the lower edge reaches the limit, not met where the estimate does not."""
    cure, low, high = band
    note = f"{where}: {cure:.1%}, 95 % between {low:.1%} and {high:.1%}"
    if low >= limit:
        return Check(name, limit, low, "share", Outcome.MET, MODEL, note)
    if cure < limit:
        return Check(name, limit, cure, "share", Outcome.NOT_MET, MODEL, note)
    note += "; reached by the estimate, not shown by its band"
    return Check(name, limit, low, "share", Outcome.NOT_ASSESSED, MODEL, note)


def estimated_of(found: Estimate) -> Iterator[Estimated]:
    """Each unknown before and after the log."""
    for n, prior in enumerate(found.priors):
        z, error = float(found.z[n]), float(np.sqrt(found.covariance[n, n]))
        low, high = sorted((prior.show(z - SIGMAS * error), prior.show(z + SIGMAS * error)))
        yield Estimated(
            prior.name, prior.words, prior.kind, prior.shown, prior.show(z), low, high, z, error
        )


def _odd(found: Fitted, system: UnitSystem) -> Iterator[LogFinding]:
    """Sensors that read what the rest does not explain, and water on the collar."""
    for one, off in zip(found.question.watched, found.estimate.residuals, strict=True):
        channel = one.sensor.channel
        if abs(off) >= ODD and channel.reads is not Reads.EXHAUST:
            shown = show(abs(off), "temperature_difference", system, 0).text
            side = "colder" if off < 0 else "warmer"
            words = f"{channel.name} ({channel.reads}) reads {shown} {side} than the rest explains"
            yield LogFinding("odd", words, channel.name)
    names = [prior.name for prior in found.estimate.priors]
    read = any(one.sensor.channel.reads is Reads.COLLAR for one in found.question.watched)
    if "collar_water" in names and read:
        score = float(found.estimate.z[names.index("collar_water")])
        if score > 1.6:
            words = (
                "the collar ran much colder than its bladder and the ground explain: water of the "
                "main on the collar"
            )
            yield LogFinding("water on collar", words)


def leaves_out(case: CureCase | None, seen: Evidence) -> tuple[str, ...]:
    """What the estimate does not see, in words."""
    words = [NOT_COMPARED, NOT_SEEN]
    if seen.readings.one(Reads.EXHAUST) is None or (case and case.gas.vent_diameter is None):
        words.append(BLIND)
    if not seen.readings.all_of(Reads.COLLAR):
        words.append(NO_COLLAR)
    return tuple(words)
