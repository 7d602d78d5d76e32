"""A design choice laid over the records, and why a tube does not do."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest

from drainwright.errors import InputError
from drainwright.planning.choice import SOURCE, check_choice, with_choice
from drainwright.planning.design import design
from drainwright.planning.site import Site
from drainwright.planning.tube_fit import tube_words
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import PipeSpan
from drainwright.records.rig import Rig
from drainwright.records.standing import Knowledge
from drainwright.units import UnitSystem
from tests.planning.sites import FOOT, INCH, bend, lateral, site
from tests.planning.test_design import RESIN, TUBES

RESINS = (RESIN, replace(RESIN, key="R2"))


def test_an_empty_choice_changes_nothing() -> None:
    where = site(rig=Rig("rig 1", cap_vent=0.006))
    for choice in (None, DesignChoice("A-07")):
        found = with_choice(choice, where, TUBES, RESINS)
        assert (found.site, found.tubes, found.resins) == (where, TUBES, RESINS)
    assert DesignChoice("A-07").chosen == ()


def test_each_field_of_a_choice_reaches_what_planning_reads() -> None:
    choice = DesignChoice(
        "A-07", "T4-4.5", "R2", minimum_wall=0.004, water_depth=1.0, usual_pressure=6e4,
        cap_vent=0.01, boiler_power=9e4, soil_temperature=281.0, soil_heat_conductivity=2.0,
    )  # fmt: skip
    assert set(choice.chosen) == {one.name for one in fields(DesignChoice)} - {"key"}
    found = with_choice(choice, site(rig=Rig("rig 1", hose_reach=60.0)), TUBES, RESINS)
    assert [tube.key for tube in found.tubes] == ["T4-4.5"]
    assert [resin.key for resin in found.resins] == ["R2"]
    assert found.site.lateral.resin == "R2"
    assert found.site.lateral.water_depth == 1.0
    assert found.site.knowledge("water_depth") is Knowledge.ASSUMED
    for name in ("minimum_wall", "usual_pressure", "soil_temperature", "soil_heat_conductivity"):
        limit = found.site.specification.limit(name)
        assert (limit.value, limit.source) == (getattr(choice, name), SOURCE)
    assert found.site.rig == Rig("rig 1", hose_reach=60.0, cap_vent=0.01, boiler_power=9e4)
    sheet = design(found.site, found.tubes, found.resins)
    assert sheet.tube == TUBES[1]
    assert sheet.resin == RESINS[1]


def test_a_vent_can_be_chosen_where_no_rig_is_on_record() -> None:
    found = with_choice(DesignChoice("A-07", cap_vent=0.01), site(), TUBES, RESINS)
    assert found.site.rig is not None
    assert found.site.rig.cap_vent == 0.01


def test_everything_that_cannot_be_meant_is_told_at_once() -> None:
    wrong = DesignChoice("A-07", "T9", "R9", water_depth=900.0, soil_temperature=40.0)
    with pytest.raises(InputError) as caught:
        check_choice(wrong, TUBES, RESINS)
    assert [fault.name for fault in caught.value.faults] == [
        "water_depth", "soil_temperature", "tube", "resin",
    ]  # fmt: skip
    check_choice(DesignChoice("A-07", "T4-4.5", "R1", water_depth=1.0), TUBES, RESINS)


def test_a_tube_no_longer_on_record_leaves_none_to_use() -> None:
    found = with_choice(DesignChoice("A-07", "T9"), site(), TUBES, RESINS)
    sheet = design(found.site, found.tubes, found.resins)
    assert sheet.tube is None
    assert "No tube entered suits" in " ".join(reason.words for reason in sheet.reasons)


def words(where: Site, tube: str) -> str:
    found = next(one for one in TUBES if one.key == tube)
    return " ".join(tube_words(where, found, RESIN, UnitSystem.US))


def test_a_tube_that_does_is_not_spoken_against() -> None:
    assert words(site(), "T4-3.0") == ""


def test_why_a_tube_does_not_do_is_told_with_place_and_number() -> None:
    thin = words(site(), "T4-2.0")
    assert "its wall is 1.20 mm at tap, 0.0 ft" in thin
    assert "needed by X1" in thin
    assert "the host is 4.00 in narrow, its maker asks for 5.70 in" in words(site(), "T6-4.5")
    wide = lateral(spans=(PipeSpan(20 * FOOT, 41 * FOOT, 6 * INCH),))
    told = words(site(lateral=wide), "T4-2.0")
    assert "the host is 6.00 in wide, its maker allows 4.20 in" in told
    assert "changes size more often than it can follow" in told
    stiff = replace(TUBES[0], largest_bend=0.5)
    found = " ".join(tube_words(site(bend(3, 45)), stiff, RESIN, UnitSystem.US))
    assert "a bend of 45.0° is sharper than the 28.6° it passes" in found


def test_without_a_length_the_reason_is_told() -> None:
    bare = replace(site(), lateral=lateral(lengths=(), cleanout_distance=None), survey=None)
    assert "no measured length" in words(bare, "T4-3.0")
