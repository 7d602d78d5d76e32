"""Two surveys of one lateral laid over each other at joints, branches, bends and ends.

Counters slip and begin at different zeros. Marks that both cameras saw tie the second survey
to the first: between two marks its distances are stretched, beyond the outermost shifted. What
is then at the same place and of the same kind is the same thing; the rest differs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from drainwright.records.survey import Observation, ObservationKind

Kind = ObservationKind
MARKS = (Kind.BRANCH, Kind.BEND, Kind.FINISH, Kind.SIZE_CHANGE, Kind.MATERIAL_CHANGE)
"""Kinds that stay where they are; anything at a joint is a mark as well."""
SLIP = 0.6
"""How far a counter may slip between two surveys, once both have the same zero [m]."""
SAME_PLACE = 0.3
"""How far apart one thing may be in two surveys laid over each other [m]."""


@dataclass(frozen=True, slots=True)
class Placed:
    """One observation with its place in its survey and its distance from the tap [m]."""

    index: int
    distance: float
    seen: Observation

    @property
    def mark(self) -> str:
        """What it can be tied to; "" for what may move or grow."""
        if self.seen.kind in MARKS:
            return self.seen.kind.value
        return f"joint {self.seen.kind.value}" if self.seen.at_joint else ""


@dataclass(frozen=True, slots=True)
class Tie:
    """A mark that both surveys saw: its distance in each [m]."""

    first: float
    second: float
    kind: str


@dataclass(frozen=True, slots=True)
class Pair:
    """One thing in one or both surveys; `laid` is the second's distance laid over the first."""

    first: Placed | None
    second: Placed | None
    laid: float
    differs: tuple[str, ...] = ()
    """What is otherwise: size, grade, clock."""


@dataclass(frozen=True, slots=True)
class Overlay:
    """Two surveys laid over each other."""

    shift: float
    """By how much the second's zero lies before the first's [m]."""
    ties: tuple[Tie, ...]
    pairs: tuple[Pair, ...]

    def laid(self, distance: float) -> float:
        """A distance of the second survey where the first has it [m]."""
        return laid_over(self.ties, self.shift, distance)


def lay_over(first: Sequence[Placed], second: Sequence[Placed]) -> Overlay:
    """The second survey laid over the first."""
    marks = [one for one in first if one.mark], [one for one in second if one.mark]
    shift = _shift(*marks)
    ties = _ties(*marks, shift)
    laid = {one.index: laid_over(ties, shift, one.distance) for one in second}
    return Overlay(shift, ties, tuple(_pairs(first, second, laid)))


def laid_over(ties: Sequence[Tie], shift: float, distance: float) -> float:
    """A distance stretched between the two ties around it, shifted beyond them [m]."""
    if not ties:
        return distance + shift
    if distance <= ties[0].second:
        return distance + ties[0].first - ties[0].second
    for one, other in pairwise(ties):
        if distance <= other.second:
            share = (distance - one.second) / (other.second - one.second)
            return one.first + share * (other.first - one.first)
    return distance + ties[-1].first - ties[-1].second


def _shift(first: Sequence[Placed], second: Sequence[Placed]) -> float:
    """The shift under which most marks meet, the least one of several [m]."""
    candidates = [0.0]
    candidates += [a.distance - b.distance for a in first for b in second if a.mark == b.mark]

    def worth(shift: float) -> tuple[int, float, float]:
        ties = _ties(first, second, shift)
        off = sum(abs(tie.first - tie.second - shift) for tie in ties)
        return len(ties), -round(off, 6), -abs(shift)

    return max(candidates, key=worth)


def _ties(first: Sequence[Placed], second: Sequence[Placed], shift: float) -> tuple[Tie, ...]:
    """The most marks that meet in order, with the least slip."""
    one = sorted(first, key=lambda p: p.distance)
    other = sorted(second, key=lambda p: p.distance)
    best: list[list[tuple[int, float]]] = [
        [(0, 0.0)] * (len(other) + 1) for _ in range(len(one) + 1)
    ]
    for i, a in enumerate(one, 1):
        for j, b in enumerate(other, 1):
            found = max(best[i - 1][j], best[i][j - 1])
            off = abs(a.distance - b.distance - shift)
            if a.mark == b.mark and off <= SLIP:
                count, slip = best[i - 1][j - 1]
                found = max(found, (count + 1, slip - off))
            best[i][j] = found
    return tuple(_way_back(one, other, best))


def _way_back(
    one: Sequence[Placed], other: Sequence[Placed], best: list[list[tuple[int, float]]]
) -> list[Tie]:
    """Which marks the best count came from."""
    ties: list[Tie] = []
    i, j = len(one), len(other)
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            a, b = one[i], other[j]
            if not ties or b.distance < ties[-1].second - 1e-6:
                ties.append(Tie(a.distance, b.distance, a.seen.kind.value))
    return ties[::-1]


def _pairs(first: Sequence[Placed], second: Sequence[Placed], laid: dict[int, float]) -> list[Pair]:
    """Each thing once, along the pipe: the nearest of one kind first."""
    near = sorted(
        (abs(a.distance - laid[b.index]), a.index, b.index)
        for a in first
        for b in second
        if a.seen.kind == b.seen.kind and abs(a.distance - laid[b.index]) <= SAME_PLACE
    )
    one, other = {p.index: p for p in first}, {p.index: p for p in second}
    pairs = []
    for _, a, b in near:
        if a in one and b in other:
            left, right = one.pop(a), other.pop(b)
            pairs.append(Pair(left, right, laid[b], _differences(left.seen, right.seen)))
    pairs += [Pair(left, None, left.distance) for left in one.values()]
    pairs += [Pair(None, right, laid[right.index]) for right in other.values()]
    return sorted(pairs, key=lambda pair: pair.first.distance if pair.first else pair.laid)


def _differences(one: Observation, other: Observation) -> tuple[str, ...]:
    """What the two say otherwise; a size within a tenth, a clock within an hour are the same."""
    found = []
    if (one.measure is None) != (other.measure is None) or (
        one.measure is not None
        and other.measure is not None
        and abs(one.measure - other.measure) > 0.1 * max(abs(one.measure), abs(other.measure))
    ):
        found.append("size")
    if one.grade != other.grade:
        found.append("grade")
    if one.clock_from is not None and other.clock_from is not None:
        apart = abs(one.clock_from - other.clock_from) % 12
        if min(apart, 12 - apart) > 1:
            found.append("clock")
    return tuple(found)
