"""The work sheet says what its record says, in the units asked for, on as many pages as stated."""

from __future__ import annotations

import datetime as dt
import math
import re
from dataclasses import replace
from functools import cache

import pytest

from drainwright.errors import PaperError
from drainwright.papers.crew_words import HIDDEN, for_crew
from drainwright.papers.work_sheet import work_sheet_pdf
from drainwright.records.standing import Knowledge
from drainwright.records.survey import ObservationKind
from drainwright.records.work_sheet import Figure, FigureInput, Fitness, Reason, WorkSheet
from drainwright.sources import cite
from drainwright.units import UnitSystem
from tests.papers import pdf_reading
from tests.papers.sheets import CHECKS, FIGURES, ISSUED, PSI, RESIN, ROOTS, SEEN, TUBE, sheet
from tests.planning.sites import FOOT, seen

US, SI = UnitSystem.US, UnitSystem.SI
ASSUMED = Knowledge.ASSUMED
STOP = Reason(
    Fitness.STOP,
    "foreign pipe",
    "Something foreign crosses the pipe; it may be a gas line.",
    cite("practice", "safety"),
    17 * FOOT,
    work="No jet, no cutter, keep clear, call the utility.",
)


@cache
def plain_text(system: UnitSystem) -> str:
    """Text of the plain sheet, made once."""
    return text_of(sheet(), system)


def text_of(given: WorkSheet, system: UnitSystem = US, revision: int = 3) -> str:
    return pdf_reading.text(work_sheet_pdf(given, revision=revision, system=system))


# numbers converted by hand from the SI values of tests/papers/sheets.py
@pytest.mark.analytic
@pytest.mark.parametrize(
    "words",
    [
        "cut length 40 ft 6 in 40.5 ft",
        "lined length 39 ft 10 in 39.8 ft",
        "wall, needed 1.67 mm",
        "roller gap 6.80 mm",
        "part A 28.60 lb",
        "part B 7.10 lb",
        "for each foot 0.88 lb/ft",
        "launch pressure 7.00 psi",
        "cable, seated 79 ft 7 in 79.6 ft",
        "steam time 68 min",
        "pull out by 2 h 33",
        "let down below 100 °F",
        "tap 112.4 ft (112 ft 5 in) from MH 12, 2 o’clock, wye",
        "8 in clay, MH 12 to MH 13",
        "Nov 2, 2026, from the main, rev 2",
    ],
)
def test_us_numbers(words: str) -> None:
    assert words in plain_text(US)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "words",
    [
        "cut length 12.34 m",
        "wall, needed 1.67 mm",
        "part A 12.973 kg",
        "for each foot 1.310 kg/m",
        "launch pressure 48.3 kPa",
        "let down below 38 °C",
        "34.26 m from MH 12",
        "2026-11-02, from the main",
        "2026-11-25 08:05 CST by R. Vale",
    ],
)
def test_si_numbers(words: str) -> None:
    assert words in plain_text(SI)


@pytest.mark.parametrize(("system", "size"), [(US, (612, 792)), (SI, (595, 842))])
def test_two_pages_of_the_system_s_paper(system: UnitSystem, size: tuple[int, int]) -> None:
    pdf = work_sheet_pdf(sheet(), revision=3, system=system)
    assert len(pdf_reading.pages(pdf)) == 2
    assert pdf_reading.page_size(pdf) == size


def test_units_are_the_project_s_unless_asked_otherwise() -> None:
    project = replace(sheet().project, units=SI)
    assert "12.34 m" in pdf_reading.text(work_sheet_pdf(sheet(project=project), revision=1))


def test_every_figure_s_label_is_there_but_the_engineer_s() -> None:
    text = text_of(sheet())
    for figure in FIGURES:
        assert (figure.label in text) is (not HIDDEN.match(figure.key)), figure.key


def test_no_engineer_s_words_on_the_crew_s_paper() -> None:
    assert not re.search(r"thrust|\bDR\b|Glock|close[- ]fit", text_of(sheet()), re.IGNORECASE)


def test_a_failed_check_is_never_hidden() -> None:
    failed = [replace(c, capacity=c.demand, outcome=CHECKS[2].outcome) for c in CHECKS[3:4]]
    text = text_of(sheet(checks=tuple(failed)))
    assert "Check not met: a check that stands in the design note" in text
    assert "Glock" not in text


def test_failed_and_open_checks_stand_on_the_first_page() -> None:
    first = pdf_reading.pages(work_sheet_pdf(sheet(), revision=3))[0]
    assert "Check not met: capacity after lining" in first
    assert "1 not assessed" in first


def test_checks_with_demand_capacity_ratio_and_outcome_in_words() -> None:
    text = text_of(sheet())
    assert re.search(
        r"not met capacity after lining \d+ a thicker tube breaks it 1\.000 0\.923 0\.92", text
    )
    assert re.search(r"not assessed landing of the collar \d+ tap hole not measured — — —", text)


