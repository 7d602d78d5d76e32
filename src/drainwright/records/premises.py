"""Premises: whom a lateral serves, and what they agreed to."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class EntryState(StrEnum):
    """Where the right of entry stands."""

    NOT_SENT = "not sent"
    SENT = "sent"
    SIGNED = "signed"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Premises:
    """One address with its contact and consent; laterals name the premises they serve."""

    key: str
    address: str
    contact: str = ""
    phone: str = ""
    language: str = "en"
    entry: EntryState = EntryState.NOT_SENT
    entry_on: dt.date | None = None
    entry_expires: dt.date | None = None
    notice_on: dt.date | None = None
    lowest_opening: float | None = None
    """Height of the lowest drain opening above the lateral's invert at the tap [m]."""
    remark: str = ""
    water_off_from: dt.time | None = None
    """Water may be off from this time of day on; None where nothing was agreed."""
    water_off_to: dt.time | None = None
    no_days: tuple[dt.date, ...] = ()
    """Days on which the residents can't do without water."""
