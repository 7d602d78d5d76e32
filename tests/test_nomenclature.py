"""Public names of the engineering floor are terms of docs/nomenclature.csv."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from tests.nomenclature import FILE, Term, completed, public, read, text_of, units

MEND = "add it by hand, or run .venv/bin/python -m tests.nomenclature and read what it wrote"


@pytest.fixture(scope="module")
def terms() -> list[Term]:
    return read(FILE.read_text("utf-8"))


def test_every_public_name_has_its_row(terms: list[Term]) -> None:
    known = {term.term for term in terms}
    missing = [term for term in completed([], public()) if term.term not in known]
    assert missing == [], f"rows to add ({MEND}):\n" + "\n".join(term.line() for term in missing)


def test_no_row_is_unused_and_each_tells_where_it_is_used(terms: list[Term]) -> None:
    right = {term.term: term.used for term in completed(terms, public())}
    wrong = [f"{term.term}: now {sorted(term.used)}, used in {sorted(right.get(term.term, []))}"
             for term in terms if term.used != right.get(term.term)]  # fmt: skip
    assert wrong == [], f"{MEND}:\n" + "\n".join(wrong)


def test_a_term_has_the_same_unit_wherever_it_is_used(terms: list[Term]) -> None:
    known = {term.term: set(units(term.unit)) for term in terms}
    wrong = [
        f"{name.term} is [{name.unit}] in {' '.join(name.used)}, in the file {known[name.term]}"
        for name in public()
        if name.term in known and not set(units(name.unit)) <= known[name.term]
    ]
    assert wrong == []


def test_every_row_has_a_meaning_and_stands_once_in_order(terms: list[Term]) -> None:
    assert [term.term for term in terms if not term.meaning.strip()] == []
    assert [term for term, count in Counter(t.term for t in terms).items() if count > 1] == []
    assert FILE.read_text("utf-8") == text_of(terms), "sort it: python -m tests.nomenclature"


def test_completing_adds_keeps_and_drops() -> None:
    trade = Term("seal", "", "", "ring at the tap", frozenset())
    gone = Term("old", "", "m", "no longer used", frozenset({"wall"}))
    wall = Term("wall", "t", "m", "liner wall", frozenset({"wet_out"}))
    used = replace(wall, symbol="", meaning="thickness", used=frozenset({"wall"}))
    new = Term("cover", "", "m", "soil, above the crown", frozenset({"wall"}))
    rows = completed([trade, gone, wall], [used, new])
    assert rows == [trade, replace(wall, used=frozenset({"wall"})), new]
    assert read(text_of(rows)) == sorted(rows, key=lambda row: row.term)
    assert '"soil, above the crown"' in new.line()
