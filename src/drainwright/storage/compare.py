"""Two revisions of a document compared, in words for a person."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from difflib import SequenceMatcher
from enum import Enum
from typing import Any, TypeVar

from drainwright.sources import Citation
from drainwright.storage import codec
from drainwright.storage.field_words import CLOCK, kind_of_number, one_of, words_of
from drainwright.storage.protocol import ReadSession, Record, Revision
from drainwright.units import KINDS, UnitSystem, show

R = TypeVar("R", bound=Record)
NOTHING = "nothing"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is otherwise now: where, what it was, what it is."""

    where: str
    was: str
    now: str

    def __str__(self) -> str:
        if self.was == NOTHING:
            return f"{self.where}: added {self.now}"
        if self.now == NOTHING:
            return f"{self.where}: removed {self.was}"
        return f"{self.where}: {self.was} → {self.now}"


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two revisions and what changed from the one to the other."""

    old: Revision
    new: Revision
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a value stands: what to call it, and how its numbers are shown."""

    where: str
    owner: Any
    field: str
    system: UnitSystem
    now_owner: Any = None
    """The owner after the change, where it may tell another kind of number."""

    def below(self, where: str) -> str:
        """The name of a place inside of this one."""
        return f"{self.where}, {where}" if self.where else where


def compare_revisions(
    session: ReadSession,
    project: str,
    kind: type[R],
    key: str,
    numbers: tuple[int, int],
    system: UnitSystem,
) -> Comparison:
    """What changed in a document from one revision to another."""
    old, new = (session.get(project, kind, key, revision=number) for number in numbers)
    changes = compare(old.record, new.record, system)
    if old.revision.withdrawn != new.revision.withdrawn:
        state = ("in use", "withdrawn")
        was, now = state[old.revision.withdrawn], state[new.revision.withdrawn]
        changes = (Change("document", was, now), *changes)
    return Comparison(old.revision, new.revision, changes)


def compare(old: R, new: R, system: UnitSystem) -> tuple[Change, ...]:
    """What differs between two records of one kind, in the order of their fields."""
    return tuple(_record(old, new, _Place("", None, "", system)))


def _record(old: Any, new: Any, place: _Place) -> Iterator[Change]:
    for one in fields(old):
        was, now = getattr(old, one.name), getattr(new, one.name)
        if was != now:
            where = place.below(words_of(one.name))
            yield from _value(was, now, _Place(where, old, one.name, place.system, new))


def _value(was: Any, now: Any, place: _Place) -> Iterator[Change]:
    if isinstance(was, Citation) or isinstance(now, Citation):
        yield Change(place.where, _said(was, place), _said(now, place))
    elif is_dataclass(was) and type(was) is type(now):
        yield from _record(was, now, place)
    elif isinstance(was, Mapping) and isinstance(now, Mapping):
        yield from _mapping(was, now, place)
    elif isinstance(was, tuple) and isinstance(now, tuple):
        yield from _several(was, now, place)
    else:
        yield Change(place.where, *_both(was, now, place))


def _mapping(was: Mapping[Any, Any], now: Mapping[Any, Any], place: _Place) -> Iterator[Change]:
    for key in (*was, *(key for key in now if key not in was)):
        there = was.get(key, now.get(key))
        name = getattr(there, "words", "") or words_of(str(key))  # a limit says what it means
        below = replace(place, where=place.below(name))
        if key not in now:
            yield Change(below.where, _said(was[key], below), NOTHING)
        elif key not in was:
            yield Change(below.where, NOTHING, _said(now[key], below))
        elif was[key] != now[key]:
            yield from _value(was[key], now[key], below)


def _several(was: Sequence[Any], now: Sequence[Any], place: _Place) -> Iterator[Change]:
    if place.field == "geometry":
        yield Change(place.where, f"{len(was)} points", f"{len(now)} points, moved or other ones")
        return
    matcher = SequenceMatcher(None, [*map(_text, was)], [*map(_text, now)], autojunk=False)
    for tag, start, end, first, last in matcher.get_opcodes():
        if tag == "equal":
            continue
        gone, come = was[start:end], now[first:last]
        both = min(len(gone), len(come))
        for index in range(both):
            below = _numbered(place, start + index, first + index)
            yield from _value(gone[index], come[index], below)
        for index, one in enumerate(gone[both:], start + both):
            yield Change(_numbered(place, index).where, _said(one, place), NOTHING)
        for index, one in enumerate(come[both:], first + both):
            yield Change(_numbered(place, index).where, NOTHING, _said(one, place))


def _text(one: Any) -> str:
    return codec.encode(one) if is_dataclass(one) else repr(one)


def _numbered(place: _Place, index: int, now: int | None = None) -> _Place:
    """One entry of several, named by its place, counted from 1."""
    moved = f" (now {now + 1})" if now is not None and now != index else ""
    above = place.where.rpartition(", ")[0]
    name = f"{one_of(place.field)} {index + 1}{moved}"
    return replace(place, where=f"{above}, {name}" if above else name)


def _both(was: Any, now: Any, place: _Place) -> tuple[str, str]:
    """Both values in words; numbers with so many digits that they differ."""
    later = replace(place, owner=place.now_owner)
    for more in range(16):
        one, other = _said(was, place, more), _said(now, later, more)
        if one != other:
            return one, other
    return repr(was), repr(now)


def _said(value: Any, place: _Place, more: int = 0) -> str:
    """A value in words."""
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and not isinstance(value, Enum):
        return f"“{value}”" if value else "empty"
    if isinstance(value, float):
        return _number(value, place, more)
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, Enum | int | Citation):
        return str(value)
    return _said_of_several(value, place)


def _said_of_several(value: Any, place: _Place) -> str:
    if isinstance(value, tuple):
        return ", ".join(_said(one, place) for one in value) or "none"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_said(one, place)}" for key, one in value.items()) or "none"
    return _thing(value, place)


def _thing(value: Any, place: _Place) -> str:
    """A record within a record: what is filled in, the first field without its name."""
    parts = []
    for number, one in enumerate(fields(value)):
        inner = getattr(value, one.name)
        if inner in (None, "", False) or (isinstance(inner, tuple | Mapping) and not inner):
            continue
        said = _said(inner, _Place("", value, one.name, place.system))
        parts.append(said if number == 0 else f"{words_of(one.name)} {said}")
    return ", ".join(parts)


def _number(value: float, place: _Place, more: int) -> str:
    kind = kind_of_number(type(place.owner), place.field)
    if kind is not None and kind.startswith("."):
        kind = getattr(place.owner, kind[1:])
    if kind == CLOCK:
        return f"{value:.{6 + more}g} o’clock"
    if kind not in KINDS:
        return f"{value:.{6 + more}g}"
    usual = KINDS[kind]
    digits = usual.us_digits if place.system is UnitSystem.US else usual.si_digits
    return show(value, kind, place.system, digits + more).text
