"""``docs/nomenclature.csv``: every term and symbol, once, with unit and meaning.

Columns: term, symbol, unit, meaning, used in. ``used in`` lists the engineering
modules that use the term, or nothing for a term of the trade that no public
name carries. ``python -m tests.nomenclature`` (part of ``make docs``) adds the
rows that are missing, with what the docstring says, takes modules away that no longer
use a term, and sorts; a person then reads the new rows over. It never rewrites the
symbol or the meaning of a row that is there.
"""

from __future__ import annotations

import csv
import inspect
import io
import os
import re
import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from tests.engineering_names import (
    PACKAGE,
    UNIT,
    Entry,
    entries,
    fields,
    functions,
    results,
    sections,
)

FILE = Path(__file__).resolve().parent.parent / "docs" / "nomenclature.csv"
# "Wall of the liner, t", "Buoyancy factor, R_w": how docstrings name the symbol
SYMBOL = re.compile(r", ((?:[A-Za-z]|phi|nu|alpha|rho|lambda|eta|zeta|sigma)(?:_\w+)?'?)$")
HEADER = ["term", "symbol", "unit", "meaning", "used in"]


@dataclass(frozen=True)
class Term:
    """One row; ``unit`` holds alternatives as ``Pa or 1`` where a term needs them."""

    term: str
    symbol: str
    unit: str
    meaning: str
    used: frozenset[str]

    def line(self) -> str:
        """The row as it stands in the file."""
        text = io.StringIO()
        cells = [self.term, self.symbol, self.unit, self.meaning, " ".join(sorted(self.used))]
        csv.writer(text, lineterminator="").writerow(cells)
        return text.getvalue()


def read(text: str) -> list[Term]:
    """The rows of the file."""
    rows = list(csv.reader(io.StringIO(text)))
    if rows[0] != HEADER or any(len(row) != len(HEADER) for row in rows):
        message = f"{FILE.name} has five columns: {','.join(HEADER)}"
        raise ValueError(message)
    return [
        Term(term, symbol, unit, meaning, frozenset(used.split()))
        for term, symbol, unit, meaning, used in rows[1:]
    ]


def text_of(terms: list[Term]) -> str:
    """The file, sorted without regard to case."""
    ordered = sorted(terms, key=lambda term: (term.term.lower(), term.term))
    return "\n".join([",".join(HEADER), *(term.line() for term in ordered)]) + "\n"


def units(text: str | None) -> list[str]:
    """The alternatives of a unit cell, or of a docstring's brackets."""
    return [unit.strip() for unit in re.split(r", | or ", text or "") if unit.strip()]


def public() -> list[Term]:
    """Every parameter and result field of the engineering floor, one row for each use."""
    found: list[Term] = []
    for function in functions():
        told = entries(sections(function).get("Parameters", ""))
        found += _terms(list(inspect.signature(function).parameters), told, function.__module__)
    for kind in results():
        titles = sections(kind)
        told = entries(titles.get("Attributes", titles.get("Parameters", "")))
        found += _terms(fields(kind), told, kind.__module__)
    return found


def _terms(names: list[str], told: list[Entry], module: str) -> list[Term]:
    by_name = {entry.name: entry for entry in told}
    used = frozenset({module.removeprefix(PACKAGE + ".")})
    rows = []
    for name in names:
        entry = by_name.get(name, Entry(name, "", ""))
        sentence = " ".join(UNIT.sub("", entry.text).split()).partition(". ")[0].rstrip(" .")
        told_symbol = SYMBOL.search(sentence)
        symbol = told_symbol[1] if told_symbol else ""
        meaning = SYMBOL.sub("", sentence).replace(" ,", ",").replace(" ;", ";")
        rows.append(Term(name, symbol, " or ".join(units(entry.unit)), meaning, used))
    return rows


def completed(kept: list[Term], names: list[Term]) -> list[Term]:
    """The rows as they should stand: uses brought up to date, missing rows added."""
    written = {term.term for term in kept}
    rows = {term.term: replace(term, used=frozenset()) for term in kept}
    for name in names:
        row = rows.setdefault(name.term, name)
        every = dict.fromkeys(units(row.unit) + units(name.unit))
        rows[name.term] = replace(
            row,
            symbol=row.symbol if row.term in written else row.symbol or name.symbol,
            unit=" or ".join(every),
            used=row.used | name.used,
        )
    gone = {term.term for term in kept if term.used and not rows[term.term].used}
    return [row for term, row in rows.items() if term not in gone]


def main() -> None:
    """Bring the file up to date in one step."""
    text = text_of(completed(read(FILE.read_text("utf-8")), public()))
    handle, name = tempfile.mkstemp(dir=FILE.parent, suffix=".csv")
    with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
        file.write(text)
    Path(name).chmod(0o644)
    Path(name).replace(FILE)


if __name__ == "__main__":
    main()
