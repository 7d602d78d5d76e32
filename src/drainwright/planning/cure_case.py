"""From a site to a case of the cure engine: pipe, liner, resin, soil, steam, collar, bellies."""

from __future__ import annotations

from dataclasses import dataclass, replace

from drainwright.engineering import steam
from drainwright.engineering.cure_model import (
    HOST_MATERIALS,
    Collar,
    CureCase,
    Grid,
    Host,
    Liner,
    Schedule,
    Soil,
    Stretch,
    Supply,
)
from drainwright.engineering.kinetics import Glass, Kinetics
from drainwright.planning.collar import CollarPlan
from drainwright.planning.figures import given, given_limit
from drainwright.planning.gas_mix import AIR, GasMix, gas_mix
from drainwright.planning.site import Site
from drainwright.planning.stations import Station
from drainwright.planning.wall_plan import installed_wall
from drainwright.records.lateral import FarAccess
from drainwright.records.material import Resin, Tube
from drainwright.records.standing import Knowledge
from drainwright.records.survey import ObservationKind
from drainwright.records.work_sheet import FigureInput

_MATERIALS = (
    ("cast iron", ("cast iron", "ductile", "iron")),
    ("pvc", ("pvc", "polyvinyl")),
    ("clay", ("clay", "vcp", "earthenware")),
    ("concrete", ("concrete", "cement")),
    ("brick", ("brick",)),
)
_HOST_WALL = {"cast iron": 0.006, "pvc": 0.004, "clay": 0.015, "concrete": 0.025, "brick": 0.1}
"""Wall of a small host where none is given [m]; from memory."""
_GLASS = ("Tg0", "Tg_full", "Tg_lambda", "vitrification_width")


@dataclass(frozen=True, slots=True)
class CureInputs:
    """What the engine is to be asked about one lateral."""

    site: Site
    tube: Tube
    resin: Resin
    stations: tuple[Station, ...]
    lined: float
    pressure: float
    """Held gauge pressure [Pa]."""
    collar: CollarPlan | None = None


def why_not(inputs: CureInputs) -> str:
    """Why this lateral can't be simulated; "" where it can."""
    if not inputs.resin.kinetics or inputs.resin.heat_of_reaction is None:
        return "the resin's cure kinetics are not known"
    if host_material(inputs.site.lateral.material) is None:
        return "the host's heat properties are not known"
    return ""


def host_material(material: str) -> str | None:
    """The engine's word for a host material; None for one it has no properties of."""
    words = material.lower()
    return next((name for name, marks in _MATERIALS if any(m in words for m in marks)), None)


def resin_kinetics(resin: Resin) -> Kinetics:
    """The resin's rate law from its named constants."""
    named = resin.kinetics
    count = sum(1 for key in named if key[:1] == "A" and key[1:].isdigit())
    glass = Glass(*(named[key] for key in _GLASS)) if all(k in named for k in _GLASS) else None
    return Kinetics(
        resin.kinetics_model or "kamal",
        tuple(named[f"A{i}"] for i in range(1, count + 1)),
        tuple(named[f"E{i}"] for i in range(1, count + 1)),
        named.get("m", 1.0),
        named.get("n", 1.0),
        named.get("r", 1.0),
        glass,
    )


