"""Trouble cards: one for every failure the trade names, with what the clock and sheet allow."""

from __future__ import annotations

import pytest

from drainwright.planning.trouble_cards import CARDS, CLOCKS, live_cards
from drainwright.records.field_step import START_STEPS
from drainwright.units import UnitSystem
from tests.field_job import field_sheet

# TRADE 19 and 4, 5, 13, 15, 16, each by a word of its title
NAMED = (
    "cap blown", "wrong branch", "over-ran the cleanout", "carrier stuck", "bladder burst",
    "collar off", "gas alarm", "steam, hot water", "outdoors", "backs up", "witness cup",
    "change from steam", "not at temperature",
)  # fmt: skip


@pytest.mark.parametrize("words", NAMED)
def test_every_failure_of_the_trade_has_one_card(words: str) -> None:
    assert sum(words in card.title.casefold() for card in CARDS) == 1


def test_each_card_says_what_first_what_to_write_down_and_a_caution() -> None:
    steps = {step.key for step in START_STEPS}
    assert len({card.key for card in CARDS}) == len(CARDS)
    for card in CARDS:
        assert card.first, card.key
        assert card.record, card.key
        assert card.cautions, card.key
        assert set(card.clocks) <= set(CLOCKS)
        assert set(card.steps) <= steps


def test_steam_in_a_building_shuts_steam_and_holds_with_air_before_all_else() -> None:
    card = next(one for one in CARDS if one.key == "steam_in_building")
    assert card.first[0].startswith("Shut steam. Hold with air")
    assert any("People out" in line for line in card.first)


def test_no_card_tells_a_crew_to_skip_a_check() -> None:
    for card in CARDS:
        for line in (*card.first, *card.record, *card.cautions):
            assert "skip" not in line.casefold()
            assert "ignore" not in line.casefold()


def test_the_sheets_numbers_stand_on_the_card() -> None:
    live = next(
        one for one in live_cards(field_sheet(), UnitSystem.US) if one.card.key == "cap_blown"
    )
    assert dict(live.numbers) == {"at least": "4.60 psi", "at most (tube)": "9.00 psi"}
