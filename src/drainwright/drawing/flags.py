"""Where the flags of a profile stand: rows of texts over their leads, nothing overlapping.

From right to left each flag takes the lowest row in which its box meets no other box and no
lead, with its text to the right if there is room, else to the left. Where the rows can't hold
the texts, the widest ones become numbers; where they can't even hold the numbers, all flags
stand in one row of numbers with bent leads. Flags too close to stand side by side share a mast.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drainwright.drawing.lettering import SIZE, cut, text_width
from drainwright.drawing.symbols import CELL

ROW = 22.0
GAP = 5.0
WIDEST = 200.0
DENSE_HEIGHT = 70.0
MOST_IN_ROWS = 48
LEAD_GAP = 2.5
MAST = 13.0
_CHIP = CELL + 3
_SIDE = CELL / 2 + 3


@dataclass(frozen=True, slots=True)
class Wanted:
    """A flag to be placed: `x` of its lead, its text, its symbol; `fixed` is never a number."""

    x: float
    text: str
    symbol: str | None = None
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Placed:
    """A flag in its place: row `level` above the ground, `left` of its lead or right.

    `x` is where it stands, next to its lead's `foot` in a dense row or on a mast. `width` is
    that of the text, `numbers` are the key's numbers in it, `members` the flags it stands for.
    """

    x: float
    foot: float
    text: str
    symbol: str | None
    members: tuple[int, ...]
    width: float
    level: int = 0
    left: bool = False
    numbers: tuple[int, ...] = ()

    def span(self) -> tuple[float, float]:
        """Left and right end of the box in its row."""
        if self.symbol is None:
            if self.left:
                return self.x - self.width, self.x + 2
            return self.x - 2, self.x + self.width
        if self.left:
            return self.x - _SIDE - self.width, self.x + CELL / 2
        return self.x - CELL / 2, self.x + _SIDE + self.width


@dataclass(frozen=True, slots=True)
class FlagLayout:
    """All flags in place; `dense` is one row with bent leads."""

    flags: tuple[Placed, ...]
    rows: int
    dense: bool = False

    @property
    def height(self) -> float:
        """Height of the band the flags need."""
        return DENSE_HEIGHT if self.dense else self.rows * ROW


def place_flags(wanted: Sequence[Wanted], low: float, high: float, levels: int) -> FlagLayout:
    """Place flags between `low` and `high`, in at most `levels` rows."""
    numbered: set[int] = set()
    while len(wanted) <= MOST_IN_ROWS:
        placed, failed = _greedy(_texts(wanted, numbered), low, high, levels)
        if failed is None:
            rows = max((flag.level + 1 for flag in placed), default=0)
            ordered = sorted(placed, key=lambda flag: flag.members)
            return FlagLayout(tuple(ordered), rows)
        near = [
            index
            for index, flag in enumerate(wanted)
            if not flag.fixed
            and index not in numbered
            and abs(flag.x - wanted[failed].x) < WIDEST + CELL
        ]
        if not near:
            break
        numbered.add(max(near, key=lambda index: text_width(cut(wanted[index].text, WIDEST))))
    return _dense(wanted, low, high)


def _texts(wanted: Sequence[Wanted], numbered: set[int]) -> list[Placed]:
    """The flags with the texts they would bear, numbers counted from the main."""
    order = sorted(numbered, key=lambda index: (wanted[index].x, index))
    numbers = {index: count for count, index in enumerate(order, 1)}
    masts = _masts([flag.x for flag in wanted])
    found = []
    for index, flag in enumerate(wanted):
        number = numbers.get(index)
        text = cut(flag.text, WIDEST) if number is None else str(number)
        own = () if number is None else (number,)
        width = text_width(text)
        x = flag.x if flag.symbol is None else masts[index]
        found.append(Placed(x, flag.x, text, flag.symbol, (index,), width, numbers=own))
    return found


def _masts(places: Sequence[float]) -> list[float]:
    """Where flags stand: neighbors closer than `MAST` on a common mast amid them."""
    order = sorted(range(len(places)), key=lambda index: places[index])
    found = list(places)
    group: list[int] = []
    for index in order:
        if group and places[index] - places[group[0]] >= MAST:
            group = []
        group.append(index)
        middle = sum(places[one] for one in group) / len(group)
        for one in group:
            found[one] = middle
    return found


def _greedy(
    flags: Sequence[Placed], low: float, high: float, levels: int
) -> tuple[list[Placed], int | None]:
    placed: list[Placed] = []
    # a text to the right wants its right neighbors below, one to the left its left ones
    order = [(False, level) for level in range(levels)]
    order += [(True, level) for level in reversed(range(levels))]
    for index in sorted(range(len(flags)), key=lambda i: (-flags[i].x, i)):
        choices = (replace(flags[index], level=level, left=left) for left, level in order)
        found = next((one for one in choices if _free(one, placed, low, high)), None)
        if found is None:
            return placed, index
        placed.append(found)
    return placed, None


def _free(flag: Placed, placed: Sequence[Placed], low: float, high: float) -> bool:
    left, right = flag.span()
    if left < low or right > high:
        return False
    for other in placed:
        other_left, other_right = other.span()
        if flag.level == other.level:
            if left < other_right + GAP and other_left < right + GAP:
                return False
        elif abs(flag.x - other.x) >= 0.5:
            upper, lower = (flag, other) if flag.level > other.level else (other, flag)
            start, end = lower.span()
            if start - LEAD_GAP < upper.x < end + LEAD_GAP:
                return False
    return True


def _dense(wanted: Sequence[Wanted], low: float, high: float) -> FlagLayout:
    """One row of numbered flags in order, spread so that none overlaps."""
    order = sorted(range(len(wanted)), key=lambda index: (wanted[index].x, index))
    room = high - low - sum(text_width(flag.text) + GAP for flag in wanted if flag.fixed)
    count = sum(not flag.fixed for flag in wanted)
    size = 1
    while -(-count // size) * _group_width(size, count) > room and size < count:
        size += 1
    groups = _groups(wanted, order, size)
    widths = [_width(flag) for flag in groups]
    spread = _spread([flag.foot for flag in groups], widths, low, high)
    return FlagLayout(
        tuple(replace(flag, x=x) for flag, x in zip(groups, spread, strict=True)), 1, dense=True
    )


def _group_width(size: int, count: int) -> float:
    return _CHIP if size == 1 else max(_CHIP, text_width(f"{count}–{count}") + GAP)


def _width(flag: Placed) -> float:
    return max(_CHIP if flag.symbol else 0.0, flag.width + GAP)


def _groups(wanted: Sequence[Wanted], order: Sequence[int], size: int) -> list[Placed]:
    """Consecutive flags under one number each, or `size` of them under a range of numbers."""
    groups: list[Placed] = []
    waiting: list[int] = []
    number = 0

    def close() -> None:
        nonlocal number, waiting
        if not waiting:
            return
        numbers = tuple(range(number + 1, number + 1 + len(waiting)))
        number += len(waiting)
        text = str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]}–{numbers[-1]}"
        foot = sum(wanted[index].x for index in waiting) / len(waiting)
        symbol = wanted[waiting[0]].symbol if len(waiting) == 1 else None
        members = tuple(waiting)
        width = text_width(text)
        groups.append(Placed(foot, foot, text, symbol, members, width, numbers=numbers))
        waiting = []

    for index in order:
        flag = wanted[index]
        if flag.fixed:
            close()
            text = cut(flag.text, WIDEST)
            width = text_width(text)
            groups.append(Placed(flag.x, flag.x, text, flag.symbol, (index,), width))
            continue
        waiting.append(index)
        if len(waiting) == size:
            close()
    close()
    return groups


def _spread(
    targets: Sequence[float], widths: Sequence[float], low: float, high: float
) -> list[float]:
    """Centers in order, nearest to `targets` in the least squares sense, none overlapping."""
    offsets = []
    total = 0.0
    for width in widths:
        offsets.append(total + width / 2)
        total += width
    # blocks of equal shift: (sum of shifts, count), merged while they run into each other
    blocks: list[tuple[float, int]] = []
    for target, offset in zip(targets, offsets, strict=True):
        blocks.append((target - offset, 1))
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            shift, count = blocks.pop()
            blocks[-1] = (blocks[-1][0] + shift, blocks[-1][1] + count)
    shifts = [shift / count for shift, count in blocks for _ in range(count)]
    limited = [min(max(shift, low), max(low, high - total)) for shift in shifts]
    return [shift + offset for shift, offset in zip(limited, offsets, strict=True)]


def text_at(flag: Placed, bottom: float) -> tuple[float, float]:
    """Where the text of a flag in a row begins, over the band's `bottom`."""
    left, _ = flag.span()
    start = left if flag.left else (flag.x if flag.symbol is None else flag.x + _SIDE)
    return start, bottom - flag.level * ROW - (ROW - SIZE) / 2 - 3
