"""Whom a lateral waits on: told from the reasons that keep it from being lined today."""

from __future__ import annotations

from collections.abc import Sequence

from drainwright.records.work_sheet import Fitness, Reason

ENGINEER, OWNER, RESIDENT = "engineer", "sewer’s owner", "resident"
OFFICE, CAMERA, CLEANING = "office", "camera crew", "cleaning crew"
ACCESS, MAKER, RIG = "cleanout", "maker", "rig"
PARTIES = (RESIDENT, ACCESS, ENGINEER, OWNER, MAKER, CAMERA, CLEANING, OFFICE, RIG)
"""Everyone a lateral can wait on."""
_OWNER_DECIDES = ("right of entry", "listed length")
_BY_RULE = {
    "right of entry": RESIDENT,
    "premises": OFFICE,
    "address proof": CAMERA,
    "survey": CAMERA,
    "survey age": CAMERA,
    "code": OFFICE,
    "size": CAMERA,
    "length": CAMERA,
    "access": ACCESS,
    "tube": MAKER,
    "collar": MAKER,
    "resin": MAKER,
    "resin life": MAKER,
    "landing": CAMERA,
    "rig": RIG,
}


def waits_on(stage: str, reasons: Sequence[Reason]) -> tuple[str, ...]:
    """Who must act before the lateral can go on, in the order of the reasons.

    Without a plan it is the camera crew or the office; what the engineer is asked and what is
    not to be lined goes to the engineer and the sewer's owner, who decides on a refused entry and
    on a length far off the list. What is installed waits on the
    engineer, what is accepted on nobody.
    """
    return waits_by(stage, [(reason.outcome, reason.rule) for reason in reasons])


def waits_by(stage: str, reasons: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """The same from each reason's outcome and rule alone, as lists know them."""
    if stage == "listed":
        return (CAMERA,)
    if stage == "surveyed":
        return (OFFICE,)
    if stage == "installed":
        return (ENGINEER,)
    if stage in ("accepted", "closed"):
        return ()
    return tuple(dict.fromkeys(_party(outcome, rule) for outcome, rule in reasons))


def _party(outcome: str, rule: str) -> str:
    if outcome == Fitness.STOP:
        return OWNER
    if outcome == Fitness.ASK:
        return OWNER if rule in _OWNER_DECIDES else ENGINEER
    return _BY_RULE.get(rule, CLEANING)
