"""A verdict: what was asked of a finished lateral, subject by subject, with what shows it.

Nothing here accepts a lateral: a person does, by signature.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from drainwright.checks import Check, Outcome
from drainwright.sources import Citation


@dataclass(frozen=True, slots=True)
class Proof:
    """What shows something: in words, and where it is kept."""

    words: str
    ref: str = ""
    """Id of a field entry, kind and key of a document, or SHA-256 of an attachment."""


@dataclass(frozen=True, slots=True)
class Subject:
    """One subject of the verdict."""

    key: str
    title: str
    checks: tuple[Check, ...]
    proofs: tuple[Proof, ...] = ()
    remarks: tuple[str, ...] = ()
    """What a reader must know beside the checks."""
    demanded: bool = True
    """False where the specification asks for nothing here, such as coupons not in the sample."""

    @property
    def outcome(self) -> Outcome:
        """Not met if one check is not, else not assessed if one is not or there is none."""
        return outcome_of(self.checks)

    @property
    def missing(self) -> tuple[str, ...]:
        """What was not assessed, with the reason."""
        open_ = (check for check in self.checks if check.outcome is Outcome.NOT_ASSESSED)
        return tuple(f"{check.name}: {check.note}" for check in open_)

    @property
    def failed(self) -> tuple[str, ...]:
        """What was not met, with its note."""
        wrong = (check for check in self.checks if check.outcome is Outcome.NOT_MET)
        return tuple(f"{check.name}: {check.note}" if check.note else check.name for check in wrong)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdicts on one lateral; `attempt` is the number of the one that cured, 0 for none."""

    lateral: str
    attempt: int
    subjects: tuple[Subject, ...]

    @property
    def demanded(self) -> tuple[Subject, ...]:
        """The subjects that count."""
        return tuple(subject for subject in self.subjects if subject.demanded)

    @property
    def outcome(self) -> Outcome:
        """Of all subjects that count."""
        return worst(subject.outcome for subject in self.demanded)

    @property
    def open(self) -> tuple[Subject, ...]:
        """Subjects that are not met or not assessed."""
        return tuple(one for one in self.demanded if one.outcome is not Outcome.MET)

    @property
    def missing(self) -> tuple[str, ...]:
        """What was not assessed, subject by subject."""
        return tuple(f"{one.title}: {words}" for one in self.demanded for words in one.missing)

    @property
    def failed(self) -> tuple[str, ...]:
        """What was not met, subject by subject."""
        return tuple(f"{one.title}: {words}" for one in self.demanded for words in one.failed)

    @property
    def words(self) -> str:
        """The verdict in one word or two."""
        if self.outcome is Outcome.MET:
            return "all met"
        return "not met" if self.outcome is Outcome.NOT_MET else "incomplete"

    def subject(self, key: str) -> Subject | None:
        """The subject with this key."""
        return next((one for one in self.subjects if one.key == key), None)

    def digest(self) -> str:
        """SHA-256 over every check and proof, so that a signature names what it was given for."""
        lines = [self.lateral, str(self.attempt)]
        for one in self.subjects:
            lines += [one.key, *(_line(check) for check in one.checks)]
            lines += [f"{proof.words} {proof.ref}" for proof in one.proofs]
        return hashlib.sha256("\n".join(lines).encode()).hexdigest()


def outcome_of(checks: Sequence[Check]) -> Outcome:
    """The worst outcome; not assessed without a check."""
    return worst(check.outcome for check in checks)


def worst(outcomes: Iterable[Outcome]) -> Outcome:
    """Not met before not assessed before met; not assessed where there is none."""
    found = set(outcomes)
    for outcome in (Outcome.NOT_MET, Outcome.NOT_ASSESSED):
        if outcome in found:
            return outcome
    return Outcome.MET if found else Outcome.NOT_ASSESSED


def answered(name: str, source: Citation, note: str = "", *, yes: bool | None) -> Check:
    """A check without numbers: yes is met, no is not met, None was not answered."""
    outcome = Outcome.NOT_ASSESSED
    if yes is not None:
        outcome = Outcome.MET if yes else Outcome.NOT_MET
    return Check(name, None, None, "", outcome, source, note)


def _line(check: Check) -> str:
    return f"{check.name} {check.demand} {check.capacity} {check.outcome} {check.note}"
