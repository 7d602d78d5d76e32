"""What a person decides and follows up: acceptance, non-conformities, claims, submittals."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class AcceptanceStep(StrEnum):
    """What a signature says."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A person's recorded signature; the newest one of a lateral sets its stage."""

    lateral: str
    step: AcceptanceStep
    by: str
    """The person who answers for it."""
    role: str
    at: dt.datetime
    reason: str = ""
    """Needed where something was open: why it is accepted so."""
    left_open: tuple[str, ...] = ()
    """Subjects that were not met or not assessed when it was signed."""
    evidence: str = ""
    """SHA-256 over the verdicts and their evidence as they stood."""

    @property
    def key(self) -> str:
        """The lateral's id: one signature is in force."""
        return self.lateral


@dataclass(frozen=True, slots=True)
class NonConformity:
    """Something that does not meet the specification, and what was done about it."""

    key: str
    lateral: str
    on: dt.date
    by: str
    what: str
    limit: str
    """The limit that is not kept, in words."""
    distance: float | None = None
    """From the tap [m]."""
    remedy: str = ""
    remedied_on: dt.date | None = None
    remedied_by: str = ""
    retest: str = ""
    """What showed that the remedy holds, such as “post-lining TV A-05 2”."""
    closed_on: dt.date | None = None
    closed_by: str = ""

    @property
    def closed(self) -> bool:
        """Whether a person closed it; a remedy without a re-test does not."""
        return self.closed_on is not None and bool(self.closed_by and self.retest)


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody's claim for damage or trouble, tied to a lateral."""

    key: str
    lateral: str
    on: dt.date
    by: str
    """Who claims."""
    what: str
    answer: str = ""
    settled_on: dt.date | None = None


@dataclass(frozen=True, slots=True)
class SubmittalStep:
    """One passage of a submittal: sent, or an answer."""

    on: dt.date
    by: str
    state: str
    """submitted, resubmitted, approved, approved as noted, revise, rejected."""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Submittal:
    """One entry of the submittals register, with its resubmittals."""

    key: str
    title: str
    section: str = ""
    """Clause of the specification."""
    steps: tuple[SubmittalStep, ...] = ()

    @property
    def state(self) -> str:
        """Its last state; “not submitted” without one."""
        return self.steps[-1].state if self.steps else "not submitted"

    @property
    def approved(self) -> bool:
        """Whether work may go on with it."""
        return self.state in ("approved", "approved as noted")

    @property
    def resubmittals(self) -> int:
        """How often it was sent again."""
        return sum(step.state == "resubmitted" for step in self.steps)