def cure_case(inputs: CureInputs) -> CureCase:
    """The case to compute; `why_not` must be empty. `InputError` for values out of range."""
    site, tube = inputs.site, inputs.tube
    value = site.specification.value
    widest = max(inputs.stations, key=lambda station: station.diameter)
    material = host_material(site.lateral.material) or "clay"
    host = Host(site.lateral.host_wall or _HOST_WALL[material], *HOST_MATERIALS[material])
    coating = tube.coating if tube.coating is not None else value("coating")
    return CureCase(
        length=inputs.lined,
        host_diameter=widest.diameter,
        host=host,
        liner=Liner(installed_wall(tube, widest.diameter), coating=coating),
        kinetics=resin_kinetics(inputs.resin),
        heat_of_reaction=inputs.resin.heat_of_reaction or 0.0,
        gas=_supply(inputs, gas_mix(site, tube, inputs.pressure)),
        soil=Soil(
            value("soil_heat_conductivity"), value("soil_heat_capacity"), value("soil_temperature")
        ),
        schedule=Schedule(
            heat_up=value("heat_up"),
            cool_to=min(value("letdown_temperature"), value("letdown_temperature_steam")),
            target_conversion=value("target_cure"),
        ),
        grid=Grid(invert=True, axial_cells=40),
        collar=_collar(inputs.collar),
        bellies=tuple(_bellies(inputs, widest.diameter)),
    )


def case_inputs(inputs: CureInputs) -> tuple[FigureInput, ...]:
    """What the simulation was told that stands nowhere else on the sheet, with its standing."""
    site, resin = inputs.site, inputs.resin
    case, limit = cure_case(inputs), site.specification.limit
    wall_known = site.knowledge("host_wall") if site.lateral.host_wall else Knowledge.MEMORY
    law = ", ".join(f"{name} {value:.4g}" for name, value in resin.kinetics.items())
    maker = Knowledge.MAKER
    supply = case.gas.steam_supply
    found = [
        given_limit(limit("target_cure")),
        given_limit(limit("heat_up")),
        *(
            replace(given_limit(limit(name)), name=words)
            for name, words in (
                ("soil_temperature", "soil temperature"),
                ("soil_heat_conductivity", "soil's conductivity"),
                ("soil_heat_capacity", "soil's heat capacity"),
            )
        ),
        given("host's wall", case.host.wall, "wall", wall_known),
        given("host's conductivity", case.host.conductivity, "conductivity", Knowledge.MEMORY),
        given("liner's wall", case.liner.wall, "wall", maker),
        given("length", case.length, "length"),
        given("held pressure", inputs.pressure, "pressure"),
        given("resin's rate law, SI", f"{case.kinetics.model}: {law}", "", maker),
        given("heat of reaction", case.heat_of_reaction, "specific_energy", maker),
    ]
    if supply is not None:
        found.append(given("steam from the boiler, at most", supply, "mass_flow"))
    return tuple(found)


def _supply(inputs: CureInputs, mix: GasMix | None) -> Supply:
    site, rig = inputs.site, inputs.site.rig
    barometer = steam.barometer_at(site.project.elevation)
    vented = site.lateral.far_access is FarAccess.OUTDOORS
    vent = (rig.cap_vent if rig else None) if vented else None
    if mix is not None:
        return Supply(
            gauge_pressure=inputs.pressure,
            barometer=barometer,
            steam_supply=mix.steam,
            air_supply=mix.air,
            air_temperature=AIR,
            vent_diameter=max(mix.vent, vent or 0.0),
        )
    supply = None
    if rig is not None and rig.boiler_power is not None:
        supply = rig.boiler_power / steam.saturated(barometer + inputs.pressure).latent_heat
    return Supply(
        gauge_pressure=inputs.pressure,
        barometer=barometer,
        steam_supply=supply,
        vent_diameter=vent,
    )


def _collar(plan: CollarPlan | None) -> Collar | None:
    """The collar behind the carrier's bladder; the go/no-go list keeps the main's water away."""
    if plan is None:
        return None
    return Collar(plan.collar.length, plan.collar.wall, plan.bore)


def _bellies(inputs: CureInputs, diameter: float) -> list[Stretch]:
    found = []
    for _, seen, distance in inputs.site.seen(ObservationKind.WATER_LEVEL):
        share = seen.measure if seen.measure_kind == "share" else None
        if share and seen.running_to is not None:
            ends = sorted((distance, inputs.site.from_tap(seen.running_to)))
            start, end = max(ends[0], 0.0), min(ends[1], inputs.lined)
            if end > start:
                found.append(Stretch(start, end, share * diameter))
    return found
