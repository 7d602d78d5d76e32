"""What every calculator shares: reading named inputs, and the answer it gives.

`Inputs` reads a table of named values, collects every fault instead of stopping at the first,
and `close` raises them together. `Answer` holds results in SI with their kinds; `answer_json`
renders it for programs, `answer_rows` for people.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from drainwright.checks import Check
from drainwright.errors import Fault, InputError, range_text
from drainwright.sources import Citation
from drainwright.units import KINDS, UnitSystem, from_si, kind_unit, parse, show

NAN = math.nan


@dataclass(frozen=True, slots=True)
class Quantity:
    """A result: SI value, list or list of lists (None where never reached), kind, and how."""

    value: float | Sequence[Any] | None
    kind: str
    how: str = ""


@dataclass(frozen=True, slots=True)
class Said:
    """A result in words, yes or no, or a list of objects of results."""

    value: str | bool | Sequence[Mapping[str, Any]]
    how: str = ""


Result = Quantity | Said


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculator answers."""

    topic: str
    method: str
    results: Mapping[str, Result]
    checks: tuple[Check, ...] = ()
    cautions: tuple[str, ...] = ()
    sources: tuple[Citation, ...] = ()


class Inputs:
    """Named inputs of one table; faults are collected and raised together by `close`.

    A reader returns NaN, "" or an empty list for an input that is at fault, so that reading
    goes on; computing starts only after `close`.
    """

    def __init__(
        self,
        data: Mapping[str, Any],
        *,
        folder: Path | None = None,
        prefix: str = "",
        parent: Inputs | None = None,
    ) -> None:
        self._data = data
        self._prefix = prefix
        self._used: set[str] = set()
        self._tables: list[Inputs] = []
        self.faults: list[Fault] = parent.faults if parent else []
        self.kinds: dict[str, str] = parent.kinds if parent else {}
        self.folder: Path | None = parent.folder if parent and folder is None else folder
        """Where named files lie; None where no file may be read."""

    def has(self, key: str) -> bool:
        """Whether the input was given."""
        return key in self._data

    def fault(self, key: str, message: str, value: object = None) -> None:
        """Add a fault of the input `key`."""
        self.faults.append(Fault(self._prefix + key, message, value))

    def range_fault(self, key: str, value: float, low: float | None, high: float | None) -> None:
        """Add a fault for an SI `value` outside low..high, shown in the reader's units."""
        kind = self.kinds.get(self._prefix + key, "number")
        unit = KINDS[kind].si
        message = f"{value:g} {unit} is outside {range_text(low, high, unit)}"
        name = self._prefix + key
        self.faults.append(Fault(name, message, value, unit, low, high))

    def _take(self, key: str, *, required: bool) -> Any:
        self._used.add(key)
        if key not in self._data:
            if required:
                self.fault(key, "is missing")
            return None
        return self._data[key]

    def quantity(
        self,
        key: str,
        kind: str,
        default: str | float | None = None,
        *,
        required: bool = True,
        low: float | None = None,
        high: float | None = None,
        above: float | None = None,
        below: float | None = None,
    ) -> float:
        """A quantity in SI; bounds in SI, `low` and `high` inclusive.

        `default` is text with a unit or an SI number. An optional input that is absent is NaN.
        """
        self.kinds[self._prefix + key] = kind
        raw = self._take(key, required=required and default is None)
        if raw is None:
            if default is None:
                return NAN
            return parse(default, kind, key) if isinstance(default, str) else default
        value = self._read(key, raw, kind)
        bounds = (low, high, above, below)
        return value if math.isnan(value) else self._bounded(key, value, bounds)

    def _bounded(
        self,
        key: str,
        value: float,
        bounds: tuple[float | None, float | None, float | None, float | None],
    ) -> float:
        low, high, above, below = bounds
        inside = (
            (low is None or value >= low)
            and (high is None or value <= high)
            and (above is None or value > above)
            and (below is None or value < below)
        )
        if not inside:
            least = low if low is not None else above
            most = high if high is not None else below
            self.range_fault(key, value, least, most)
            return NAN
        return value

    def _read(self, key: str, raw: object, kind: str) -> float:
        name = self._prefix + key
        if isinstance(raw, bool) or not isinstance(raw, str | int | float):
            self.fault(key, f"{raw!r} is not a quantity; write text such as “12 in”", raw)
            return NAN
        if isinstance(raw, int | float):
            try:
                number = float(raw)
            except OverflowError:
                number = math.inf
            if not math.isfinite(number):
                self.fault(key, f"{raw} is not a finite number", raw)
                return NAN
            if KINDS[kind].si != "1":
                unit = kind_unit(kind, UnitSystem.US)
                self.fault(key, f"{raw} has no unit; write it as text, such as “{raw} {unit}”", raw)
                return NAN
            return number
        try:
            return parse(raw, kind, name)
        except InputError as error:
            self.faults.extend(error.faults)
            return NAN

    def quantities(
        self,
        key: str,
        kind: str,
        *,
        required: bool = True,
        low: float | None = None,
        high: float | None = None,
        above: float | None = None,
    ) -> list[float]:
        """A list of quantities in SI; a single one counts as a list of one."""
        self.kinds[self._prefix + key] = kind
        raw = self._take(key, required=required)
        if raw is None:
            return []
        items = raw if isinstance(raw, list) else [raw]
        if not items:
            self.fault(key, "is an empty list")
        values = [self._read(key, item, kind) for item in items]
        bounds = (low, high, above, None)
        return [v if math.isnan(v) else self._bounded(key, v, bounds) for v in values]

    def pairs(
        self, key: str, kinds: tuple[str, str], *, required: bool = True
    ) -> list[tuple[float, float]]:
        """A list of [first, second] quantities in SI, such as [time, temperature]."""
        raw = self._take(key, required=required)
        if raw is None:
            return []
        if not isinstance(raw, list) or not raw:
            self.fault(key, "is not a list of pairs", raw)
            return []
        out: list[tuple[float, float]] = []
        for number, item in enumerate(raw, 1):
            if not isinstance(item, list) or len(item) != 2:
                self.fault(key, f"entry {number} is not a pair", item)
                continue
            out.append((self._read(key, item[0], kinds[0]), self._read(key, item[1], kinds[1])))
        return out

    def text(self, key: str, default: str | None = None, *, required: bool = True) -> str:
        """A text."""
        raw = self._take(key, required=required and default is None)
        if raw is None:
            return default or ""
        if not isinstance(raw, str):
            self.fault(key, f"{raw!r} is not text", raw)
            return default or ""
        return raw

    def choice(
        self,
        key: str,
        choices: Sequence[str],
        default: str | None = None,
        *,
        required: bool = True,
    ) -> str:
        """One of `choices`."""
        value = self.text(key, default, required=required)
        if self.has(key) and isinstance(self._data[key], str) and value not in choices:
            allowed = ", ".join(f"“{choice}”" for choice in choices)
            self.fault(key, f"“{value}” is not one of {allowed}", value)
            return default or ""
        return value

    def flag(self, key: str, default: bool) -> bool:  # noqa: FBT001  a default reads as one
        """True or false."""
        raw = self._take(key, required=False)
        if raw is None:
            return default
        if not isinstance(raw, bool):
            self.fault(key, f"{raw!r} is not true or false", raw)
            return default
        return raw

    def whole(
        self, key: str, default: int | None = None, *, low: int, high: int, required: bool = True
    ) -> int:
        """A whole number within low..high."""
        raw = self._take(key, required=required and default is None)
        if raw is None:
            return low if default is None else default
        if isinstance(raw, bool) or not isinstance(raw, int):
            self.fault(key, f"{raw!r} is not a whole number", raw)
        elif not low <= raw <= high:
            self.fault(key, f"{raw} is outside {low} to {high}", raw)
        else:
            return raw
        return low if default is None else default

    def raw(self, key: str, *, required: bool = False) -> Any:
        """The input as given, for the few that need their own reading."""
        return self._take(key, required=required)

    def table(self, key: str, *, required: bool = False) -> Inputs | None:
        """A sub-table, such as `[collar]`; its keys are named `collar.length` in faults."""
        raw = self._take(key, required=required)
        if raw is None:
            return None
        if not isinstance(raw, Mapping):
            self.fault(key, f"{raw!r} is not a table", raw)
            return None
        child = Inputs(raw, prefix=f"{self._prefix}{key}.", parent=self)
        self._tables.append(child)
        return child

    def tables(self, key: str, *, required: bool = False) -> list[Inputs]:
        """A list of tables, such as `[[probes]]`; named `probes[1].position` in faults."""
        raw = self._take(key, required=required)
        if raw is None:
            return []
        if not isinstance(raw, list) or not all(isinstance(item, Mapping) for item in raw):
            self.fault(key, "is not a list of tables", raw)
            return []
        if not raw:
            self.fault(key, "is an empty list")
        children = [
            Inputs(item, prefix=f"{self._prefix}{key}[{number}].", parent=self)
            for number, item in enumerate(raw, 1)
        ]
        self._tables.extend(children)
        return children

    def unknown_keys(self) -> None:
        """Add a fault for each key nothing has read, sub-tables included."""
        for key in self._data:
            if key not in self._used:
                known = ", ".join(sorted(self._used))
                self.fault(key, f"is not an input here (known: {known})", self._data[key])
        for child in self._tables:
            child.unknown_keys()

    def close(self) -> None:
        """Raise one `InputError` with every fault found, unknown keys included."""
        self.unknown_keys()
        if self.faults:
            raise InputError(*self.faults)


