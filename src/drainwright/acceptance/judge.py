"""Judge a finished lateral: every subject in the order of a lateral file."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.acceptance.as_built import AsBuilt, design_as_built, recomputed_or_none
from drainwright.acceptance.case import Case
from drainwright.acceptance.coupon_verdict import CouponResults, coupon_results, flexure
from drainwright.acceptance.installation import (
    let_down,
    pressure_held,
    resin_used,
    seals,
    seated_length,
)
from drainwright.acceptance.papers_verdict import instruments, non_conformities, papers
from drainwright.acceptance.post_tv import post_lining_tv, video
from drainwright.acceptance.tightness_verdict import tightness
from drainwright.acceptance.verdict import Proof, Subject, Verdict
from drainwright.acceptance.wall_verdict import finished_wall
from drainwright.checks import not_assessed
from drainwright.sources import cite


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict with what was computed for it."""

    verdict: Verdict
    coupons: CouponResults
    as_built: AsBuilt


def judge(case: Case) -> Judged:
    """Every subject of the verdict on one lateral."""
    results = coupon_results(case)
    built = recomputed_or_none(case, results)
    subjects = (
        cure(case),
        pressure_held(case),
        let_down(case),
        seated_length(case),
        resin_used(case),
        seals(case),
        post_lining_tv(case),
        video(case),
        tightness(case),
        finished_wall(case),
        flexure(case, results),
        design_as_built(case, built),
        instruments(case),
        papers(case),
        non_conformities(case),
    )
    attempt = case.cured
    number = attempt.number if attempt else 0
    return Judged(Verdict(case.key, number, subjects), results, built)


def cure(case: Case) -> Subject:
    """What the cure log shows; without a log it is not assessed."""
    found, attempt = case.cure, case.cured
    if found is None or attempt is None or found.attempt != attempt.number:
        why = "no log of the cure is on record"
        check = not_assessed("cure", "share", cite("cure-model"), why)
        return Subject("cure", "Cure", (check,))
    proof = Proof(
        f"verdict on the cure log of attempt {found.attempt}", f"cure_verdict {found.key}"
    )
    logs = tuple(
        Proof(f"log finding: {one.words}", one.file) for one in found.findings if one.grave
    )
    return Subject("cure", "Cure", found.checks, (proof, *logs), found.leaves_out)
