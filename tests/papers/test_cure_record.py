"""The cure record: one page, every check with its mark and words, what is left out."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from drainwright.checks import at_least, at_most, not_assessed
from drainwright.drawing.cure_log_pictures import (
    CureBand,
    LoggedCure,
    Unknown,
    cure_along,
    plan_against_log,
    unknowns_moved,
)
from drainwright.errors import InputError
from drainwright.papers.cure_record import CureFacts, cure_record_data, cure_record_pdf
from drainwright.papers.sheet_head import Issue
from drainwright.records.cure_log import LogFile, LogFinding
from drainwright.records.cure_verdict import CureVerdict, Estimated
from drainwright.records.live_cure import CureAlong
from drainwright.sources import cite
from drainwright.units import UnitSystem
from tests.acceptance.logs import START, log, plain
from tests.papers.pdf_reading import pages, text
from tests.papers.sheets import ISSUED, sheet

MODEL = cite("cure-model")
LOG = replace(
    log(120.0, plain(120.0)[1]),
    files=(LogFile("A-04 #1.csv", "ab" * 32, 721, START, START),),
)


def verdict(count: int = 1) -> CureVerdict:
    return CureVerdict(
        "A-04", 1,
        (
            at_least("maker’s schedule, step 1", 1300.0, 1200.0, "time", MODEL, "at 150 °F"),
            at_most("warmest wall at let-down", 320.0, 310.93, "temperature", cite("south-bend")),
            not_assessed("least tube pressure at the change to air", "pressure", cite("practice"),
                         "a reading every 30 s: 10 s or faster is needed"),
        ),
        tuple(LogFinding("boiler stop", f"steam stopped for {n} min") for n in range(count)),
        START + dt.timedelta(minutes=5), START + dt.timedelta(minutes=100), None,
        CureAlong((1.0, 6.0, 12.0), (0.95, 0.94, 0.85), (0.94, 0.92, 0.70), (0.96, 0.95, 0.92),
                  (0.93, 0.91, 0.94)),
        "39 ft (11.8 m) up the lateral, bottom",
        (Estimated("soil", "soil, conductivity", "conductivity", 1.4, 1.1, 0.9, 1.3, -1.0, 0.4),),
        1.1, ("Not compared with instrumented liners.",),
    )  # fmt: skip


def facts(count: int = 1) -> CureFacts:
    return CureFacts(sheet(), LOG, verdict(count), Issue(2, ISSUED, "J. Oake"))


@pytest.mark.parametrize("system", list(UnitSystem))
def test_the_record_is_one_page_and_says_what_was_found(system: UnitSystem) -> None:
    pdf = cure_record_pdf(facts(), system=system)
    assert len(pages(pdf)) == 1
    told = " ".join(text(pdf).split())
    for words in (
        "Not met: see the checks.",
        "maker’s schedule, step 1",
        "warmest wall at let-down",
        "10 s or faster is needed",
        "not assessed",
        "steam stopped for 0 min",
        "A-04 #1.csv",
        "abababababab",
        "39 ft (11.8 m) up the lateral, bottom",
        "Not compared with instrumented liners.",
        "owner’s engineer",
    ):
        assert words in told, words
    assert ("116 °F" if system is UnitSystem.US else "47 °C") in told


def test_many_findings_stay_on_the_page_and_the_rest_is_counted() -> None:
    pdf = cure_record_pdf(facts(30))
    assert len(pages(pdf)) == 1
    assert "And 24 more." in " ".join(text(pdf).split())


def test_a_log_without_an_estimate_has_a_record_too() -> None:
    bare = replace(verdict(), along=None, estimated=(), misfit=None, least_place="", steam_on=None)
    data = cure_record_data(CureFacts(sheet(), LOG, bare, Issue()), UnitSystem.US)
    assert (data["time"], data["along"], data["unknowns"]) == (None, None, None)
    made = cure_record_pdf(CureFacts(sheet(), LOG, bare, Issue()))
    assert len(pages(made)) == 1


def test_the_same_record_gives_the_same_bytes() -> None:
    assert cure_record_pdf(facts()) == cure_record_pdf(facts())


def test_pictures_show_every_sensor_and_both_edges() -> None:
    time = np.linspace(0.0, 6000.0, 50)
    drawn = plan_against_log(
        LoggedCure(time, [("gas in", time / 60 + 290), ("collar", time * np.nan)],
                   (time, time / 50 + 290), 5400.0, (380.0, "exhaust must read"),
                   time * 0 + 48e3, (30e3, "at least")),
        UnitSystem.SI,
    )  # fmt: skip
    for words in ("gas in", "gas as planned", "steam shut", "exhaust must read", "kPa"):
        assert words in drawn
    assert "collar" not in drawn
    band = cure_along(
        CureBand(
            np.array([1.0, 9.0]), np.array([0.9, 0.92]), np.array([0.8, 0.9]),
            np.array([0.95, 0.96]), 0.9,
        ),
        UnitSystem.US,
    )  # fmt: skip
    assert "95 %, low" in band
    moved = unknowns_moved(
        [Unknown("soil & ground", "conductivity", 1.1, -9.0, 0.2)], UnitSystem.US
    )
    assert "soil &amp; ground" in moved
    with pytest.raises(InputError, match="too few readings"):
        plan_against_log(LoggedCure(time[:1], []), UnitSystem.US)
