"""Air in the steam where the host bears no pure steam (TRADE 16)."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from drainwright.checks import Outcome
from drainwright.engineering import orifice, steam
from drainwright.planning.gas_mix import (
    AIR,
    GasMix,
    gas_mix,
    lowest_limit,
    maker_letter,
    vent_check,
)
from drainwright.planning.site import Site
from drainwright.planning.steam_plan import SteamPart, plan_steam
from drainwright.records.lateral import FarAccess
from drainwright.records.material import CureStep
from drainwright.records.rig import Rig
from drainwright.records.work_sheet import Fitness
from drainwright.units import FOOT, PSI, to_si
from tests.planning.sites import INCH, lateral, site
from tests.planning.test_steam_plan import CURING, TUBE, inputs, value

RIG = Rig("R1", cap_vent=0.75 * INCH, boiler_power=60e3, air_supply=60 * FOOT**3 / 60)
LIMIT = to_si(165, "degF")


def plastic(rig: Rig | None = RIG, **changes: Any) -> Site:
    return site(lateral=lateral(material="PVC-U", **changes), rig=rig)


def mix_at(where: Site) -> GasMix:
    found = gas_mix(where, TUBE, 7 * PSI)
    assert found is not None
    return found


@pytest.mark.analytic
@pytest.mark.parametrize("limit", [335.0, 347.0, 366.0])
def test_heat_and_mass_balance_of_the_inlet(limit: float) -> None:
    # 1 kg of saturated steam and a kg of cold air: what is left of the steam saturates the air
    pressure = steam.STANDARD_BAROMETER + 7 * PSI
    a = steam.air_for_gas(pressure, limit, AIR)
    left = a / steam.air_per_steam(pressure, limit)
    top = steam.saturated(pressure).temperature
    latent = float(steam.latent_heat_fit(limit))
    gained = a * steam.HEAT_AIR * (limit - AIR)
    given = (1 - left) * latent + steam.HEAT_STEAM * (top - limit)
    assert gained == pytest.approx(given, rel=1e-9)
    share = (left / steam.GAS_CONSTANT_AIR) / (left / steam.GAS_CONSTANT_AIR
                                               + a / steam.GAS_CONSTANT_STEAM)  # fmt: skip
    assert share == pytest.approx(steam.steam_share(pressure, limit), rel=1e-6)


@pytest.mark.parametrize("least", ["plastic host", "tube's coating", "carrier's bladder"])
def test_whatever_bears_least_limits_the_gas(least: str) -> None:
    # TRADE 16: coating, bladder and host limit the gas
    coating, bladder = (350.0 if name == least else 400.0 for name in
                        ("tube's coating", "carrier's bladder"))  # fmt: skip
    tube = replace(TUBE, maximum_gas_temperature=coating)
    rig = replace(RIG, bladder_maximum_temperature=bladder)
    where = plastic(rig) if least == "plastic host" else site(rig=rig)
    found = lowest_limit(where, tube)
    assert found is not None
    assert (found.name, found.temperature) == (least, LIMIT if "host" in least else 350.0)


@pytest.mark.analytic
def test_compressor_or_boiler_sets_how_much_gas_there_is() -> None:
    plain = mix_at(plastic())
    assert plain.free_air == pytest.approx(60 * FOOT**3 / 60)
    twice = mix_at(plastic(replace(RIG, air_supply=2 * RIG.air_supply)))  # type: ignore[operator]
    assert (twice.air, twice.steam) == pytest.approx((2 * plain.air, 2 * plain.steam))
    assert twice.vent == pytest.approx(math.sqrt(2) * plain.vent)
    small = mix_at(plastic(replace(RIG, boiler_power=5e3)))
    assert small.power == pytest.approx(5e3)
    assert small.air / small.steam == pytest.approx(plain.air / plain.steam)


@pytest.mark.analytic
def test_the_vent_lets_all_of_it_out() -> None:
    mix = mix_at(plastic())
    barometer = steam.barometer_at(0.0)
    moles = mix.steam * steam.GAS_CONSTANT_STEAM + mix.air * steam.GAS_CONSTANT_AIR
    volume = moles / (mix.steam + mix.air) * LIMIT / (barometer + 7 * PSI)
    passed = orifice.nozzle_flow(
        barometer + 7 * PSI, volume, barometer, steam.EXPONENT_AIR, diameter=mix.vent
    )
    assert passed.flow == pytest.approx(mix.steam + mix.air, rel=1e-9)


@pytest.mark.parametrize(
    "where",
    [
        site(rig=RIG),
        plastic(None),
        plastic(replace(RIG, air_supply=None)),
        plastic(replace(RIG, boiler_power=None)),
        plastic(far_access=FarAccess.NONE),
    ],
    ids=["clay", "no rig", "no compressor", "no boiler", "blind end"],
)
def test_no_mixture_where_it_is_not_needed_or_not_possible(where: Site) -> None:
    assert gas_mix(where, TUBE, 7 * PSI) is None


@pytest.fixture(scope="module")
def part() -> SteamPart:
    return plan_steam(inputs(plastic()))


@pytest.mark.independent
def test_the_engine_keeps_the_host_below_its_limit_and_the_wall_near_it(part: SteamPart) -> None:
    # the cure engine marches the mixture by itself: what goes in at the limit stays below it
    (host,) = [check for check in part.checks if check.name == "host stays below its limit"]
    assert host.outcome is Outcome.MET
    assert LIMIT - 6.0 < value(part, "steam.peak") < LIMIT
    assert value(part, "steam.exhaust") < LIMIT


def test_a_plastic_host_gets_a_plan_of_its_own(part: SteamPart) -> None:
    clay = plan_steam(inputs(site(rig=RIG)))
    assert value(part, "steam.simulated") > value(clay, "steam.simulated")
    assert value(part, "steam.air") == pytest.approx(60 * FOOT**3 / 60)
    assert value(part, "steam.stall") is None
    assert value(clay, "steam.air") is None
    assert any("Air with the steam" in words for words in part.cautions)
    assert "host limit" not in {reason.rule for reason in part.reasons}


def test_a_time_beyond_what_residents_may_wait_is_for_the_engineer(part: SteamPart) -> None:
    late = [reason for reason in part.reasons if reason.rule == "steam time"]
    assert value(part, "steam.hold") > 480 * 60  # ramsey: service restored within 8 h
    assert [reason.outcome for reason in late] == [Fitness.ASK]


def test_too_small_a_vent_and_too_hot_a_schedule_are_works() -> None:
    mix = mix_at(plastic())
    check, reasons = vent_check(plastic(replace(RIG, cap_vent=0.25 * INCH)), mix)
    assert check.outcome is Outcome.NOT_MET
    assert [reason.outcome for reason in reasons] == [Fitness.PREPARE]
    assert vent_check(plastic(), mix)[1] == ()
    hot = replace(CURING, schedule=(CureStep(LIMIT + 1, 3600.0),))
    cool = replace(CURING, schedule=(CureStep(LIMIT - 1, 3600.0),))
    assert [reason.rule for reason in maker_letter(mix, hot)] == ["maker's schedule"]
    assert maker_letter(mix, cool) == ()
