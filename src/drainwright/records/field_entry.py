"""A field entry: what a crew did, read or saw, as one line of JSON that is never rewritten.

The device writes the text once and chains it by hash; the store keeps it verbatim. Here the
text is only read. A mistake is mended by a further entry that names the one it corrects.
"""

from __future__ import annotations

import datetime as dt
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Any

from drainwright.errors import Fault, InputError, raise_if_any
from drainwright.units import KINDS

FORM = 1
"""Number of the text's form; a newer one is refused."""


class EntryKind(StrEnum):
    """What an entry says."""

    CHECK = "check"
    """A go/no-go line was answered."""
    RELEASE = "release"
    """Mixing was released by name."""
    STEP = "step"
    """A step was done."""
    SKIP = "skip"
    """A step was left out, with a reason."""
    READING = "reading"
    """Values were read."""
    KEPT = "kept"
    """A reading outside its window was kept, with initials and reason."""
    PHOTO = "photo"
    """A still or a file was taken in; it is kept by its hash."""
    ALARM = "alarm"
    """An alarm was acknowledged by name."""
    REMARK = "remark"
    END = "end"
    """The attempt ended."""


class EntryOrigin(StrEnum):
    """How an entry came into the record."""

    DEVICE = "device"
    PAPER = "paper"
    """Typed in later from the hand form."""
    LOGGER = "logger"


class AttemptEnd(StrEnum):
    """How an attempt ended."""

    CURED = "cured"
    PULLED = "pulled before gel"
    LEFT = "left in place"
    DUG_UP = "dug up"


@dataclass(frozen=True, slots=True)
class FieldValue:
    """One reading: SI value of `kind`, and what was typed, word for word."""

    name: str
    value: float
    kind: str
    typed: str
    """Number and unit as typed, such as “7.2 psi”."""


@dataclass(frozen=True, slots=True)
class FieldEvent:
    """What one field entry says. `at` is the device's clock, in UTC."""

    kind: EntryKind
    lateral: str
    at: dt.datetime
    entered_by: str
    attempt: int = 1
    step: str = ""
    """Key of the step in the project's list of steps."""
    read_by: str = ""
    values: tuple[FieldValue, ...] = ()
    words: tuple[tuple[str, str], ...] = ()
    """What was read as words: lots, places, gauge names, answers; name and text."""
    answer: str = ""
    """“yes” or “no” to a go/no-go line, or the end of an attempt."""
    question: str = ""
    """The go/no-go line or the demand that was not kept, as it was shown."""
    reason: str = ""
    initials: str = ""
    photo: str = ""
    """SHA-256 of the attachment."""
    origin: EntryOrigin = EntryOrigin.DEVICE
    sheet_revision: int = 0
    """Revision of the work sheet that the entry was checked against; 0 for none."""
    corrects: str = ""
    """Id of the entry that this one replaces."""
    id: str = ""
    """Id of the entry itself; not part of the text."""

    def value(self, name: str) -> float | None:
        """The SI value read under `name`, None where there is none."""
        return next((one.value for one in self.values if one.name == name), None)

    def word(self, name: str) -> str:
        """What was read as words under `name`, “” where there is nothing."""
        return next((text for key, text in self.words if key == name), "")


_TEXTS = (
    "lateral", "entered_by", "step", "read_by", "answer", "question", "reason", "initials",
    "photo", "corrects",
)  # fmt: skip
_KEYS = {"form"} | {one.name for one in fields(FieldEvent)} - {"id"}


def event_text(event: FieldEvent) -> str:
    """The text of an entry made by the program itself, such as one from paper."""
    shown: dict[str, Any] = {"form": FORM, "kind": event.kind.value}
    shown |= {"at": event.at.astimezone(dt.UTC).isoformat(timespec="milliseconds")}
    shown |= {name: text for name in _TEXTS if (text := getattr(event, name))}
    shown |= {"attempt": event.attempt, "sheet_revision": event.sheet_revision}
    shown |= {"origin": event.origin.value, "words": dict(event.words)}
    shown["values"] = [
        {"name": one.name, "value": one.value, "kind": one.kind, "typed": one.typed}
        for one in event.values
    ]
    return json.dumps(shown, ensure_ascii=False, separators=(",", ":"))


def read_event(text: str, ident: str = "") -> FieldEvent:
    """What an entry's text says; `InputError` with every fault of it."""
    try:
        found = json.loads(text)
    except ValueError as error:
        raise InputError(Fault("text", f"is not JSON: {error}", text[:80])) from error
    if not isinstance(found, dict):
        raise InputError(Fault("text", "must be a JSON object", text[:80]))
    if found.get("form") != FORM:
        message = "was written by a newer program" if _newer(found) else f"must be {FORM}"
        raise InputError(Fault("form", message, str(found.get("form"))))
    faults = [Fault(key, "is not a field of an entry", "") for key in found.keys() - _KEYS]
    parts: dict[str, Any] = {"id": ident}
    readers = {"kind": EntryKind, "origin": EntryOrigin}
    for name, of in readers.items():
        if name in found:
            _try(faults, parts, name, of, found[name])
    for name in _TEXTS:
        if name in found:
            _try(faults, parts, name, _text, found[name])
    for name in ("attempt", "sheet_revision"):
        if name in found:
            _try(faults, parts, name, _count, found[name])
    _try(faults, parts, "at", _time, found.get("at"))
    _try(faults, parts, "words", _words, found.get("words", {}))
    _try(faults, parts, "values", _values, found.get("values", []))
    missing = {"kind", "lateral", "entered_by"} - found.keys()
    faults += [Fault(name, "is missing", "") for name in sorted(missing)]
    raise_if_any(faults)
    return FieldEvent(**parts)


def _newer(found: Mapping[str, Any]) -> bool:
    form = found.get("form")
    return isinstance(form, int) and form > FORM


def _try(faults: list[Fault], parts: dict[str, Any], name: str, of: Any, value: Any) -> None:
    try:
        parts[name] = of(value)
    except (ValueError, TypeError, KeyError) as error:
        faults.append(Fault(name, f"cannot be read: {error}", str(value)[:80]))


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError("must be text")
    return value


def _count(value: Any) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or value < 0:
        raise ValueError("must be a whole number, 0 or more")
    return value


def _time(value: Any) -> dt.datetime:
    at = dt.datetime.fromisoformat(_text(value))
    if at.tzinfo is None:
        raise ValueError("needs an offset from UTC, such as +00:00")
    return at.astimezone(dt.UTC)


def _words(value: Any) -> tuple[tuple[str, str], ...]:
    return tuple((_text(name), _text(text)) for name, text in value.items())


def _values(value: Any) -> tuple[FieldValue, ...]:
    return tuple(_value(one) for one in value)


def _value(one: Any) -> FieldValue:
    kind = _text(one["kind"])
    if kind not in KINDS:
        raise ValueError(f"no kind of quantity is called {kind}")
    number = one["value"]
    if isinstance(number, bool) or not isinstance(number, int | float) or math.isnan(number):
        raise TypeError(f"{one['name']} must be a number")
    return FieldValue(_text(one["name"]), float(number), kind, _text(one.get("typed", "")))
