"""List laterals with their stage and outcome (read)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.operations.who_waits import page_waiting
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, RecordStore


@dataclass(frozen=True, slots=True)
class LateralLine:
    """One lateral in a list."""

    key: str
    address: str
    street: str
    segment: str
    tap_distance: float
    stage: str
    fitness: str
    revision: int


@dataclass(frozen=True, slots=True)
class LateralPage:
    """One page of laterals."""

    items: tuple[LateralLine, ...]
    number: int
    pages: int
    total: int


def list_laterals(
    store: RecordStore,
    project: str,
    *,
    words: str = "",
    segment: str = "",
    street: str = "",
    stage: str = "",
    fitness: str = "",
    waits: str = "",
    page: int = 1,
) -> LateralPage:
    """A page of 50 laterals that pass the filters, in the natural order of their keys.

    Raises `InputError` for a page below 1 or a party (`waits`) that nobody knows.
    """
    filters = Filters(words=words, segment=segment, street=street, stage=stage, fitness=fitness)
    with store.read() as session:
        if waits:
            found = page_waiting(session, project, filters, waits, page)
        else:
            found = session.brief_page(project, Lateral, filters, page)
    items = tuple(
        LateralLine(
            one.key,
            one.told.get("address", ""),
            one.told.get("street", ""),
            one.segment,
            one.told.get("tap_distance", 0.0),
            one.stage,
            one.fitness,
            one.revision,
        )
        for one in found.items
    )
    return LateralPage(items, found.number, found.pages, found.total)


def planned_keys_of(store: RecordStore, project: str, keys: Sequence[str]) -> tuple[str, ...]:
    """Those of `keys` that have a work sheet, in their order."""
    with store.read() as session:
        planned = session.briefs(project, WorkSheet, keys)
    return tuple(key for key in keys if key in planned)


def lateral_count(store: RecordStore, project: str, segment: str = "") -> int:
    """How many laterals a project or one of its segments has."""
    with store.read() as session:
        return session.brief_page(project, Lateral, Filters(segment=segment)).total


def keys_of_segment(store: RecordStore, project: str, segment: str) -> tuple[str, ...]:
    """The laterals of a segment, in their order."""
    with store.read() as session:
        return tuple(key for key, _ in session.keys(project, Lateral, Filters(segment=segment)))
