"""Drafts of the notice to residents, one page for each premises on a lateral."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.errors import PaperError
from drainwright.papers.notice_words import HOURS, WORDS, NoticeWords
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, project_head
from drainwright.papers.shown import date_text
from drainwright.records.lateral import Lateral
from drainwright.records.premises import EntryState, Premises
from drainwright.records.project import Project
from drainwright.records.specification import DEFAULT_LIMITS, Specification
from drainwright.units import UnitSystem


@dataclass(frozen=True, slots=True)
class NoticeFacts:
    """What a notice tells beside its standing words; what is not given stays a blank line."""

    day: dt.date | None = None
    start: dt.time | None = None
    end: dt.time | None = None
    contractor: str = ""
    phone: str = ""
    specification: Specification | None = None
    """Limits how long residents may be without service."""


def notice_pdf(
    project: Project,
    lateral: Lateral,
    premises: Sequence[Premises],
    facts: NoticeFacts,
    issue: Issue,
    *,
    system: UnitSystem | None = None,
) -> bytes:
    """Notices for all `premises` on one lateral as one PDF, each in the language it asks for.

    A language without words here gets English. Raises `PaperError` without premises.
    """
    if not premises:
        raise PaperError(f"no premises are listed on “{lateral.key}”, so nobody can be told")
    data = notice_data(project, lateral, premises, facts, issue, system or project.units)
    return make_pdf("notice", data, issue.timestamp)


def notice_data(
    project: Project,
    lateral: Lateral,
    premises: Sequence[Premises],
    facts: NoticeFacts,
    issue: Issue,
    system: UnitSystem,
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    return {
        **project_head(project, issue, system, "Notice", lateral.key),
        "notices": [_notice(project, place, facts, system) for place in premises],
        "lateral": lateral.key,
    }


def _notice(
    project: Project, place: Premises, facts: NoticeFacts, system: UnitSystem
) -> dict[str, Data]:
    language = place.language if place.language in WORDS else "en"
    words = WORDS[language]
    address = place.address or place.key
    signed = place.entry is EntryState.SIGNED
    told = _facts(project, facts, words, system if language == "en" else UnitSystem.SI)
    return {
        "language": language,
        "title": words.title,
        "draft": words.draft,
        "to": _addressee(place.contact, address),
        "premises": place.key,
        "what": words.what.format(address=address),
        "when": words.when,
        "facts": told[:3],
        "callers": told[3:],
        "sign": not signed,
        "out": words.out.format(hours=_hours(facts.specification, language)),
        "please": words.please,
        "rules": list(words.rules),
        "entry": words.signed if signed else words.unsigned,
        "signature": words.signature,
        "questions": words.questions,
    }


def _addressee(contact: str, address: str) -> str:
    """Contact and address; the address once where the contact names it already."""
    return contact if address in contact else " · ".join(filter(None, (contact, address)))


def _facts(
    project: Project, facts: NoticeFacts, words: NoticeWords, system: UnitSystem
) -> list[Data]:
    """Label and text of each fact; an empty text is a line to write on.

    Dates and times outside English read as in the SI, which names no month.
    """
    texts = (
        date_text(facts.day, system),
        _time(facts.start, system),
        _time(facts.end, system),
        facts.contractor,
        facts.phone,
        project.owner or project.town,
    )
    return [[label, text] for label, text in zip(words.labels, texts, strict=True)]


def _time(at: dt.time | None, system: UnitSystem) -> str:
    if at is None:
        return ""
    if system is UnitSystem.US:
        return f"{at.hour % 12 or 12}:{at:%M %p}"
    return f"{at:%H:%M}"


def _hours(specification: Specification | None, language: str) -> str:
    """The longest time without service, from the specification."""
    limits = DEFAULT_LIMITS if specification is None else specification.limits
    limit = limits.get("service_out_most") or DEFAULT_LIMITS["service_out_most"]
    one, many = HOURS[language]
    if limit.value is None:
        return f"____ {many}"
    hours = limit.value / 3600
    return f"{hours:g} {one if hours == 1 else many}"
