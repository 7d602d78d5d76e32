"""The steps a project starts with ask for what the trade writes down."""

from __future__ import annotations

import pytest

from drainwright.records.field_step import START_STEPS

STEPS = {step.key: step for step in START_STEPS}


# TRADE 8, 10, 14, 15
@pytest.mark.parametrize(
    ("step", "readings"),
    [
        ("inversion", {"cable_reference", "cable_tied_to", "gauge", "bladder_pressure"}),
        ("seals", {"seal_lot"}),
        ("post_tv", {"water_level"}),
        ("wet_out", {"left_over"}),
        ("mixed", {"part_a", "part_b", "lot_a", "lot_b", "tube_lot", "collar_lot"}),
        ("trimmed", {"end_to_cleanout"}),
    ],
)
def test_what_the_trade_writes_down_is_asked_for(step: str, readings: set[str]) -> None:
    assert readings <= {asked.name for asked in STEPS[step].readings}


def test_air_is_on_before_steam_is_shut() -> None:
    # TRADE 15: at the change air is on and shown before steam is shut
    order = list(STEPS)
    assert "air_on" in order
    assert order.index("steam_on") < order.index("air_on") < order.index("steam_shut")
