"""The design computed again with what was measured: safety of every clause, then and now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from drainwright.acceptance.case import Case, DesignPlace
from drainwright.acceptance.coupon_verdict import CouponResults
from drainwright.acceptance.verdict import Proof, Subject
from drainwright.acceptance.wall_verdict import readings_of
from drainwright.checks import Check, Outcome, not_assessed
from drainwright.engineering.wall_design import CLAUSES, WallCase, wall_capacities
from drainwright.errors import InputError
from drainwright.sources import Citation, cite


@dataclass(frozen=True, slots=True)
class Measured:
    """What was found; None keeps what the design assumed."""

    wall: float | None = None
    """Least reading [m]."""
    modulus: float | None = None
    """Mean of the coupons [Pa]."""
    water_above_invert: float | None = None
    """At the tap [m]."""
    ovality: float | None = None


@dataclass(frozen=True, slots=True)
class ClauseThenNow:
    """One clause at one place: what it demands and what the wall can, planned and built."""

    place: str
    clause: str
    kind: str
    demand_then: float
    capacity_then: float
    demand_now: float
    capacity_now: float
    safety_factor: float
    """The design's N; 1 for a clause without one."""

    @property
    def ratio_then(self) -> float:
        """How often the demand fitted into the capacity as planned."""
        return _ratio(self.demand_then, self.capacity_then)

    @property
    def ratio_now(self) -> float:
        """The same as built."""
        return _ratio(self.demand_now, self.capacity_now)

    @property
    def safety_now(self) -> float:
        """Safety factor that is left: the design's times the ratio."""
        return self.safety_factor * self.ratio_now


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """Every clause at every place; the least ratio governs."""

    measured: Measured
    clauses: tuple[ClauseThenNow, ...]

    @property
    def governing(self) -> ClauseThenNow | None:
        """The clause with the least to spare as built."""
        return min(self.clauses, key=lambda one: one.ratio_now, default=None)

    @property
    def choices(self) -> tuple[str, ...]:
        """What the engineer can do where it falls short; empty where it does not."""
        worst = self.governing
        if worst is None or worst.ratio_now >= 1:
            return ()
        return tuple(_choices(self, worst))


def as_built(case: Case, results: CouponResults) -> AsBuilt:
    """Compute the wall design again with the measured wall, modulus, water and ovality."""
    measured = measured_of(case, results)
    return AsBuilt(measured, tuple(_clauses(case.places, measured)))


def measured_of(case: Case, results: CouponResults) -> Measured:
    """Least wall, mean modulus, found water and ovality; None where nothing was measured."""
    read = readings_of(case)
    walls = sorted(case.walls, key=lambda one: one.number)
    found = [one.water_above_invert for one in walls if one.water_above_invert is not None]
    oval = [one.ovality for one in walls if one.ovality is not None]
    return Measured(
        min((one.wall for one in read), default=None),
        results.modulus.mean if results.modulus else None,
        found[-1] if found else None,
        max(oval, default=None),
    )


def _clauses(places: Sequence[DesignPlace], measured: Measured) -> Iterator[ClauseThenNow]:
    first = places[0].case.water_above_invert if places else 0.0
    for place in places:
        now = _found(place.case, measured, first)
        wall = measured.wall if measured.wall is not None else place.wall
        then_of = {one.clause: one for one in wall_capacities(place.case, place.wall)}
        for one in wall_capacities(now, wall):
            then = then_of.get(one.clause)
            if then is None or one.capacity == float("inf"):
                continue
            safety = 1.0 if one.clause not in _WITH_SAFETY else place.case.factors.safety_factor
            yield ClauseThenNow(
                place.name, one.clause, one.kind, then.demand, then.capacity, one.demand,
                one.capacity, safety,
            )  # fmt: skip


_WITH_SAFETY = ("X1.1", "X1.2", "X1.3")


def _found(case: WallCase, measured: Measured, at_tap: float) -> WallCase:
    liner = case.liner
    if measured.modulus is not None:
        liner = replace(liner, modulus=measured.modulus)
    water = case.water_above_invert
    if measured.water_above_invert is not None:
        water = max(0.0, water + measured.water_above_invert - at_tap)
    ovality = case.ovality if measured.ovality is None else measured.ovality
    return replace(case, liner=liner, water_above_invert=water, ovality=ovality)


def design_as_built(case: Case, found: AsBuilt) -> Subject:
    """The clauses as built as checks; not assessed without a measured wall."""
    source = cite("astm-f1216", case.specification.wall_method)
    measured, proofs = found.measured, tuple(_proofs(found.measured))
    if measured.wall is None or not found.clauses:
        why = "no wall was measured" if measured.wall is None else "the design has no place"
        check = not_assessed("design with measured values", "", source, why)
        return Subject("as_built", "Design as built", (check,), proofs)
    checks = tuple(_check(one, source) for one in _least(found.clauses))
    remarks = list(found.choices)
    if measured.modulus is None:
        remarks.append("No modulus was measured: the design's own is used.")
    return Subject("as_built", "Design as built", checks, proofs, tuple(remarks))


def _least(clauses: Sequence[ClauseThenNow]) -> Iterator[ClauseThenNow]:
    """Each clause at the place where it has least to spare."""
    for clause in dict.fromkeys(one.clause for one in clauses):
        yield min((one for one in clauses if one.clause == clause), key=lambda one: one.ratio_now)


def _check(one: ClauseThenNow, source: Citation) -> Check:
    outcome = Outcome.MET if one.ratio_now >= 1 else Outcome.NOT_MET
    note = f"at {one.place}; planned ratio {one.ratio_then:.2f}, built {one.ratio_now:.2f}"
    name = f"{one.clause}, {CLAUSES[one.clause]}"
    pair = (one.demand_now, one.capacity_now)
    return Check(name, *pair, one.kind, outcome, source, note, most=one.kind == "number")


def _choices(found: AsBuilt, worst: ClauseThenNow) -> Iterator[str]:
    measured = found.measured
    if worst.clause in _WITH_SAFETY:
        yield (
            f"Accept by name with the safety factor that is left, {worst.safety_now:.2f} instead "
            f"of {worst.safety_factor:g} in {worst.clause}."
        )
    else:
        yield f"Accept by name with {100 * worst.ratio_now:.0f} % of what {worst.clause} asks for."
    if measured.modulus is None:
        yield "Test coupons: the design's modulus is used so far."
    if measured.water_above_invert is None:
        yield "Measure the groundwater: the design's assumption is used so far."
    if measured.ovality is None:
        yield "Measure the ovality: the design's assumption is used so far."
    yield "Read the wall at more places: the least reading is used for the whole length."
    yield "Line again inside, or dig up and replace the stretch that falls short."


def _proofs(measured: Measured) -> Iterator[Proof]:
    for words, value in (
        ("least measured wall", measured.wall),
        ("mean measured modulus", measured.modulus),
        ("found groundwater", measured.water_above_invert),
        ("found ovality", measured.ovality),
    ):
        state = "measured" if value is not None else "not measured, the design's own is used"
        yield Proof(f"{words}: {state}")


def _ratio(demand: float, capacity: float) -> float:
    return capacity / demand if demand else float("inf")


def recomputed_or_none(case: Case, results: CouponResults) -> AsBuilt:
    """`as_built`, with no clause where the measured values lie outside the method's range."""
    try:
        return as_built(case, results)
    except InputError:
        return AsBuilt(measured_of(case, results), ())
