"""One batch of resin for several liners: what to weigh, its ticket, the weigh-back (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check
from drainwright.errors import Fault, InputError
from drainwright.papers.batch_ticket import batch_ticket_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.papers.tube_order import Ordered
from drainwright.planning.batch import Batch, make_batch, weighed_checks
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the scale said of a batch [kg]."""

    part_a: float
    part_b: float
    left: float = 0.0
    """In pails and rollers, weighed back."""


@dataclass(frozen=True, slots=True)
class PlannedBatch:
    """A batch with the kept sheets it is for."""

    batch: Batch
    orders: tuple[Ordered, ...]


def plan_batch(store: RecordStore, project: str, keys: Sequence[str]) -> PlannedBatch:
    """The batch for the kept work sheets of `keys`.

    Raises `NotFoundError` for a lateral that is not planned, `InputError` for one named twice,
    for liners of two resins, or where no resin was weighed out.
    """
    twice = sorted({key for key in keys if list(keys).count(key) > 1})
    if twice:
        raise InputError(*(Fault("laterals", f"{key} is named twice", key) for key in twice))
    with store.read() as session:
        stored = [session.get(project, WorkSheet, key) for key in keys]
    orders = tuple(Ordered(one.record, one.revision.number) for one in stored)
    return PlannedBatch(make_batch([one.sheet for one in orders]), orders)


def print_batch(
    store: RecordStore, project: str, keys: Sequence[str], *, by: str, at: dt.datetime
) -> bytes:
    """The batch ticket as PDF; also raises `PaperError` where a liner can have no mix ticket."""
    made = plan_batch(store, project, keys)
    return batch_ticket_pdf(made.batch, made.orders, Issue(0, at, by))


def check_weighed(
    store: RecordStore, project: str, keys: Sequence[str], weighed: Weighed
) -> tuple[Check, ...]:
    """Ratio and mass as weighed, against the sheet and the specification."""
    wrong = [
        Fault(name, "must be a positive mass", value, "kg")
        for name, value in (("part_a", weighed.part_a), ("part_b", weighed.part_b))
        if not value > 0
    ]
    if weighed.left < 0 or weighed.left > weighed.part_a + weighed.part_b:
        wrong.append(Fault("left", "is more than was poured, or negative", weighed.left, "kg"))
    if wrong:
        raise InputError(*wrong)
    made = plan_batch(store, project, keys)
    specification = made.orders[0].sheet.specification
    return weighed_checks(made.batch, specification, weighed.part_a, weighed.part_b, weighed.left)
