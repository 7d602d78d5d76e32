"""Whom the laterals of a project wait on: counts, and a page of those that wait (read)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from drainwright.errors import Fault, InputError
from drainwright.planning import waiting
from drainwright.records.lateral import Lateral
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import PAGE, Brief, BriefPage, Filters, ReadSession, Stage

PARTIES = waiting.PARTIES
"""Everyone a lateral can wait on."""
_WITH_REASONS = (Stage.DESIGNED.value, Stage.SCHEDULED.value)


def waits_of(stage: str, sheet: Brief | None) -> tuple[str, ...]:
    """Whom one lateral waits on."""
    reasons = sheet.told.get("reasons", ()) if sheet else ()
    return waiting.waits_by(stage, [(one["outcome"], one["rule"]) for one in reasons])


def count_waiting(session: ReadSession, project: str) -> Mapping[str, int]:
    """How many laterals wait on each party; one that waits on two counts for both."""
    return session.remembered(project, "who waits", lambda: _counted(session, project))


def _counted(session: ReadSession, project: str) -> Mapping[str, int]:
    """From the counts by stage, and the reasons of those that are designed or scheduled."""
    at_stage: Counter[str] = Counter()
    for (stage, _), number in session.stages(project).items():
        at_stage[stage] += number
    designed = sum(at_stage.pop(stage, 0) for stage in _WITH_REASONS)
    reasons = dict(_reasons(session, project))
    for stage in set(at_stage) - {Stage.LISTED.value, Stage.SURVEYED.value}:
        for key, _ in session.keys(project, Lateral, Filters(stage=stage)):
            reasons.pop(key, None)
    if len(reasons) > designed:  # sheets of laterals that were withdrawn
        known = {
            key
            for stage in _WITH_REASONS
            for key, _ in session.keys(project, Lateral, Filters(stage=stage))
        }
        reasons = {key: told for key, told in reasons.items() if key in known}
    counts: Counter[str] = Counter()
    for stage, number in at_stage.items():
        for party in waiting.waits_by(stage, ()):
            counts[party] += number
    for told in reasons.values():
        counts.update(waiting.waits_by(Stage.DESIGNED.value, told))
    return counts


def page_waiting(
    session: ReadSession, project: str, filters: Filters, party: str, page: int
) -> BriefPage:
    """The page of 50 laterals that pass the filters and wait on `party`.

    Raises `InputError` for a page below 1 or a party that nobody knows.
    """
    keys = keys_waiting(session, project, filters, party)
    if page < 1:
        raise InputError(Fault("page", "the first page is 1", page))
    shown = keys[(page - 1) * PAGE : page * PAGE]
    found = session.briefs(project, Lateral, shown)
    return BriefPage(tuple(found[key] for key in shown if key in found), page, len(keys))


def keys_waiting(session: ReadSession, project: str, filters: Filters, party: str) -> Sequence[str]:
    """Laterals that pass the filters and wait on `party`, in the order of lists."""
    if party not in PARTIES:
        raise InputError(Fault("waits", f"is one of {', '.join(PARTIES)}", party))

    def find() -> Sequence[str]:
        reasons = _reasons(session, project)
        return [
            key
            for key, stage in session.keys(project, Lateral, filters)
            if party in waiting.waits_by(stage, reasons.get(key, ()))
        ]

    if filters.words:  # seldom typed twice
        return find()
    return session.remembered(project, ("waiting on", filters, party), find)


def _reasons(session: ReadSession, project: str) -> Mapping[str, Sequence[tuple[str, str]]]:
    """Outcome and rule of every reason on every work sheet."""

    def read() -> Mapping[str, Sequence[tuple[str, str]]]:
        return {
            one.key: [(reason["outcome"], reason["rule"]) for reason in one.told["reasons"]]
            for one in session.brief_every(project, WorkSheet)
            if one.told.get("reasons")
        }

    return session.remembered(project, "reasons", read)
