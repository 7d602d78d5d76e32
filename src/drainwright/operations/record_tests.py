"""Take tests, inspections and follow-up of finished laterals into the record (write)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

from drainwright.errors import Fault, NotFoundError, raise_if_any
from drainwright.records.acceptance import Claim, NonConformity, Submittal
from drainwright.records.lateral import Lateral
from drainwright.records.post_inspection import PlaceSeen, PostInspection
from drainwright.records.project import Project
from drainwright.records.specimen import CouponTest, SamplingPlan, WallReadings
from drainwright.records.tightness_report import TightnessReport
from drainwright.storage.protocol import RecordStore, Saved, WriteSession

AcceptanceRecord: TypeAlias = (
    TightnessReport
    | PostInspection
    | WallReadings
    | CouponTest
    | SamplingPlan
    | NonConformity
    | Claim
    | Submittal
)
Beside = Callable[[str], bytes | None]
"""The content of a file named in a form, None where it is not there."""


@dataclass(frozen=True, slots=True)
class Recorded:
    """One document that was stored."""

    kind: str
    saved: Saved


def form_example() -> str:
    """An explained form to start from."""
    from drainwright.exchange.acceptance_file import EXAMPLE

    return EXAMPLE


def record_tests(
    store: RecordStore, project: str, data: bytes, file: str, *, beside: Beside, by: str,
    at: dt.datetime,
) -> tuple[Recorded, ...]:  # fmt: skip
    """Read an acceptance form with the files it names; all of it is stored, or nothing.

    Raises `InputError` with every fault: of the form, of a lateral that is not listed, of a
    file that is not there.
    """
    from drainwright.exchange.acceptance_file import read_acceptance

    with store.read() as session:
        about = session.get(project, Project, project).record
    records = read_acceptance(data, file, about.zone)
    with store.write(by=by, at=at, origin=file, reason="acceptance form read") as session:
        return tuple(_store(session, project, records, (beside, file)))


def record_one(
    store: RecordStore, project: str, record: AcceptanceRecord, *, by: str, at: dt.datetime,
    origin: str,
) -> Recorded:  # fmt: skip
    """Store one record as a page entered it; `ConflictError` where its number is taken."""
    with store.write(by=by, at=at, origin=origin, reason="entered by hand") as session:
        raise_if_any(_unlisted(session, project, (record,)))
        saved = session.put(project, record, expected=0)
    return Recorded(type(record).__name__, saved)


def next_number(
    store: RecordStore, project: str, kind: type[TightnessReport | PostInspection], lateral: str
) -> int:
    """The number of the next test or inspection of a lateral."""
    from drainwright.storage.protocol import Filters

    with store.read() as session:
        found = [stored.record.number
                 for stored in session.every(project, kind, Filters(lateral=lateral))]  # fmt: skip
    return max(found, default=0) + 1


def _store(
    session: WriteSession, project: str, records: tuple[AcceptanceRecord, ...],
    files: tuple[Beside, str],
) -> Iterator[Recorded]:  # fmt: skip
    faults = list(_unlisted(session, project, records))
    attached = [_attached(session, project, record, files, faults) for record in records]
    raise_if_any(faults)
    saved = session.put_many(project, ((record, None) for record in attached))
    for record, one in zip(attached, saved, strict=True):
        yield Recorded(type(record).__name__, one)


def _unlisted(
    session: WriteSession, project: str, records: tuple[AcceptanceRecord, ...]
) -> Iterator[Fault]:
    keys = {one.lateral for one in records if not isinstance(one, SamplingPlan | Submittal)}
    for key in sorted(keys):
        try:
            session.get(project, Lateral, key)
        except NotFoundError:
            yield Fault("lateral", "is not listed in this project", key)


def _attached(
    session: WriteSession, project: str, record: AcceptanceRecord, files: tuple[Beside, str],
    faults: list[Fault],
) -> AcceptanceRecord:  # fmt: skip
    def keep(name: str) -> str:
        beside, form = files
        content = beside(name)
        if content is None:
            faults.append(Fault("file", "is not there, beside the form", name, file=form))
            return ""
        return session.attachments.add(project, content, name).sha256

    if isinstance(record, CouponTest) and record.curve:
        return replace(record, curve=keep(record.curve))
    if isinstance(record, PostInspection):
        places = tuple(_with_stills(one, keep) for one in record.places)
        return replace(record, places=places)
    return record


def _with_stills(one: PlaceSeen, keep: Callable[[str], str]) -> PlaceSeen:
    return replace(
        one,
        still=keep(one.still) if one.still else "",
        still_before=keep(one.still_before) if one.still_before else "",
    )


def folder_of(form: Path) -> Beside:
    """Files beside a form, by their plain names; a path that leads elsewhere finds nothing."""

    def content(name: str) -> bytes | None:
        place = form.parent / name
        if Path(name).name != name or not place.is_file():
            return None
        return place.read_bytes()

    return content
