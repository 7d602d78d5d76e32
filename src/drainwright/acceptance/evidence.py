"""Evidence of work for payment: what the record tells was done, with the entry behind each."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from drainwright.records.attempt import Attempt
from drainwright.records.contract import Work
from drainwright.records.field_entry import AttemptEnd, EntryKind
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import WorkSheet

STEP_WORK = {"post_tv": Work.TV, "restored": Work.SERVICE}
READ_WORK = {"root_cutting": Work.ROOTS, "grout": Work.GROUT}
"""Values whose sum is paid: seconds of root cutting, cubic meters of grout."""
TOLD_WORK = {"cleanout_built": Work.CLEANOUT, "tap_trimmed": Work.TAP}


@dataclass(frozen=True, slots=True)
class Evidence:
    """Work that was done: where, when, how much, and the entry that tells so.

    `amount` is SI: seconds, cubic meters, or a count. Lengths stand for lined laterals only.
    """

    work: Work
    ref: str
    """Id of the field entry, or kind and key of the document."""
    on: dt.date
    lateral: str = ""
    segment: str = ""
    amount: float = 1.0
    length: float = 0.0
    """Lined length along the pipe [m]."""
    horizontal: float = 0.0
    """The same on the map [m]."""
    public: float = 1.0
    """Share of the length up to the property line."""
    accepted: dt.date | None = None


def horizontal_length(lateral: Lateral, length: float) -> float:
    """Length on the map [m] of a lined `length` along the pipe [m]: riser and slope taken off.

    run = (L − riser)/√(1 + slope²); the slope is the stated one, else from both depths.
    """
    along = max(0.0, length - lateral.riser)
    slope = lateral.slope
    if slope is None:
        ends = (lateral.tap_depth, lateral.far_depth)
        if None in ends or not along:
            return along
        rise = abs(float(ends[0] or 0.0) - float(ends[1] or 0.0) - lateral.riser)
        return math.sqrt(max(0.0, along**2 - rise**2))
    return along / math.sqrt(1.0 + slope**2)


def lined_evidence(
    lateral: Lateral,
    sheet: WorkSheet,
    attempts: Iterable[Attempt],
    zone: str,
    accepted: dt.date | None = None,
) -> Iterator[Evidence]:
    """What the attempts on one lateral tell: the liner once, its collar, and the works beside it.

    The lined length is the one read after lining (`lined_length`), else the work sheet's.
    A liner counts from the first attempt that ended cured; failed ones earn nothing for it.
    """
    local = ZoneInfo(zone)
    given = list(attempts)
    cured = next((one for one in given if one.end is AttemptEnd.CURED), None)
    if cured is not None and cured.ending is not None:
        length = cured.last("lined_length") or _sheet_length(sheet)
        on = cured.ending.at.astimezone(local).date()
        share = _public_share(lateral, length)
        lined = Evidence(
            Work.LINED, cured.ending.id, on, lateral.key, lateral.segment, 1.0, length,
            horizontal_length(lateral, length), share, accepted,
        )  # fmt: skip
        yield lined
        if sheet.figure("collar.name") is not None:
            yield Evidence(
                Work.COLLAR, cured.ending.id, on, lateral.key, lateral.segment, accepted=accepted
            )
    for attempt in given:
        yield from _beside(attempt, lateral, local, finished=attempt is cured)


PLANNED_WORK = (Work.LINED, Work.COLLAR, Work.TEST, Work.TV, Work.SERVICE)
"""What every lined lateral comes to."""
ASKED_WORK = {"access": Work.CLEANOUT, "intruding tap": Work.TAP}
"""Works before lining, by the rule that asks for them."""


def planned_evidence(lateral: Lateral, sheet: WorkSheet, on: dt.date) -> Iterator[Evidence]:
    """What a lateral will come to if it is lined as its work sheet says, for an estimate."""
    length = _sheet_length(sheet)
    asked = [work for rule, work in ASKED_WORK.items() if _asks(sheet, rule)]
    for work in (*PLANNED_WORK, *asked):
        if work is Work.COLLAR and sheet.figure("collar.name") is None:
            continue
        run = horizontal_length(lateral, length)
        share = _public_share(lateral, length)
        at = (f"work sheet {lateral.key}", on, lateral.key, lateral.segment)
        yield Evidence(work, *at, 1.0, length, run, share, on)


def _asks(sheet: WorkSheet, rule: str) -> bool:
    return any(reason.rule == rule and reason.work for reason in sheet.reasons)


def _public_share(lateral: Lateral, length: float) -> float:
    if lateral.property_line is None or length <= 0:
        return 1.0
    return min(1.0, max(0.0, lateral.property_line / length))


def _sheet_length(sheet: WorkSheet) -> float:
    figure = sheet.figure("length.lined")
    return float(figure.value) if figure and not isinstance(figure.value, str) else 0.0


def _beside(
    attempt: Attempt, lateral: Lateral, zone: ZoneInfo, *, finished: bool
) -> Iterator[Evidence]:
    """Works told by single entries; TV and service restored count with the finished liner."""
    for event in attempt.events:
        on = event.at.astimezone(zone).date()
        at = (event.id, on, lateral.key, lateral.segment)
        if event.kind is EntryKind.STEP and event.step in STEP_WORK and finished:
            yield Evidence(STEP_WORK[event.step], *at)
        for name, work in READ_WORK.items():
            value = event.value(name)
            if value is not None and value > 0:
                yield Evidence(work, *at, value)
        for name, work in TOLD_WORK.items():
            if event.word(name):
                yield Evidence(work, *at)


def of_laterals(evidence: Iterable[Evidence]) -> Mapping[str, tuple[Evidence, ...]]:
    """The evidence of each lateral."""
    found: dict[str, list[Evidence]] = {}
    for one in evidence:
        found.setdefault(one.lateral, []).append(one)
    return {lateral: tuple(items) for lateral, items in found.items()}
