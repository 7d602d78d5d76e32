"""Making the figures of a work sheet: a number with its formula, inputs and source."""

from __future__ import annotations

from drainwright.records.specification import Limit
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, FigureInput
from drainwright.sources import Citation


def figure(
    key: str,
    label: str,
    value: float | str,
    kind: str,
    source: Citation,
    *inputs: FigureInput,
    how: str = "",
) -> Figure:
    """A figure; `kind` is "" for words."""
    return Figure(key, label, value, kind, how, source, inputs)


def given(
    name: str, value: float | str, kind: str, knowledge: Knowledge | None = None
) -> FigureInput:
    """An input of a figure with its standing."""
    return FigureInput(name, value, kind, knowledge)


def given_limit(limit: Limit) -> FigureInput:
    """A limit of the specification as an input; its standing where it is from memory."""
    knowledge = Knowledge.MEMORY if limit.source.effective_mark == "M" else None
    return FigureInput(limit.words, limit.value or 0.0, limit.kind, knowledge)
