"""Values of the exchange text: numbers with their decimal sign, clock, dates, times, pairs."""

from __future__ import annotations

import datetime as dt
import math
import re
from functools import lru_cache

from drainwright.errors import Fault, InputError

_NUMBERS = {
    ".": re.compile(r"^[-+]?(?:\d+\.?\d*|\.\d+)$"),
    ",": re.compile(r"^[-+]?(?:\d+,?\d*|,\d+)$"),
}
_PAIR = re.compile(r"^([A-Z])(\d{1,4})$")
_DATES = (
    re.compile(r"^(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})$"),
    re.compile(r"^(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})$"),
    re.compile(r"^(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})$"),
    re.compile(r"^(?P<y>\d{4})/(?P<m>\d{1,2})/(?P<d>\d{1,2})$"),
)
_TIME = re.compile(r"^(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?$")


@lru_cache(maxsize=65536)  # the same few thousand distances stand in every survey
def number(text: str, decimal: str, name: str) -> float:
    """A number with the file's decimal sign; anything else is a fault."""
    plain = text.strip()
    if not _NUMBERS[decimal].match(plain):
        guess = None
        other = "," if decimal == "." else "."
        if _NUMBERS[other].match(plain):
            guess = f"“{plain}” looks like “{plain.replace(other, decimal)}”"
        words = f"“{plain}” is not a number (the decimal sign of this file is “{decimal}”)"
        raise InputError(Fault(name, words, text, guess=guess))
    value = float(plain.replace(",", "."))
    if not math.isfinite(value) or abs(value) > 1e9:
        raise InputError(Fault(name, f"“{plain[:30]}” is too large", text))
    return value


@lru_cache(maxsize=1024)
def clock(text: str, decimal: str, name: str) -> float:
    """A place on the circumference, hours 0 to 12; 0 is given back as 12."""
    value = number(text, decimal, name)
    if not 0 <= value <= 12:
        words = f"“{text.strip()}” is no place on the clock (1 to 12 hours)"
        raise InputError(Fault(name, words, text, low=1.0, high=12.0))
    return value or 12.0


def date(text: str, name: str) -> dt.date:
    """A date written year-month-day or day.month.year."""
    for form in _DATES:
        match = form.match(text.strip())
        if match is not None:
            try:
                return dt.date(int(match["y"]), int(match["m"]), int(match["d"]))
            except ValueError as error:
                words = f"“{text.strip()}” is no day of the calendar ({error})"
                raise InputError(Fault(name, words, text)) from error
    raise InputError(Fault(name, f"“{text.strip()}” is not a date such as 2026-05-31", text))


def time(text: str, name: str) -> dt.time:
    """A time of day such as 09:30 or 09:30:15."""
    match = _TIME.match(text.strip())
    if match is not None and int(match[1]) < 24 and int(match[2]) < 60:
        seconds = int(match[3] or 0)
        if seconds < 60:
            return dt.time(int(match[1]), int(match[2]), seconds)
    raise InputError(Fault(name, f"“{text.strip()}” is not a time such as 09:30", text))


def pair(text: str) -> tuple[str, int] | None:
    """The mark of a running defect: its letter (A begins, B ends) and its number."""
    match = _PAIR.match(text.strip())
    return (match[1], int(match[2])) if match else None


@lru_cache(maxsize=65536)
def counter(text: str) -> float | None:
    """A video counter in seconds (`00:12:30`) or counts; None where it is neither."""
    parts = text.strip().split(":")
    if not 1 <= len(parts) <= 4 or not all(part.isascii() and part.isdigit() for part in parts):
        return None
    if any(len(part) > 9 for part in parts):
        return None
    total = 0
    for part in parts:
        total = total * 60 + int(part)
    return float(total)


def number_text(value: float, decimal: str) -> str:
    """A number as written into an exchange text, twelve digits at most."""
    text = f"{value:.12g}"
    if "e" in text:
        text = f"{value:.12f}".rstrip("0").rstrip(".")
    return text.replace(".", decimal)
