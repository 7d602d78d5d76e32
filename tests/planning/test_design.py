"""The work sheet as a whole."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from drainwright.checks import Outcome
from drainwright.planning.design import design
from drainwright.planning.site import Site
from drainwright.records.lateral import PipeSpan
from drainwright.records.material import Collar, CureStep, GelTime, Resin, Tube
from drainwright.records.premises import EntryState, Premises
from drainwright.records.project import Project
from drainwright.records.specification import default_specification
from drainwright.records.survey import ObservationKind
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.sources import cite
from drainwright.units import POUND, PSI
from tests.planning.sites import FOOT, INCH, lateral, seen, site

TUBES = (
    Tube("T4-3.0", 4 * INCH, 0.003, maximum_pressure=15 * PSI, size_steps=1, largest_host=0.17),
    Tube("T4-4.5", 4 * INCH, 0.0045, maximum_pressure=15 * PSI, size_steps=1, largest_host=0.17),
    Tube("T4-2.0", 4 * INCH, 0.0012, maximum_pressure=15 * PSI),
    Tube("T6-4.5", 6 * INCH, 0.0045),
)
RESIN = Resin(
    "R1",
    ratio_a=4,
    ratio_b=1,
    density=1100.0,
    modulus=250_000 * PSI,
    strength=4_500 * PSI,
    retention=0.5,
    gel_times=(GelTime(286.15, 25200.0), GelTime(325.15, 2700.0)),
    schedule=(CureStep(355.0, 1800.0), CureStep(365.0, 3600.0)),
)
COLLAR = Collar("C8-16", 8 * INCH, 16 * INCH, 0.003, lap=3 * INCH)
SIGNED = Premises("P-14", "14 Weaver’s Row", entry=EntryState.SIGNED)


def made(where: Site | None = None, **changes: Any) -> WorkSheet:
    plain = replace(where or site(), premises=(SIGNED,))
    return design(replace(plain, **changes), TUBES, (RESIN,), (COLLAR,))


def value(sheet: WorkSheet, key: str) -> float:
    figure = sheet.figure(key)
    assert figure is not None, key
    assert isinstance(figure.value, float)
    return figure.value


def test_a_plain_lateral_is_lined_with_the_thinnest_tube_that_does() -> None:
    sheet = made()
    assert sheet.outcome is Fitness.LINE
    assert sheet.tube == TUBES[0]
    assert value(sheet, "wall.installed") >= value(sheet, "wall.required")
    assert {check.outcome for check in sheet.checks} == {Outcome.MET}


@pytest.mark.analytic
def test_the_figures_by_hand() -> None:
    sheet = made()
    lined = (41 + math.hypot(40.6, 4)) / 2 * FOOT
    cut = lined + 3 * INCH
    tube = math.pi * (4 * INCH - 0.003) * 0.003 * 0.87 * 1100 * 1.08
    collar = (math.pi * 8 * INCH + 3 * INCH) * 16 * INCH * 0.003 * 0.87 * 1100 * 1.08
    mass = tube * cut + collar
    assert collar / POUND == pytest.approx(2.0, abs=0.05)  # TRADE 9, mark C
    assert value(sheet, "cut.length") == pytest.approx(cut)
    assert value(sheet, "wetout.mass") == pytest.approx(mass)
    assert value(sheet, "wetout.part_a") == pytest.approx(mass * 0.8)
    assert value(sheet, "wetout.part_b") == pytest.approx(mass * 0.2)
    assert value(sheet, "wetout.roller_gap") == pytest.approx(0.0068)
    assert value(sheet, "launch.cable_seated") == pytest.approx(2 * lined)
    assert value(sheet, "launch.minimum") == pytest.approx((5 * 0.433 + 2) * PSI)
    assert value(sheet, "launch.usual") == pytest.approx(7 * PSI)
    assert value(sheet, "steam.maker") == 5400.0
    assert value(sheet, "steam.hold") == 5400.0  # no kinetics: the maker's schedule alone


@pytest.mark.analytic
def test_a_step_to_six_inches_thins_the_wall() -> None:
    # TRADE 11, mark C: 3.0 mm of a 4 in tube is 2.0 mm in 6 in and fails; 4.5 gives 3.0
    spans = (PipeSpan(20 * FOOT, 41 * FOOT, 6 * INCH),)
    where = site(seen(ObservationKind.SIZE_CHANGE, 20), lateral=lateral(spans=spans))
    sheet = made(where)
    assert sheet.tube == TUBES[1]
    assert value(sheet, "wall.installed") == pytest.approx(0.003)
    assert value(sheet, "wall.station") >= 20 * FOOT - 1e-9


def test_water_too_deep_for_the_letters() -> None:
    deep = lateral(tap_depth=40 * FOOT, far_depth=36 * FOOT, water_depth=2 * FOOT)
    sheet = made(site(lateral=deep))
    assert sheet.outcome in (Fitness.ASK, Fitness.PREPARE)
    rules = {reason.rule for reason in sheet.reasons}
    assert rules & {"pressure window", "tube"}


def test_demo_materials_never_enter_a_real_project() -> None:
    real = Project("real", "Real")
    demo = replace(RESIN, demo=True)
    where = replace(site(project=real), premises=(SIGNED,))
    sheet = design(where, TUBES, (demo,), ())
    assert sheet.resin is None
    assert sheet.outcome is Fitness.PREPARE
    assert sheet.figure("wetout.mass") is None
    tubes = tuple(replace(tube, demo=True) for tube in TUBES)
    assert design(where, tubes, (RESIN,), ()).tube is None
    collar = replace(COLLAR, demo=True)
    assert design(where, TUBES, (RESIN,), (collar,)).figure("collar.name") is None


def test_the_makers_chart_wins() -> None:
    chart = replace(TUBES[0], chart_mass=0.8 * POUND / FOOT)
    sheet = design(replace(site(), premises=(SIGNED,)), (chart,), (RESIN,), ())
    figure = sheet.figure("wetout.mass_per_length")
    assert figure is not None
    assert figure.value == pytest.approx(0.8 * POUND / FOOT)
    assert figure.source.key == "maker"
    rolled = replace(TUBES[0], chart_gap=0.0071)
    gap = design(replace(site(), premises=(SIGNED,)), (rolled,), (RESIN,), ())
    assert value(gap, "wetout.roller_gap") == 0.0071


def test_disagreeing_lengths_and_long_laterals_are_reasons() -> None:
    from drainwright.records.lateral import LengthMeasurement, MeasuringWay

    other = (LengthMeasurement(MeasuringWay.TAPE, 60 * FOOT),)
    sheet = made(site(lateral=lateral(lengths=other)))
    assert "length" in {reason.rule for reason in sheet.reasons}
    long = tuple(
        replace(one, reading=160 * FOOT, rise=0.0, offset=0.0) for one in lateral().lengths
    )
    sheet = made(site(lateral=lateral(lengths=long, cleanout_distance=None), survey=None))
    assert sheet.outcome is Fitness.STOP


def test_a_missing_length_becomes_a_reason_not_an_error() -> None:
    sheet = made(site(lateral=lateral(lengths=(), cleanout_distance=None), survey=None))
    assert sheet.outcome is Fitness.PREPARE
    assert sheet.figures == ()


def test_every_figure_names_a_source_and_inputs_their_standing() -> None:
    sheet = made()
    keys = [figure.key for figure in sheet.figures]
    assert len(keys) == len(set(keys))
    required = sheet.figure("wall.required")
    assert required is not None
    names = {entry.name for entry in required.inputs}
    assert {"ovality", "water above invert", "long-term strength", "cover"} <= names
    assert all(figure.label for figure in sheet.figures)


def test_a_length_far_off_the_list_waits_for_the_owner() -> None:
    from drainwright.records.lateral import LengthMeasurement, MeasuringWay

    # TRADE 7: 60 ft instead of 35 reruns everything and waits for the owner
    def listed(feet: float) -> WorkSheet:
        lengths = (*lateral().lengths, LengthMeasurement(MeasuringWay.LISTED, feet * FOOT))
        return made(site(lateral=lateral(lengths=lengths)))

    (reason,) = (one for one in listed(24).reasons if one.rule == "listed length")
    assert "the owner's list says 24.0 ft" in reason.words
    assert listed(24).outcome is Fitness.ASK
    assert listed(40).outcome is Fitness.LINE


def test_the_cost_splits_at_the_property_line() -> None:
    sheet = made(site(lateral=lateral(property_line=26 * FOOT)))
    assert value(sheet, "length.public") == pytest.approx(26 * FOOT)
    both = value(sheet, "length.public") + value(sheet, "length.private")
    assert both == pytest.approx(value(sheet, "length.lined"))
    short = made(site(lateral=lateral(property_line=60 * FOOT)))
    assert value(short, "length.private") == 0.0


def test_pressure_windows_by_phase() -> None:
    from drainwright.planning.pressure_phases import windows
    from drainwright.planning.stations import plan_stations
    from drainwright.records.rig import Rig

    # TRADE 15: starting pressure counts while inverting; the least letter rules upwards
    tube = replace(TUBES[0], starting_pressure=6 * PSI, maximum_pressure=12 * PSI)
    where = site(rig=Rig("R", cap_maximum_pressure=9 * PSI, maximum_pressure=15 * PSI))
    invert, steam, cool = windows(where, plan_stations(where, 12.0, 12.5), tube)
    assert invert.least == pytest.approx(6 * PSI)
    assert steam.least == pytest.approx((5 * 0.433 + 2) * PSI)
    assert cool.least == steam.least
    assert (invert.most, invert.limited_by) == (9 * PSI, "cap")
    assert invert.open
    assert not replace(invert, least=10 * PSI).open


@pytest.mark.parametrize("weakest", ["tube", "rig", "cap", "carrier’s bladder", "host"])
def test_the_weakest_part_is_named(weakest: str) -> None:
    from drainwright.planning.pressure_phases import windows
    from drainwright.planning.stations import plan_stations
    from drainwright.records.rig import Rig

    # TRADE 15: at most the least of tube, bladder, cap, carrier and host
    most = {part: (8 if part == weakest else 12) * PSI
            for part in ("tube", "rig", "cap", "carrier’s bladder", "host")}  # fmt: skip
    rig = Rig("R", maximum_pressure=most["rig"], cap_maximum_pressure=most["cap"],
              bladder_maximum_pressure=most["carrier’s bladder"])  # fmt: skip
    limits = {"host_pressure_most": (most["host"], cite("owner"))}
    where = site(rig=rig, specification=default_specification().with_limits(limits))
    tube = replace(TUBES[0], maximum_pressure=most["tube"])
    for window in windows(where, plan_stations(where, 12.0, 12.5), tube):
        assert (window.most, window.limited_by) == (8 * PSI, weakest)


@pytest.mark.analytic
def test_the_tubes_girth_sets_the_mass() -> None:
    # TRADE 14: π (D tube − t) t φ ρ (1 + x), whatever the host's bore
    wide = made(site(lateral=lateral(inside_diameter=4.15 * INCH)))
    tube = math.pi * (4 * INCH - 0.003) * 0.003 * 0.87 * 1100 * 1.08
    assert value(wide, "wetout.mass_per_length") == pytest.approx(tube)


@pytest.mark.analytic
def test_a_tube_too_large_gains_no_wall() -> None:
    # TRADE 11: surplus girth is a fin, not a thicker wall
    narrow = made(site(lateral=lateral(inside_diameter=3.85 * INCH)))
    assert value(narrow, "wall.installed") == pytest.approx(0.003)
