"""Which test holds which item of the trade's list (TRADE.md 1 to 20 and 25).

The table (rules_taken_out.toml) says where each rule is and which tests notice when it is taken
out; a test here sees that those tests are there. Below it stand the tests that no single module
owns: every rule reaches the work sheet.
"""

from __future__ import annotations

import ast
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drainwright.engineering import steam
from drainwright.engineering.cure import simulate
from drainwright.engineering.cure_model import Collar as CureCollar
from drainwright.engineering.cure_model import Grid, Liner, Schedule, Supply
from drainwright.engineering.groundwater import water_pressure
from drainwright.engineering.wall_soil import EDITIONS
from drainwright.papers.design_note import design_note_pdf
from drainwright.planning.design import design
from drainwright.planning.site import Site
from drainwright.planning.waiting import OWNER, waits_on
from drainwright.records.lateral import (
    Branch,
    FarAccess,
    LengthMeasurement,
    MeasuringWay,
    TapKind,
)
from drainwright.records.premises import EntryState
from drainwright.records.rig import Rig
from drainwright.records.specification import default_specification
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import INCH, PSI
from tests.engineering.cure_cases import case
from tests.papers import pdf_reading
from tests.planning.sites import FOOT, bend, lateral, site
from tests.planning.test_design import COLLAR, RESIN, SIGNED, TUBES, made
from tests.take_out import rules

HERE = Path(__file__).parent


@pytest.mark.parametrize("item", [*range(1, 21), 25])
def test_each_item_has_its_tests(item: int) -> None:
    names = {test for rule in rules() if rule.item == item for test in rule.tests}
    assert names
    for name in names:
        file, _, test = name.partition("::")
        tree = ast.parse((HERE / file).read_text("utf-8"))
        there = {one.name for one in tree.body if isinstance(one, ast.FunctionDef)}
        assert test in there, name


# ---------------------------------------------------------------- tests no module owns


def sheet_of(where: Site) -> WorkSheet:
    return design(where, TUBES, (RESIN,), (COLLAR,))


def settled(**changes: Any) -> Site:
    return site(lateral=lateral(**changes), premises=(SIGNED,))


WHERE: dict[str, Site] = {
    "address proof": settled(proof=None),
    "right of entry": site(premises=(replace(SIGNED, entry=EntryState.REFUSED),)),
    "premises": settled(premises=()),
    "branch": settled(branches=(Branch(5.0, live=True),)),
    "exhaust": settled(far_access=FarAccess.INDOORS),
    "tap kind": settled(tap_kind=TapKind.BROKEN_IN),
    "steep": settled(slope=0.6),
    "host material": settled(material="pitch fibre"),
    "foreign pipe": settled(foreign_pipes=(4.0,)),
    "dig ticket": settled(far_access=FarAccess.NONE),
    "rig": replace(settled(), rig=Rig("R1", hose_reach=1.0)),
}  # fmt: skip


@pytest.mark.parametrize("name", WHERE)
def test_each_rule_reaches_the_work_sheet(name: str) -> None:
    plain = {reason.rule for reason in made().reasons}
    found = {reason.rule for reason in sheet_of(WHERE[name]).reasons} - plain
    assert name in found, found


@pytest.mark.published
def test_four_inches_of_water_in_a_trap() -> None:
    # TRADE 4, mark C: 2 in of water = 0.072 psi, 4 in = 0.144 psi
    assert float(water_pressure(2 * INCH)) / PSI == pytest.approx(0.072, abs=5e-4)
    assert float(water_pressure(4 * INCH)) / PSI == pytest.approx(0.144, abs=1e-3)


def test_a_cable_tied_to_the_carrier_proves_nothing() -> None:
    # TRADE 8: tied to the carrier it proves nothing; folded, only the seated mark counts
    def cautions(rig: Rig) -> str:
        return " ".join(sheet_of(replace(settled(), rig=rig)).cautions).lower()

    rig = Rig("R1", cable_tied_to="end cap", tube_stored="straight", cable_reference="hose gland")
    assert "tied to the carrier" not in cautions(rig)
    assert "prove nothing of the front" in cautions(replace(rig, cable_tied_to="carrier"))
    assert "only the seated mark" in cautions(replace(rig, tube_stored="folded"))
    straight, folded = (
        sheet_of(replace(settled(), rig=replace(rig, tube_stored=how)))
        for how in ("straight", "folded")
    )
    half = straight.figure("launch.cable_half")
    assert half is not None
    assert "hose gland" in half.how
    assert folded.figure("launch.cable_half") is None
    assert folded.figure("launch.cable_seated") is not None


def test_seals_at_collar_and_both_ends() -> None:
    # TRADE 10: hydrophilic gaskets or sealant at both ends and the collar: type, lot, place, photo
    figure = made().figure("seal.places")
    assert figure is not None
    for words in ("collar", "tap", "far end", "type", "lot", "place", "photo"):
        assert words in str(figure.value)
    assert "that day's water level" in figure.how
    buried = sheet_of(settled(far_access=FarAccess.NONE)).figure("seal.places")
    assert buried is not None
    assert "far end" not in str(buried.value)


