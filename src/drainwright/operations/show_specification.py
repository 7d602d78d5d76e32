"""The specification of a project: every limit with value, source and mark (read)."""

from __future__ import annotations

from dataclasses import dataclass

from drainwright.operations.show_columns import ShownSource, shown_source, shown_value
from drainwright.records.project import Project
from drainwright.records.specification import (
    DEFAULT_LIMITS,
    Limit,
    Specification,
    default_specification,
)
from drainwright.storage.protocol import RecordStore

_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit as it reads; `applied` is false where the specification sets none."""

    name: str
    words: str
    text: str
    applied: bool
    changed: bool
    """Whether it differs from the starting value."""
    source: ShownSource


@dataclass(frozen=True, slots=True)
class SpecificationView:
    """A specification and its limits, in the order in which they are known."""

    specification: Specification
    revision: int
    limits: tuple[LimitLine, ...]


def show_specification(store: RecordStore, project: Project) -> SpecificationView:
    """The specification in force; the starting one where the project has none."""
    with store.read() as session:
        stored = next(iter(session.every(project.key, Specification)), None)
    specification = stored.record if stored else default_specification()
    names = [*DEFAULT_LIMITS, *(n for n in specification.limits if n not in DEFAULT_LIMITS)]
    lines = tuple(_line(specification.limit(name), project) for name in names)
    return SpecificationView(specification, stored.revision.number if stored else 0, lines)


def _line(limit: Limit, project: Project) -> LimitLine:
    start = DEFAULT_LIMITS.get(limit.name)
    return LimitLine(
        name=limit.name,
        words=limit.words,
        text=_text(limit, project),
        applied=limit.value is not None,
        changed=start is None or start.value != limit.value,
        source=shown_source(limit.source),
    )


def _text(limit: Limit, project: Project) -> str:
    """The value; whole days where it is a time of two days and more."""
    value = limit.value
    if limit.kind == "time" and value is not None and value >= 2 * _DAY and value % _DAY == 0:
        return f"{value / _DAY:.0f} days"
    return shown_value(value, limit.kind, project.units)
