"""Steam at this site: gas temperature and its limit, air to mix in, vent, boiler, trap seals.

Also how long the main may stay plugged. Everything that the maker's schedule does not know.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.checks import Check, at_most, not_assessed
from drainwright.engineering import orifice, steam
from drainwright.engineering.groundwater import water_pressure
from drainwright.planning.figures import figure, given
from drainwright.planning.gas_mix import GasLimit, gas_mix, lowest_limit
from drainwright.planning.site import Site
from drainwright.records.lateral import FarAccess
from drainwright.records.material import Tube
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite
from drainwright.units import INCH

_STEAM = cite("iapws-if97")
_NOZZLE = cite("memory", "isentropic nozzle × 0.61")
_EXPONENT = 1.135
_NOZZLE_RULE = (
    "0.61 A √[2k/(k−1) · p_1/v_1 · (r^(2/k) − r^((k+1)/k))], r = p_2/p_1, at least "
    f"[2/(k+1)]^(k/(k−1)), k {_EXPONENT}"
)
_HOSE_RULE = (
    "; p_2 such that hose and riser pass as much: p_2² − p_0² = (ṁ/A)² p_1 v_1 "
    "(0.03 L/d + 1.5 + 2 ln p_2/p_0), p_0 the barometer"
)
_ROUTES = {
    FarAccess.OUTDOORS: "vented cap, hose to the open air, away from windows and people",
    FarAccess.INDOORS: "blind cap; return through the carrier, warm water or ambient cure",
    FarAccess.NONE: "blind cap; return through the carrier, warm water or ambient cure",
    FarAccess.UNKNOWN: "not known: find the far end first",
}


@dataclass(frozen=True, slots=True)
class SteamSite:
    """Steam figures of a site and their checks."""

    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]


def steam_site(site: Site, tube: Tube, pressure: float) -> SteamSite:
    """Gas temperature, air share, vent and boiler at a held gauge `pressure` [Pa]."""
    barometer = steam.barometer_at(site.project.elevation)
    pure = steam.saturated(barometer + pressure)
    figures = [
        figure(
            "steam.route",
            "where the steam goes",
            _ROUTES[site.lateral.far_access],
            "",
            cite("practice", "safety"),
        ),
        figure(
            "steam.gas",
            "pure steam at this pressure",
            pure.temperature,
            "temperature",
            _STEAM,
            given("held pressure", pressure, "pressure"),
            given("barometer", barometer, "pressure", Knowledge.ASSUMED),
            how="saturation at gauge + barometer from the project's elevation",
        ),
    ]
    checks: list[Check] = []
    limit = lowest_limit(site, tube)
    if limit is not None:
        figures.extend(_mixture(barometer + pressure, pure.temperature, limit))
    vented = site.lateral.far_access is FarAccess.OUTDOORS
    mixed = gas_mix(site, tube, pressure) is not None  # it has a vent of its own
    if vented and not mixed and site.rig is not None and site.rig.cap_vent is not None:
        more, check = _vent(site, barometer, pressure, pure)
        figures.extend(more)
        checks.append(check)
    figures.extend(_trap_seals(pressure))
    return SteamSite(tuple(figures), tuple(checks))


def _mixture(absolute: float, pure: float, most: GasLimit) -> Iterator[Figure]:
    limit = most.temperature
    yield figure("steam.gas_limit", f"gas at most ({most.name})", limit, "temperature", most.source)
    if limit >= pure:
        return
    share = steam.steam_share(absolute, limit)
    yield figure(
        "steam.share",
        "steam in the gas for that, by mole",
        share,
        "share",
        _STEAM,
        given("gas at most", limit, "temperature"),
        given("absolute pressure", absolute, "pressure"),
        how="saturation pressure at the limit / absolute pressure",
    )
    yield figure(
        "steam.air_per_steam",
        "air for each pound of steam" if share else "air",
        steam.air_per_steam(absolute, limit),
        "ratio",
        _STEAM,
        given("steam by mole", share, "share"),
        how="(1 − y)/y · 1.6078, by mass",
    )


def _vent(
    site: Site, barometer: float, pressure: float, pure: steam.SaturatedSteam
) -> tuple[list[Figure], Check]:
    rig = site.rig
    diameter = rig.cap_vent if rig and rig.cap_vent else 0.0
    hose = None
    if rig and rig.vent_hose_length and rig.hose_bore:
        riser = site.lateral.far_depth or 0.0
        hose = orifice.Hose(rig.vent_hose_length + riser, rig.hose_bore)
    vent = orifice.vent_flow(
        barometer + pressure,
        pure.specific_volume,
        _EXPONENT,
        barometer=barometer,
        diameter=diameter,
        hose=hose,
    )
    power = steam.boiler_power(vent.flow, pure.latent_heat)
    state = (
        given("absolute pressure p_1", barometer + pressure, "pressure"),
        given("steam's volume v_1", pure.specific_volume, "specific_volume"),
        given("pressure before the hose p_2", vent.back_pressure, "pressure"),
    )
    inputs = [given("vent in the cap", diameter, "small_length", Knowledge.MEASURED)]
    if hose is not None:
        inputs.append(given("hose and riser", hose.length, "length", Knowledge.MEASURED))
        inputs.append(given("bore of the hose", hose.bore, "small_length", Knowledge.MEASURED))
    figures = [
        figure(
            "steam.vent_flow",
            "steam leaving by the vent",
            vent.flow,
            "mass_flow",
            _NOZZLE,
            *inputs,
            *(state if hose is not None else state[:2]),
            how=_NOZZLE_RULE + (_HOSE_RULE if hose is not None else ", p_2 the barometer"),
        ),
        figure(
            "steam.vent_power",
            "boiler for the vent alone",
            power,
            "power",
            _STEAM,
            given("steam leaving by the vent", vent.flow, "mass_flow"),
            given("latent heat", pure.latent_heat, "specific_energy"),
            how="flow × latent heat",
        ),
    ]
    name = "boiler carries the vent"
    if rig is None or rig.boiler_power is None:
        return figures, not_assessed(name, "power", _STEAM, "the boiler's power is not entered")
    note = "the pipe condenses steam on top of it"
    return figures, at_most(name, power, rig.boiler_power, "power", cite("geometry"), note)


def _trap_seals(pressure: float) -> Iterator[Figure]:
    weak = float(water_pressure(2 * INCH))
    yield figure(
        "steam.trap_seal",
        "a 2 in trap seal holds only",
        weak,
        "pressure",
        cite("geometry"),
        given("pressure in the tube", pressure, "pressure"),
        how="0.433 psi/ft × 2 in; 4 in holds twice that; look inside before and during steam",
    )


def plugged_main(site: Site) -> tuple[Figure, ...]:
    """How long the main may stay plugged: its volume over the flow, else bypass."""
    flow = site.specification.optional("main_flow")
    if not flow:
        return ()
    volume = math.pi / 4 * site.segment.bore**2 * site.segment.length
    inputs = (
        given("volume of the segment", volume, "volume", Knowledge.MEASURED),
        given("flow in the main", flow, "flow", Knowledge.MEMORY),
    )
    how = "volume of the segment / flow; less where a basement lies lower; else bypass"
    return (
        figure(
            "main.plugged",
            "main may stay plugged",
            volume / flow,
            "time",
            cite("geometry"),
            *inputs,
            how=how,
        ),
    )