# items 5, 7, 9, 11, 13, 14, 15, 18: figures that a work sheet may not lack
FIGURES = (
    "main.plugged",
    "length.gap",
    "collar.landing_up",
    "collar.landing_down",
    "fit.surplus_girth",
    "fit.bend_outer_line",
    "stations.2",
    "deadline.off_ice",
    "deadline.at_tap",
    "deadline.seated",
    "deadline.pull_out",
    "wetout.collar_mass",
    "pressure.steam_least",
    "pressure.steam_most",
    "pressure.cool_least",
    "pressure.cool_most",
)


def test_the_rules_that_are_numbers_reach_the_work_sheet() -> None:
    where = site(bend(10, 45), lateral=lateral(inside_diameter=3.9 * INCH), premises=(SIGNED,))
    sheet = sheet_of(where)
    for key in FIGURES:
        figure = sheet.figure(key)
        assert figure is not None, key
        assert isinstance(figure.value, float), key
    by_hand, most = (sheet.figure(key) for key in ("wetout.collar_mass", "pressure.cool_most"))
    assert by_hand is not None
    assert "by hand" in by_hand.label
    assert most is not None
    assert "at their actual temperature" in most.how


def test_zero_is_said() -> None:
    # TRADE 6: zero is the inside face of the main
    figure = made().figure("length.measured")
    assert figure is not None
    assert "inside face of the main" in figure.how


def test_a_length_off_the_list_waits_for_the_owner() -> None:
    # TRADE 7: 60 ft instead of 35 waits for the owner's decision
    listed = LengthMeasurement(MeasuringWay.LISTED, 35 * FOOT)
    taped = LengthMeasurement(MeasuringWay.TAPE, 60 * FOOT)
    where = site(lateral=lateral(lengths=(listed, taped)), survey=None, premises=(SIGNED,))
    asked = [reason for reason in sheet_of(where).reasons if reason.rule == "listed length"]
    assert len(asked) == 1
    assert waits_on("designed", asked) == (OWNER,)


def test_the_change_to_air_is_told() -> None:
    # TRADE 15: air on and shown before steam is shut; log every 10 s; the least value is judged
    told = " ".join(made().cautions)
    for words in ("air on and shown on the gauge before steam is shut", "10 s or faster",
                  "the least value is judged"):  # fmt: skip
        assert words in told


def test_inputs_carry_their_standing() -> None:
    # TRADE 25: measured, maker, assumed, from memory, with who and when
    day = Standing(Knowledge.MEMORY, by="R. Vale")
    resin = replace(RESIN, retention=None, standing={"modulus": Standing(Knowledge.MEASURED)})
    where = settled(standing={"inside_diameter": day})
    figure = design(where, TUBES, (resin,), (COLLAR,)).figure("wall.required")
    assert figure is not None
    known = {given.name: given.knowledge for given in figure.inputs}
    assert known["host diameter"] is Knowledge.MEMORY
    assert known["initial modulus"] is Knowledge.MEASURED
    assert known["long-term strength"] is Knowledge.MAKER
    assert known["retention"] is Knowledge.ASSUMED


def test_the_three_worst_inputs_are_told() -> None:
    # TRADE 25: with the sensitivity to the three worst
    told = [f for f in made().figures if f.key.startswith("sensitivity.")]
    changes = [float(figure.value) for figure in told]
    assert len(told) == 3
    assert changes == sorted(changes, reverse=True)
    assert all(figure.inputs[0].knowledge is not None for figure in told)


def test_the_edition_is_the_projects() -> None:
    # TRADE 25: method and edition are fixed per project
    newer = replace(default_specification(), wall_method=EDITIONS[1])
    figure = sheet_of(replace(settled(), specification=newer)).figure("wall.required")
    assert figure is not None
    assert figure.source.locator == EDITIONS[1]


@pytest.mark.published
def test_the_collar_stays_colder_behind_the_bladder() -> None:
    # TRADE 17, mark C (rubber assumed, wall not told): 5 mm of rubber, 105 °C, 70 min: the
    # collar's outer face about 62 °C where the lateral's is 81 °C; 4 mm of wall taken here
    pressure = steam.saturation_pressure(378.15)
    found = simulate(
        case(
            liner=Liner(0.004),
            gas=Supply(pressure - steam.STANDARD_BAROMETER),
            collar=CureCollar(16 * INCH, 0.004, 8 * INCH, bladder_wall=0.005),
            schedule=Schedule(600.0, 4200.0, 295.0, 0.8),
            grid=Grid(4, 3, 8, 5),
        ),
        times=(4200.0,),
    )
    rows = found.fields.temperature[0] - 273.15
    face = (rows[2] + rows[3]) / 2  # between the last liner cell and the first of the host
    collar, pipe = float(np.min(face)), float(np.max(face))
    assert collar == pytest.approx(62, abs=2.0)
    assert pipe == pytest.approx(81, abs=2.0)


def test_the_design_note_leaves_a_place_for_the_licensed_engineer() -> None:
    known = Standing(Knowledge.ASSUMED, by="R. Vale")
    sheet = sheet_of(settled(standing={"water_depth": known}))
    text = pdf_reading.text(design_note_pdf(sheet, revision=1))
    assert "licensed engineer" in text.lower()
    assert "water_depth" not in text
