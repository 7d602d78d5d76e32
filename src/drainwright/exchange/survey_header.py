"""Header fields of the exchange text, named and interpreted.

References
----------
EN 13508-2, exchange format and code tables, after public files that reproduce them (S2);
the meaning of AAK A and B (with, against the flow) is from memory (M).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from drainwright.errors import Fault, InputError
from drainwright.exchange import survey_values as values
from drainwright.exchange.codes import CodeTable
from drainwright.records.survey import SurveyMethod, SurveyPurpose

T = TypeVar("T")
DIRECTIONS = {"A": "down", "B": "up"}
METHODS = {"A": SurveyMethod.CLEANOUT, "B": SurveyMethod.MAIN}
FIELD_NAMES = {
    "AAA": "pipe reference",
    "AAB": "start node",
    "AAC": "coordinates of the start node",
    "AAD": "node 1",
    "AAE": "coordinates of node 1",
    "AAF": "node 2",
    "AAG": "coordinates of node 2",
    "AAH": "distance of the tap on the main",
    "AAI": "clock place of the tap",
    "AAJ": "location",
    "AAK": "direction of inspection",
    "AAL": "location type",
    "AAM": "authority",
    "AAN": "town",
    "AAO": "district",
    "AAQ": "land ownership",
    "ABA": "standard",
    "ABB": "original code system",
    "ABC": "longitudinal reference point",
    "ABE": "method",
    "ABF": "date",
    "ABG": "time",
    "ABH": "inspector",
    "ABI": "job reference",
    "ABJ": "job reference 2",
    "ABM": "video position system",
    "ABP": "purpose",
    "ABQ": "expected length",
    "ABS": "video file",
    "ABT": "photograph file",
    "ACA": "shape",
    "ACB": "height",
    "ACC": "width",
    "ACD": "material",
    "ACE": "lining type",
    "ACF": "lining material",
    "ACG": "pipe unit length",
    "ACH": "depth at the start node",
    "ACI": "depth at the finish node",
    "ACJ": "type of sewer",
    "ACK": "use of sewer",
    "ACM": "cleaning",
    "ACN": "year",
    "ADA": "precipitation",
    "ADB": "temperature",
    "ADC": "flow control",
    "ADE": "remark",
}


@dataclass(slots=True)
class Header:
    """Header fields of one survey, interpreted; faults and notices are collected."""

    fields: Mapping[str, str]
    decimal: str
    table: CodeTable
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)

    def interpreted(self) -> dict[str, Any]:
        """The fields of a `Survey` that come from its header."""
        return {
            "lateral": self.text("AAA"),
            "date": self.date(),
            "time": self.time(),
            "method": self.method(),
            "direction": self.direction(),
            "purpose": self.purpose(),
            "by": self.text("ABH"),
            "tap_distance": self.number("AAH"),
            "tap_clock": self.clock("AAI"),
            "inside_diameter": self.number("ACB", 1e-3),
            "material": self.material(),
            "expected_length": self.number("ABQ"),
            "remark": self.text("ADE"),
        }

    def text(self, name: str) -> str:
        """The field as text without outer blanks."""
        return self.fields.get(name, "").strip()

    def number(self, name: str, scale: float = 1.0) -> float | None:
        """The field as a number in SI, None where it is empty."""
        value = self._read(name, lambda text: values.number(text, self.decimal, name))
        return None if value is None else float(f"{value * scale:.15g}")

    def clock(self, name: str) -> float | None:
        """The field as a place on the clock."""
        return self._read(name, lambda text: values.clock(text, self.decimal, name))

    def date(self) -> dt.date | None:
        """The day of the survey."""
        return self._read("ABF", lambda text: values.date(text, "ABF"))

    def time(self) -> dt.time | None:
        """The time of day of the survey."""
        return self._read("ABG", lambda text: values.time(text, "ABG"))

    def material(self) -> str:
        """The material in plain words, as coded where the table does not know it."""
        return self._word("ACD", "material")

    def purpose(self) -> SurveyPurpose:
        """Why the survey was made."""
        word = self._word("ABP", "purpose")
        known = {purpose.value: purpose for purpose in SurveyPurpose}
        return known.get(word, SurveyPurpose.OTHER)

    def method(self) -> SurveyMethod:
        """From where the camera looked, by the direction; both nodes and no tap is a main."""
        if not self.text("AAH") and self.text("AAD") and self.text("AAF"):
            return SurveyMethod.ALONG_MAIN
        return METHODS.get(self.text("AAK"), SurveyMethod.OTHER)

    def direction(self) -> str:
        """Up against the flow, down with it, else as given."""
        return DIRECTIONS.get(self.text("AAK"), self.text("AAK"))

    def _word(self, name: str, kind: str) -> str:
        text = self.text(name)
        if not text:
            return ""
        meaning = self.table.find(name, text) or self.table.find(name, text.lower())
        if meaning is None or meaning.kind != kind:
            words = f"“{text}” is not in the table of {self.table.system}; kept"
            self.notices.append(Fault(name, words, text, column=name))
            return text
        return meaning.grade

    def _read(self, name: str, read: Callable[[str], T]) -> T | None:
        text = self.text(name)
        if not text:
            return None
        try:
            return read(text)
        except InputError as error:
            self.faults += [fault.placed(column=name) for fault in error.faults]
            return None