def test_sources_are_numbered_and_their_marks_spelled_out() -> None:
    last = pdf_reading.pages(work_sheet_pdf(sheet(), revision=3))[-1]
    assert "ASTM F1216, Appendix X1, X1.2 (read in a second-hand copy of the named source)" in last
    assert "From memory, check your specification" in last


def test_assumed_inputs_are_boxed_with_what_rests_on_them() -> None:
    last = pdf_reading.pages(work_sheet_pdf(sheet(), revision=3))[-1]
    assert "wall, needed, least pressure: water below ground 5.0 ft (assumed)" in last
    assert "inside diameter 4" not in last


def test_revision_issue_and_what_it_was_made_from() -> None:
    text = text_of(sheet())
    assert "Weaver Hill, phase 1 · work sheet A-07 · revision 3" in text
    assert "Nov 25, 2026, 8:05 AM CST by R. Vale" in text
    assert "Revision 3: not valid after a change" in text
    assert "lateral A-07 rev 4" in text
    assert "main segment A rev 1" in text


def test_a_draft_says_so() -> None:
    text = text_of(sheet(issued_at=None, issued_by=""), revision=0)
    assert "draft, not issued" in text
    assert "A draft: not valid for work" in text


def test_do_not_line_is_big_and_has_no_make_up_numbers() -> None:
    pdf = work_sheet_pdf(sheet(outcome=Fitness.STOP, reasons=(STOP, ROOTS)), revision=3, system=US)
    text = pdf_reading.text(pdf)
    assert "DO NOT LINE" in text
    assert "At 17.0 ft: Something foreign crosses the pipe" in text
    assert "call the utility" in text
    for number in ("40.5 ft", "28.6 lb", "6.80 mm", "7.00 psi", "68 min", "3.00 mm", "lined 39.8"):
        assert number not in text, number
    assert len(pdf_reading.pages(pdf)) == 2


def test_what_is_not_known_is_a_dash_with_its_reason() -> None:
    kept = tuple(f for f in FIGURES if f.key.startswith("length"))
    nan = Figure("wetout.roller_gap", "roller gap", math.nan, "wall", "no chart", cite("memory"))
    text = text_of(sheet(figures=(*kept, nan)))
    assert "steam time — the resin maker’s schedule is not entered".replace("’", "'") in text
    assert "roller gap — " in text
    assert "no chart" in text
    assert "nan" not in text


def test_demo_material_is_marked() -> None:
    assert "DEMO resin or tube, not for real use" in text_of(sheet())


@pytest.mark.parametrize(
    "changes", [{"tube": replace(TUBE, demo=False)}, {"resin": replace(RESIN, demo=False)}]
)
def test_demo_material_in_a_real_project_is_refused(changes: dict[str, object]) -> None:
    project = replace(sheet().project, demo=False)
    with pytest.raises(PaperError, match="demo"):
        work_sheet_pdf(sheet(project=project, **changes), revision=1)


SPECIAL = '#3 *A* _b_ $5 @home <c> `d` \\e // f -- [g] "h"'


def test_special_letters_in_all_user_s_text() -> None:
    given = sheet()
    lateral = replace(given.lateral, key="#*_$@<`", address=SPECIAL, material=SPECIAL)
    reason = replace(ROOTS, words=SPECIAL, work=SPECIAL)
    figure = Figure(
        "x.y",
        SPECIAL,
        SPECIAL,
        "",
        "",
        cite("memory"),
        (FigureInput(SPECIAL, SPECIAL, "", Knowledge.ASSUMED),),
    )
    made = sheet(
        lateral=lateral,
        project=replace(given.project, name=SPECIAL, town=SPECIAL),
        reasons=(reason,),
        figures=(figure,),
        cautions=(SPECIAL,),
        issued_by=SPECIAL,
    )
    assert text_of(made).count(SPECIAL) >= 9


def test_long_names_and_thirty_observations() -> None:
    given = sheet()
    kinds = list(ObservationKind)
    many = [seen(kinds[at % 26], 1 + at * 1.3) for at in range(30)]
    reasons = tuple(
        replace(ROOTS, distance=(1 + at) * FOOT, words=f"Roots number {at} and many words more.")
        for at in range(30)
    )
    long = "WH-2026-LATERAL-000123-B"
    made = sheet(
        *many,
        reasons=reasons,
        lateral=replace(given.lateral, key=long, address="1234567 Long Street Name " * 3),
        project=replace(given.project, name="Weaver Hill Sanitary Sewer Renewal Program " * 2),
    )
    found = pdf_reading.pages(work_sheet_pdf(made, revision=3, system=US))
    assert len(found) == 2
    assert all(f"Roots number {at} and" in " ".join(found) for at in range(30))
    assert "40.5 ft" in found[0]
    assert "steam time" in found[0]
    assert f"sheet 1 of {len(found)}" in found[0]
    assert found[-1].count("superintendent") == 1
    assert long in found[1]


