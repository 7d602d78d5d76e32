"""A survey typed by hand: what is read, and what is odd."""

from __future__ import annotations

import pytest

from drainwright.operations.enter_survey import known_kinds
from drainwright.planning.survey_entry import (
    COLUMNS,
    Odd,
    TypedRow,
    kind_of,
    read_rows,
    typed_of,
)
from drainwright.records.survey import Observation, ObservationKind
from drainwright.units import FOOT, INCH, UnitSystem

Kind = ObservationKind
US, SI = UnitSystem.US, UnitSystem.SI
KNOWN = known_kinds()


def row(**cells: str) -> TypedRow:
    return TypedRow(cells)


def read(
    *rows: TypedRow, system: UnitSystem = US, zero: float = 0.0
) -> tuple[list[Observation], list[Odd]]:
    found, odd = read_rows(rows, KNOWN, system, zero)
    return [seen for _, seen in found], list(odd)


@pytest.mark.parametrize(
    ("text", "kind", "grade"),
    [
        ("ro", Kind.ROOTS, ""),
        ("roots", Kind.ROOTS, ""),
        ("inf, dr", Kind.INFILTRATION, "dripping"),
        ("crack, open", Kind.CRACK, "open"),
        ("OFF", Kind.OFFSET, ""),
        ("bend, hard", Kind.BEND, "hard"),
        ("cam", Kind.ABANDONED, ""),
        ("roots, thick", Kind.ROOTS, "thick"),  # a grade of one's own is kept as typed
    ],
)
def test_a_kind_is_known_by_its_beginning(text: str, kind: Kind, grade: str) -> None:
    found = kind_of(text, KNOWN)
    assert not isinstance(found, str)
    assert (found[0].kind, found[1]) == (kind, grade)


def test_a_beginning_of_several_kinds_names_them() -> None:
    found = kind_of("b", KNOWN)
    assert isinstance(found, str)
    assert "bend" in found
    assert "branch" in found
    assert "no kind" in str(kind_of("zz", KNOWN))


@pytest.mark.analytic
def test_numbers_are_taken_in_the_reader_s_units_or_their_own() -> None:
    seen, odd = read(
        row(distance="10", kind="offset, rad", measure="1/2", clock="10", clock_to="2"),
        row(distance="12'-6\"", kind="bend", measure="22.5"),
        row(distance="5 m", until="6 m", kind="water", measure="15"),
    )
    assert not odd
    assert seen[0].distance == pytest.approx(10 * FOOT)
    assert seen[0].measure == pytest.approx(0.5 * INCH)
    assert (seen[0].clock_from, seen[0].clock_to) == (10, 2)
    assert seen[1].distance == pytest.approx(12.5 * FOOT)
    assert seen[1].measure == pytest.approx(0.392699, abs=1e-6)  # pi / 8
    assert (seen[2].distance, seen[2].running_to, seen[2].measure) == (5.0, 6.0, 0.15)
    seen, _ = read(row(distance="3", kind="offset, rad", measure="6"), system=SI)
    assert seen[0].distance == 3.0
    assert seen[0].measure == pytest.approx(0.006)


@pytest.mark.analytic
def test_the_counter_at_the_tap_comes_off() -> None:
    seen, _ = read(row(distance="10", kind="branch"), zero=2 * FOOT)
    assert seen[0].distance == pytest.approx(8 * FOOT)


@pytest.mark.parametrize(
    ("cells", "column", "words"),
    [
        ({"kind": "roots"}, "distance", "is missing"),
        ({"distance": "x", "kind": "roots"}, "distance", "no distance"),
        ({"distance": "3"}, "kind", "is missing"),
        ({"distance": "3", "kind": "qq"}, "kind", "no kind"),
        ({"distance": "3", "kind": "roots", "measure": "big"}, "measure", "no size in %"),
        ({"distance": "3", "kind": "roots", "measure": "140 %"}, "measure", "can’t be meant"),
        ({"distance": "3", "kind": "roots", "measure": "3 in"}, "measure", "no size"),
        ({"distance": "3", "kind": "vermin", "measure": "3"}, "measure", "has no size"),
        ({"distance": "3", "kind": "crack", "clock": "13"}, "clock", "1 to 12"),
        ({"distance": "3", "kind": "crack", "clock_to": "3"}, "clock", "where it begins"),
        ({"distance": "3", "until": "2", "kind": "crack"}, "until", "before it begins"),
    ],
)
def test_what_is_wrong_is_told_with_its_row_and_column(
    cells: dict[str, str], column: str, words: str
) -> None:
    _, odd = read(row(distance="0", kind="start"), TypedRow(cells))
    wrong = [one for one in odd if one.wrong]
    assert [(one.row, one.column) for one in wrong] == [(1, column)]
    assert words in wrong[0].words


def test_what_is_odd_is_told_and_kept() -> None:
    seen, odd = read(
        row(distance="5", kind="roots"),
        row(distance="3", kind="bend", measure="45"),
        row(distance="3", kind="bend", measure="45"),
        row(),
    )
    assert len(seen) == 3
    assert not any(one.wrong for one in odd)
    told = {(one.row, one.words) for one in odd}
    assert (0, "its size is not given") in told
    assert (1, "lies before the row above it") in told
    assert (2, "stands there twice") in told


def test_what_is_not_touched_stays_as_read_to_the_last_digit() -> None:
    base = Observation(
        Kind.OFFSET, 5.36123456, 0.0061234, "small_length", "radial", 10.0, code="BAJ B",
        raw={"A": "BAJ", "B": "B", "D": "6"}, row=3, at_joint=True,
    )  # fmt: skip
    cells = typed_of(base, KNOWN, US)
    assert set(cells) == set(COLUMNS)
    seen, odd = read(TypedRow(cells, base))
    assert seen == [base]
    assert not odd
    seen, _ = read(TypedRow({**cells, "remark": "gap"}, base))
    assert seen[0].remark == "gap"
    assert (seen[0].distance, seen[0].measure, seen[0].code) == (base.distance, 0.0061234, "BAJ B")
    seen, _ = read(TypedRow({**cells, "kind": "crack"}, base))
    assert (seen[0].kind, seen[0].code) == (Kind.CRACK, "")
