"""The kinds of document: name in the store, natural key, and the columns lists need."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from drainwright.errors import Fault, InputError
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
from drainwright.storage.folding import index_words, street_key
from drainwright.storage.protocol import Record


@dataclass(frozen=True, slots=True)
class Index:
    """What lists filter by, taken out of a record; derived, never the only copy."""

    lateral: str = ""
    segment: str = ""
    street: str = ""
    fitness: str = ""
    dated: dt.date | None = None
    texts: tuple[str, ...] = ()

    def words(self, key: str) -> set[str]:
        """The folded words the document is found by."""
        return index_words((key, *self.texts, self.segment, self.street))


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of document."""

    name: str
    record: type[Any]
    index: Callable[[Any], Index]
    key: Callable[[Any], str] = lambda record: str(record.key)
    brief: Callable[[Mapping[str, Any]], Mapping[str, Any]] | None = None
    """Takes what lists show out of a document's content; None where lists show no more."""

    def brief_of(self, text: str) -> str:
        """What lists show of a stored text, as JSON; "" for a kind without it."""
        if self.brief is None:
            return ""
        return json.dumps(self.brief(json.loads(text)), ensure_ascii=False, separators=(",", ":"))


def _lateral(record: Lateral) -> Index:
    return Index(
        lateral=record.key,
        segment=record.segment,
        street=street_key(record.street),
        texts=(record.address, record.street, record.remark, *record.premises),
    )


def _survey(record: Survey) -> Index:
    seen = {one.remark for one in record.observations if one.remark}
    return Index(
        lateral=record.lateral,
        dated=record.date,
        texts=(record.by, record.remark, record.purpose, record.file, *sorted(seen)),
    )


def _work_sheet(record: WorkSheet) -> Index:
    return Index(
        lateral=record.lateral.key,
        segment=record.segment.key,
        street=street_key(record.lateral.street),
        fitness=record.outcome,
        dated=record.issued_at.date() if record.issued_at else None,
        texts=(record.lateral.address, record.issued_by),
    )


def _segment(record: MainSegment) -> Index:
    return Index(
        segment=record.key,
        street=street_key(record.street),
        texts=(record.street, record.from_manhole, record.to_manhole, record.material),
    )


def _premises(record: Premises) -> Index:
    return Index(texts=(record.address, record.contact, record.phone, record.remark))


def _project(record: Project) -> Index:
    return Index(texts=(record.name, record.town, record.owner))


def _specification(record: Specification) -> Index:
    return Index(texts=(record.name, record.wall_method, record.basis))


def _of_lateral(record: CureLog | CureVerdict) -> Index:
    return Index(lateral=record.lateral)


def _tightness(record: TightnessReport) -> Index:
    return Index(lateral=record.lateral, dated=record.at.date(), texts=(record.by,))


def _looked(record: PostInspection | WallReadings) -> Index:
    return Index(lateral=record.lateral, dated=record.on, texts=(record.by,))


def _told(record: NonConformity | Claim) -> Index:
    return Index(lateral=record.lateral, dated=record.on, texts=(record.by, record.what))


def _acceptance(record: Acceptance) -> Index:
    return Index(
        lateral=record.lateral, fitness=record.step, dated=record.at.date(), texts=(record.by,)
    )


def _nothing(_: object) -> Index:
    return Index()


def _picked(*names: str) -> Callable[[Mapping[str, Any]], Mapping[str, Any]]:
    """Takes these fields as they are; one that is left out in the content stays out."""
    return lambda content: {name: content[name] for name in names if name in content}


_brief_lateral = _picked("address", "street", "tap_distance", "tap_clock")
_brief_segment = _picked(
    "from_manhole", "to_manhole", "inside_diameter", "length", "street", "material"
)
_brief_reason = _picked("outcome", "rule", "words", "distance")


def _brief_work_sheet(content: Mapping[str, Any]) -> Mapping[str, Any]:
    return {"reasons": [_brief_reason(one) for one in content.get("reasons", ())]}


_ALL = (
    Kind("project", Project, _project),
    Kind("specification", Specification, _specification),
    Kind("segment", MainSegment, _segment, brief=_brief_segment),
    Kind("premises", Premises, _premises),
    Kind("lateral", Lateral, _lateral, brief=_brief_lateral),
    Kind("survey", Survey, _survey),
    Kind("tube", Tube, _nothing),
    Kind("resin", Resin, _nothing),
    Kind("collar", Collar, _nothing),
    Kind("rig", Rig, _nothing),
    Kind(
        "work_sheet",
        WorkSheet,
        _work_sheet,
        lambda sheet: str(sheet.lateral.key),
        _brief_work_sheet,
    ),
    Kind("list_mapping", ListMapping, _nothing),
    Kind("read_file", ReadFile, _nothing),
    Kind("field_steps", FieldSteps, _nothing),
    Kind("contract", Contract, _nothing),
    Kind("agreed_work", AgreedWork, lambda one: Index(lateral=one.lateral, dated=one.on)),
    Kind("pay_estimate", PayEstimate, lambda one: Index(dated=one.until)),
    Kind("channel_map", ChannelMap, _nothing),
    Kind("cure_log", CureLog, _of_lateral),
    Kind("cure_verdict", CureVerdict, _of_lateral),
    Kind("tightness_report", TightnessReport, _tightness),
    Kind("post_inspection", PostInspection, _looked),
    Kind("wall_readings", WallReadings, _looked),
    Kind("coupon_test", CouponTest, lambda one: Index(lateral=one.lateral, dated=one.taken_on)),
    Kind("sampling_plan", SamplingPlan, _nothing),
    Kind("non_conformity", NonConformity, _told),
    Kind("claim", Claim, _told),
    Kind("submittal", Submittal, lambda one: Index(texts=(one.title,))),
    Kind("acceptance", Acceptance, _acceptance),
    Kind("design_choice", DesignChoice, lambda record: Index(lateral=record.key)),
    Kind("warranty_terms", WarrantyTerms, _nothing),
    Kind("crew", Crew, _nothing),
    Kind("calendar", Calendar, _nothing),
    Kind("stock", Stock, lambda one: Index(dated=one.counted_on)),
    Kind("shift_plan", ShiftPlan, lambda one: Index(dated=one.first_day)),
)
KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
_BY_RECORD: dict[type[Any], Kind] = {kind.record: kind for kind in _ALL}


def kind_of(record: type[Any]) -> Kind:
    """The kind whose documents hold records of this class."""
    if record not in _BY_RECORD:
        raise InputError(Fault("kind", f"the store holds no {record.__name__}", record.__name__))
    return _BY_RECORD[record]


def key_of(record: Record) -> str:
    """A record's natural key within its project and kind."""
    return plain_text("key", kind_of(type(record)).key(record), filled=True)


def plain_text(name: str, text: str, *, filled: bool = False) -> str:
    """The text itself, if both databases can hold it in a column."""
    if filled and not text.strip():
        raise InputError(Fault(name, "must not be empty", text))
    if not text.isprintable() and any(ord(letter) < 32 or letter == "\x7f" for letter in text):
        raise InputError(Fault(name, "must not hold control characters", text))
    try:
        text.encode()
    except UnicodeEncodeError as error:
        raise InputError(Fault(name, "is not Unicode text", text)) from error
    return text