Calculator = Callable[[Inputs], Answer]


@dataclass(frozen=True, slots=True)
class Topic:
    """A calculator by name."""

    name: str
    about: str
    run: Calculator = field(repr=False)


# ---------------------------------------------------------------- rendering


def output_unit(kind: str, system: UnitSystem) -> str:
    """The unit in an answer: as shown, but "1" for everything without dimension."""
    return "1" if KINDS[kind].si == "1" else kind_unit(kind, system)


def _in_unit(value: Any, unit: str) -> Any:
    if value is None:
        return None
    if isinstance(value, int | float):
        number = from_si(float(value), unit)
        return number if math.isfinite(number) else None
    return [_in_unit(item, unit) for item in value]


def _result_json(result: Any, system: UnitSystem) -> Any:
    if isinstance(result, Quantity):
        unit = output_unit(result.kind, system)
        return {"value": _in_unit(result.value, unit), "unit": unit}
    if isinstance(result, Said):
        return _result_json(result.value, system)
    if isinstance(result, str | bool) or result is None:
        return result
    if isinstance(result, Mapping):
        return {key: _result_json(item, system) for key, item in result.items()}
    return [_result_json(item, system) for item in result]


def _check_json(check: Check, system: UnitSystem) -> dict[str, Any]:
    unit = output_unit(check.kind, system)
    return {
        "name": check.name,
        "demand": _in_unit(check.demand, unit),
        "capacity": _in_unit(check.capacity, unit),
        "unit": unit,
        "ratio": _in_unit(check.ratio, "1"),
        "outcome": check.outcome.value,
        "source": str(check.source),
    }


