"""`calc kinetics` and `calc steam`: names, units, published values and faults."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from drainwright.errors import InputError
from drainwright.operations.calculate import calculate
from drainwright.operations.calculators.base import answer_json
from drainwright.units import UnitSystem

SET_A: dict[str, Any] = {
    "model": "lee-loos-springer",
    "A1": "2.101e9 1/min", "A2": "-2.014e9 1/min", "A3": "1.960e5 1/min",
    "E1": "80.7 kJ/mol", "E2": "77.8 kJ/mol", "E3": "56.6 kJ/mol",
}  # fmt: skip
SET_C: dict[str, Any] = {
    "model": "kamal",
    "A1": "1.02e5 1/s", "A2": "1.53e5 1/s", "E1": "57 kJ/mol", "E2": "50 kJ/mol",
    "m": 0.9, "n": 1.8,
}  # fmt: skip
GLASS: dict[str, Any] = {
    "Tg0": "-30 degC",
    "Tg_full": "110 degC",
    "Tg_lambda": 0.45,
    "vitrification_width": "6 K",
}


def run(topic: str, system: UnitSystem = UnitSystem.SI, **data: Any) -> dict[str, Any]:
    answer, _ = calculate(topic, data, Path())
    return answer_json(answer, system)


def faults(topic: str, **data: Any) -> set[str]:
    with pytest.raises(InputError) as caught:
        calculate(topic, data, Path())
    return {fault.name for fault in caught.value.faults}


@pytest.mark.published
def test_set_a_as_a_calculator() -> None:
    """Reference cure.md, set A: conversions and the time to 0.3."""
    out = run("kinetics", **SET_A, temperature=["120 degC", "150 degC"],
              times=["10 min", "60 min"], target=0.3)  # fmt: skip
    conversion = out["results"]["conversion"]
    assert conversion["unit"] == "1"
    assert conversion["value"][0] == pytest.approx([0.1254, 0.2981], abs=0.002)
    assert conversion["value"][1] == pytest.approx([0.3007, 0.7454], abs=0.002)
    time = out["results"]["time_to_target"]
    assert time["unit"] == "min"
    assert time["value"] == pytest.approx([61.31, 9.95], rel=0.005)


@pytest.mark.published
def test_set_c_with_and_without_vitrification() -> None:
    """Reference cure.md, set C at 25 °C: 278.9 and 253.9 min."""
    nothing: dict[str, Any] = {}
    for extra, minutes in ((GLASS, 278.9), (nothing, 253.9)):
        out = run("kinetics", **SET_C, **extra, temperature="25 degC", target=0.6)
        assert out["results"]["time_to_target"]["value"] == pytest.approx([minutes], rel=0.01)
        assert "conversion" not in out["results"]


@pytest.mark.published
def test_rates_at_one_temperature_with_a_ceiling() -> None:
    """Reference cure.md, set D, 80 °C: 2.04, 3.92, 6.30 min; never above r."""
    law: dict[str, Any] = {
        "k1": "1395e-6 1/s",
        "k2": "5.84e-3 1/s",
        "m": 0.93,
        "n": 1.477,
        "r": 0.9294,
    }
    for target, minutes in ((0.2, 2.04), (0.4, 3.92), (0.6, 6.30)):
        out = run("kinetics", **law, temperature="80 degC", target=target)
        assert out["results"]["time_to_target"]["value"] == pytest.approx([minutes], abs=0.008)
    out = run("kinetics", **law, temperature="80 degC", times=["1 min"], target=0.95)
    assert out["results"]["time_to_target"] == {"value": [None], "unit": "min"}
    assert len(out["results"]["conversion"]["value"]) == 1


@pytest.mark.analytic
def test_a_flat_history_is_a_temperature() -> None:
    flat = run("kinetics", **SET_C, history=[["0 min", "60 degC"], ["90 min", "60 degC"]],
               times=["30 min", "60 min"])  # fmt: skip
    held = run("kinetics", **SET_C, temperature="60 degC", times=["30 min", "60 min"])
    assert flat["results"]["conversion"]["value"][0] == pytest.approx(
        held["results"]["conversion"]["value"][0], abs=1e-8
    )


def test_kinetics_faults_are_all_told() -> None:
    assert faults("kinetics", **SET_C, temperature="60 degC") == {"times"}
    assert "temperature" in faults("kinetics", **SET_C, times=["1 min"])
    both = {"temperature": "60 degC", "history": [["0 min", "60 degC"]]}
    assert faults("kinetics", **SET_C, **both, times=["1 min"]) == {"history"}
    rates = {"k1": "1e-3 1/s", "k2": "1e-3 1/s", "m": 1, "n": 1}
    assert faults("kinetics", **rates, temperature=["50 degC", "60 degC"], target=0.5) == {
        "temperature"
    }
    rising = [["5 min", "60 degC"], ["1 min", "60 degC"]]
    assert faults("kinetics", **SET_C, history=rising, target=0.5) == {"history"}
    assert faults("kinetics", **SET_C, temperature="60 degC", target=1.5) == {"target"}
    bad = SET_C | {"A1": "-1 1/s", "wrong": 1}
    assert faults("kinetics", **bad, temperature="60 degC", target=0.5) == {"A1", "wrong"}
    half = dict(list(GLASS.items())[:2])
    assert faults("kinetics", **SET_C, **half, temperature="60 degC", target=0.5) == {"Tg_lambda"}


@pytest.mark.published
def test_steam_at_five_psig() -> None:
    """Reference cure.md: 108.391 °C, 2234.06 kJ/kg; ¼ in vent 29.4 lb/h, air 19.8 kg/h."""
    given: dict[str, Any] = {
        "gauge_pressure": "5 psi",
        "barometer": "14.696 psi",
        "orifice_diameter": "1/4 in",
    }
    si = run("steam", **given)["results"]
    assert si["saturation_temperature"]["value"] == pytest.approx(108.391, abs=0.001)
    assert si["latent_heat"] == {"value": pytest.approx(2234.06, abs=0.01), "unit": "kJ/kg"}
    assert si["air_flow"] == {"value": pytest.approx(19.8, abs=0.06), "unit": "kg/h"}
    assert si["choked"] is False
    us = run("steam", UnitSystem.US, **given)["results"]
    assert us["steam_flow"] == {"value": pytest.approx(29.4, abs=0.06), "unit": "lb/h"}
    power = 29.4 * 0.45359237 / 3600 * 2234.06
    assert us["boiler_power"] == {"value": pytest.approx(power, rel=0.003), "unit": "kW"}
    assert us["saturation_temperature"]["unit"] == "degF"


def test_steam_without_an_orifice_and_faults() -> None:
    out = run("steam", gauge_pressure="7 psi")
    assert set(out["results"]) == {"saturation_temperature", "latent_heat", "specific_volume"}
    assert math.isfinite(out["results"]["specific_volume"]["value"])
    assert faults("steam", gauge_pressure="-3 psi", orifice_diameter="0 in") == {
        "gauge_pressure",
        "orifice_diameter",
    }
