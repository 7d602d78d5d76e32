"""Change limits of a project's specification: read what was typed, and save it (write)."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from drainwright.engineering.wall_soil import EDITIONS
from drainwright.errors import Fault, InputError
from drainwright.operations.calculators import wall
from drainwright.operations.show_specification import limit_names, specification_of, typed_value
from drainwright.records.project import Project
from drainwright.records.specification import Limit, Specification
from drainwright.sources import MARKS, SOURCES, Citation, cite
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem, kind_unit, parse, parse_number, show, to_si

NOT_APPLIED = ("", "—", "-", "none")
LONGEST = 120
METHODS = EDITIONS
"""Editions by which walls can be computed."""
CONDITIONS = wall.CONDITIONS
"""What a host pipe can be taken for."""
_THOUSANDS = re.compile(r"(?<=\d),(?=\d{3}(?!\d))")


@dataclass(frozen=True, slots=True)
class TypedSource:
    """Where a value comes from, as typed: a registered source, a place in it, a mark."""

    key: str = "owner"
    place: str = ""
    mark: str = ""
    """Empty takes the source's own."""


@dataclass(frozen=True, slots=True)
class TypedChanges:
    """What was typed: values by limit, and the sources of those that change."""

    values: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, TypedSource] = field(default_factory=dict)
    wall_method: str = ""
    """Edition by which walls are computed; empty leaves it."""
    condition: str = ""
    """What the host pipe is taken for; empty leaves it."""


@dataclass(frozen=True, slots=True)
class LimitChange:
    """One limit that would change; values as they are typed, with their unit."""

    name: str
    words: str
    unit: str
    before: str
    after: str
    source: TypedSource


def read_value(text: str, limit: Limit, system: UnitSystem) -> float | None:
    """The SI value of what was typed; None where the limit is not to be applied.

    A bare number is in the reader's unit. Raises `InputError`.
    """
    plain = _THOUSANDS.sub("", text.strip()) if system is UnitSystem.US else text.strip()
    if plain.casefold() in NOT_APPLIED:
        return None
    number = parse_number(plain)
    if number is not None:
        return to_si(number, kind_unit(limit.kind, system))
    return parse(plain, limit.kind, limit.words)


def changed_limits(
    specification: Specification, changes: TypedChanges, system: UnitSystem
) -> tuple[LimitChange, ...]:
    """The limits whose value or source would change, in the order in which they are known.

    Raises `InputError` with every value that can't be read.
    """
    return tuple(one for one, _, _ in _read(specification, changes, system))


def changed_specification(
    specification: Specification, changes: TypedChanges, system: UnitSystem
) -> Specification:
    """The specification with what was typed; `InputError` with every fault."""
    read = _read(specification, changes, system)
    method = _one_of("wall method", changes.wall_method, EDITIONS) or specification.wall_method
    condition = _one_of("condition", changes.condition, CONDITIONS) or specification.condition
    limits = {one.name: (value, source) for one, value, source in read}
    return replace(specification.with_limits(limits), wall_method=method, condition=condition)


def _one_of(name: str, value: str, allowed: Sequence[str]) -> str:
    if value and value not in allowed:
        raise InputError(Fault(name, f"is one of {', '.join(allowed)}", value))
    return value


def save_specification(
    store: RecordStore,
    project: Project,
    changes: TypedChanges,
    *,
    expected: int,
    by: str,
    at: dt.datetime,
    reason: str,
) -> int:
    """Save what was typed as the next revision; return its number.

    `expected` is the revision that was seen, 0 for the starting values. Raises `ConflictError`
    where somebody else saved meanwhile, `InputError` for what can't be read, or nothing typed.
    """
    with store.write(by=by, at=at, origin="", reason=reason) as session:
        specification, _ = specification_of(session, project)
        changed = changed_specification(specification, changes, project.units)
        if changed == specification:
            raise InputError(Fault("limits", "none is changed"))
        return session.put(project.key, changed, expected=expected).revision


def _read(
    specification: Specification, changes: TypedChanges, system: UnitSystem
) -> Sequence[tuple[LimitChange, float | None, Citation]]:
    read: list[tuple[LimitChange, float | None, Citation]] = []
    known = limit_names(specification)
    faults = [
        Fault(name[:LONGEST], "is no limit of this specification")
        for name in {**changes.values, **changes.sources}
        if name not in known
    ]
    for name in known:
        if name not in changes.values and name not in changes.sources:
            continue
        try:
            one = _read_one(specification.limit(name), changes, system)
        except InputError as error:
            faults += error.faults
        else:
            read += [one] if one is not None else []
    if faults:
        raise InputError(*faults)
    return read


def _read_one(
    limit: Limit, changes: TypedChanges, system: UnitSystem
) -> tuple[LimitChange, float | None, Citation] | None:
    before = typed_value(limit, system)
    after = changes.values.get(limit.name, before).strip()
    value = limit.value if after == before else read_value(after, limit, system)
    given = changes.sources.get(limit.name)
    same = value == limit.value
    if same and given is None:
        return None
    source = given or TypedSource()
    cited = _citation(limit, source)
    if same and cited == limit.source:
        return None
    unit = show(0.0, limit.kind, system).unit_text
    mark = source.mark or cited.effective_mark
    told = replace(source, place=cited.locator, mark=mark)
    after = "" if value is None else after
    return LimitChange(limit.name, limit.words, unit, before, after, told), value, cited


def _citation(limit: Limit, source: TypedSource) -> Citation:
    faults = []
    if source.key not in SOURCES:
        faults.append(Fault(limit.words, f"there is no source “{source.key}”", source.key))
    if source.mark and source.mark not in MARKS:
        faults.append(Fault(limit.words, f"there is no mark “{source.mark}”", source.mark))
    place = " ".join(source.place.split())
    if len(place) > LONGEST:
        faults.append(Fault(limit.words, f"its place has more than {LONGEST} letters"))
    if faults:
        raise InputError(*faults)
    mark = "" if source.mark == SOURCES[source.key].mark else source.mark
    return cite(source.key, place, mark)


def source_titles() -> Mapping[str, str]:
    """Registered sources by key, those a specification is usually changed by first."""
    first = ("owner", "maker", "memory", "practice")
    rest = sorted((key for key in SOURCES if key not in first), key=lambda k: SOURCES[k].title)
    return {key: SOURCES[key].title for key in (*first, *rest)}
