"""End an attempt from the office: how, why, what it cost and who pays (write)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.errors import ConflictError, Fault, InputError, NotFoundError
from drainwright.operations.field_journal import noted
from drainwright.operations.own_entries import MakeId, append_own, own_device
from drainwright.operations.stores import OpenStore
from drainwright.records.attempt import Attempt, attempts_of
from drainwright.records.field_entry import AttemptEnd, EntryKind, FieldEvent, FieldValue


@dataclass(frozen=True, slots=True)
class Ending:
    """How an attempt ended. `left` is what the next one starts from."""

    end: AttemptEnd
    cause: str = ""
    material_lost: str = ""
    left: str = ""
    payer: str = ""
    hours: float | None = None
    """Crew's hours [s]."""


def end_attempt(
    store: OpenStore,
    project: str,
    lateral: str,
    ending: Ending,
    *,
    by: str,
    at: dt.datetime,
    make_id: MakeId,
) -> Attempt:
    """End the lateral's running attempt; return it as it stands then.

    Raises `NotFoundError` where nothing was begun, `ConflictError` where it has ended already,
    and `InputError` where a failed one has no cause.
    """
    if ending.end is not AttemptEnd.CURED and not ending.cause.strip():
        raise InputError(Fault("cause", "an attempt that did not cure needs its cause"))
    with store.write(by=by, at=at, origin="", reason=f"attempt ended: {ending.end}") as session:
        events = [one.event for one in noted(session, project, lateral) if one.event]
        attempts = attempts_of(events).get(lateral, ())
        if not attempts:
            raise NotFoundError(f"no attempt on “{lateral}” was begun")
        running = attempts[-1]
        if running.end is not None:
            raise ConflictError(f"attempt {running.number} on “{lateral}” ended: {running.end}")
        made = _event(lateral, running.number, ending, by, at)
        append_own(session, project, own_device(store.location), [made], (at, make_id))
    return attempts_of([*running.events, made])[lateral][0]


def _event(lateral: str, number: int, ending: Ending, by: str, at: dt.datetime) -> FieldEvent:
    words = (
        ("material_lost", ending.material_lost), ("left", ending.left), ("payer", ending.payer),
    )  # fmt: skip
    values: tuple[FieldValue, ...] = ()
    if ending.hours is not None:
        typed = f"{ending.hours / 3600:g} h"
        values = (FieldValue("crew_time", ending.hours, "time", typed),)
    return FieldEvent(
        EntryKind.END, lateral, at, by, number, values=values,
        words=tuple((name, text) for name, text in words if text),
        answer=ending.end.value, reason=ending.cause,
    )  # fmt: skip
