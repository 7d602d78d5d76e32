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
from drainwright.storage.protocol import ReadSession, RecordStore
from drainwright.units import UnitSystem, from_si, kind_unit, show

_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit as it reads; `applied` is false where the specification sets none."""

    name: str
    words: str
    text: str
    typed: str
    """As a person types it: the number in `unit` alone."""
    unit: str
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
        specification, revision = specification_of(session, project)
    names = limit_names(specification)
    lines = tuple(_line(specification.limit(name), project) for name in names)
    return SpecificationView(specification, revision, lines)


def specification_of(session: ReadSession, project: Project) -> tuple[Specification, int]:
    """The specification in force with its revision; the starting one and 0 where there is none."""
    stored = next(iter(session.every(project.key, Specification)), None)
    return (stored.record, stored.revision.number) if stored else (default_specification(), 0)


def limit_names(specification: Specification) -> tuple[str, ...]:
    """Every limit that is known, the program's own first."""
    own = (name for name in specification.limits if name not in DEFAULT_LIMITS)
    return (*DEFAULT_LIMITS, *own)


def _line(limit: Limit, project: Project) -> LimitLine:
    start = DEFAULT_LIMITS.get(limit.name)
    return LimitLine(
        name=limit.name,
        words=limit.words,
        text=_text(limit, project),
        typed=typed_value(limit, project.units),
        unit=show(0.0, limit.kind, project.units).unit_text,
        applied=limit.value is not None,
        changed=start is None or start.value != limit.value,
        source=shown_source(limit.source),
    )


def typed_value(limit: Limit, system: UnitSystem) -> str:
    """A limit's value as a person types it, in the reader's unit; "" where it is not applied."""
    if limit.value is None:
        return ""
    number = float(f"{from_si(limit.value, kind_unit(limit.kind, system)):.6g}")
    plain = f"{number:f}".rstrip("0").rstrip(".")
    return plain if float(plain) == number else f"{number:g}"


def _text(limit: Limit, project: Project) -> str:
    """The value; whole days where it is a time of two days and more."""
    value = limit.value
    if limit.kind == "time" and value is not None and value >= 2 * _DAY and value % _DAY == 0:
        return f"{value / _DAY:.0f} days"
    return shown_value(value, limit.kind, project.units)
