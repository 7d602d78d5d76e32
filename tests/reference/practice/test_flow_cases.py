"""Computed capacities of lined laterals (C) and slopes by the code (S)."""

from __future__ import annotations

import pytest
from scipy.optimize import brentq

from drainwright.engineering.gravity_flow import capacity_ratio
from drainwright.units import parse, to_si
from tests.check_rows import record

pytestmark = pytest.mark.published

PAGE = "reference values of the project"


@pytest.mark.parametrize(
    ("host", "liner", "printed"),
    [(0.013, 0.010, "110.5"), (0.013, 0.012, "92.1"), (0.010, 0.010, "85.0")],
)
def test_four_inch_with_three_millimeters(host: float, liner: float, printed: str) -> None:
    ours = 100 * float(capacity_ratio(to_si(4, "in"), 0.003, host, liner))
    record("flow", f"4 in with 3 mm, n {host} to {liner}", printed, ours, "%", None, PAGE, "C")


def test_capacity_clause_of_a_city() -> None:
    """Lined capacity at least the host's, n 0.013 and 0.011: San Francisco, practice.md."""
    page = "San Francisco capacity clause, computed"
    least = brentq(lambda dr: float(capacity_ratio(0.003 * dr, 0.003, 0.013, 0.011)) - 1, 10, 100)
    record("flow", "DR that keeps the capacity, n 0.013 to 0.011", "32.94", float(least), "1",
           None, page, "C")  # fmt: skip
    for wall, printed in ((0.003, "1.0047"), (0.0045, "0.923")):
        ours = float(capacity_ratio(to_si(4, "in"), wall, 0.013, 0.011))
        record("flow", f"4 in with {wall * 1000:g} mm, n 0.013 to 0.011", printed, ours, "1", None,
               page, "C")  # fmt: skip


@pytest.mark.parametrize(("text", "percent"), [("1/4 in/ft", 2.0833), ("1/8 in/ft", 1.0417)])
def test_slopes_as_codes_print_them(text: str, percent: float) -> None:
    """4 in at 1/4 in/ft, 6 in at 1/8 in/ft: Davison MI and others (S)."""
    assert parse(text, "share") == pytest.approx(percent / 100, abs=5e-7)
