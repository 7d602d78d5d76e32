"""How an input is known, by whom and since when."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum


class Knowledge(StrEnum):
    """The four standings an input can have."""

    MEASURED = "measured"
    MAKER = "maker"
    ASSUMED = "assumed"
    MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Standing:
    """How one input is known."""

    knowledge: Knowledge
    by: str = ""
    on: dt.date | None = None
    note: str = ""
