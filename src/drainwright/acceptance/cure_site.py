"""What the model is told of a lateral before its log is read."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.engineering.cure_model import CureCase


@dataclass(frozen=True, slots=True)
class SiteCase:
    """The case, or why there is none."""

    case: CureCase | None
    lacks: str = ""