def citation_json(citation: Citation) -> dict[str, str]:
    """A citation as {"key", "title", "locator", "mark"}."""
    return {
        "key": citation.key,
        "title": citation.source.title,
        "locator": citation.locator,
        "mark": citation.effective_mark,
    }


def answer_json(answer: Answer, system: UnitSystem) -> dict[str, Any]:
    """The answer for programs: never NaN, numbers not rounded."""
    return {
        "topic": answer.topic,
        "method": answer.method,
        "results": {name: _result_json(item, system) for name, item in answer.results.items()},
        "checks": [_check_json(check, system) for check in answer.checks],
        "cautions": list(answer.cautions),
        "sources": [citation_json(citation) for citation in answer.sources],
    }


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table for people."""

    name: str
    value: str
    unit: str
    how: str


def answer_rows(answer: Answer, system: UnitSystem) -> list[Row]:
    """The answer's results as lines for people."""
    return [_row(name, result, system) for name, result in answer.results.items()]


def _row(name: str, result: Result, system: UnitSystem) -> Row:
    label = name.replace("_", " ")
    if isinstance(result, Said):
        return Row(label, _said(result.value, system), "", result.how)
    unit = show(0.0, result.kind, system).unit_text
    return Row(label, _numbers(result.value, result.kind, system), unit, result.how)


def _said(
    value: str | bool | Sequence[Mapping[str, Any]],  # noqa: FBT001  a result, not an option
    system: UnitSystem,
) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    return "\n".join(
        ", ".join(f"{key.replace('_', ' ')} {_cell(item, system)}" for key, item in row.items())
        for row in value
    )


def _cell(item: Any, system: UnitSystem) -> str:
    if isinstance(item, Quantity):
        if isinstance(item.value, int | float):
            return show(float(item.value), item.kind, system).text
        return _numbers(item.value, item.kind, system)
    return _said(item.value, system) if isinstance(item, Said) else str(item)


def _numbers(value: Any, kind: str, system: UnitSystem) -> str:
    if value is None:
        return "—"
    if isinstance(value, int | float):
        number = float(value)
        return show(number, kind, system).number if math.isfinite(number) else "—"
    parts = [_numbers(item, kind, system) for item in value]
    if len(parts) > 12:
        parts = [*parts[:6], "…", *parts[-5:]]
    return "  ".join(parts)
