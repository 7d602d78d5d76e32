"""Survey sheet, tube order, field form and notices."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import pytest

from drainwright.errors import PaperError
from drainwright.papers.hand_form import ENDS, hand_form_pdf, readings_of
from drainwright.papers.notice import NoticeFacts, notice_pdf
from drainwright.papers.notice_words import WORDS
from drainwright.papers.sheet_head import Issue
from drainwright.papers.survey_sheet import survey_sheet_pdf
from drainwright.papers.tube_order import Ordered, tube_order_pdf
from drainwright.planning.site import Site
from drainwright.records.field_step import START_STEPS
from drainwright.records.premises import EntryState, Premises
from drainwright.records.survey import ObservationKind, SurveyMethod
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import UnitSystem
from tests.papers import pdf_reading
from tests.papers.sheets import ISSUED, SEEN, TUBE, sheet
from tests.planning.sites import seen, site, survey

US, SI = UnitSystem.US, UnitSystem.SI
ISSUE = Issue(2, ISSUED, "R. Vale")


# ---------------------------------------------------------------- survey sheet


def survey_text(there: Site, system: UnitSystem = US) -> str:
    return pdf_reading.text(survey_sheet_pdf(there, ISSUE, system=system))


@pytest.mark.analytic
def test_observations_with_place_clock_code_and_words() -> None:
    odd = seen(ObservationKind.UNKNOWN, 30, code="XYZ A", remark="#see *film*", still="0031.jpg")
    text = survey_text(site(*SEEN, odd))
    assert "What was seen: 9 observations, 1 with a code not read here" in text
    assert "6.4 ft fine roots 20 %" in text
    assert "13.1 ft 10 o’clock dripping" in text
    assert "26.0 ft 29.0 ft water 15 %" in text
    assert "XYZ A #see *film* 0031.jpg" in text
    assert "Nov 2, 2026, 09:30" in text
    assert "A survey older than 60 days serves for design only." in text
    assert "7.92 m 8.84 m water 15 %" in survey_text(site(*SEEN), SI)


@pytest.mark.analytic
def test_a_cleanout_camera_s_footage_is_turned_around() -> None:
    turned = survey(seen(ObservationKind.ROOTS, 11.0), method=SurveyMethod.CLEANOUT)
    text = survey_text(site(survey=turned))
    assert "footage" in text
    assert "30.0 ft 11.0 ft roots" in text


def test_no_survey_no_survey_sheet() -> None:
    with pytest.raises(PaperError, match="no survey"):
        survey_sheet_pdf(site(survey=None), ISSUE)


def test_a_hundred_observations_go_over_pages_with_the_head_of_the_table() -> None:
    many = [seen(ObservationKind.CRACK, 0.4 * n, remark=f"no. {n} seen") for n in range(100)]
    found = pdf_reading.pages(survey_sheet_pdf(site(*many), ISSUE))
    assert len(found) > 2
    assert all(f"no. {n} seen" in " ".join(found) for n in range(100))
    assert all("from the tap" in page for page in found[:3])


# ---------------------------------------------------------------- tube order


def orders() -> list[Ordered]:
    def one(key: str, **changes: object) -> WorkSheet:
        return sheet(lateral=replace(sheet().lateral, key=key), **changes)

    tube = replace(TUBE, lead_time_days=14)
    return [
        Ordered(one("A-01", tube=tube), 1),
        Ordered(one("A-02", tube=tube), 4),
        Ordered(one("A-03", outcome=Fitness.STOP), 1),
        Ordered(one("A-04", outcome=Fitness.ASK), 1),
        Ordered(one("A-05", tube=None), 1),
        Ordered(one("A-06", figures=()), 1),
    ]


@pytest.mark.analytic
def test_tubes_lengths_total_and_order_date() -> None:
    project = sheet().project
    due = dt.date(2026, 12, 20)
    pdf = tube_order_pdf(project, orders(), ISSUE, needed_on=due, system=US)
    text = pdf_reading.text(pdf)
    # 2 × 40.5 ft = 81.0 ft; 20 December less 14 days
    assert "T-4-3.0: 4 in × 3.00 mm · 2 tubes, 81.0 ft in all" in text
    assert "lead time 14 days, order by Dec 6, 2026" in text
    assert "A-02 rev 4" in text.replace("A-02  rev", "A-02 rev")
    assert "A-03: do not line · A-04: waits for the engineer" in text
    assert "A-05: no tube chosen · A-06: no cut length" in text
    width, height = pdf_reading.page_size(pdf)
    assert width > height
    assert "24.69 m in all" in pdf_reading.text(tube_order_pdf(project, orders(), ISSUE, system=SI))


def test_what_is_lined_already_is_not_ordered_again() -> None:
    given = [replace(orders()[0], lined=True), orders()[1]]
    text = pdf_reading.text(tube_order_pdf(sheet().project, given, ISSUE, system=US))
    assert "A-01: lined already" in text
    assert "1 tube, 40.5 ft in all · lead time 14 days before the day of need" in text


def test_an_empty_order_says_so() -> None:
    assert "No tube to order." in pdf_reading.text(tube_order_pdf(sheet().project, [], ISSUE))


def test_a_demo_tube_is_never_ordered_for_a_real_project() -> None:
    real = replace(sheet().project, demo=False)
    with pytest.raises(PaperError, match="demo"):
        tube_order_pdf(real, [Ordered(sheet(project=real), 1)], ISSUE)


# ---------------------------------------------------------------- field form


def test_the_form_has_every_step_and_window_and_then_the_readings() -> None:
    pdf = hand_form_pdf(sheet(), revision=3, system=US)
    text, readings = pdf_reading.pages(pdf)
    assert all(step.words in text for step in START_STEPS)
    assert all(end in text for end in ENDS)
    assert "4.60 psi to 9.00 psi" in text
    assert "79.6 ft 79 ft 7 in" in text
    assert all(words in text for words in ("read by", "entered by", "shut steam, hold with air"))
    for head in ("cable, ft", "tube, psi", "bladder, psi", "exhaust, °F"):
        assert head in readings
    assert "seated by: 2 h 15 later" in text
    assert "gas in, °C" in pdf_reading.text(hand_form_pdf(sheet(), revision=3, system=SI))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("minutes", "lines"),
    [(None, 30), (68, 30), (170, 48), (2000, 150)],  # one each 5 min and 14 beside, 30 to 150
)
def test_the_form_has_a_line_for_every_reading(minutes: int | None, lines: int) -> None:
    kept = tuple(figure for figure in sheet().figures if figure.key != "steam.hold")
    hold = next(figure for figure in sheet().figures if figure.key == "steam.hold")
    more = () if minutes is None else (replace(hold, value=minutes * 60.0),)
    assert readings_of(sheet(figures=(*kept, *more))) == lines


def test_no_form_for_a_lateral_that_is_not_lined() -> None:
    with pytest.raises(PaperError, match="not lined"):
        hand_form_pdf(sheet(outcome=Fitness.STOP), revision=3)


# ---------------------------------------------------------------- notices

PLACES = (
    Premises("P-14", "14 Weaver’s Row", "J. Moss", entry=EntryState.SIGNED),
    Premises("P-15", "16 Weaver’s Row", "A. Prado", language="es"),
    Premises("P-16", "18 #*Row*", language="xx"),
)
FACTS = NoticeFacts(dt.date(2026, 12, 21), dt.time(8), dt.time(15, 30), "", "555-0100")


def test_a_notice_for_each_premises_in_its_language() -> None:
    given = sheet()
    pdf = notice_pdf(given.project, given.lateral, PLACES, FACTS, ISSUE, system=US)
    english, spanish, other = pdf_reading.pages(pdf)
    assert "Dec 21, 2026 from 8:00 AM to 3:30 PM" in english
    assert "out of service for up to 8 hours" in english
    assert "We have your right of entry." in english
    assert "Use no water" in english
    assert "555-0100" in english
    assert "2026-12-21 desde 08:00 hasta 15:30" in spanish
    assert "Firme por favor el permiso de entrada" in spanish
    assert "18 #*Row*" in other
    assert "Please sign the right of entry" in other
    assert all("Draft" in page or "Borrador" in page for page in (english, spanish, other))


def test_without_premises_nobody_can_be_told() -> None:
    given = sheet()
    with pytest.raises(PaperError, match="no premises"):
        notice_pdf(given.project, given.lateral, (), FACTS, ISSUE)


def test_an_address_stands_once() -> None:
    given = sheet()
    resident = (Premises("P-14", "9 Weaver’s Row", "Resident of 9 Weaver’s Row"),)
    pdf = notice_pdf(given.project, given.lateral, resident, FACTS, ISSUE, system=US)
    assert "Resident of 9 Weaver’s Row We will renew" in pdf_reading.text(pdf)


def test_unknown_facts_are_lines_to_write_on() -> None:
    given = sheet()
    pdf = notice_pdf(given.project, given.lateral, PLACES[:1], NoticeFacts(), ISSUE, system=US)
    text = pdf_reading.text(pdf)
    assert "None" not in text
    assert len(pdf_reading.pages(pdf)) == 1


@pytest.mark.parametrize("words", WORDS.values())
def test_languages_say_as_much(words: object) -> None:
    english = WORDS["en"]
    assert len(words.rules) == len(english.rules)  # type: ignore[attr-defined]
    assert all(getattr(words, name) for name in english.__slots__)


# ---------------------------------------------------------------- fonts of all


def test_every_paper_has_our_fonts_only() -> None:
    given = sheet()
    made = [
        survey_sheet_pdf(site(*SEEN), ISSUE),
        tube_order_pdf(given.project, orders(), ISSUE),
        hand_form_pdf(given, revision=1),
        notice_pdf(given.project, given.lateral, PLACES, FACTS, ISSUE),
    ]
    for pdf in made:
        found = pdf_reading.fonts(pdf)
        assert found
        assert all("DrainwrightSans" in name and embedded for name, embedded in found)
