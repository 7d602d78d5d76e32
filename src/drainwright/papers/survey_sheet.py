"""The survey sheet: the profile as the camera saw it, and every observation beside its code."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.drawing.lateral_drawing import seen_text
from drainwright.errors import PaperError
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import Issue, Subject, lateral_head, profile_data, size_text
from drainwright.papers.shown import UNKNOWN, clock_text, date_text, distance_text
from drainwright.planning.site import Site
from drainwright.records.specification import DEFAULT_LIMITS
from drainwright.records.survey import ObservationKind, SurveyMethod
from drainwright.units import UnitSystem


def survey_sheet_pdf(site: Site, issue: Issue, *, system: UnitSystem | None = None) -> bytes:
    """The survey sheet of a site's survey as PDF; `issue` is the survey's own revision.

    Raises `PaperError` where the site has no survey or the paper can't be set.
    """
    data = survey_sheet_data(site, issue, system or site.project.units)
    return make_pdf("survey_sheet", data, issue.timestamp)


def survey_sheet_data(site: Site, issue: Issue, system: UnitSystem) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    survey = site.survey
    if survey is None:
        raise PaperError(f"“{site.lateral.key}” has no survey to print")
    subject = Subject(site.project, site.segment, site.lateral, survey, issue, "revision")
    rows = list(_rows(site, system))
    unread = sum(1 for o in survey.observations if o.kind is ObservationKind.UNKNOWN)
    return {
        **lateral_head(subject, system, "Survey sheet"),
        "profile": profile_data(site, system),
        "facts": [list(fact) for fact in _facts(site, system)],
        "rows": rows,
        "from_cleanout": survey.method is SurveyMethod.CLEANOUT,
        "unread": unread,
        "remark": survey.remark,
        "age": _age(site),
    }


def _age(site: Site) -> str:
    """From when on the survey serves for design only, by the specification."""
    limit = site.specification.limits.get("survey_age_most") or DEFAULT_LIMITS["survey_age_most"]
    if limit.value is None:
        return ""
    return f"A survey older than {limit.value / 86400:g} days serves for design only."


def _facts(site: Site, system: UnitSystem) -> Iterator[tuple[str, str]]:
    """What the survey's head says; what it leaves out reads “—”."""
    survey = site.survey
    if survey is None:
        return
    at = f", {survey.time:%H:%M}" if survey.time else ""
    yield "filmed", date_text(survey.date, system) + at
    yield "by", survey.by or UNKNOWN
    yield "camera", f"{survey.method}, {survey.direction}".strip(", ")
    yield "purpose", str(survey.purpose)
    yield "inspected length", distance_text(survey.length, system) or UNKNOWN
    yield "length expected", distance_text(survey.expected_length, system) or UNKNOWN
    yield "size", size_text(survey.inside_diameter or site.diameter, system)
    yield "material", survey.material or site.lateral.material or UNKNOWN
    yield "codes", survey.code_system or UNKNOWN
    yield "file", survey.file or UNKNOWN


def _rows(site: Site, system: UnitSystem) -> Iterator[Data]:
    """Every observation in the order of its distance from the tap."""
    found = sorted(site.seen(), key=lambda entry: (entry[2], entry[0]))
    for index, seen, distance in found:
        end = None if seen.running_to is None else site.from_tap(seen.running_to)
        low, high = (distance, end) if end is None or end >= distance else (end, distance)
        clock = clock_text(seen.clock_from)
        if seen.clock_to is not None and seen.clock_from is not None:
            clock = f"{seen.clock_from:g} to {clock_text(seen.clock_to)}"
        words = seen_text(seen, system)
        if seen.kind is ObservationKind.REMARK:
            words = str(seen.kind)
        yield {
            "number": str(index + 1),
            "at": distance_text(low, system),
            "to": distance_text(high, system),
            "footage": distance_text(seen.distance, system),
            "clock": clock,
            "what": words.removesuffix(f", {clock}") + (", at a joint" if seen.at_joint else ""),
            "code": seen.code,
            "remark": seen.remark,
            "still": " ".join(filter(None, (seen.still, seen.video))),
        }
