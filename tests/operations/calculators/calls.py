"""Calling a calculator as a person does: TOML text in, exit code, table or JSON out."""

from __future__ import annotations

import io
import json
import math
import sys
from collections.abc import Iterator, Mapping
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from unittest.mock import patch

from typer.main import get_command

from drainwright.cli.app import app

_SPELLED = """
in ft mm m psi kPa MPa degC degF s min h lb lb/ft lb/h kg kg/m kg/h kg/s ft^3/s L/s m^3/s gal/min
Mgal/d gal ft^3 m^3 ft/s m/s kJ/kg Btu/lb W kW lbf N N/mm 1/h 1 ft^3/lb m^3/kg
"""
SPELLED = frozenset(_SPELLED.split())
"""The only units an answer may use; the last two, of a specific volume, are spelled alike."""


@dataclass(frozen=True)
class Called:
    """What came back."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """Standard output as strict JSON: NaN and infinities are refused."""

        def refuse(word: str) -> None:
            raise AssertionError(f"{word} in the output")

        return json.loads(self.out, parse_constant=refuse)


def toml_text(data: Mapping[str, Any]) -> str:
    """A table of inputs as TOML text, its sub-tables after its values."""
    plain = {key: item for key, item in data.items() if not isinstance(item, Mapping)}
    lines = [f"{_key(key)} = {_value(item)}" for key, item in plain.items()]
    for key, item in data.items():
        if isinstance(item, Mapping):
            lines += [f"[{_key(key)}]", toml_text(item)]
    return "\n".join(lines)


def _key(key: str) -> str:
    return key if key.replace("_", "").replace("-", "").isalnum() else json.dumps(key)


def _value(item: Any) -> str:
    if isinstance(item, bool | str):
        return json.dumps(item)
    if isinstance(item, float) and not math.isfinite(item):
        return str(item)
    if isinstance(item, list):
        return "[" + ", ".join(_value(entry) for entry in item) + "]"
    if isinstance(item, Mapping):
        return "{" + ", ".join(f"{_key(k)} = {_value(one)}" for k, one in item.items()) + "}"
    return repr(item)


def call(topic: str, data: Mapping[str, Any] | str, *options: str) -> Called:
    """Run `drainwright calc TOPIC - OPTIONS` with the inputs on standard input."""
    text = data if isinstance(data, str) else toml_text(data)
    return run("calc", topic, "-", *options, text=text)


def run(*arguments: str, text: str = "") -> Called:
    """Run `drainwright ARGUMENTS` in this process, `text` on standard input."""
    out, err = io.StringIO(), io.StringIO()
    source = io.TextIOWrapper(io.BytesIO(text.encode()), encoding="utf-8")
    code: Any = None
    with patch.object(sys, "stdin", source), redirect_stdout(out), redirect_stderr(err):
        try:
            _command().main(list(arguments), prog_name="drainwright")
        except SystemExit as left:
            code = left.code
    assert isinstance(code, int)
    return Called(code, out.getvalue(), err.getvalue())


@lru_cache(maxsize=1)
def _command() -> Any:
    """The real command line, built once: typer takes its time for that."""
    return get_command(app)


def answer(topic: str, data: Mapping[str, Any], units: str = "us") -> dict[str, Any]:
    """The JSON answer, checked for form."""
    return answer_of(topic, call(topic, data, "--json", "--units", units))


def answer_of(topic: str, called: Called) -> dict[str, Any]:
    """The answer of a call with --json: exit 0, units as spelled, no NaN, no unexplained null."""
    assert called.code == 0, called.out + called.err
    found: dict[str, Any] = called.json()
    keys = ["topic", "method", "results", "checks", "cautions", "sources"]
    assert list(found) == keys
    assert found["topic"] == topic
    for name, result in found["results"].items():
        if isinstance(result, dict):
            assert set(result) == {"value", "unit"}, name
            assert result["unit"] in SPELLED, name
            values = result["value"] if isinstance(result["value"], list) else [result["value"]]
            assert found["cautions"] or None not in values, f"{name} is null without a caution"
    for check in found["checks"]:
        assert set(check) == {"name", "demand", "capacity", "unit", "ratio", "outcome", "source"}
        assert check["outcome"] in {"met", "not met", "not assessed"}
        assert check["unit"] in SPELLED
    for source in found["sources"]:
        assert set(source) == {"key", "title", "locator", "mark"}
    assert found["sources"]
    return found


def values(topic: str, data: Mapping[str, Any], units: str = "us") -> dict[str, Any]:
    """The results alone: numbers without their unit, texts as they are."""
    results = answer(topic, data, units)["results"]
    return {
        name: item["value"] if isinstance(item, dict) else item for name, item in results.items()
    }


def faulty_keys(topic: str, data: Mapping[str, Any] | str) -> list[str]:
    """The keys at fault; both forms of refusal are checked and must agree."""
    told = call(topic, data)
    assert told.code == 2, f"exit {told.code}: {told.out}"
    assert told.out == ""
    lines = told.err.splitlines()
    refused = call(topic, data, "--json")
    assert refused.code == 2
    assert refused.err == ""
    errors = refused.json()["errors"]
    assert len(lines) == len(errors), told.err
    for line, error in zip(lines, errors, strict=True):
        assert {"key", "value", "message"} <= set(error)
        assert line.startswith(f"{error['key']}: ")
        assert error["message"].strip()
    return [error["key"] for error in errors]


@dataclass(frozen=True)
class Rule:
    """What is wrong for one quantity: a unit that fits, one that does not, and its range.

    `low` and `high` are texts just outside the allowed range; "" where there is no such end.
    """

    unit: str
    low: str
    high: str
    required: bool = True
    other: str = "min"
    pure: bool = False


def with_key(data: Mapping[str, Any], key: str, item: Any) -> dict[str, Any]:
    """The inputs with one key (`collar.lap` for a sub-table) replaced; None takes it out."""
    head, _, rest = key.partition(".")
    changed = dict(data)
    if rest:
        changed[head] = with_key(data[head], rest, item)
    elif item is None:
        changed.pop(head, None)
    else:
        changed[head] = item
    return changed


def bad_inputs(
    data: Mapping[str, Any], rules: Mapping[str, Rule]
) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """(key, what is wrong, inputs) for every way in which one quantity can be bad."""
    for key, rule in rules.items():
        unit = f" {rule.unit}".rstrip()
        wrong: dict[str, Any] = {
            "wrong dimension": f"1 {rule.other}",
            "unknown unit": "1 furbles",
            "words": "a lot",
            "empty": "",
            "true": True,
            "list": [1, 2],
            "NaN": math.nan,
            "infinite": math.inf,
            "NaN text": f"nan{unit}",
            "negative": f"-1{unit}",
            "huge": f"1e300{unit}",
            "beyond floats": f"1e999{unit}",
            "division by zero": f"1/0{unit}",
        }
        if not rule.pure:
            wrong["no unit"] = "1"
            wrong["bare number"] = 1
        if rule.low:
            wrong["below"] = rule.low
        if rule.high:
            wrong["above"] = rule.high
        for what, item in wrong.items():
            yield key, what, with_key(data, key, item)
        if rule.required:
            yield key, "missing", with_key(data, key, None)
