"""What a store can do, without saying how; operations know only this module.

The unit of revision is the document: one record of one kind in one project, found by its
natural key. A document's kind is its record's class, so that what comes out is typed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Generic, Protocol, TypeVar

from drainwright.records.acceptance import Acceptance, Claim, NonConformity, Submittal
from drainwright.records.contract import AgreedWork, Contract, PayEstimate
from drainwright.records.crew import Calendar, Crew, Stock
from drainwright.records.cure_log import ChannelMap, CureLog
from drainwright.records.cure_verdict import CureVerdict
from drainwright.records.design_choice import DesignChoice
from drainwright.records.field_step import FieldSteps
from drainwright.records.lateral import Lateral
from drainwright.records.list_reading import ListMapping, ReadFile
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.post_inspection import PostInspection
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment, Project
from drainwright.records.rig import Rig
from drainwright.records.shift_plan import ShiftPlan
from drainwright.records.specification import Specification
from drainwright.records.specimen import CouponTest, SamplingPlan, WallReadings
from drainwright.records.survey import Survey
from drainwright.records.tightness_report import TightnessReport
from drainwright.records.warranty_terms import WarrantyTerms
from drainwright.records.work_sheet import WorkSheet

Record = (
    Project
    | Specification
    | MainSegment
    | Premises
    | Lateral
    | Survey
    | Tube
    | Resin
    | Collar
    | Rig
    | WorkSheet
    | ListMapping
    | ReadFile
    | FieldSteps
    | Contract
    | AgreedWork
    | PayEstimate
    | ChannelMap
    | CureLog
    | CureVerdict
    | TightnessReport
    | PostInspection
    | WallReadings
    | CouponTest
    | SamplingPlan
    | NonConformity
    | Claim
    | Submittal
    | Acceptance
    | DesignChoice
    | WarrantyTerms
    | Crew
    | Calendar
    | Stock
    | ShiftPlan
)
R = TypeVar("R", bound=Record)
T = TypeVar("T")
R_co = TypeVar("R_co", bound=Record, covariant=True)

PAGE = 50


class Stage(StrEnum):
    """How far a lateral has come, as far as documents and field entries tell it."""

    LISTED = "listed"
    SURVEYED = "surveyed"
    DESIGNED = "designed"
    SCHEDULED = "scheduled"
    """The newest shift plan names a day for it."""
    INSTALLED = "installed"
    """An attempt ended cured."""
    ACCEPTED = "accepted"
    """A person signed; so for closed."""
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Revision:
    """Who made a revision, when, from what and why; never what it holds."""

    number: int
    at: dt.datetime
    """UTC."""
    by: str
    origin: str
    """The file or device it came from."""
    reason: str
    sha256: str
    """Of the stored text."""
    withdrawn: bool


@dataclass(frozen=True, slots=True)
class Stored(Generic[R_co]):
    """A document as it came out of the store."""

    project: str
    key: str
    record: R_co
    revision: Revision
    stage: str = ""
    """Today's stage of a lateral; "" for other kinds."""
    fitness: str = ""
    """Today's outcome of a lateral's or a work sheet's plan; "" where there is none."""


@dataclass(frozen=True, slots=True)
class Saved:
    """What a put did: the document's revision now, and whether it is a new one."""

    key: str
    revision: int
    changed: bool


@dataclass(frozen=True, slots=True)
class Filters:
    """Which documents to list; an empty field does not filter.

    `words` are prefixes, all of which must be found, without regard to case and accents.
    `street` is compared likewise. `lateral` is the owner's id that surveys and work sheets
    belong to. Dates are those of surveys and work sheets, and a lateral's latest survey.
    """

    words: str = ""
    segment: str = ""
    street: str = ""
    stage: str = ""
    fitness: str = ""
    lateral: str = ""
    dated_from: dt.date | None = None
    dated_to: dt.date | None = None
    withdrawn: bool = False
    """List the withdrawn documents instead of the others."""


