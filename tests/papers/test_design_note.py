from __future__ import annotations

import datetime as dt
import math
from dataclasses import replace
from typing import Any

import pytest

from drainwright.errors import PaperError
from drainwright.papers.design_note import design_note_pdf, precise
from drainwright.records.lateral import LengthMeasurement, MeasuringWay
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.work_sheet import Figure, FigureInput
from drainwright.sources import cite
from drainwright.units import UnitSystem
from tests.papers import pdf_reading
from tests.papers.sheets import CHECKS, FIGURES, sheet

US, SI = UnitSystem.US, UnitSystem.SI


# by the definitions of foot, pound, psi and degree Fahrenheit
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "kind", "us", "si"),
    [
        (12.3456789, "length", "40.504 ft", "12.346 m"),
        (0.00167, "wall", "1.67 mm", "1.67 mm"),
        (6894757.293168361, "pressure", "1,000 psi", "6,894.8 kPa"),
        (310.928, "temperature", "100 °F", "37.778 °C"),
        (0.0, "pressure", "0 psi", "0 kPa"),
        (1.23456e-8, "number", "1.2346e-08", "1.2346e-08"),
        (math.pi / 4, "angle", "45°", "45°"),
        (math.nan, "length", "—", "—"),
        (None, "length", "—", "—"),
        ("tap", "", "tap", "tap"),
    ],
)
def test_numbers_keep_digits_to_compute_on(
    value: float | str | None, kind: str, us: str, si: str
) -> None:
    assert precise(value, kind, US) == us
    assert precise(value, kind, SI) == si


def test_every_figure_formula_input_check_and_source_is_there() -> None:
    given = sheet()
    text = pdf_reading.text(design_note_pdf(given, revision=3, system=US))
    for figure in FIGURES:
        assert figure.label in text, figure.key
        assert figure.how in text
        for one in figure.inputs:
            assert one.name in text
    for check in CHECKS:
        assert check.name in text
    assert "Glock (1977), buckling of a close-fit ring" in text
    assert "end thrust" in text
    assert "Licensed engineer" in text


def test_inputs_said_once_are_referred_to() -> None:
    wall = next(f for f in FIGURES if f.key == "wall.required")
    again = replace(wall, key="wall.by_x1_1", label="wall by X1.1")
    text = pdf_reading.text(design_note_pdf(sheet(figures=(wall, again)), revision=3, system=US))
    assert "inputs as for “wall, needed”" in text
    assert text.count("inside diameter = 4 in (measured)") == 1


def test_assumptions_stand_in_a_box_before_the_figures() -> None:
    first = pdf_reading.pages(design_note_pdf(sheet(), revision=3, system=US))[0]
    assert "Assumed or from memory" in first
    assert first.index("water below ground") < first.index("tap to cleanout")


def test_sensitivities_stand_with_the_assumptions() -> None:
    more = Figure(
        "sensitivity.water", "water 1 ft higher", 0.0018, "wall", "wall, needed", cite("geometry")
    )
    given = sheet(figures=(*FIGURES, more))
    first = pdf_reading.pages(design_note_pdf(given, revision=3, system=US))[0]
    assert "water 1 ft higher: 1.80 mm (wall, needed)" in first
    assert first.index("water 1 ft higher") < first.index("tap to cleanout")


def test_demo_resin_never_in_a_real_project() -> None:
    with pytest.raises(PaperError, match="demo"):
        design_note_pdf(sheet(project=replace(sheet().project, demo=False)), revision=3)


def _text(**changes: Any) -> str:
    return pdf_reading.text(design_note_pdf(sheet(**changes), revision=3, system=US))


def test_demo_material_and_the_uncompared_model_are_named_before_any_number() -> None:
    given = sheet()
    assert given.resin is not None
    assert given.tube is not None
    steam = Figure(
        "steam.simulated", "simulated, nominal", 6e3, "time", "", cite("cure-model", "not compared")
    )
    real, demo = replace(given.resin, demo=False), replace(given.resin, demo=True)
    weak = replace(given, project=replace(given.project, demo=True), resin=demo)
    weak = replace(weak, tube=replace(given.tube, demo=False), figures=(*FIGURES, steam))
    first = " ".join(pdf_reading.pages(design_note_pdf(weak, revision=3, system=US))[0].split())
    assert f"Invented for the demo: resin “{demo.key}”." in first
    assert "not been compared with instrumented liners: simulated, nominal." in first
    assert first.index("Invented for the demo") < first.index("Assumed or from memory")
    other = design_note_pdf(replace(weak, resin=real, figures=FIGURES), revision=3, system=US)
    assert "Invented" not in pdf_reading.text(other)
    assert "instrumented" not in pdf_reading.text(other)


def test_who_measured_what_and_when_stands_on_the_note() -> None:
    given = sheet()
    day = dt.date(2026, 11, 2)
    lengths = (LengthMeasurement(MeasuringWay.SONDE, 12.0, by="J. Oake", on=day),)
    boring = Standing(Knowledge.ASSUMED, "R. Vale", day, "nearest boring")
    lateral = replace(given.lateral, lengths=lengths, standing={"water_depth": boring})
    text = " ".join(
        pdf_reading.text(
            design_note_pdf(replace(given, lateral=lateral), revision=3, system=US)
        ).split()
    )
    assert "length, sonde above ground measured J. Oake Nov 2, 2026" in text
    assert "water depth assumed, nearest boring R. Vale Nov 2, 2026" in text


def test_checks_are_counted_with_their_denominator() -> None:
    met = [check for check in CHECKS if check.outcome == "met"]
    assert f"{len(met)} of {len(CHECKS)} met" in _text()
    assert 0 < len(met) < len(CHECKS)


def test_an_assumed_zero_is_said_not_to_be_stepped() -> None:
    none = FigureInput("live load", 0.0, "pressure", Knowledge.ASSUMED)
    wall = next(f for f in FIGURES if f.key == "wall.required")
    more = Figure("sensitivity.1", "soil more", 0.1, "share", "", cite("memory"))
    figures = (replace(wall, inputs=(*wall.inputs, none)), more)
    assert "Not stepped, for it is 0: live load." in _text(figures=figures)
