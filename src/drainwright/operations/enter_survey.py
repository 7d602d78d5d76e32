"""Enter a survey by hand: drawn and checked while typed (read), saved as a revision (write)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from typing import TypeVar

from drainwright.errors import Fault, InputError, NotFoundError, raise_if_any
from drainwright.exchange.codes import default_code_table
from drainwright.operations.draw_lateral import LateralDrawing, draw_site
from drainwright.operations.site_of import Gatherer
from drainwright.planning.design import SITE_RULES
from drainwright.planning.fitness import assess
from drainwright.planning.survey_entry import (
    Known,
    Odd,
    TypedRow,
    read_rows,
    typed_of,
    vocabulary,
)
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.survey import (
    Observation,
    ObservationKind,
    Survey,
    SurveyMethod,
    SurveyPurpose,
)
from drainwright.storage.protocol import RecordStore, Saved
from drainwright.units import UnitSystem, kind_unit, parse_in, show

E = TypeVar("E", bound=StrEnum)
METHODS = (SurveyMethod.MAIN, SurveyMethod.CLEANOUT)
DIRECTIONS = ("up", "down")
_HEADER = ("date", "time", "by", "method", "direction", "purpose", "length", "zero", "remark")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A survey as typed: its header and rows; `key` names the one on record that is changed."""

    lateral: str
    header: Mapping[str, str]
    rows: tuple[TypedRow, ...]
    key: str = ""
    expected: int = 0
    """Revision that the change began from; 0 for a new survey."""


@dataclass(frozen=True, slots=True)
class Draft:
    """What was typed, read, checked and drawn."""

    survey: Survey | None
    """None where the header can't be read."""
    faults: tuple[Fault, ...]
    """Of the header."""
    odd: tuple[Odd, ...]
    drawing: LateralDrawing
    rows: tuple[int, ...]
    """The typed row of each observation drawn."""
    outcome: str = ""
    reasons: tuple[str, ...] = ()

    @property
    def wrong(self) -> bool:
        """Whether something keeps it from being saved."""
        return bool(self.faults) or any(one.wrong for one in self.odd)


@lru_cache(maxsize=1)
def known_kinds() -> tuple[Known, ...]:
    """The kinds that can be typed."""
    rows = default_code_table().meanings
    return vocabulary([(row.kind, row.grade, row.measure) for row in rows])


def kind_words() -> tuple[str, ...]:
    """Every kind, alone and with each of its grades, as it can be typed."""
    return tuple(
        words
        for one in known_kinds()
        for words in (one.word, *(f"{one.word}, {grade}" for grade in one.grades))
    )


def open_sheet(
    store: RecordStore, project: Project, lateral: str, key: str, today: dt.date
) -> Sheet:
    """A sheet to type on: the survey `key` on record, or a new one that begins at the tap."""
    with store.read() as session:
        session.get(project.key, Lateral, lateral)
        if not key:
            return _new(lateral, today)
        stored = session.get(project.key, Survey, key)
    survey, system = stored.record, project.units
    if survey.lateral != lateral:
        raise NotFoundError(f"{key} is no survey of {lateral}")
    known = known_kinds()
    rows = tuple(TypedRow(typed_of(one, known, system), one) for one in survey.observations)
    return Sheet(lateral, _typed_header(survey, system), rows, key, stored.revision.number)


def _new(lateral: str, today: dt.date) -> Sheet:
    header = dict.fromkeys(_HEADER, "") | {
        "date": today.isoformat(),
        "method": SurveyMethod.MAIN.value,
        "direction": "up",
        "purpose": SurveyPurpose.PLANNING.value,
        "zero": "0",
    }
    first = TypedRow({"distance": "0", "kind": "start"})
    return Sheet(lateral, header, (first,))


def _typed_header(survey: Survey, system: UnitSystem) -> dict[str, str]:
    length = "" if survey.length is None else f"{show(survey.length, 'length', system).value:.2f}"
    return {
        "date": survey.date.isoformat(),
        "time": survey.time.isoformat("minutes") if survey.time else "",
        "by": survey.by,
        "method": survey.method.value,
        "direction": survey.direction,
        "purpose": survey.purpose.value,
        "length": length,
        "zero": "0",
        "remark": survey.remark,
    }


def with_bases(store: RecordStore, project: Project, sheet: Sheet, was: Sequence[str]) -> Sheet:
    """The sheet with each row's observation on record found again by its number `was`.

    Numbers count in the revision the change began from.
    """
    if not sheet.key:
        return sheet
    with store.read() as session:
        stored = session.get(project.key, Survey, sheet.key, revision=sheet.expected or None)
    seen = stored.record.observations
    rows = []
    for row, number in zip(sheet.rows, was, strict=True):
        there = number.isdecimal() and int(number) < len(seen)
        rows.append(replace(row, base=seen[int(number)] if there else None))
    return replace(sheet, rows=tuple(rows))


def draft_survey(store: RecordStore, project: Project, sheet: Sheet, today: dt.date) -> Draft:
    """What is typed, as far as it can be read: checked, and drawn with the lateral's records."""
    base = _base(store, project, sheet)
    header, faults = _header(sheet, base, project.units, today)
    zero = _number(sheet.header.get("zero", ""), project.units) or 0.0
    found, odd = read_rows(sheet.rows, known_kinds(), project.units, zero)
    survey = None
    shown = header or (base or Survey(sheet.lateral, today, None, SurveyMethod.MAIN, "up"))
    shown = replace(shown, observations=tuple(seen for _, seen in found))
    if header is not None:
        survey = shown
        odd = (*odd, *_of_whole(shown, found, project.units))
    drawing, outcome, reasons = _drawn(store, project, shown, today)
    rows = tuple(number for number, _ in found)
    return Draft(survey, tuple(faults), odd, drawing, rows, outcome, reasons)


