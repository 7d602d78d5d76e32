"""`calc steam`: saturated steam at a gauge pressure, and what a vent passes."""

from __future__ import annotations

import math

from drainwright.engineering import orifice, steam
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Said, Topic
from drainwright.sources import cite


def _run(inputs: Inputs) -> Answer:
    gauge = inputs.quantity("gauge_pressure", "pressure", low=0.0, high=1.5e6)
    barometer = inputs.quantity("barometer", "pressure", "101.325 kPa", low=40e3, high=120e3)
    diameter = inputs.quantity("orifice_diameter", "diameter", required=False, above=0.0, high=0.3)
    coefficient = inputs.quantity("discharge_coefficient", "number", 0.61, above=0.0, high=1.0)
    air = inputs.quantity("air_temperature", "temperature", "20 degC", low=230.0, high=600.0)
    inputs.close()
    state = steam.saturated(gauge + barometer)
    results: dict[str, Result] = {
        "saturation_temperature": Quantity(
            state.temperature, "temperature", "at gauge plus barometer"
        ),
        "latent_heat": Quantity(state.latent_heat, "specific_energy", "heat of condensation"),
        "specific_volume": Quantity(state.specific_volume, "specific_volume", "dry saturated"),
    }
    sources = [cite("iapws-if97")]
    if not math.isnan(diameter):
        results |= _vent(state, barometer, diameter, coefficient, air)
        sources.append(cite("gas-dynamics", f"Cd {coefficient:g}, exponent 1.135 and 1.4"))
    caution = (
        "Pure steam. Air in the tube lowers the temperature: saturation follows the steam's "
        "partial pressure."
    )
    return Answer(
        "steam", "IAPWS-IF97; Cd × isentropic nozzle", results, (), (caution,), tuple(sources)
    )


def _vent(
    state: steam.SaturatedSteam, barometer: float, diameter: float, coefficient: float, air: float
) -> dict[str, Result]:
    through = orifice.nozzle_flow(
        state.pressure, state.specific_volume, barometer, steam.EXPONENT_STEAM,
        diameter=diameter, discharge_coefficient=coefficient,
    )  # fmt: skip
    air_volume = steam.GAS_CONSTANT_AIR * air / state.pressure
    of_air = orifice.nozzle_flow(
        state.pressure, air_volume, barometer, steam.EXPONENT_AIR,
        diameter=diameter, discharge_coefficient=coefficient,
    )  # fmt: skip
    power = steam.boiler_power(through.flow, state.latent_heat)
    return {
        "steam_flow": Quantity(through.flow, "mass_flow", "Cd × isentropic nozzle, k 1.135"),
        "air_flow": Quantity(of_air.flow, "mass_flow", "Cd × isentropic nozzle, k 1.4"),
        "choked": Said(through.choked, "steam at the speed of sound in the orifice"),
        "boiler_power": Quantity(power, "power", "steam flow × latent heat, no feed water"),
    }


TOPIC = Topic("steam", "saturated steam, and what a vent passes", _run)
