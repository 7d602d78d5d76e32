"""Days as a reader has them, also inside texts that hold them the plain way (read)."""

from __future__ import annotations

import datetime as dt
import re

from drainwright.papers.shown import date_text
from drainwright.units import UnitSystem

_PLAIN = re.compile(r"(?<![\w-])\d{4}-\d\d-\d\d(?![\w-])")


def day_words(day: dt.date | None, system: UnitSystem) -> str:
    """A day: `Nov 25, 2026` in the US, `2026-11-25` elsewhere; empty for none."""
    return date_text(day, system)


def with_days(text: object, system: UnitSystem) -> str:
    """A text whose days, such as 2026-11-25, read as the reader's own.

    Examples
    --------
    >>> with_days("test 1, 2026-11-20, by R. Vale", UnitSystem.US)
    'test 1, Nov 20, 2026, by R. Vale'
    >>> with_days("SP-2026-11-20, 2026-13-01", UnitSystem.US)
    'SP-2026-11-20, 2026-13-01'
    """

    def said(found: re.Match[str]) -> str:
        try:
            return date_text(dt.date.fromisoformat(found[0]), system)
        except ValueError:
            return found[0]

    return _PLAIN.sub(said, str(text))
