"""Air mixed into the steam where host, tube or bladder bears less than pure steam.

The compressor and the boiler set how much gas there is; the vent must let it out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.checks import Check, at_least
from drainwright.engineering import orifice, steam
from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.tap_and_pipe import is_plastic
from drainwright.records.lateral import FarAccess
from drainwright.records.material import Resin, Tube
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, Fitness, Reason
from drainwright.sources import Citation, cite

_BALANCE = cite("iapws-if97", "Dalton, heat and mass balance")
_NOZZLE = cite("memory", "isentropic nozzle × 0.61")
AIR = 293.15
"""Air from the compressor [K], as the cure engine takes it."""


@dataclass(frozen=True, slots=True)
class GasLimit:
    """The warmest gas allowed, what bears no more, and who says so; SI."""

    temperature: float
    name: str
    source: Citation


@dataclass(frozen=True, slots=True)
class GasMix:
    """Steam and air for a gas at its limit; SI."""

    limit: GasLimit
    pure: float
    """Temperature of pure steam at the held pressure."""
    steam: float
    """Steam blown in [kg/s]."""
    air: float
    """Air blown in [kg/s]."""
    free_air: float
    """The same air outdoors [m^3/s]."""
    vent: float
    """Orifice that lets all of it out [m]."""
    latent_heat: float

    @property
    def power(self) -> float:
        """Boiler power of the steam [W]."""
        return self.steam * self.latent_heat


def gas_limits(site: Site, tube: Tube) -> Iterator[GasLimit]:
    """Whatever bears only so much: plastic host, the tube's coating, the carrier's bladder."""
    if is_plastic(site):
        limit = site.specification.limit("host_plastic_most")
        if limit.value is not None:
            yield GasLimit(limit.value, "plastic host", limit.source)
    if tube.maximum_gas_temperature is not None:
        yield GasLimit(tube.maximum_gas_temperature, "tube's coating", cite("maker"))
    bladder = site.rig.bladder_maximum_temperature if site.rig else None
    if bladder is not None:
        yield GasLimit(bladder, "carrier's bladder", cite("maker"))


def lowest_limit(site: Site, tube: Tube) -> GasLimit | None:
    """The limit that governs; None where there is none."""
    return min(gas_limits(site, tube), key=lambda one: one.temperature, default=None)


def gas_mix(site: Site, tube: Tube, pressure: float) -> GasMix | None:
    """The mixture at a held gauge `pressure` [Pa].

    None where pure steam is cool enough, where the far end is not vented outdoors, so that the
    air can't leave, or where boiler or compressor are not known.
    """
    limit, rig = lowest_limit(site, tube), site.rig
    barometer = steam.barometer_at(site.project.elevation)
    pure = steam.saturated(barometer + pressure)
    if limit is None or limit.temperature >= pure.temperature:
        return None
    if site.lateral.far_access is not FarAccess.OUTDOORS or rig is None:
        return None
    if not rig.boiler_power or not rig.air_supply or limit.temperature <= AIR:
        return None
    ratio = steam.air_for_gas(barometer + pressure, limit.temperature, AIR)
    density = barometer / (steam.GAS_CONSTANT_AIR * AIR)
    air = min(rig.air_supply * density, ratio * rig.boiler_power / pure.latent_heat)
    made = air / ratio
    return GasMix(
        limit,
        pure.temperature,
        made,
        air,
        air / density,
        _vent(barometer, pressure, limit.temperature, made, air),
        pure.latent_heat,
    )


def _vent(barometer: float, pressure: float, temperature: float, made: float, air: float) -> float:
    """Orifice that passes steam and air together [m]: the flow grows with its area."""
    total = made + air
    constant = (steam.GAS_CONSTANT_STEAM * made + steam.GAS_CONSTANT_AIR * air) / total
    volume = constant * temperature / (barometer + pressure)
    unit = orifice.nozzle_flow(
        barometer + pressure, volume, barometer, steam.EXPONENT_AIR, diameter=0.01
    ).flow
    return 0.01 * math.sqrt(total / unit)


def mix_figures(mix: GasMix) -> Iterator[Figure]:
    """What the crew sets: air, steam, vent."""
    warm = given("gas at most", mix.limit.temperature, "temperature")
    how = (
        "air / steam by mass = [1 + c_s (T_s − T)/L] / [1/r + c_a (T − T_a)/L]: part of the steam "
        "warms the air; r air for each pound of steam in the gas, L latent heat at T, "
        "c_s 1950, c_a 1006 J/kg/K; as much as compressor and boiler can give"
    )
    inputs = (
        warm,
        given("pure steam T_s", mix.pure, "temperature"),
        given("air T_a", AIR, "temperature", Knowledge.MEMORY),
        given("air / steam", mix.air / mix.steam, "number"),
    )
    yield figure(
        "steam.air",
        "air to blow in, free air",
        mix.free_air,
        "air_flow",
        _BALANCE,
        *inputs,
        given("air by mass", mix.air, "mass_flow"),
        how="air by mass · R T_a / barometer, R 287.05 J/kg/K",
    )
    yield figure(
        "steam.mix_steam",
        "steam to blow in",
        mix.steam,
        "mass_flow",
        _BALANCE,
        *inputs,
        given("air by mass", mix.air, "mass_flow"),
        how=how,
    )
    how = (
        "the orifice that passes air and steam together at the held pressure to the barometer: "
        "0.61 A √[2k/(k−1) · p/v · (r^(2/k) − r^((k+1)/k))], v = R T / p, R by mass of "
        f"287.06 and 461.53 J/kg/K, k {steam.EXPONENT_AIR:g}"
    )
    both = given("air and steam", mix.air + mix.steam, "mass_flow")
    yield figure(
        "steam.mix_vent", "vent for it", mix.vent, "small_length", _NOZZLE, both, warm, how=how
    )


def mix_caution(mix: GasMix) -> str:
    """How the crew holds the limit."""
    name = mix.limit.name
    return f"Air with the steam from the first minute; gas too hot for the {name}: less steam."


def vent_check(site: Site, mix: GasMix) -> tuple[Check, tuple[Reason, ...]]:
    """Whether the cap's vent lets the mixture out, and the work where it does not."""
    there = site.rig.cap_vent if site.rig else None
    check = at_least("vent lets the mixture out", there or 0.0, mix.vent, "small_length", _NOZZLE)
    if there is not None and there >= mix.vent:
        return check, ()
    words = "The cap’s vent is too small for the air that keeps the gas below its limit."
    work = "Fit the vent on this sheet; the steam time counts on it."
    return check, (Reason(Fitness.PREPARE, "vent", words, _NOZZLE, work=work),)


def maker_letter(mix: GasMix, resin: Resin) -> tuple[Reason, ...]:
    """The maker's schedule asks for more than the limit allows: another letter is needed."""
    hottest = max((step.temperature for step in resin.schedule), default=0.0)
    if hottest <= mix.limit.temperature:
        return ()
    words = f"The resin maker's schedule is hotter than the {mix.limit.name} bears."
    work = "Get the maker's letter for a cure at the gas limit; the simulated time is printed."
    return (Reason(Fitness.PREPARE, "maker's schedule", words, cite("maker"), work=work),)
