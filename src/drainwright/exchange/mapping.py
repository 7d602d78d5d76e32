"""The mapping file: what the columns of a certain header mean, said once and kept."""

from __future__ import annotations

import datetime as dt
import json
import textwrap
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from drainwright.errors import Fault
from drainwright.exchange.fields import fold
from drainwright.exchange.reading import Reading
from drainwright.records.list_reading import ColumnRule, ListMapping

IGNORED = "ignore"
_KEYS = {
    "kind": "what the rows are, such as laterals",
    "columns": "a table: header = field, or header = { field, unit }, or header = ignore",
    "words": "a table: word of the cells = word to read instead",
    "decimal": ". or ,",
    "dates": "mdy or dmy",
    "sheet": "the one sheet to read",
    "header": "the header's mark, filled in by the program",
}


def rule_for(mapping: ListMapping, header: str) -> ColumnRule | None:
    """The rule for a header, compared without case, accents and punctuation."""
    if not mapping.columns:
        return None
    if header in mapping.columns:
        return mapping.columns[header]
    wanted = fold(header)
    return next((rule for name, rule in mapping.columns.items() if fold(name) == wanted), None)


def read_mapping(
    data: bytes, file: str, fields: Mapping[str, tuple[str, ...]]
) -> Reading[ListMapping]:
    """Read a mapping from TOML or JSON; `fields` are the field names of every kind."""
    try:
        text = data.decode("utf-8-sig")
        content = json.loads(text) if text.lstrip()[:1] == "{" else tomllib.loads(text)
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        return Reading(file, (), (Fault("file", f"is neither TOML nor JSON: {error}", file=file),))
    if not isinstance(content, dict):
        return Reading(file, (), (Fault("file", "is no table", file=file),))
    faults = [fault.placed(file=file) for fault in _faults(content, fields)]
    if faults:
        return Reading(file, (), tuple(faults))
    rules = {name: _rule(rule) for name, rule in content.get("columns", {}).items()}
    words = {fold(word): str(other) for word, other in content.get("words", {}).items()}
    plain = {key: content.get(key, "") for key in ("kind", "decimal", "dates", "sheet", "header")}
    return Reading(file, (ListMapping(columns=rules, words=words, **plain),))


def _rule(rule: Any) -> ColumnRule:
    if isinstance(rule, str):
        return ColumnRule("" if rule == IGNORED else rule)
    name = rule.get("field", "")
    return ColumnRule("" if name == IGNORED else name, rule.get("unit", ""))


def _faults(content: Mapping[str, Any], fields: Mapping[str, tuple[str, ...]]) -> list[Fault]:
    found = []
    for key in content:
        if key not in _KEYS:
            words = f"is not known here; a mapping has {', '.join(_KEYS)}"
            found.append(Fault(key, words))
    allowed = {"decimal": ("", ".", ","), "dates": ("", "mdy", "dmy"), "kind": ("", *fields)}
    for key in ("kind", "decimal", "dates", "sheet", "header"):
        value = content.get(key, "")
        if not isinstance(value, str) or (key in allowed and value not in allowed[key]):
            choices = [repr(choice) for choice in allowed.get(key, ()) if choice]
            words = f"{value!r} is not {_KEYS[key]}" + (
                f" ({', '.join(choices)})" if choices else ""
            )
            found.append(Fault(key, words, value))
    found += [
        Fault(key, f"is not {_KEYS[key]}")
        for key in ("columns", "words")
        if not isinstance(content.get(key, {}), dict)
    ]
    if not found:
        kind = content.get("kind", "")
        known = fields.get(kind) or tuple(name for names in fields.values() for name in names)
        for header, rule in content.get("columns", {}).items():
            found += _rule_faults(header, rule, known)
    return found


def _rule_faults(header: str, rule: Any, known: tuple[str, ...]) -> list[Fault]:
    name = f"columns.{header}"
    if isinstance(rule, str):
        rule = {"field": rule}
    if not isinstance(rule, dict) or not all(isinstance(value, str) for value in rule.values()):
        return [Fault(name, f"is not {_KEYS['columns']}")]
    found = [
        Fault(name, f"“{key}” is not known here; a column has field and unit")
        for key in rule
        if key not in ("field", "unit")
    ]
    given = rule.get("field", "")
    if given != IGNORED and fold(given) not in {fold(one) for one in known}:
        words = f"there is no field “{given}”; the fields are {', '.join(dict.fromkeys(known))}"
        found.append(Fault(name, words, given))
    return found


def write_mapping(
    mapping: ListMapping,
    today: dt.date | None = None,
    needed: Sequence[str] = (),
    others: Sequence[str] = (),
) -> bytes:
    """The mapping as TOML, to be looked at and edited; `needed` and `others` name the fields."""
    lines = ['# What the columns of this list mean. A column is left out by "ignore".']
    if today is not None:
        lines.append(f"# Written on {today.isoformat()}.")
    if needed or others:
        lines.append('# Where the unit stands nowhere in the file: { field = "...", unit = "ft" }.')
        lines += _commented("Needed:", needed) + _commented("Others:", others)
    for key in ("kind", "header", "sheet", "decimal", "dates"):
        value = getattr(mapping, key)
        if value:
            lines.append(f"{key} = {_quoted(value)}")
    lines += ["", "[columns]"]
    for header, rule in mapping.columns.items():
        target = _quoted(rule.field or IGNORED)
        if rule.unit:
            target = f"{{ field = {target}, unit = {_quoted(rule.unit)} }}"
        lines.append(f"{_quoted(header)} = {target}")
    if mapping.words:
        lines += ["", "[words]"]
        lines += [f"{_quoted(word)} = {_quoted(other)}" for word, other in mapping.words.items()]
    return "\n".join([*lines, ""]).encode("utf-8")


def _commented(title: str, names: Sequence[str]) -> list[str]:
    words = textwrap.wrap(f"{title} {', '.join(names)}.", 90, break_on_hyphens=False)
    return [f"# {line}" for line in words] if names else []


def _quoted(text: str) -> str:
    clean = text.encode("utf-8", "replace").decode("utf-8")
    return json.dumps(clean, ensure_ascii=False).replace("\x7f", "\\u007f")
