"""Gather all that a verdict on a finished lateral rests on (read)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from drainwright.acceptance.case import Case, Coupon, DesignPlace
from drainwright.acceptance.warranty import sample
from drainwright.drawing.lateral_drawing import site_of_sheet
from drainwright.engineering.steam import barometer_at
from drainwright.errors import InputError, NotFoundError, StorageError
from drainwright.operations.field_attempts import field_attempts, lateral_attempts
from drainwright.planning.stations import plan_stations
from drainwright.planning.wall_plan import installed_wall, material_of, wall_case
from drainwright.records.acceptance import Claim, NonConformity, Submittal
from drainwright.records.attempt import Attempt
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.post_inspection import PostInspection
from drainwright.records.rig import Rig
from drainwright.records.specimen import CouponTest, SamplingPlan, WallReadings
from drainwright.records.tightness_report import TightnessReport
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, ReadSession, Stored

R = TypeVar("R", TightnessReport, PostInspection, WallReadings, CouponTest, CureVerdict)


@dataclass(slots=True)
class Shared:
    """What all laterals of a project share, read once."""

    rigs: Mapping[str, Rig]
    sampling: SamplingPlan | None
    sampled: frozenset[str] | None
    """Laterals that give coupons; None for all."""
    submittals: tuple[Submittal, ...]
    non_conformities: Mapping[str, tuple[NonConformity, ...]]
    claims: Mapping[str, tuple[Claim, ...]]
    attempts: Mapping[str, tuple[Attempt, ...]] | None = None
    """Of every lateral, where all are judged; None reads those of one."""
    curves: dict[str, Coupon] = field(default_factory=dict)


def shared_of(session: ReadSession, project: str, *, every: bool = False) -> Shared:
    """Read what is shared; with `every` also all attempts, in one go."""
    plans = [stored.record for stored in session.every(project, SamplingPlan)]
    plan = plans[0] if plans else None
    chosen = None
    if plan is not None and plan.share < 1:
        keys = [stored.key for stored in session.every(project, WorkSheet)]
        chosen = frozenset(sample(keys, plan.share, plan.seed)) if keys else frozenset()
    faulty = _by_lateral(stored.record for stored in session.every(project, NonConformity))
    claims = _by_lateral(stored.record for stored in session.every(project, Claim))
    return Shared(
        {stored.key: stored.record for stored in session.every(project, Rig)},
        plan,
        chosen,
        tuple(stored.record for stored in session.every(project, Submittal)),
        faulty,
        claims,
        field_attempts(session, project) if every else None,
    )


N = TypeVar("N", NonConformity, Claim)


def _by_lateral(found: Iterator[N]) -> dict[str, tuple[N, ...]]:
    groups: dict[str, list[N]] = {}
    for one in found:
        groups.setdefault(one.lateral, []).append(one)
    return {lateral: tuple(each) for lateral, each in groups.items()}


def case_of(session: ReadSession, project: str, key: str, shared: Shared) -> Case:
    """One lateral's case; `NotFoundError` where it was never planned."""
    stored = session.get(project, WorkSheet, key)
    sheet = stored.record
    if shared.attempts is None:
        attempts = lateral_attempts(session, project, key)
    else:
        attempts = shared.attempts.get(key, ())
    cured = [one.number for one in attempts if one.end is not None]
    cures = _of(session, project, CureVerdict, key)
    return Case(
        sheet=sheet,
        sheet_revision=stored.revision.number,
        barometer=barometer_at(sheet.project.elevation),
        attempts=attempts,
        rig=_rig(sheet, shared.rigs),
        places=tuple(_places(sheet)),
        cure=next((one for one in reversed(cures) if one.attempt in cured), None),
        tightness=_of(session, project, TightnessReport, key),
        inspections=_of(session, project, PostInspection, key),
        walls=_of(session, project, WallReadings, key),
        coupons=tuple(
            _coupon(session, project, test) for test in _of(session, project, CouponTest, key)
        ),
        sampling=shared.sampling,
        sampled=shared.sampled is None or key in shared.sampled,
        non_conformities=shared.non_conformities.get(key, ()),
        claims=shared.claims.get(key, ()),
        submittals=shared.submittals,
    )


def _of(session: ReadSession, project: str, kind: type[R], key: str) -> tuple[R, ...]:
    found: Iterator[Stored[R]] = session.every(project, kind, Filters(lateral=key))
    return tuple(stored.record for stored in found)


def _rig(sheet: WorkSheet, rigs: Mapping[str, Rig]) -> Rig | None:
    if sheet.lateral.rig:
        return rigs.get(sheet.lateral.rig)
    return next(iter(rigs.values())) if len(rigs) == 1 else None


def _places(sheet: WorkSheet) -> Sequence[DesignPlace]:
    """The stations of the design with what the wall carries there; none without a design."""
    lined, length = (_figure(sheet, f"length.{name}") for name in ("lined", "measured"))
    if lined is None or length is None or sheet.tube is None or sheet.resin is None:
        return ()
    site = site_of_sheet(sheet)
    material = material_of(site, sheet.resin)
    try:
        stations = plan_stations(site, lined, length)
    except InputError:
        return ()
    return [
        DesignPlace(
            station.name,
            station.distance,
            wall_case(site, station, material),
            installed_wall(sheet.tube, station.diameter),
            station.depth,
        )
        for station in stations
    ]


def _figure(sheet: WorkSheet, key: str) -> float | None:
    found = sheet.figure(key)
    return found.value if found and isinstance(found.value, float | int) else None


def _coupon(session: ReadSession, project: str, test: CouponTest) -> Coupon:
    from drainwright.exchange.machine_curve import read_machine_curve

    if not test.curve:
        return Coupon(test)
    try:
        content = session.attachments.content(project, test.curve)
        curve = read_machine_curve(content, test.curve_name)
    except (InputError, NotFoundError, StorageError) as error:
        return Coupon(test, fault=str(error))
    return Coupon(test, curve.deflection, curve.load)
