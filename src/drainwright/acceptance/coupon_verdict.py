"""Coupons: bending of each specimen, statistics of all of them, and where the sample has been."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from drainwright.acceptance.case import Case, Coupon
from drainwright.acceptance.verdict import Proof, Subject, answered
from drainwright.checks import Check, at_least, not_assessed
from drainwright.engineering.flexure import (
    STANDARDS,
    Bending,
    Specimen,
    bending_from_curve,
)
from drainwright.engineering.sample_statistics import SampleStatistics, sample_statistics
from drainwright.engineering.wall_readings import rise_of_curved_piece
from drainwright.errors import InputError
from drainwright.sources import cite

_NONE = "no coupon test is on record"
_ODD_LABORATORY = 0.03
"""A reported modulus further off ours than fitting windows explain."""


@dataclass(frozen=True, slots=True)
class Bent:
    """One specimen as computed: by the standard it was tested to, and by the other one."""

    coupon: Coupon
    bending: Bending | None
    other: Bending | None
    modulus: float | None
    """From the curve, else as the laboratory reported it [Pa]."""
    strength: float | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class CouponResults:
    """All specimens of a lateral with their statistics; nothing is left out of these."""

    bent: tuple[Bent, ...]
    modulus: SampleStatistics | None
    strength: SampleStatistics | None


def coupon_results(case: Case) -> CouponResults:
    """Bend every specimen and take the statistics of what came out."""
    given = sorted(case.coupons, key=lambda one: one.test.number)
    bent = tuple(_bent(one) for one in given)
    moduli = [one.modulus for one in bent if one.modulus is not None]
    strengths = [one.strength for one in bent if one.strength is not None]
    return CouponResults(
        bent,
        sample_statistics(moduli) if moduli else None,
        sample_statistics(strengths) if strengths else None,
    )


def _bent(coupon: Coupon) -> Bent:
    test = coupon.test
    if not coupon.deflection:
        why = coupon.fault or "the machine's own file is not on record"
        return Bent(coupon, None, None, test.modulus, test.strength, why)
    bar = Specimen(test.span, test.width, test.depth)
    found: dict[str, Bending] = {}
    whys: dict[str, str] = {}
    for standard in STANDARDS:
        try:
            found[standard] = bending_from_curve(coupon.deflection, coupon.load, bar, standard)
        except InputError as error:
            whys[standard] = "; ".join(str(fault) for fault in error.faults)
    own = found.get(test.standard)
    other = next((one for name, one in found.items() if name != test.standard), None)
    if own is None:
        why = whys.get(test.standard, f"“{test.standard}” is none of {', '.join(STANDARDS)}")
        return Bent(coupon, None, other, test.modulus, test.strength, why)
    return Bent(coupon, own, other, own.modulus, own.strength)


def flexure(case: Case, results: CouponResults) -> Subject:
    """Modulus and strength of the coupons, their number, and their chain of custody."""
    if not case.sampled and not case.coupons:
        remark = "The plan of sampling asks for no coupons of this lateral."
        return Subject("flexure", "Coupons", (), (), (remark,), demanded=False)
    source = cite("owner", "coupons")
    if not results.bent:
        return Subject("flexure", "Coupons", (not_assessed("coupons", "", source, _NONE),))
    checks = [_count(case, results)]
    checks += _values(case, results)
    checks += [_planned(case), _custody(results.bent)]
    return Subject(
        "flexure", "Coupons", tuple(checks), tuple(_proofs(results.bent)), tuple(_remarks(results))
    )


def _count(case: Case, results: CouponResults) -> Check:
    plan, usable = case.sampling, sum(one.modulus is not None for one in results.bent)
    least = plan.specimens if plan else case.specification.value("coupon_count_least")
    source = case.source("coupon_count_least") if plan is None else cite("owner", "sampling plan")
    return at_least("specimens tested", float(usable), float(least), "count", source)


def _values(case: Case, results: CouponResults) -> Iterator[Check]:
    standards = sorted({one.coupon.test.standard for one in results.bent})
    for name, found, limit, kind in (
        ("mean flexural modulus", results.modulus, "modulus_least", "modulus"),
        ("mean flexural strength", results.strength, "strength_least", "strength"),
    ):
        source = case.source(limit)
        if found is None:
            why = "; ".join(sorted({one.why for one in results.bent}))
            yield not_assessed(name, kind, source, why)
        else:
            note = f"by {', '.join(standards)}, {found.count} specimens"
            yield at_least(name, found.mean, case.specification.value(limit), kind, source, note)


def _planned(case: Case) -> Check:
    name, source = "rate of sampling fixed before lining", cite("practice", "sampling")
    plan, attempt = case.sampling, case.cured
    if plan is None or attempt is None:
        return not_assessed(name, "", source, "no plan of sampling is on record")
    before = plan.on <= case.day(attempt.begun)
    note = f"1 in {1 / plan.share:.3g} laterals, {plan.on}, by {plan.by}"
    return answered(name, source, note, yes=before)


def _custody(bent: Sequence[Bent]) -> Check:
    name, source = "chain of custody unbroken", cite("practice", "chain of custody")
    for one in bent:
        test, steps = one.coupon.test, one.coupon.test.custody
        if not steps:
            note = f"specimen {test.number}: no hand-over is written down"
            return not_assessed(name, "", source, note)
        broken = [f"{a.to} ≠ {b.by}" for a, b in pairwise(steps) if a.to != b.by or a.on > b.on]
        if test.laboratory and steps[-1].to != test.laboratory:
            broken.append(f"ends at {steps[-1].to}, tested by {test.laboratory}")
        if broken:
            note = f"specimen {test.number}: {broken[0]}"
            return answered(name, source, note, yes=False)
    return answered(name, source, f"{bent[0].coupon.test.sample} and the others", yes=True)


def _remarks(results: CouponResults) -> Iterator[str]:
    for name, found in (("modulus", results.modulus), ("strength", results.strength)):
        if found is None:
            continue
        if found.count > 1:
            spread = 100 * found.deviation / found.mean
            low, high = 100 * found.mean_low / found.mean, 100 * found.mean_high / found.mean
            yield (
                f"Mean {name}: 95 % sure within {low:.1f} to {high:.1f} % of it; "
                f"standard deviation {spread:.1f} %, {found.count} specimens."
            )
        for place in found.outliers:
            yield (
                f"The {name} of value {place + 1} lies far from the others (Grubbs, 5 %); "
                "it is flagged and stays in the mean."
            )
    for one in results.bent:
        yield from _remarks_on(one)


def _remarks_on(one: Bent) -> Iterator[str]:
    test, bending = one.coupon.test, one.bending
    name = f"Specimen {test.number}"
    if bending is not None:
        low, high = bending.window
        words = f"{name}: modulus between strains {low:.5f} and {high:.5f} by {test.standard}"
        if one.other is not None:
            off = 100 * (one.other.modulus / bending.modulus - 1)
            low, high = one.other.window
            words += f"; {off:+.1f} % by the other standard, between {low:.5f} and {high:.5f}"
        yield words + "."
        if test.modulus and abs(test.modulus / bending.modulus - 1) > _ODD_LABORATORY:
            off = 100 * (test.modulus / bending.modulus - 1)
            yield f"{name}: the laboratory's modulus is {off:+.1f} % off the curve's."
    elif one.modulus is not None:
        yield f"{name}: values as the laboratory reported them; {one.why}."
    else:
        yield f"{name}: {one.why}."
    if test.curved is not None:
        share = 100 * rise_of_curved_piece(test.width, test.curved) / test.depth
        yield (
            f"{name} is a curved piece: its middle stands {share:.0f} % of its depth above its "
            "edges; its modulus reads too high, and a flat plate is better."
        )
    if not 15.0 <= test.span / test.depth <= 17.0:
        yield f"{name}: span {test.span / test.depth:.1f} times the depth; about 16 is asked for."


def _proofs(bent: Sequence[Bent]) -> Iterator[Proof]:
    for one in bent:
        test = one.coupon.test
        where = f", {test.laboratory}" if test.laboratory else ""
        ref = test.curve or f"coupon_test {test.key}"
        yield Proof(f"specimen {test.number}, sample {test.sample}{where}", ref)
