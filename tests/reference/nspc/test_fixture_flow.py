"""Fixture units to peak flow: NSPC Table B.5.4 (S)."""

from __future__ import annotations

import pytest

from drainwright.engineering.fixture_flow import TABLE, fixture_flow
from tests.check_rows import record

pytestmark = pytest.mark.published

# as printed in the reference values: units, tank, flush valve
PRINTED = (
    (3, "3", None), (6, "5", "23"), (10, "8", "27"), (14, "10.5", "30"), (120, "49", "74"),
    (160, "57", "83"), (200, "65", "91"), (300, "85", "110"), (500, "125", "140"),
    (1000, "210", "210"),
)  # fmt: skip
GALLON_A_MINUTE = 231 * 0.0254**3 / 60


@pytest.mark.parametrize("supply", ["tank", "flush valve"])
def test_table(supply: str) -> None:
    for units, tank, valve in PRINTED:
        printed = tank if supply == "tank" else valve
        if printed is not None:
            ours = float(fixture_flow(units, supply)) / GALLON_A_MINUTE
            record("flow", f"{units} fixture units, {supply}", printed, ours, "gal/min", 1e-9,
                   TABLE, "S")  # fmt: skip
