from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from drainwright.errors import PaperError
from drainwright.papers.mix_ticket import NEEDED, Override, mix_ticket_pdf, ticket_code
from drainwright.records.premises import Premises
from drainwright.records.work_sheet import Fitness
from drainwright.units import UnitSystem
from tests.papers import pdf_reading
from tests.papers.sheets import FIGURES, RESIN, TUBE, sheet

US, SI = UnitSystem.US, UnitSystem.SI
PREMISES = (Premises("P-14", "14 Weaver’s Row"), Premises("P-15", "16 Weaver’s Row"))
FOUR_TO_ONE = replace(RESIN, ratio_a=4, ratio_b=1)


@cache
def plain_text(system: UnitSystem) -> str:
    """Text of the plain ticket, made once."""
    return text_of(system)


def text_of(system: UnitSystem = US, **changes: object) -> str:
    given = sheet(resin=FOUR_TO_ONE, **changes)
    return pdf_reading.text(mix_ticket_pdf(given, revision=3, system=system))


# 28.6 lb = 12.97274 kg, 7.1 lb = 3.22051 kg; 7.1/1.02 = 6.961, 7.1/0.98 = 7.245,
# 7.1/1.05 = 6.762, 7.1/0.95 = 7.474 lb: B for the A above at a ratio off by 2 and 5 %
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("system", "words"),
    [
        (US, "A, resin 28.60 lb"),
        (US, "B, hardener 7.10 lb"),
        (US, "A + B 35.70 lb"),
        (US, "B from 6.96 lb to 7.24 lb is within 2 %"),
        (US, "B below 6.76 lb or above 7.47 lb is off by more than 5 %: do not use it."),
        (US, "cut length 40 ft 6 in 40.5 ft"),
        (US, "roller gap 6.80 mm"),
        (SI, "A, resin 12.973 kg"),
        (SI, "B, hardener 3.221 kg"),
        (SI, "cut length 12.34 m"),
    ],
)
def test_masses_and_their_limits(system: UnitSystem, words: str) -> None:
    assert words in plain_text(system)


def test_one_page_with_go_no_go_and_water_off_at_every_premises() -> None:
    lines = ("Witness cup ready", *(f"Water off: {place.address}" for place in PREMISES))
    pdf = mix_ticket_pdf(sheet(resin=FOUR_TO_ONE, go_no_go=lines), revision=3)
    (text,) = pdf_reading.pages(pdf)
    assert all(words in text for words in lines)
    assert "4 : 1 by weight" in text
    assert "Not released before these are done: 6.4 ft: Cut the roots." in text
    assert "Address proved: dye, R. Vale, 2026-11-02." in text
    assert "mixed + 2 h 15 =" in text


def test_a_lateral_that_is_not_lined_has_no_ticket() -> None:
    with pytest.raises(PaperError, match="not lined"):
        mix_ticket_pdf(sheet(outcome=Fitness.STOP), revision=3)


@pytest.mark.parametrize("key", NEEDED)
def test_no_ticket_without_its_numbers(key: str) -> None:
    figures = tuple(f for f in FIGURES if f.key != key)
    with pytest.raises(PaperError, match=key):
        mix_ticket_pdf(sheet(figures=figures), revision=3)


def test_no_address_proof_no_ticket_but_by_name_and_reason() -> None:
    unproved = sheet(lateral=replace(sheet().lateral, proof=None))
    with pytest.raises(PaperError, match="serves its address"):
        mix_ticket_pdf(unproved, revision=3)
    with pytest.raises(PaperError, match="name and the reason"):
        mix_ticket_pdf(unproved, revision=3, override=Override("R. Vale", " "))
    override = Override("R. Vale", "only house on the block")
    text = pdf_reading.text(mix_ticket_pdf(unproved, revision=3, override=override))
    assert "Address not proved; set aside by R. Vale: only house on the block." in text


def test_waits_for_the_engineer_where_asked() -> None:
    assert "Not released before the engineer has answered" in text_of(outcome=Fitness.ASK)


def test_demo_resin_never_in_a_real_project() -> None:
    project = replace(sheet().project, demo=False)
    with pytest.raises(PaperError, match="demo"):
        mix_ticket_pdf(sheet(project=project, tube=replace(TUBE, demo=False)), revision=3)


@pytest.mark.analytic
def test_the_code_holds_project_lateral_revision_and_grams() -> None:
    assert ticket_code(sheet(), 3) == "DW1|demo|A-07|3|12973|3221"
    odd = sheet(lateral=replace(sheet().lateral, key="A|07"))
    assert ticket_code(odd, 3) == "DW1|demo|A/07|3|12973|3221"


def test_the_longest_ticket_stays_on_one_page() -> None:
    lines = tuple(f"Water off, traps filled: {n} A Rather Long Street Name West" for n in range(16))
    reasons = sheet().reasons * 4
    pdf = mix_ticket_pdf(sheet(reasons=reasons, go_no_go=lines), revision=3, system=US)
    assert len(pdf_reading.pages(pdf)) == 1


def test_the_ticket_follows_the_order_of_work() -> None:
    text = plain_text(US)
    heads = ("1 Release", "2 Weigh", "3 Wet out", "4 Clock")
    places = [text.index(words) for words in heads]
    assert places == sorted(places)
    assert text.index("released by") < text.index("2 Weigh")


@pytest.mark.parametrize(
    ("outcome", "stamp"),
    [
        (Fitness.PREPARE, "NOT RELEASED: works first"),
        (Fitness.ASK, "NOT RELEASED: ask the engineer"),
    ],
)
def test_an_unready_ticket_is_stamped(outcome: Fitness, stamp: str) -> None:
    assert stamp in text_of(outcome=outcome)
    assert "NOT RELEASED" not in text_of(outcome=Fitness.LINE, reasons=())
