"""Statistics of finished laterals, each number with its denominator."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drainwright.acceptance.case import Case
from drainwright.acceptance.verdict import Verdict
from drainwright.checks import Outcome
from drainwright.records.attempt import Attempt
from drainwright.records.tightness_report import TestScope


@dataclass(frozen=True, slots=True)
class SubjectCount:
    """How one subject came out over all laterals that were asked for it."""

    key: str
    title: str
    met: int = 0
    not_met: int = 0
    open: int = 0
    """Not assessed."""

    @property
    def asked(self) -> int:
        """Laterals that were asked for it: the denominator."""
        return self.met + self.not_met + self.open

    @property
    def words(self) -> str:
        """Met of asked, and what became of the others."""
        words = f"{self.met} of {self.asked} met"
        words += f", {self.not_met} not met" if self.not_met else ""
        return words + (f", {self.open} not assessed" if self.open else "")


@dataclass(frozen=True, slots=True)
class TightnessState:
    """What became of the tightness test of one lateral."""

    tested: bool
    tight: bool
    isolated: bool
    """False where it could not be isolated."""
    packer: bool


def subject_counts(verdicts: Iterable[Verdict]) -> tuple[SubjectCount, ...]:
    """How each subject came out, in the order of the verdicts."""
    titles: dict[str, str] = {}
    counted: Counter[tuple[str, Outcome]] = Counter()
    for verdict in verdicts:
        for one in verdict.demanded:
            titles[one.key] = one.title
            counted[one.key, one.outcome] += 1
    return tuple(
        SubjectCount(
            key,
            title,
            counted[key, Outcome.MET],
            counted[key, Outcome.NOT_MET],
            counted[key, Outcome.NOT_ASSESSED],
        )
        for key, title in titles.items()
    )


def tightness_state(case: Case, verdict: Verdict) -> TightnessState:
    """Whether a lateral was tested, was tight, could be isolated, was tested by packer."""
    whole = [one for one in case.tightness if one.scope is TestScope.WHOLE]
    newest = max(whole, key=lambda one: one.number, default=None)
    isolated = newest is None or not newest.not_isolated
    subject = verdict.subject("tightness")
    tight = subject is not None and subject.outcome is Outcome.MET
    packer = any(one.scope is TestScope.PACKER for one in case.tightness)
    return TightnessState(newest is not None and isolated, tight, isolated, packer)


def tightness_words(states: Sequence[TightnessState]) -> str:
    """Such as “38 of 41 tested, 3 could not be isolated; 37 of the 38 tested are tight”."""
    tested = [one for one in states if one.tested]
    apart = [one for one in states if not one.isolated]
    words = f"{len(tested)} of {len(states)} tested"
    if apart:
        packed = sum(one.packer for one in apart)
        words += f", {len(apart)} could not be isolated"
        words += f" (collar tested between packers in {packed} of them)" if packed else ""
    rest = len(states) - len(tested) - len(apart)
    words += f", {rest} not tested yet" if rest else ""
    return f"{words}; {sum(one.tight for one in tested)} of the {len(tested)} tested are tight"


def attempt_words(attempts: Iterable[Attempt]) -> str:
    """How all attempts ended, failed ones included."""
    ends = Counter(one.end.value if one.end else "still running" for one in attempts)
    told = ", ".join(f"{count} {end}" for end, count in sorted(ends.items()))
    return f"{sum(ends.values())} attempts: {told}" if ends else "no attempt"
