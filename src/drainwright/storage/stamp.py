"""Who writes, when, from what and why: the same for all of a transaction."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.storage.kinds import plain_text


@dataclass(frozen=True, slots=True)
class Stamp:
    """What a transaction writes beside everything it stores; the time in UTC."""

    by: str
    at: dt.datetime
    origin: str
    reason: str


def stamp(*, by: str, at: dt.datetime, origin: str, reason: str) -> Stamp:
    """A stamp of checked texts and a time in UTC."""
    return Stamp(
        by=plain_text("by", by, filled=True),
        at=aware("at", at),
        origin=plain_text("origin", origin),
        reason=plain_text("reason", reason),
    )


def aware(name: str, time: dt.datetime) -> dt.datetime:
    """The time in UTC; `InputError` for one without zone."""
    if time.tzinfo is None:
        raise InputError(Fault(name, "needs its zone", time.isoformat()))
    return time.astimezone(dt.UTC)
