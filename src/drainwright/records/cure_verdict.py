"""The verdict on a cure: its checks, the estimate behind them, and what they leave out."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.checks import Check, Outcome
from drainwright.records.cure_log import LogFinding, log_key
from drainwright.records.live_cure import CureAlong
from drainwright.records.work_sheet import DocumentRef


@dataclass(frozen=True, slots=True)
class Estimated:
    """One unknown before and after the log; SI of `kind`."""

    name: str
    words: str
    kind: str
    prior: float
    value: float
    low: float
    high: float
    """95 % band."""
    score: float
    """How many standard deviations of the prior it moved."""
    error: float
    """Its standard deviation after the log, in standard deviations of the prior."""


@dataclass(frozen=True, slots=True)
class CureVerdict:
    """What a cure log shows; it stands only with a person's signature elsewhere."""

    lateral: str
    attempt: int
    checks: tuple[Check, ...]
    findings: tuple[LogFinding, ...] = ()
    steam_on: dt.datetime | None = None
    steam_off: dt.datetime | None = None
    let_down: dt.datetime | None = None
    along: CureAlong | None = None
    least_place: str = ""
    estimated: tuple[Estimated, ...] = ()
    misfit: float | None = None
    """Root mean square of what the estimate leaves of the readings [K]."""
    leaves_out: tuple[str, ...] = ()
    logs_learned: int = 0
    made_from: tuple[DocumentRef, ...] = ()

    @property
    def key(self) -> str:
        """Lateral and number of the attempt."""
        return log_key(self.lateral, self.attempt)

    @property
    def outcome(self) -> Outcome:
        """Not met if a check is not, else not assessed if one is not, else met."""
        found = {check.outcome for check in self.checks}
        for outcome in (Outcome.NOT_MET, Outcome.NOT_ASSESSED):
            if outcome in found:
                return outcome
        return Outcome.MET if self.checks else Outcome.NOT_ASSESSED
