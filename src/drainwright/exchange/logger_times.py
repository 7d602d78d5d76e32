"""Times of a logger's file: any date form, 12 or 24 hours, elapsed times, one column or two."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from zoneinfo import ZoneInfo

from drainwright.errors import Fault

_ISO = re.compile(r"^(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ,]+|$)")
_SLASHED = re.compile(r"^(\d{1,2})[/.\-](\d{1,2})[/.\-](\d{4}|\d{2})(?:[T ,]+|$)")
_WORDED = re.compile(r"^(\d{1,2})[-. ]+([A-Za-z]{3,9})\.?[-, ]+(\d{4}|\d{2})(?:[T ,]+|$)")
_WORDED_US = re.compile(r"^([A-Za-z]{3,9})\.? +(\d{1,2}),? +(\d{4})(?:[T ,]+|$)")
_CLOCK = re.compile(
    r"^(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?\s*([ap])?\.?m?\.?"
    r"\s*(Z|UTC|[+-]\d{2}:?\d{2})?$",
    re.IGNORECASE,
)
_SPAN = re.compile(r"^(?:(\d+)\s*d?[ .])?(\d{1,3}):(\d{2})(?::(\d{2})(?:[.,](\d{1,6}))?)?$")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_SCALES = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "ms": 1e-3,
    "min": 60.0, "mins": 60.0, "minute": 60.0, "minutes": 60.0, "m": 60.0,
    "h": 3600.0, "hr": 3600.0, "hrs": 3600.0, "hour": 3600.0, "hours": 3600.0,
}  # fmt: skip
_HALF_DAY = 43_200.0


@dataclass(frozen=True, slots=True)
class TimeHabits:
    """What is known about a file's times from outside it."""

    zone: str = "UTC"
    dates: str = ""
    """mdy or dmy where it is told; “” finds out."""
    near: dt.date | None = None
    """The day the cure is thought to have been, to choose between two readings of a date."""
    start: dt.datetime | None = None
    """When an elapsed time began; for files without dates."""


@dataclass(slots=True)
class Times:
    """The times of a file's rows in UTC; None where a row's time can't be read."""

    moments: list[dt.datetime | None] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)


def is_date(text: str) -> bool:
    """Whether a cell begins with a date."""
    plain = text.strip()
    return any(form.match(plain) for form in (_ISO, _SLASHED, _WORDED, _WORDED_US))


def is_clock(text: str) -> bool:
    """Whether a cell is a time of day or a time span."""
    plain = text.strip()
    return bool(_CLOCK.match(plain) or _SPAN.match(plain))


def read_moments(
    cells: Sequence[tuple[str, str]], rows: Sequence[int], habits: TimeHabits
) -> Times:
    """Dates with times of day, given as (date and time, "") or (date, time)."""
    found = Times()
    order = _order([date for date, _ in cells], habits, found)
    zone = ZoneInfo(habits.zone)
    half_days = 0.0
    last: dt.datetime | None = None
    for (date, clock), row in zip(cells, rows, strict=True):
        moment = _moment(date, clock, order, zone)
        if moment is None:
            words = "is not a date with a time of day"
            found.faults.append(Fault("time", words, f"{date} {clock}".strip(), row=row))
            found.moments.append(None)
            continue
        moment, half_days = _after_noon(moment, last, half_days, row, found)
        found.moments.append(moment.astimezone(dt.UTC))
        last = moment
    return found


def _after_noon(
    moment: dt.datetime, last: dt.datetime | None, half_days: float, row: int, found: Times
) -> tuple[dt.datetime, float]:
    """A clock of twelve hours without am and pm falls from 12:59 to 1:00; half a day is added."""
    moved = moment + dt.timedelta(seconds=half_days)
    if last is None or (last - moved).total_seconds() < 0:
        return moved, half_days
    back = (last - moved).total_seconds()
    if abs(back - _HALF_DAY) < 900.0 and half_days == 0.0 and last.hour == 12 and moved.hour == 1:
        words = "the clock counts to 12 without am or pm; afternoon was taken from here on"
        found.notices.append(Fault("time", words, row=row))
        return moved + dt.timedelta(seconds=_HALF_DAY), _HALF_DAY
    return moved, half_days


