"""Warranty dates of the accepted laterals, and the second look (read); its terms (write)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.acceptance.warranty import Finding, WarrantyPlan, second_look, warranty_plans
from drainwright.errors import Fault, InputError, NotFoundError
from drainwright.operations.pay import accepted_laterals
from drainwright.records.project import Project
from drainwright.records.survey import Survey, SurveyPurpose
from drainwright.records.warranty_terms import WarrantyTerms
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import Filters, ReadSession, RecordStore, Saved


@dataclass(frozen=True, slots=True)
class Warranty:
    """Terms in force, dates by lateral, and the same as a calendar."""

    terms: WarrantyTerms
    plans: tuple[WarrantyPlan, ...]
    calendar: bytes


def set_terms(
    store: RecordStore, project: str, terms: WarrantyTerms, *, by: str, at: dt.datetime, reason: str
) -> Saved:
    """Keep the terms; `InputError` where they can't hold."""
    faults = []
    if not 1 <= terms.years <= 50:
        faults.append(Fault("years", "must be 1 to 50", terms.years))
    if not 0 < terms.sample_share <= 1:
        faults.append(Fault("share", "must be above 0 and at most 1", terms.sample_share))
    if not all(1 <= month <= 12 for month in terms.wet_months):
        faults.append(Fault("wet", "months are 1 to 12", str(terms.wet_months)))
    if faults:
        raise InputError(*faults)
    with store.write(by=by, at=at, origin="warranty", reason=reason) as session:
        return session.put(project, terms, expected=None)


def warranty(store: RecordStore, project: str, at: dt.datetime) -> Warranty:
    """Dates of every accepted lateral; the sample is drawn from all of them."""
    from drainwright.exchange.calendar_file import calendar_of

    with store.read() as session:
        terms = terms_of(session, project)
        zone = session.get(project, Project, project).record.zone
        plans = warranty_plans(accepted_laterals(session, project, zone), terms)
    return Warranty(terms, plans, calendar_of(project, plans, at))


def terms_of(session: ReadSession, project: str) -> WarrantyTerms:
    """The project's terms, else the starting values."""
    try:
        return session.get(project, WarrantyTerms, "warranty").record
    except NotFoundError:
        return WarrantyTerms()


def look_again(
    store: RecordStore, project: str, lateral: str, shift: float = 0.0
) -> tuple[Survey, Survey, tuple[Finding, ...]]:
    """The newest survey under warranty laid over post-lining TV of a lateral.

    `shift` [m] is added to its distances. `NotFoundError` where either survey is missing.
    """
    with store.read() as session:
        surveys = [
            stored.record for stored in session.every(project, Survey, Filters(lateral=lateral))
        ]
        post = _newest(surveys, SurveyPurpose.POST_LINING)
        later = _newest(surveys, SurveyPurpose.WARRANTY)
        if post is None or later is None:
            missing = SurveyPurpose.POST_LINING if post is None else SurveyPurpose.WARRANTY
            raise NotFoundError(f"{lateral} has no survey for {missing}")
        figure = session.get(project, WorkSheet, lateral).record.figure("length.lined")
    known = figure is not None and not isinstance(figure.value, str)
    lined = float(figure.value) if figure is not None and known else float("inf")
    return post, later, second_look(post, later, lined, shift=shift)


def _newest(surveys: list[Survey], purpose: SurveyPurpose) -> Survey | None:
    found = [one for one in surveys if one.purpose is purpose]
    return max(found, key=lambda one: (one.date, one.time or dt.time.min), default=None)
