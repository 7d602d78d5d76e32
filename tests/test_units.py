"""Reading quantities and showing them."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drainwright.errors import Fault, InputError, OutOfRangeError
from drainwright.units import (
    KINDS,
    UnitSystem,
    fault_text,
    feet_and_inches,
    from_si,
    kind_unit,
    parse,
    parse_in,
    parse_number,
    parse_unit,
    show,
    to_si,
)

US, SI = UnitSystem.US, UnitSystem.SI


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("48 in", "diameter", 1.2192),
        ('6"', "diameter", 0.1524),
        ("6 inches", "diameter", 0.1524),
        ("3/8 in", "thickness", 0.009525),
        ("1 1/2 in", "diameter", 0.0381),
        ("1-1/2 in", "diameter", 0.0381),
        ("1½ in", "diameter", 0.0381),
        ("½ in", "diameter", 0.0127),
        ("12'-6\"", "length", 3.81),
        ("12' 6\"", "length", 3.81),
        ("12'", "length", 3.6576),
        ("12 ft 6 in", "length", 3.81),
        ("12ft6in", "length", 3.81),
        ("12'-6 1/2\"", "length", 3.8227),
        ("-12'-6\"", "length", -3.81),
        ("12.5 ft", "length", 3.81),
        ("1e-3 m", "wall", 0.001),
        ("−5 °C", "temperature", 268.15),
        ("140 degC", "temperature", 413.15),
        ("-40 degF", "temperature", 233.15),
        ("18 degF", "temperature_difference", 10.0),
        ("5 °C", "temperature_difference", 5.0),
        ("2 %", "share", 0.02),
        ("0.5", "share", 0.5),
        ("7 psig", "pressure", 48263.301052),
        ("1 bar", "pressure", 1e5),
        ("1 mgd", "plant_flow", 0.0438126364),
        ("1 gpm", "flow", 6.30901964e-5),
        ("1 cfs", "storm_flow", 0.028316846592),
        ("2 day", "time", 172800.0),
        ("120 lbf/ft^3", "unit_weight", 18850.4957),
        ("120 lb/ft^3", "unit_weight", 18850.4957),
        ("57 kJ/mol", "molar_energy", 57000.0),
        ("2.1e9 1/min", "rate", 3.5e7),
        ("0.22 W/m/K", "conductivity", 0.22),
    ],
)
def test_reads_quantities(text: str, kind: str, expected: float) -> None:
    assert parse(text, kind) == pytest.approx(expected, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "kind", "word"),
    [
        ("", "length", "not a number"),
        ("abc", "length", "not a number"),
        ("nan m", "length", "not a number"),
        ("inf m", "length", "not a number"),
        ("5", "length", "no unit"),
        ("5 lb", "length", "something else"),
        ("5 foo", "length", "not a unit"),
        ("4 5 ft", "length", "not a number"),
        ("3/0 in", "diameter", "not a number"),
        ("1e400 m", "length", "too large"),
        ("1,5 m", "length", "not a number"),
        ("5 ft; import os", "length", "not a number"),
        ("5 __import__", "length", "not a number"),
        ("12' 6 psi", "length", "not a"),
    ],
)
def test_refuses_what_is_no_quantity(text: str, kind: str, word: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, kind, "field")
    assert word in caught.value.faults[0].message
    assert caught.value.faults[0].name == "field"


def test_a_bare_number_takes_the_column_unit() -> None:
    assert parse_in("4", "diameter", "in") == pytest.approx(0.1016)
    assert parse_in("100 mm", "diameter", "in") == pytest.approx(0.1)
    assert parse_unit("degF", "temperature") == pytest.approx((5 / 9, 255.3722222222))


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    made: pint.UnitRegistry[float] = pint.UnitRegistry()
    made.define("Mgal = 1e6 * gallon")
    return made


@pytest.mark.independent
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_shown_units_agree_with_pint(kind: str, registry: pint.UnitRegistry[float]) -> None:
    for system in UnitSystem:
        unit = kind_unit(kind, system)
        si = KINDS[kind].si
        name = {"1": "dimensionless", "%": "percent", "lb/h": "pound/hour"}.get(unit, unit)
        name = name.replace("gal/", "gallon/")
        quantity = registry.Quantity(3.0, registry.parse_units(name))
        base = "dimensionless" if si == "1" else si
        expected = quantity.to(registry.parse_units(base)).magnitude
        assert to_si(3.0, unit) == pytest.approx(expected, rel=1e-6)


@given(
    st.floats(-1e6, 1e6, allow_nan=False),
    st.sampled_from(sorted(KINDS)),
    st.sampled_from(list(UnitSystem)),
)
def test_units_round_trip(value: float, kind: str, system: UnitSystem) -> None:
    unit = kind_unit(kind, system)
    assert to_si(from_si(value, unit), unit) == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(st.integers(-(10**6), 10**6))
def test_feet_and_inches_reads_back(quarters: int) -> None:
    value = quarters * 0.0254 / 4
    assert parse(feet_and_inches(value), "length") == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (39 * 0.3048 + 10 * 0.0254, "39 ft 10 in"),
        (0.0254 * 9.5, "9 1/2 in"),
        (0.0254 * 0.25, "1/4 in"),
        (0.0, "0 in"),
        (0.3048 * 12 - 0.001, "12 ft 0 in"),
        (-0.3048, "-1 ft 0 in"),
    ],
)
def test_feet_and_inches(value: float, text: str) -> None:
    assert feet_and_inches(value) == text


def test_shows_for_each_reader() -> None:
    assert show(12.13104, "length", US).text == "39.8 ft"
    assert show(12.13104, "length", SI).text == "12.13 m"
    assert show(0.003, "wall", US).text == "3.00 mm"
    assert show(373.15, "temperature", US).text == "212 °F"
    assert show(math.pi / 8, "angle", US).text == "22.5°"
    assert show(-1e-9, "length", US).text == "0.0 ft"
    assert show(1.105, "ratio", US).text == "1.105"


def test_plain_numbers_and_fractions() -> None:
    assert parse_number("3/8") == 0.375
    assert parse_number("1 1/2") == 1.5
    assert parse_number("12 ft") is None
    assert parse_number("12O") is None


def test_a_fault_is_told_in_the_readers_units() -> None:
    fault = OutOfRangeError("wall", 0.5, "m", 0.001, 0.1).faults[0]
    assert fault_text(fault, US, {"wall": "wall"}) == "wall: 500 mm is outside 1 to 100 mm"
    placed = Fault("length", "“x” is not a number", "x").placed(file="a.csv", row=3, column="B")
    assert fault_text(placed, US) == "a.csv, row 3, column B: length: “x” is not a number"
