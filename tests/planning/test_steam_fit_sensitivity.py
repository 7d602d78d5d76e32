"""Steam at the site, the fit of the tube, sensitivity, and the pipe's own reasons."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from drainwright.checks import Outcome
from drainwright.planning.fit_figures import outer_line, surplus_girth
from drainwright.planning.sensitivity import wall_effects
from drainwright.planning.site import Site
from drainwright.planning.stations import plan_stations
from drainwright.planning.steam_site import plugged_main, steam_site
from drainwright.planning.tap_and_pipe import (
    host_material,
    pipe_cautions,
    slope_of,
    steepness,
    tap_kind,
)
from drainwright.planning.wall_plan import material_of, station_walls
from drainwright.records.lateral import FarAccess, TapKind
from drainwright.records.material import Tube
from drainwright.records.project import Project
from drainwright.records.rig import Rig
from drainwright.records.specification import default_specification
from drainwright.records.work_sheet import Fitness
from drainwright.sources import cite
from drainwright.units import GALLON, POUND, PSI, from_si
from tests.planning.sites import FOOT, INCH, lateral, site
from tests.planning.test_design import RESIN

TUBE = Tube("T4-3.0", 4 * INCH, 0.003)
RIG = Rig("R1", cap_vent=0.25 * INCH, boiler_power=30e3, hose_bore=1 * INCH)


def figures(where: Site, tube: Tube = TUBE) -> dict[str, Any]:
    return {f.key: f.value for f in steam_site(where, tube, 7 * PSI).figures}


@pytest.mark.published
def test_pure_steam_and_the_share_for_cooler_gas() -> None:
    # TRADE 16, mark C: pure steam at 7 psig is 232 °F; 180–200 °F needs 0.35–0.53 by mole
    found = figures(site(project=Project("p", "P", elevation=0.0)))
    assert from_si(found["steam.gas"], "degF") == pytest.approx(232, abs=0.6)
    for limit, share in ((180, 0.35), (200, 0.53)):
        tube = replace(TUBE, maximum_gas_temperature=(limit + 459.67) * 5 / 9)
        assert figures(site(), tube)["steam.share"] == pytest.approx(share, abs=0.005)


@pytest.mark.published
def test_trap_seals_are_weak() -> None:
    # TRADE 4, mark C: 2 in of water = 0.072 psi, printed beside the tube's pressure
    found = next(f for f in steam_site(site(), TUBE, 7 * PSI).figures if "trap" in f.key)
    assert isinstance(found.value, float)
    assert found.value / PSI == pytest.approx(0.072, abs=5e-4)
    assert [given.value for given in found.inputs] == [7 * PSI]
    assert "look inside before and during steam" in found.how


@pytest.mark.published
def test_a_quarter_inch_vent_takes_as_much_as_a_boiler_horsepower() -> None:
    # reference/cure.md: ¼ in at 7 psig passes 34 lb/h, 9.5 kW (C)
    open_air = replace(RIG, hose_bore=None)
    found = figures(site(rig=open_air))
    assert found["steam.vent_flow"] / POUND * 3600 == pytest.approx(34, abs=0.5)
    assert found["steam.vent_power"] == pytest.approx(9500, rel=0.02)
    long_hose = replace(RIG, vent_hose_length=60 * FOOT, hose_bore=0.5 * INCH)
    assert figures(site(rig=long_hose))["steam.vent_flow"] < found["steam.vent_flow"]


def test_the_riser_lengthens_the_hose() -> None:
    # TRADE 4: hose and riser are in series with the orifice
    hosed = replace(RIG, vent_hose_length=10 * FOOT, hose_bore=0.5 * INCH)
    deep, flat = (site(rig=hosed, lateral=lateral(far_depth=d * FOOT)) for d in (6, 0))
    assert figures(deep)["steam.vent_flow"] < figures(flat)["steam.vent_flow"]
    as_long = site(rig=replace(hosed, vent_hose_length=16 * FOOT),
                   lateral=lateral(far_depth=0.0))  # fmt: skip
    assert figures(deep)["steam.vent_flow"] == pytest.approx(figures(as_long)["steam.vent_flow"])


def test_a_blind_end_vents_nothing() -> None:
    assert "steam.vent_flow" in figures(site(rig=RIG))
    blind = site(rig=RIG, lateral=lateral(far_access=FarAccess.NONE))
    assert "steam.vent_flow" not in figures(blind)


def test_elevation_lowers_the_gas_temperature() -> None:
    high = site(project=Project("p", "P", elevation=1600.0))
    assert figures(high)["steam.gas"] < figures(site())["steam.gas"] - 3


def test_a_small_boiler_fails_and_an_unknown_one_is_not_assessed() -> None:
    small = steam_site(site(rig=replace(RIG, boiler_power=5e3)), TUBE, 7 * PSI)
    assert [check.outcome for check in small.checks] == [Outcome.NOT_MET]
    unknown = steam_site(site(rig=replace(RIG, boiler_power=None)), TUBE, 7 * PSI)
    assert [check.outcome for check in unknown.checks] == [Outcome.NOT_ASSESSED]


def test_a_plastic_host_limits_the_gas() -> None:
    found = figures(site(lateral=lateral(material="PVC-U")))
    assert from_si(found["steam.gas_limit"], "degF") == pytest.approx(165)
    assert "steam.gas_limit" not in figures(site())


def test_the_route_is_told() -> None:
    assert "open air" in figures(site())["steam.route"]
    assert "blind cap" in figures(site(lateral=lateral(far_access=FarAccess.NONE)))["steam.route"]


@pytest.mark.published
def test_how_long_the_main_may_stay_plugged() -> None:
    # TRADE 5, mark C: 8 in × 300 ft holds 783 gal, 78 min at 10 gpm
    (plugged,) = plugged_main(site())
    assert plugged.inputs[0].value == pytest.approx(783 * GALLON, rel=1e-3)
    assert plugged.value == pytest.approx(78 * 60, rel=5e-3)
    assert "else bypass" in plugged.how
    none = default_specification().with_limits({"main_flow": (None, cite("owner"))})
    assert plugged_main(replace(site(), specification=none)) == ()


@pytest.mark.published
def test_surplus_girth_and_bends() -> None:
    # TRADE 11, mark C: 4 in in a 3.75 in bore 0.79 in; 4 in, 45°: 3.1 in
    assert surplus_girth(4 * INCH, 3.75 * INCH) / INCH == pytest.approx(0.79, abs=0.005)
    assert surplus_girth(4 * INCH, 6 * INCH) == 0.0
    assert outer_line(4 * INCH, math.radians(45)) / INCH == pytest.approx(3.1, abs=0.05)


def test_the_wall_hangs_most_on_what_makes_it_grow_most() -> None:
    where = site()
    material = material_of(where, RESIN)
    (worst,) = station_walls(where, plan_stations(where, 12.0, 12.5)[:1], material)
    effects = wall_effects(where, worst, material)
    changes = [effect.change for effect in effects]
    assert changes == sorted(changes, reverse=True)
    # X1.4 governs: t ∝ D · E^(-1/3), so 5 % on D is 5 % and 10 % less E is 0.9^(-1/3) − 1
    by_name = {effect.name: effect for effect in effects}
    assert worst.design.governing == "X1.4"
    assert by_name["modulus"].change == pytest.approx(0.9 ** (-1 / 3) - 1, rel=1e-6)
    assert by_name["modulus"].step == pytest.approx(-0.10)
    assert by_name["host diameter"].change >= 0.05 - 1e-9


@pytest.mark.parametrize(
    ("changes", "rule", "name"),
    [
        ({"tap_kind": TapKind.BROKEN_IN}, tap_kind, "tap kind"),
        ({"slope": 0.6}, steepness, "steep"),
        ({"material": "Pitch fibre"}, host_material, "host material"),
    ],
)
def test_what_the_pipe_brings_along(changes: dict[str, Any], rule: Any, name: str) -> None:
    assert list(rule(site())) == []
    reasons = list(rule(site(lateral=lateral(**changes))))
    assert [(r.rule, r.outcome) for r in reasons] == [(name, Fitness.ASK)]


def test_a_broken_in_tap_says_what_to_look_for() -> None:
    # TRADE 12: hole size, sharp edge, void, missing pipe
    (reason,) = tap_kind(site(lateral=lateral(tap_kind=TapKind.BROKEN_IN)))
    for words in ("hole", "sharp", "void", "missing pipe"):
        assert words in reason.words


def test_slope_from_depths_and_cautions() -> None:
    assert slope_of(site()) == pytest.approx(4 / 41)
    assert slope_of(site(lateral=lateral(riser=4 * FOOT))) == pytest.approx(0.0)
    assert slope_of(site(lateral=lateral(far_depth=None))) is None
    assert list(pipe_cautions(site())) == []
    both = site(lateral=lateral(riser=1.0, material="PVC"))
    assert len(list(pipe_cautions(both))) == 2