def _order(dates: Sequence[str], habits: TimeHabits, found: Times) -> str:
    """Month or day first: by a number over 12, else as told, else by the nearer day, else month."""
    pairs = {
        (int(match[1]), int(match[2]), match[3])
        for text in dates
        if (match := _SLASHED.match(text.strip())) and not _ISO.match(text.strip())
    }
    if not pairs:
        return "mdy"
    if any(first > 12 for first, _, _ in pairs):
        return "dmy"
    if any(second > 12 for _, second, _ in pairs):
        return "mdy"
    if habits.dates:
        return habits.dates
    first, second, year = min(pairs)
    if habits.near is not None:
        days = {
            order: abs((day - habits.near).days)
            for order, (month, date) in (("mdy", (first, second)), ("dmy", (second, first)))
            if (day := _day(_year(year), month, date)) is not None
        }
        if len(set(days.values())) > 1:
            return min(days, key=lambda one: days[one])
    words = f"{first}/{second}/{year} was read month first; nothing tells the order"
    found.notices.append(Fault("date", words))
    return "mdy"


def _year(text: str) -> int:
    year = int(text)
    return year + 2000 if year < 100 else year


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


def _date(text: str, order: str) -> tuple[dt.date | None, str]:
    """The date at the start of a cell, and what follows it."""
    if match := _ISO.match(text):
        return _day(int(match[1]), int(match[2]), int(match[3])), text[match.end() :]
    if match := _SLASHED.match(text):
        one, two = int(match[1]), int(match[2])
        month, day = (one, two) if order == "mdy" else (two, one)
        return _day(_year(match[3]), month, day), text[match.end() :]
    for form, name, day_at in ((_WORDED, 2, 1), (_WORDED_US, 1, 2)):
        match = form.match(text)
        if match and match[name][:3].casefold() in _MONTHS:
            month = _MONTHS.index(match[name][:3].casefold()) + 1
            return _day(_year(match[3]), month, int(match[day_at])), text[match.end() :]
    return None, text


def _moment(date: str, clock: str, order: str, zone: ZoneInfo) -> dt.datetime | None:
    day, rest = _date(date.strip(), order)
    if day is None:
        return None
    match = _CLOCK.match((clock or rest).strip() or "x")
    if match is None:
        return None
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[5]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[5].casefold() == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        return None
    micro = int((match[4] or "0").ljust(6, "0"))
    naive = dt.datetime.combine(day, dt.time(hour, minute, second, micro))
    return naive.replace(tzinfo=_offset(match[6]) or zone)


def _offset(text: str | None) -> dt.timezone | None:
    if not text:
        return None
    if text.upper() in ("Z", "UTC"):
        return dt.UTC
    sign = -1 if text[0] == "-" else 1
    digits = text[1:].replace(":", "")
    return dt.timezone(sign * dt.timedelta(hours=int(digits[:2]), minutes=int(digits[2:])))


def read_elapsed(
    cells: Sequence[str], rows: Sequence[int], unit: str, start: dt.datetime | None
) -> Times:
    """Elapsed times, as numbers in `unit` or as h:mm:ss, counted from `start`."""
    found = Times()
    if start is None:
        words = "the file has elapsed times only: tell when the logger was started"
        found.faults.append(Fault("time", words))
        found.moments = [None] * len(cells)
        return found
    scale = _SCALES.get(unit.strip().casefold(), 1.0)
    for text, row in zip(cells, rows, strict=True):
        second = _elapsed(text, scale)
        if second is None:
            found.faults.append(Fault("time", "is not an elapsed time", text, row=row))
            found.moments.append(None)
        else:
            found.moments.append(start.astimezone(dt.UTC) + dt.timedelta(seconds=second))
    return found


def _elapsed(text: str, scale: float) -> float | None:
    plain = text.strip()
    if match := _SPAN.match(plain):
        fraction = float(f"0.{match[5] or 0}")
        days, hours, minutes = (int(match[n] or 0) for n in (1, 2, 3))
        return ((days * 24 + hours) * 60 + minutes) * 60 + int(match[4] or 0) + fraction
    try:
        return float(plain.replace(",", ".")) * scale
    except ValueError:
        return None


def elapsed_unit(header: str) -> str:
    """The unit an elapsed time's header names, “s” where it names none."""
    words = [w for w in re.split(r"[^a-z]+", header.casefold()) if w]
    return next((word for word in reversed(words) if word in _SCALES), "s")