@dataclass(frozen=True, slots=True)
class Page(Generic[R_co]):
    """One page of a list, in the natural order of keys (L-2 before L-10)."""

    items: tuple[Stored[R_co], ...]
    number: int
    total: int
    """Documents on all pages."""

    @property
    def pages(self) -> int:
        """How many pages there are, at least 1."""
        return max(1, -(-self.total // PAGE))


@dataclass(frozen=True, slots=True)
class Brief:
    """What lists show of a document, kept beside it; derived, checked by `verify`."""

    key: str
    revision: int
    segment: str
    stage: str
    fitness: str
    told: Mapping[str, Any]
    """Some fields of its content as JSON has them; one that is empty in the content is missing.

    Laterals tell `address`, `street`, `tap_distance`, `tap_clock`; segments `from_manhole`,
    `to_manhole`, `inside_diameter`, `length`, `street`, `material`; work sheets `reasons`, each
    with `outcome`, `rule`, `words`, `distance`; other kinds nothing.
    """


@dataclass(frozen=True, slots=True)
class BriefPage:
    """One page of a list in brief, in the natural order of keys."""

    items: tuple[Brief, ...]
    number: int
    total: int

    @property
    def pages(self) -> int:
        """How many pages there are, at least 1."""
        return max(1, -(-self.total // PAGE))


@dataclass(frozen=True, slots=True)
class FieldEntry:
    """What a device wrote, as it wrote it; nobody serializes it again.

    `sha256` is that of the previous entry's `sha256` (in hexadecimal, "" before the first)
    followed by `text`, in UTF-8: a chain for each device of a project, numbered from 1.
    """

    id: str
    """UUIDv7, made by the device."""
    device: str
    number: int
    text: str
    sha256: str


@dataclass(frozen=True, slots=True)
class ReceivedEntry:
    """A field entry in the store, with when and from whom it came in."""

    entry: FieldEntry
    at: dt.datetime
    by: str
    origin: str


class Journal(Protocol):
    """The field entries of the store's projects, in the order of their devices."""

    def heads(self, project: str) -> tuple[FieldEntry, ...]:
        """The newest entry of each device."""
        ...

    def entries(self, project: str, device: str, after: int = 0) -> Iterator[ReceivedEntry]:
        """The entries of a device behind number `after`, read in portions."""
        ...

    def of_lateral(self, project: str, lateral: str) -> tuple[ReceivedEntry, ...]:
        """The entries about one lateral, by device and number."""
        ...


class WritableJournal(Journal, Protocol):
    """A journal that can grow; nothing in it changes."""

    def append(self, project: str, entries: Iterable[FieldEntry]) -> int:
        """Add entries in the order of each device; return how many were new.

        An entry that is there already changes nothing, so that an upload can be repeated.
        `ConflictError` for one that differs from what is there or leaves a gap, `InputError`
        for one whose hash does not fit; then none is added.
        """
        ...


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file kept beside the database under the hash of its content, never altered."""

    sha256: str
    size: int
    media: str
    """Media type, told from the content."""
    name: str
    """The file's name when it came in."""
    taken: str
    """Date and time of a still as its camera wrote it, with offset if known; "" if not."""
    latitude: float | None
    longitude: float | None
    at: dt.datetime
    by: str
    origin: str
    reason: str


class Attachments(Protocol):
    """The attachments of the store's projects."""

    def get(self, project: str, sha256: str) -> Attachment:
        """What is known about an attachment; `NotFoundError` where there is none."""
        ...

    def content(self, project: str, sha256: str) -> bytes:
        """Its content, checked against its hash; `StorageError` where it does not fit."""
        ...

    def all(self, project: str) -> tuple[Attachment, ...]:
        """Every attachment of a project, the first one first."""
        ...


class WritableAttachments(Attachments, Protocol):
    """Attachments that can be added; the same content is kept once."""

    def add(self, project: str, content: bytes, name: str) -> Attachment:
        """Keep a file; one with the same content in this project is returned as it is."""
        ...


@dataclass(frozen=True, slots=True)
class Finding:
    """Something in the store that does not match, and where."""

    project: str
    where: str
    what: str


class ReadSession(Protocol):
    """One consistent view of the store."""

    @property
    def journal(self) -> Journal:
        """The field entries."""
        ...

    @property
    def attachments(self) -> Attachments:
        """The files beside the database."""
        ...

    def get(self, project: str, kind: type[R], key: str, revision: int | None = None) -> Stored[R]:
        """A document as it stands, or one of its revisions.

        `NotFoundError` where there is none, or where it is withdrawn and no revision is named.
        """
        ...

    def at(self, project: str, kind: type[R], key: str, time: dt.datetime) -> Stored[R]:
        """The document as it stood at a time; `NotFoundError` where it did not exist yet."""
        ...

    def history(self, project: str, kind: type[R], key: str) -> tuple[Revision, ...]:
        """Every revision, the first one first; `NotFoundError` where there is none."""
        ...

    def revision_of(self, project: str, kind: type[R], key: str) -> int:
        """The number of the newest revision, also of a withdrawn document; 0 without one."""
        ...

    def list(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> Page[R]:
        """One page of 50; for `Project` the project's name is "" and means every one."""
        ...

    def brief_page(
        self, project: str, kind: type[R], filters: Filters | None = None, page: int = 1
    ) -> BriefPage:
        """The page that `list` gives, in brief: no whole record is read."""
        ...

    def briefs(self, project: str, kind: type[R], keys: Sequence[str]) -> Mapping[str, Brief]:
        """The documents of `keys` that are there and not withdrawn, in brief, by key."""
        ...

    def brief_every(
        self, project: str, kind: type[R], segments: Sequence[str] | None = None
    ) -> Iterator[Brief]:
        """All documents of a kind in brief, in no order; of `segments` alone if given."""
        ...

    def keys(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> tuple[tuple[str, str], ...]:
        """Key and stage of every document that passes, in the order of `list`."""
        ...

    def remembered(self, project: str, what: Any, make: Callable[[], T]) -> T:
        """`make()`, not made anew before the project changes; `what` names it.

        Only what follows from the documents alone may be remembered.
        """
        ...

    def every(
        self, project: str, kind: type[R], filters: Filters | None = None
    ) -> Iterator[Stored[R]]:
        """All documents that pass, in the order of `list`, read in portions."""
        ...

    def counts(self, project: str) -> Mapping[str, int]:
        """Documents that are not withdrawn, by the name of their kind."""
        ...

    def stages(self, project: str) -> Mapping[tuple[str, str], int]:
        """How many laterals stand at each stage with each outcome of planning."""
        ...

    def verify(self, project: str) -> tuple[Finding, ...]:
        """Recompute every hash of a project and tell where and what does not match."""
        ...

    def dump(self, project: str) -> Iterator[Mapping[str, Any]]:
        """A whole project as plain lines, the same for the same record on any store."""
        ...

    def project_keys(self) -> tuple[str, ...]:
        """The key of every project, also of a damaged or withdrawn one."""
        ...


class WriteSession(ReadSession, Protocol):
    """A read session that can also write; all of it is stored at its end, or nothing."""

    @property
    def journal(self) -> WritableJournal:
        """The field entries, to be added to."""
        ...

    @property
    def attachments(self) -> WritableAttachments:
        """The files beside the database, to be added to."""
        ...

    def put(self, project: str, record: Record, *, expected: int | None) -> Saved:
        """Store a record as its document's next revision.

        `expected` is the revision the change was made from, 0 for a new document;
        `ConflictError` where the store has moved on. None means whatever is there. A record
        equal to the current one is not stored again and is never a conflict.
        """
        ...

    def put_many(
        self, project: str, records: Iterable[tuple[Record, int | None]]
    ) -> tuple[Saved, ...]:
        """`put` each record with its expected revision; at a conflict none is stored."""
        ...

    def withdraw(self, project: str, kind: type[R], key: str, *, expected: int | None) -> Saved:
        """Withdraw a document by a revision of its own; a later `put` brings it back."""
        ...

    def load(self, lines: Iterable[Mapping[str, Any]], content_of: Callable[[str], bytes]) -> str:
        """Take in a dumped project that this store does not hold; return its key.

        `content_of` gives an attachment's content by its hash. `StorageError` where anything
        does not match, `ConflictError` where the project is there already; nothing is stored.
        """
        ...


class RecordStore(Protocol):
    """A store that is open."""

    @property
    def location(self) -> str:
        """Where it is, without a password."""
        ...

    def read(self) -> AbstractContextManager[ReadSession]:
        """A view of the store as it is now; waits for nobody."""
        ...

    def write(
        self, *, by: str, at: dt.datetime, origin: str, reason: str
    ) -> AbstractContextManager[WriteSession]:
        """A transaction; writers take turns. An error inside leaves the store as it was."""
        ...

    def close(self) -> None:
        """Let go of every connection."""
        ...
