"""The work sheet as issued: a frozen snapshot of inputs, figures, checks and outcome."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from drainwright.checks import Check
from drainwright.records.lateral import Lateral
from drainwright.records.material import Resin, Tube
from drainwright.records.project import MainSegment, Project
from drainwright.records.specification import Specification
from drainwright.records.standing import Knowledge
from drainwright.records.survey import Survey
from drainwright.sources import Citation


class Fitness(StrEnum):
    """Whether a lateral can be lined; in the order of severity."""

    LINE = "line"
    PREPARE = "prepare first"
    ASK = "ask the engineer"
    STOP = "do not line"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a lateral is not simply lined: what was seen, the rule, its source, and the work."""

    outcome: Fitness
    rule: str
    words: str
    source: Citation
    distance: float | None = None
    observation: int | None = None
    """Index of the observation in the survey."""
    work: str = ""
    """What to do about it, where something can be done."""


@dataclass(frozen=True, slots=True)
class FigureInput:
    """One input of a computed number, with its standing."""

    name: str
    value: float | str
    kind: str
    knowledge: Knowledge | None = None


@dataclass(frozen=True, slots=True)
class Figure:
    """One number or word on the sheet, with everything needed to check it by hand.

    `value` is SI of `kind`; `kind` is "" for words.
    """

    key: str
    label: str
    value: float | str
    kind: str
    how: str
    source: Citation
    inputs: tuple[FigureInput, ...] = ()


@dataclass(frozen=True, slots=True)
class DocumentRef:
    """The revision of a document that the sheet was made from."""

    document: str
    key: str
    revision: int


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """One lateral's work sheet; a change of any input makes a new one."""

    project: Project
    segment: MainSegment
    lateral: Lateral
    survey: Survey | None
    tube: Tube | None
    resin: Resin | None
    specification: Specification
    outcome: Fitness
    reasons: tuple[Reason, ...]
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    cautions: tuple[str, ...]
    go_no_go: tuple[str, ...] = ()
    """Questions that all need a yes before resin is mixed."""
    made_from: tuple[DocumentRef, ...] = ()
    issued_at: dt.datetime | None = None
    issued_by: str = ""

    def figure(self, key: str) -> Figure | None:
        """The figure named `key`, or None where the sheet has none."""
        return next((figure for figure in self.figures if figure.key == key), None)