def _base(store: RecordStore, project: Project, sheet: Sheet) -> Survey | None:
    if not sheet.key:
        return None
    with store.read() as session:
        return session.get(project.key, Survey, sheet.key, sheet.expected or None).record


def _number(text: str, system: UnitSystem) -> float | None:
    try:
        return parse_in(text, "length", kind_unit("length", system)) if text.strip() else None
    except InputError:
        return None


def _header(
    sheet: Sheet, base: Survey | None, system: UnitSystem, today: dt.date
) -> tuple[Survey | None, list[Fault]]:
    """The survey without its observations; on record its natural key stays as it is."""
    given = {name: sheet.header.get(name, "").strip() for name in _HEADER}
    faults = [
        Fault(name, f"“{given[name]}” is no distance", given[name])
        for name in ("length", "zero")
        if given[name] and _number(given[name], system) is None
    ]
    purpose = _one_of(SurveyPurpose, given["purpose"], "purpose", faults)
    length = _number(given["length"], system)
    if base is not None:
        if given["length"] == _typed_header(base, system)["length"]:
            length = base.length
        made = replace(base, by=given["by"], length=length, remark=given["remark"])
        return (replace(made, purpose=purpose) if purpose and not faults else None), faults
    day, hour = _when(given, today, faults)
    method = _one_of(SurveyMethod, given["method"], "method", faults)
    if given["direction"] not in DIRECTIONS:
        faults.append(Fault("direction", "is neither up nor down", given["direction"]))
    if method is SurveyMethod.CLEANOUT and length is None:
        words = "is needed: a camera from the cleanout counts from its own end"
        faults.append(Fault("length", words))
    if faults or day is None or method is None or purpose is None:
        return None, faults
    return Survey(
        lateral=sheet.lateral, date=day, time=hour, method=method, direction=given["direction"],
        purpose=purpose, by=given["by"], length=length, remark=given["remark"],
    ), faults  # fmt: skip


def _one_of(kind: type[E], text: str, name: str, faults: list[Fault]) -> E | None:
    try:
        return kind(text)
    except ValueError:
        faults.append(Fault(name, f"“{text}” is none that is known", text))
        return None


def _when(
    given: Mapping[str, str], today: dt.date, faults: list[Fault]
) -> tuple[dt.date | None, dt.time | None]:
    """Day and time; a day to come is a slip of the pen."""
    day, hour = None, None
    try:
        day = dt.date.fromisoformat(given["date"])
    except ValueError:
        faults.append(Fault("date", f"“{given['date']}” is not like 2026-05-04", given["date"]))
    if day is not None and day > today:
        faults.append(Fault("date", "lies in the future", given["date"]))
    if given["time"]:
        try:
            hour = dt.time.fromisoformat(given["time"])
        except ValueError:
            faults.append(Fault("time", f"“{given['time']}” is not like 09:30", given["time"]))
    return day, hour


def _of_whole(
    survey: Survey, found: Sequence[tuple[int, Observation]], system: UnitSystem
) -> tuple[Odd, ...]:
    """What is odd about rows against the header."""
    odd = []
    for number, seen in found:
        ends = [d for d in (seen.distance, seen.running_to) if d is not None]
        if survey.length is not None and max(ends) > survey.length + 0.15:
            reach = show(survey.length, "length", system).text
            words = f"lies beyond the {reach} that were inspected"
            odd.append(Odd(number, "distance", words, wrong=False))
    ended = {ObservationKind.FINISH, ObservationKind.ABANDONED}
    if found and not any(seen.kind in ended for _, seen in found):
        words = "no row says where the camera finished, so the survey gives no length"
        odd.append(Odd(found[-1][0], "kind", words, wrong=False))
    return tuple(odd)


def _drawn(
    store: RecordStore, project: Project, survey: Survey, today: dt.date
) -> tuple[LateralDrawing, str, tuple[str, ...]]:
    """The profile with this survey, and what planning would say of it."""
    try:
        with store.read() as session:
            gathered = Gatherer(session, project.key, today).gather(survey.lateral)
    except NotFoundError as error:
        return LateralDrawing("", why_not=str(error)), "", ()
    site = replace(gathered.site, survey=survey)
    report = assess(site, SITE_RULES)
    seen = [reason for reason in report.reasons if reason.observation is not None]
    words = tuple(
        f"{'' if r.distance is None else show(r.distance, 'length', project.units).text + ': '}"
        f"{r.words} {r.work}".strip()
        for r in seen
    )
    return draw_site(site, project.units), report.outcome.value, words


def save_survey(
    store: RecordStore, project: Project, sheet: Sheet, *, by: str, at: dt.datetime, reason: str
) -> Saved:
    """Store a typed survey as its document's next revision.

    `InputError` with everything that is wrong; `ConflictError` where the survey on record has
    moved on, or a new one is there already: then nothing is stored.
    """
    draft = draft_survey(store, project, sheet, at.date())
    faults = [
        *draft.faults,
        *(Fault(f"row {o.row + 1}, {o.column}", o.words) for o in draft.odd if o.wrong),
    ]
    if draft.survey is not None and not draft.survey.observations:
        faults.append(Fault("rows", "nothing is typed yet"))
    raise_if_any(faults)
    if draft.survey is None:
        raise InputError(Fault("header", "can’t be read"))
    with store.write(by=by, at=at, origin="", reason=reason) as session:
        return session.put(project.key, draft.survey, expected=sheet.expected)
