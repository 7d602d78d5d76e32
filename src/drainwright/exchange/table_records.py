"""From the values of a row to a record, and back; records that only tables have."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from drainwright.errors import Fault, InputError
from drainwright.records.lateral import Lateral, LengthMeasurement, MeasuringWay
from drainwright.records.material import Collar, Resin, Tube
from drainwright.records.premises import Premises
from drainwright.records.project import MainSegment
from drainwright.records.rig import Rig
from drainwright.records.survey import Observation, ObservationKind, Survey, SurveyMethod

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Contact:
    """Whom to call at premises, named by their id or address."""

    premises: str
    contact: str = ""
    phone: str = ""
    language: str = ""
    remark: str = ""

    @property
    def key(self) -> str:
        """The premises; one contact each."""
        return self.premises

    def put_into(self, premises: Premises) -> Premises:
        """The premises with what this contact knows."""
        known = {
            name: value
            for name in ("contact", "phone", "language", "remark")
            if (value := getattr(self, name))
        }
        return replace(premises, **known)


@dataclass(frozen=True, slots=True)
class MeasuredLength:
    """One measurement of one lateral's length."""

    lateral: str
    measurement: LengthMeasurement

    @property
    def key(self) -> str:
        """Lateral, way and day: what makes two rows the same measurement."""
        day = self.measurement.on.isoformat() if self.measurement.on else ""
        return f"{self.lateral} {self.measurement.way} {day}".strip()

    def put_into(self, lateral: Lateral) -> Lateral:
        """The lateral with this measurement in place of one of the same way and day."""
        same = (self.measurement.way, self.measurement.on)
        others = [one for one in lateral.lengths if (one.way, one.on) != same]
        place = next(
            (i for i, one in enumerate(lateral.lengths) if (one.way, one.on) == same), len(others)
        )
        others.insert(place, self.measurement)
        return replace(lateral, lengths=tuple(others))


TableRecord = (
    Lateral
    | MainSegment
    | Premises
    | Contact
    | MeasuredLength
    | Survey
    | Tube
    | Resin
    | Collar
    | Rig
)


def _lateral(values: Values) -> Lateral:
    given = dict(values)
    listed = given.pop("listed_length", None)
    if listed is not None:
        lengths = given.get("lengths", ())
        if not any(one.way is MeasuringWay.LISTED for one in lengths):
            given["lengths"] = (LengthMeasurement(MeasuringWay.LISTED, listed), *lengths)
    return Lateral(**given)


def _premises(values: Values) -> Premises:
    return Premises(**{"key": values["address"], **values})


def _measurement(values: Values) -> MeasuredLength:
    given = dict(values)
    lateral = given.pop("lateral")
    return MeasuredLength(lateral, LengthMeasurement(**given))


BUILDERS: Mapping[str, Callable[[Values], TableRecord]] = {
    "laterals": _lateral,
    "segments": lambda values: MainSegment(**values),
    "premises": _premises,
    "contacts": lambda values: Contact(**values),
    "measurements": _measurement,
    "tubes": lambda values: Tube(**values),
    "resins": lambda values: Resin(**values),
    "collars": lambda values: Collar(**values),
    "rigs": lambda values: Rig(**values),
}

# ---------------------------------------------------------------- surveys, a row an observation

MEASURES = ("share", "small_length", "angle", "diameter")
_SURVEY = ("lateral", "date", "time", "method", "direction", "purpose", "by", "length",
           "code_system")  # fmt: skip


@dataclass(frozen=True, slots=True)
class SurveyRow:
    """One row of a table of surveys: the survey it belongs to, and what it saw."""

    head: Survey
    seen: Observation | None

    @property
    def key(self) -> str:
        """The survey's own key."""
        return self.head.key


def survey_key(values: Values) -> str:
    """The key of the survey a row belongs to, empty where the row does not tell."""
    if "lateral" not in values or "date" not in values:
        return ""
    return _survey_head(values).key


def _survey_head(values: Values) -> Survey:
    given = {name: values[name] for name in _SURVEY if name in values}
    given = {"method": SurveyMethod.OTHER, "direction": "", "time": None, **given}
    return Survey(remark=values.get("survey_remark", ""), **given)


def survey_row(values: Values) -> SurveyRow:
    """A row's survey without observations, and its observation."""
    head = _survey_head(values)
    faults = [
        Fault(name, "is empty, and the row says that something was seen")
        for name, other in (("kind", "distance"), ("distance", "kind"))
        if name not in values and other in values
    ]
    sizes = [name for name in MEASURES if name in values]
    if len(sizes) > 1:
        words = "one observation has one measure; this row has " + " and ".join(sizes)
        faults.append(Fault(sizes[-1].replace("_", " "), words))
    if faults:
        raise InputError(*faults)
    if "kind" not in values:
        return SurveyRow(head, None)
    names = ("distance", "grade", "clock_from", "clock_to", "running_to", "at_joint", "remark",
             "still", "video", "code")  # fmt: skip
    seen = Observation(
        kind=ObservationKind(values["kind"]),
        measure=values[sizes[0]] if sizes else None,
        measure_kind=sizes[0] if sizes else "",
        **{name: values[name] for name in names if name in values},
    )
    return SurveyRow(head, seen)


def survey_of(rows: Iterable[SurveyRow], file: str) -> Survey:
    """The survey of rows that share its key, observations in their order."""
    every = list(rows)
    seen = tuple(row.seen for row in every if row.seen is not None)
    return replace(every[0].head, observations=seen, file=file)


def values_of(kind: str, record: Any) -> list[dict[str, Any]]:
    """The rows of a record, values by attribute; the way back from a builder."""
    if kind == "surveys":
        return _survey_values(record)
    if isinstance(record, MeasuredLength):
        return [{"lateral": record.lateral} | _attributes(record.measurement)]
    values = _attributes(record)
    if isinstance(record, Lateral):
        listed = LengthMeasurement(MeasuringWay.LISTED, 0.0)
        if len(record.lengths) == 1 and record.lengths[0].way is MeasuringWay.LISTED:
            reading = record.lengths[0].reading
            if record.lengths[0] == replace(listed, reading=reading):
                values["listed_length"] = reading
                values["lengths"] = ()
    return [values]


def _attributes(record: Any) -> dict[str, Any]:
    return {name: getattr(record, name) for name in record.__dataclass_fields__}


def _survey_values(survey: Survey) -> list[dict[str, Any]]:
    head = {name: getattr(survey, name) for name in _SURVEY}
    head["survey_remark"] = survey.remark
    rows = []
    for seen in survey.observations:
        values = head | {
            name: getattr(seen, name)
            for name in seen.__dataclass_fields__
            if name not in ("measure", "measure_kind", "raw", "row", "end_raw", "end_row")
        }
        if seen.measure is not None and seen.measure_kind in MEASURES:
            values[seen.measure_kind] = seen.measure
        rows.append(values)
    return rows or [head]


def dated(record: TableRecord) -> dt.date | None:
    """The day a record speaks of, None where it has none."""
    if isinstance(record, Survey):
        return record.date
    return record.measurement.on if isinstance(record, MeasuredLength) else None
