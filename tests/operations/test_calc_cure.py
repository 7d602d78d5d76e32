"""`calc cure`: names and defaults, probes, confidence, what is null, and faults."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from drainwright.errors import InputError
from drainwright.operations.calculate import calculate
from drainwright.operations.calculators.base import answer_json
from drainwright.units import UnitSystem

BASE: dict[str, Any] = {
    "lateral": {
        "length": "20 m", "host_diameter": "4 in", "host_wall": "15 mm", "host_material": "clay",
    },
    "liner": {
        "wall": "6 mm", "conductivity": "0.2 W/m/K", "density": "1180 kg/m^3",
        "heat_capacity": "1400 J/kg/K", "resin_mass_fraction": 0.85,
    },
    "resin": {
        "model": "kamal", "A1": "1.02e5 1/s", "E1": "57 kJ/mol", "A2": "1.53e5 1/s",
        "E2": "50 kJ/mol", "m": 0.9, "n": 1.8, "heat_of_reaction": "420 kJ/kg",
        "Tg0": "-30 degC", "Tg_full": "110 degC", "Tg_lambda": 0.45,
        "vitrification_width": "6 K",
    },
    "soil": {
        "conductivity": "1.2 W/m/K", "volumetric_heat_capacity": "2.2e6 J/m^3/K",
        "temperature": "15 degC",
    },
    "gas": {"gauge_pressure": "7 psi", "steam_supply": "20 kW", "vent_diameter": "1/4 in"},
    "schedule": {"target_conversion": 0.8},
    "model": {"liner_cells": 5, "host_cells": 3, "soil_cells": 10, "axial_cells": 6},
}  # fmt: skip
NAMES = {
    "hold_required", "hold_nominal", "coldest_position", "conversion_at_end",
    "peak_wall_temperature", "steam_used", "cool_down", "front_position",
    "probe_temperatures", "probe_conversions", "energy_error",
}  # fmt: skip


def with_changes(**changes: dict[str, Any]) -> dict[str, Any]:
    data = copy.deepcopy(BASE)
    for table, values in changes.items():
        data[table] = data.get(table, {}) | values
    return data


def run(data: dict[str, Any], system: UnitSystem = UnitSystem.SI) -> dict[str, Any]:
    answer, _ = calculate("cure", data, Path())
    return answer_json(answer, system)


def faults(data: dict[str, Any]) -> set[str]:
    with pytest.raises(InputError) as caught:
        calculate("cure", data, Path())
    return {fault.name for fault in caught.value.faults}


@pytest.mark.analytic
def test_names_units_and_energy() -> None:
    out = run(BASE)
    results = out["results"]
    assert set(results) >= NAMES
    assert results["hold_required"] == results["hold_nominal"]
    assert results["hold_required"]["unit"] == "min"
    assert results["energy_error"]["value"] < 1e-3
    assert results["conversion_at_end"]["value"] >= 0.8 - 1e-3
    assert results["front_position"]["value"][-1] == pytest.approx(20.0)
    assert len(results["front_position"]["value"]) == len(results["front_times"]["value"])
    assert any("not yet been compared" in text for text in out["cautions"])
    us = run(BASE, UnitSystem.US)["results"]
    assert us["steam_used"]["unit"] == "lb"
    assert us["peak_wall_temperature"]["unit"] == "degF"
    assert us["cool_down"]["unit"] == "min"


def test_steam_supply_as_mass_power_and_ample() -> None:
    power = run(BASE)["results"]["hold_nominal"]["value"]
    flow = 20.0 / 2226.4 * 3600
    mass = run(with_changes(gas={"steam_supply": f"{flow} kg/h"}))
    ample = run(with_changes(gas={"steam_supply": "ample"}))
    assert mass["results"]["hold_nominal"]["value"] == pytest.approx(power, rel=1e-3)
    assert ample["results"]["hold_nominal"]["value"] <= power


@pytest.mark.analytic
def test_probes_lie_between_gas_and_ground() -> None:
    places = ("liner inner", "liner middle", "liner outer", "host outer")
    data = copy.deepcopy(BASE)
    data["schedule"]["steam"] = "60 min"
    data["probes"] = [
        {"position": "10 m", "depth": depth, "times": ["5 min", "60 min", "300 min"]}
        for depth in places
    ]
    results = run(data)["results"]
    late = [row[1] for row in results["probe_temperatures"]["value"]]
    assert late == sorted(late, reverse=True)
    assert 15.0 < late[-1] < late[0] < 130.0
    assert all(len(row) == 3 for row in results["probe_temperatures"]["value"])
    assert results["probe_conversions"]["value"][3] == [None, None, None]
    cured = [row[1] for row in results["probe_conversions"]["value"][:3]]
    assert all(0.0 < value <= 1.0 for value in cured)


def test_a_short_steam_time_leaves_the_hold_as_it_is() -> None:
    auto = run(BASE)["results"]
    short = run(with_changes(schedule={"steam": "15 min"}))
    assert short["results"]["hold_nominal"]["value"] == pytest.approx(
        auto["hold_nominal"]["value"], rel=2e-3
    )
    assert short["results"]["conversion_at_end"]["value"] < 0.8
    assert any("shorter than the hold" in text for text in short["cautions"])


def test_confidence_asks_for_more_than_nominal() -> None:
    out = run(with_changes(confidence={"level": 0.95, "draws": 40, "seed": 3}))
    again = run(with_changes(confidence={"level": 0.95, "draws": 40, "seed": 3}))
    results = out["results"]
    assert results["hold_required"]["value"] > results["hold_nominal"]["value"]
    assert results["hold_required"] == again["results"]["hold_required"]


def test_a_stalled_front_has_no_hold() -> None:
    out = run(with_changes(gas={"steam_supply": "2 kW"}))
    assert out["results"]["hold_required"]["value"] is None
    assert out["results"]["front_position"]["value"][-1] < 15.0
    assert any("not reached" in text for text in out["cautions"])


def test_collar_edge_is_named_where_it_governs() -> None:
    collar = {"length": "16 in", "wall": "3 mm", "main_diameter": "8 in", "water_in_main": True}
    out = run(with_changes(collar=collar, schedule={"target_conversion": 0.6}))
    assert out["results"]["coldest_place"][0]["part"] == "collar edge"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"gas": {"steam_supply": "-5 kW"}}, "gas.steam_supply"),
        ({"gas": {"steam_supply": "-5 kg/h"}}, "gas.steam_supply"),
        ({"gas": {"vent_diameter": "5 in"}}, "gas.vent_diameter"),
        ({"gas": {"gauge_pressure": "7 ft"}}, "gas.gauge_pressure"),
        ({"resin": {"Tg_full": "200 degC"}}, "schedule.target_conversion"),
        ({"schedule": {"target_conversion": 1.2}}, "schedule.target_conversion"),
        ({"schedule": {"steam": "forever"}}, "schedule.steam"),
        ({"lateral": {"host_material": "cheese"}}, "lateral.host_material"),
        ({"lateral": {"length": "-3 m"}}, "lateral.length"),
        ({"liner": {"colour": "red"}}, "liner.colour"),
        ({"resin": {"A1": "-1 1/s"}}, "resin.A1"),
        ({"confidence": {"level": 2.0}}, "confidence.level"),
        ({"collar": {"length": "16 in"}}, "collar.wall"),
    ],
)
def test_faults_name_the_key(changes: dict[str, dict[str, Any]], name: str) -> None:
    data = with_changes(**changes)
    if name == "schedule.target_conversion" and "resin" in changes:
        data["schedule"]["target_conversion"] = 0.95
    assert name in faults(data)


def test_missing_tables_are_all_told() -> None:
    assert faults({}) >= {"lateral", "liner", "resin", "gas"}


def test_host_by_its_properties() -> None:
    data = with_changes()
    del data["lateral"]["host_material"]
    assert faults(data) >= {"lateral.host_conductivity", "lateral.host_density"}
    data["lateral"] |= {
        "host_conductivity": "1.4 W/m/K",
        "host_density": "2500 kg/m^3",
        "host_heat_capacity": "840 J/kg/K",
    }
    assert run(data)["results"]["hold_nominal"] == run(BASE)["results"]["hold_nominal"]


def test_materials_in_any_case_and_a_short_steam_time_shortens_the_usual_heat_up() -> None:
    data = with_changes(lateral={"host_material": "Vitrified Clay"}, schedule={"steam": "4 min"})
    results = run(data)["results"]
    assert results["steam_time"]["value"] == pytest.approx(4.0)
    assert "schedule.heat_up" in faults(
        with_changes(schedule={"steam": "4 min", "heat_up": "9 min"})
    )
