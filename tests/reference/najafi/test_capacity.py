"""Capacity after lining: Najafi, Table 2.14 (full pipe, liner n 0.010), second-hand."""

from __future__ import annotations

import pytest

from drainwright.engineering.gravity_flow import capacity_ratio
from drainwright.records.specification import DEFAULT_LIMITS
from tests.check_rows import record

pytestmark = pytest.mark.published

TABLE = "Najafi, Trenchless Technology Piping, Table 2.14"


@pytest.mark.parametrize(
    ("roughness", "ratio", "printed"),
    [(0.014, 30, "117"), (0.014, 50, "126"), (0.016, 30, "133"), (0.016, 50, "144")],
)
def test_table(roughness: float, ratio: int, printed: str) -> None:
    ours = 100 * float(capacity_ratio(0.003 * ratio, 0.003, roughness, 0.010))
    record("flow", f"capacity after lining, n {roughness}, DR {ratio}", printed, ours, "%", 1.0,
           TABLE, "S2", "one printed cell is 0.5 point high, one a rounding tie")  # fmt: skip


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [("roughness_liner", 0.009, 0.012), ("roughness_host", 0.013, 0.017)],
)
def test_default_roughness_lies_in_the_book_range(name: str, low: float, high: float) -> None:
    """Liner 0.009-0.012, clay and concrete 0.013-0.017: Najafi, Table 2.13 (S2)."""
    value = DEFAULT_LIMITS[name].value
    assert value is not None
    assert low <= value <= high
