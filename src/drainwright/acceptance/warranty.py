"""Warranty: its dates, the sample that is looked at again, and what was found then."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from drainwright.errors import Fault, InputError
from drainwright.records.survey import Observation, ObservationKind, Survey
from drainwright.records.warranty_terms import WarrantyTerms


class DefectClass(StrEnum):
    """What a finding under warranty means; the owner's contract says what follows."""

    REPAIR = "repair under warranty"
    WATCH = "look again before the warranty ends"
    NOTE = "note only"


@dataclass(frozen=True, slots=True)
class WarrantyPlan:
    """The dates of one accepted lateral."""

    lateral: str
    accepted: dt.date
    ends: dt.date
    window_from: dt.date
    window_to: dt.date
    in_wet_season: bool
    sampled: bool


def years_later(day: dt.date, years: int) -> dt.date:
    """The same day some years later; the 28th for a leap day."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def sample(keys: Iterable[str], share: float, seed: int) -> tuple[str, ...]:
    """A sample of `share` of the keys, at least one: the same for the same seed on any machine.

    Keys are ordered by SHA-256 of seed and key, so one more lateral moves no other in or out
    except at the edge.
    """
    if not 0 < share <= 1:
        raise InputError(Fault("share", "must be above 0 and at most 1", share))
    given = sorted(set(keys))
    count = min(len(given), math.ceil(share * len(given) - 1e-9))
    mixed = sorted(given, key=lambda key: hashlib.sha256(f"{seed}\0{key}".encode()).digest())
    return tuple(sorted(mixed[:count]))


def warranty_plans(
    accepted: Mapping[str, dt.date], terms: WarrantyTerms
) -> tuple[WarrantyPlan, ...]:
    """Dates of each accepted lateral, with the last wet season before its warranty ends.

    Where no wet month lies within the warranty, the window is its last 90 days.
    """
    chosen = set(sample(accepted, terms.sample_share, terms.seed)) if accepted else set()
    found = []
    for key, day in sorted(accepted.items()):
        ends = years_later(day, terms.years)
        window = _wet_window(day, ends - dt.timedelta(days=terms.days_before_end), terms)
        first, last, wet = window
        found.append(WarrantyPlan(key, day, ends, first, last, wet, key in chosen))
    return tuple(found)


def _wet_window(
    start: dt.date, latest: dt.date, terms: WarrantyTerms
) -> tuple[dt.date, dt.date, bool]:
    day = latest
    while day > start and day.month not in terms.wet_months:
        day -= dt.timedelta(days=1)
    if day <= start:
        return max(start, latest - dt.timedelta(days=90)), latest, False
    last = day
    while day > start and day.month in terms.wet_months:
        day -= dt.timedelta(days=1)
    return day + dt.timedelta(days=1), last, True


# ---------------------------------------------------------------- the second look

_REPAIR = (
    ObservationKind.HOLE,
    ObservationKind.BREAK,
    ObservationKind.CRACK,
    ObservationKind.INFILTRATION,
    ObservationKind.EXFILTRATION,
    ObservationKind.ROOTS,
    ObservationKind.DEFORMATION,
    ObservationKind.OBSTACLE,
)
_WATCH = (ObservationKind.LINING_DEFECT, ObservationKind.SEALING, ObservationKind.DEPOSIT)
_SAME_PLACE = 0.3
_GROWN = 1.2


@dataclass(frozen=True, slots=True)
class Finding:
    """Something seen under warranty, beside what post-lining TV saw there."""

    observation: Observation
    before: Observation | None
    defect: DefectClass
    words: str


def second_look(
    post: Survey, later: Survey, lined: float, *, shift: float = 0.0
) -> tuple[Finding, ...]:
    """Findings of a later survey within the lined length [m], laid over post-lining TV.

    `shift` [m] is added to the later survey's distances, as read from a joint or branch that
    both show. What is new or grown by a fifth counts; what was there before is a note. The
    classes are common practice, no source; the contract's own words win.
    """
    return tuple(_findings(post, later, lined, shift))


def _findings(post: Survey, later: Survey, lined: float, shift: float) -> Iterator[Finding]:
    for one in later.observations:
        place = one.distance + shift
        if place > lined or one.kind not in (*_REPAIR, *_WATCH):
            continue
        before = _same(post.observations, one, place)
        if before is None:
            defect = DefectClass.REPAIR if one.kind in _REPAIR else DefectClass.WATCH
            yield Finding(one, None, defect, "new since post-lining TV")
        elif _size(one) > _GROWN * _size(before) > 0:
            defect = DefectClass.REPAIR if one.kind in _REPAIR else DefectClass.WATCH
            yield Finding(one, before, defect, "grown since post-lining TV")
        else:
            yield Finding(one, before, DefectClass.NOTE, "as at post-lining TV")


def _same(seen: Sequence[Observation], one: Observation, place: float) -> Observation | None:
    near = [
        old for old in seen if old.kind is one.kind and abs(old.distance - place) <= _SAME_PLACE
    ]
    return min(near, key=lambda old: abs(old.distance - place), default=None)


def _size(one: Observation) -> float:
    return float(one.measure or 0.0)