@pytest.mark.parametrize("system", [US, SI])
def test_a_dense_sheet_stays_on_two_pages_with_the_deadlines_first(system: UnitSystem) -> None:
    """As many figures, checks, cautions and assumptions as a full plan has, and some more."""
    guess = (FigureInput("a temperature that nobody measured", 297.0, "temperature", ASSUMED),)
    counts = {"pressure": 4, "steam": 12, "boiler": 7, "collar": 7, "fit": 2, "seal": 1, "main": 1}
    more = tuple(
        Figure(f"{group}.n{at}", f"{group} number {at}", 3e4, "pressure", "", cite("memory"), guess)
        for group, count in counts.items()
        for at in range(count)
    )
    checks = tuple(replace(CHECKS[0], name=f"check number {at}") for at in range(11))
    cautions = tuple(f"A caution of some length, number {at}, to be read." for at in range(11))
    given = sheet(figures=(*FIGURES, *more), checks=checks, cautions=cautions)
    found = pdf_reading.pages(work_sheet_pdf(given, revision=3, system=system))
    assert len(found) == 2
    for words in ("inverted and seated by", "pressure number 3", "steam time", "cut length"):
        assert words in found[0]
    for figure in more:
        assert figure.label in " ".join(found)


def test_a_lateral_that_nobody_knows_still_gets_a_sheet() -> None:
    given = sheet()
    lateral = type(given.lateral)("A-07", "A", 30.0)
    made = sheet(lateral=lateral, survey=None, figures=(), checks=(), tube=None, resin=None)
    text = text_of(made)
    assert "size not known" in text
    assert "survey none" in text


def test_our_fonts_only_and_no_pixels() -> None:
    pdf = work_sheet_pdf(sheet(), revision=3)
    found = pdf_reading.fonts(pdf)
    assert found
    assert all("DrainwrightSans" in name and embedded for name, embedded in found)
    assert pdf_reading.images(pdf) == 0


def test_the_same_sheet_gives_the_same_bytes() -> None:
    once, again = (work_sheet_pdf(sheet(), revision=3) for _ in range(2))
    assert once == again
    other = sheet(issued_at=ISSUED + dt.timedelta(minutes=1))
    assert work_sheet_pdf(other, revision=3) != once


def test_seen_things_stand_on_the_profile() -> None:
    text = text_of(sheet(*SEEN))
    for words in ("fine roots 20 %", "dripping, 10 o’clock", "bend 22.5°", "cleanout"):
        assert words in text


@pytest.mark.parametrize(
    ("outcome", "revision", "stamp"),
    [
        (Fitness.LINE, 3, ""),
        (Fitness.LINE, 0, "DRAFT, not for work"),
        (Fitness.PREPARE, 3, "NOT RELEASED: works first"),
        (Fitness.ASK, 3, "NOT RELEASED: ask the engineer"),
    ],
)
def test_an_unready_sheet_is_stamped_on_each_page(
    outcome: Fitness, revision: int, stamp: str
) -> None:
    made = sheet(outcome=outcome, reasons=(), checks=())
    for page in pdf_reading.pages(work_sheet_pdf(made, revision=revision)):
        assert stamp in page
        assert stamp or "NOT RELEASED" not in page


def test_the_first_page_says_what_to_do_when_things_go_wrong() -> None:
    first = pdf_reading.pages(work_sheet_pdf(sheet(), revision=3))[0]
    assert "shut steam, hold with air, people out, call." in first


def test_steam_stands_in_the_order_of_work() -> None:
    keys = ("letdown", "last", "hold", "after_exhaust", "exhaust", "route")
    figures = [Figure(f"steam.{key}", key, 1.0, "number", "", cite("memory")) for key in keys]
    assert [figure.label for figure in for_crew(figures)] == [
        "route", "exhaust", "after_exhaust", "hold", "last", "letdown",
    ]  # fmt: skip


def test_a_lateral_that_is_not_lined_shows_all_its_reasons_at_once() -> None:
    reasons = tuple(replace(STOP, words=f"Reason {at}.") for at in range(9))
    made = sheet(outcome=Fitness.STOP, reasons=reasons)
    first = pdf_reading.pages(work_sheet_pdf(made, revision=3))[0]
    assert all(f"Reason {at}." in first for at in range(9))
    assert "on the next sheet Length" not in first


@pytest.mark.analytic
def test_resin_life_names_its_temperature_and_a_trap_seal_its_third_digit() -> None:
    air = FigureInput("air temperature", 297.039, "temperature", Knowledge.MEMORY)  # 75 °F
    life = Figure("resin.life_air", "resin life, in the air", 16800.0, "time", "",
                  cite("maker"), (air,))  # fmt: skip
    # 2 in of water = 0.072 psi (TRADE 4)
    seal = Figure("steam.trap_seal", "a 2 in trap seal holds only", 0.0722 * PSI, "pressure",
                  "", cite("geometry"))  # fmt: skip
    text = text_of(sheet(figures=(*FIGURES, life, seal)))
    assert "resin life, in the air, at 75 °F 4 h 40" in text
    assert "a 2 in trap seal holds only 0.072 psi" in text
