"""Errors carry their data."""

from __future__ import annotations

import math

import pytest

from drainwright.checks import Outcome, at_least, at_most, not_assessed
from drainwright.errors import (
    ConvergenceError,
    Fault,
    InputError,
    NotFoundError,
    OutOfRangeError,
    raise_if_any,
    require,
)
from drainwright.sources import MARKS, SOURCES, cite


def test_all_faults_travel_together() -> None:
    faults = [Fault("a", "is missing"), Fault("b", "is odd", file="x.csv", row=2)]
    with pytest.raises(InputError) as caught:
        raise_if_any(faults)
    assert caught.value.faults == tuple(faults)
    assert str(caught.value) == "a: is missing\nx.csv, row 2: b: is odd"
    raise_if_any([])


def test_the_tree_meets_pythons_own() -> None:
    assert issubclass(InputError, ValueError)
    assert issubclass(OutOfRangeError, InputError)
    assert issubclass(ConvergenceError, ArithmeticError)
    assert issubclass(NotFoundError, LookupError)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, -0.1, 1.1, 0.0])
def test_require_refuses(value: float) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        require("x", value, "m", above=0.0, high=1.0)
    fault = caught.value.faults[0]
    assert (fault.name, fault.unit, fault.low, fault.high) == ("x", "m", 0.0, 1.0)


def test_require_returns_what_is_in_range() -> None:
    assert require("x", 1.0, low=1.0, high=1.0) == 1.0


def test_checks_say_ratio_and_outcome() -> None:
    source = cite("practice")
    assert at_least("wall", 3.0, 2.0, "wall", source).ratio == 1.5
    assert at_least("wall", 1.0, 2.0, "wall", source).outcome is Outcome.NOT_MET
    assert at_most("gap", 4.0, 2.0, "wall", source).ratio == 0.5
    assert at_most("gap", 2.0, 2.0, "wall", source).outcome is Outcome.MET
    assert at_most("gas", 350.0, 340.0, "temperature", source).ratio is None
    missing = not_assessed("wall", "wall", source, "no reading")
    assert missing.ratio is None
    assert missing.outcome is Outcome.NOT_ASSESSED


def test_sources_are_known() -> None:
    with pytest.raises(KeyError):
        cite("nobody")
    with pytest.raises(KeyError):
        cite("practice", mark="X")
    assert {source.mark for source in SOURCES.values()} <= set(MARKS)
    assert cite("practice", mark="S2").effective_mark == "S2"
