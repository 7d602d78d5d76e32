"""How the figures of a work sheet are laid into its three columns, and what goes overleaf.

Groups keep their order; a group that finds no room in its own column takes the next one that
has room, else the second sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drainwright.papers.crew_words import (
    BIG,
    CAN_IT,
    ESSENTIAL,
    GROUP_WORDS,
    MAKE_UP,
    PUT_IN,
    Group,
    crew_label,
    grouped,
)
from drainwright.papers.paper import Data
from drainwright.papers.shown import LETTERS, UNKNOWN, SourceList, figure_data
from drainwright.records.work_sheet import Figure
from drainwright.units import UnitSystem

COLUMNS = (CAN_IT, MAKE_UP, PUT_IN)
# groups that hold what a crew can't work without; the others make room for them
_MUST = frozenset(key.split(".")[0] for key in ESSENTIAL) | {"deadline", "pressure"}


@dataclass(frozen=True, slots=True)
class Laid:
    """Three columns of groups as rows, and the groups left over."""

    columns: list[list[Data]]
    beyond: list[Data]


def lay_columns(
    figures: Sequence[Figure], system: UnitSystem, sources: SourceList, room: Sequence[int]
) -> Laid:
    """Lay figures into columns with `room` rows each.

    What a crew can't work without and the sheet lacks is shown as “—” with the reason.
    """
    named = [name for names in COLUMNS for name in names]
    groups = {group.key: group for group in grouped(figures, named)}
    lacking = _lacking(figures)
    left = list(room)
    columns: list[list[Data]] = [[], [], []]
    homeless: list[tuple[Data, int]] = []
    for at, names in enumerate(COLUMNS):
        there = [name for name in names if name in groups or name in lacking]
        made = {}
        for name in there:
            group = groups.pop(name, None) or Group(name, GROUP_WORDS[name], ())
            made[name] = _rows(group, lacking.get(name, []), system, sources)
        kept_free = sum(made[name][1] for name in there if name in _MUST)
        for name in there:
            rows, size = made[name]
            kept_free -= size if name in _MUST else 0
            if size <= left[at] - kept_free:
                columns[at].append(rows)
                left[at] -= size
            else:
                homeless.append((rows, size))
    homeless += [_rows(group, [], system, sources) for group in groups.values()]
    beyond: list[Data] = []
    for rows, size in homeless:
        place = next((at for at in (0, 2, 1) if left[at] >= size), None)
        if place is None:
            beyond.append(rows)
        else:
            columns[place].append(rows)
            left[place] -= size
    return Laid(columns, beyond)


def group_rows(group: Group, system: UnitSystem, sources: SourceList) -> Data:
    """One group with its rows, nothing added."""
    return _rows(group, [], system, sources)[0]


def _lacking(figures: Sequence[Figure]) -> dict[str, list[tuple[str, str]]]:
    """Essential figures that are not there, by group: label and reason."""
    there = {figure.key for figure in figures}
    lacking: dict[str, list[tuple[str, str]]] = {}
    for key, entry in ESSENTIAL.items():
        if key not in there:
            lacking.setdefault(key.split(".")[0], []).append(entry)
    return lacking


def _rows(
    group: Group, lacking: Sequence[tuple[str, str]], system: UnitSystem, sources: SourceList
) -> tuple[Data, int]:
    """The rows of a group, and how many lines they take, its title included."""
    rows: list[Data] = []
    lines = 1.7
    for figure in group.figures:
        row = figure_data(replace(figure, label=crew_label(figure, system)), system, sources)
        row["big"] = big = figure.key in BIG
        width = len(str(row["label"])) + 1.6 * len(str(row["text"])) + len(str(row["also"]))
        row["long"] = row["long"] or (big and width > LETTERS)
        rows.append(row)
        more = -(-len(str(row["text"])) // LETTERS) if row["long"] else 0
        lines += (1.3 if big else 1) + more + (1 if row["why"] else 0)
    for label, why in lacking:
        rows.append(
            {
                "key": "",
                "label": label,
                "text": UNKNOWN,
                "also": "",
                "long": False,
                "big": False,
                "ref": None,
                "why": why,
            }
        )
        lines += 2
    return {"title": group.title, "rows": rows}, round(lines)
