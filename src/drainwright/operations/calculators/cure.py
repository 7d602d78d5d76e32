"""`calc cure`: how long steam must flow until the last point of a liner is cured."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import Any

from drainwright.engineering import cure_model as model
from drainwright.engineering.cure import CureResult, simulate
from drainwright.engineering.cure_confidence import Confident, Spreads, hold_at_confidence
from drainwright.engineering.cure_probes import Probe, front_at, probe_rows
from drainwright.engineering.steam import saturated_by_fit
from drainwright.errors import InputError
from drainwright.operations.calculators.base import Answer, Inputs, Quantity, Result, Said, Topic
from drainwright.operations.calculators.kinetics import kinetics_sources, read_kinetics
from drainwright.sources import cite
from drainwright.units import parse

_DEPTHS = ("liner inner", "liner middle", "liner outer", "host outer")
_ALIASES = {"vitrified clay": "clay", "vcp": "clay", "iron": "cast iron", "upvc": "pvc"}
NOT_COMPARED = (
    "The cure model has not yet been compared with instrumented liners: the maker's schedule "
    "rules where it is longer."
)


def _run(inputs: Inputs) -> Answer:
    read = _Reader(inputs)
    case = read.case()
    confidence = _confidence(inputs)
    probes = _probes(inputs, case)
    inputs.close()
    if case is None:
        raise InputError(*inputs.faults)
    times = sorted({time for probe in probes for time in probe.times})
    result = simulate(case, times=times)
    confident = None
    if confidence is not None:
        confident = hold_at_confidence(case, **confidence)
    return _answer(case, result, confident, probes)


class _Reader:
    """The tables of `calc cure`, read into a case."""

    def __init__(self, inputs: Inputs) -> None:
        self.inputs = inputs

    def table(self, name: str, *, required: bool = True) -> Inputs:
        """A table; an empty one stands in for a missing optional one."""
        found = self.inputs.table(name, required=required)
        return found if found is not None else Inputs({}, prefix=f"{name}.")

    def case(self) -> model.CureCase | None:
        """The case; None where inputs are at fault."""
        inputs = self.inputs
        lateral = self.table("lateral")
        length = lateral.quantity("length", "length")
        diameter = lateral.quantity("host_diameter", "diameter")
        host = self.host(lateral)
        liner = self.liner(self.table("liner"))
        resin = self.table("resin")
        heat = resin.quantity("heat_of_reaction", "specific_energy")
        start = resin.quantity("start_conversion", "ratio", 0.0)
        warm = resin.quantity("start_temperature", "temperature", required=False)
        kinetics = read_kinetics(resin)
        soil = self.soil(self.table("soil", required=False))
        gas = self.gas(self.table("gas"))
        schedule = self.schedule(self.table("schedule", required=False))
        grid = self.grid(self.table("model", required=False))
        collar = self.collar()
        bellies = self.stretches("bellies", "depth", "thickness")
        water = self.stretches("groundwater", "film", "film")
        if inputs.faults or kinetics is None:
            return None
        try:
            return model.CureCase(
                length, diameter, host, liner, kinetics, heat, gas, soil, schedule, grid, start,
                None if math.isnan(warm) else warm, collar, bellies, water,
            )  # fmt: skip
        except InputError as error:
            self.add(error)
            return None

    def add(self, error: InputError) -> None:
        """Faults of the case, under the names of the tables."""
        in_table = {"length": "lateral", "host": "lateral", "heat": "resin", "start": "resin"}
        for fault in error.faults:
            table = in_table.get(fault.name.split("_")[0].split(".")[0])
            name = fault.name if table is None or "." in fault.name else f"{table}.{fault.name}"
            self.inputs.fault(name, fault.message, fault.value)
            if fault.unit and (fault.low is not None or fault.high is not None):
                last = self.inputs.faults.pop()
                shown = type(last)(
                    last.name, last.message, fault.value, fault.unit, fault.low, fault.high
                )
                self.inputs.faults.append(shown)

    def host(self, table: Inputs) -> model.Host:
        """The host pipe, by material or by its properties."""
        wall = table.quantity("host_wall", "thickness")
        keys = ("host_conductivity", "host_density", "host_heat_capacity")
        kinds = ("conductivity", "density", "heat_capacity")
        material = table.text("host_material", required=False).strip().lower()
        material = _ALIASES.get(material, material)
        if material and material not in model.HOST_MATERIALS:
            known = ", ".join(f"“{name}”" for name in model.HOST_MATERIALS)
            table.fault("host_material", f"“{material}” is not one of {known}", material)
        defaults = model.HOST_MATERIALS.get(material)
        values = [
            table.quantity(key, kind, defaults[n] if defaults else None)
            for n, (key, kind) in enumerate(zip(keys, kinds, strict=True))
        ]
        return model.Host(wall, *values)

    def liner(self, table: Inputs) -> model.Liner:
        """The liner; conductivity, density, heat capacity and resin share have defaults."""
        return model.Liner(
            table.quantity("wall", "wall"),
            table.quantity("conductivity", "conductivity", 0.2),
            table.quantity("density", "density", 1180.0),
            table.quantity("heat_capacity", "heat_capacity", 1400.0),
            table.quantity("resin_mass_fraction", "ratio", 0.85),
            table.quantity("coating", "wall", 0.0),
            table.quantity("gap", "thickness", 0.0),
        )

    def soil(self, table: Inputs) -> model.Soil:
        """The soil."""
        return model.Soil(
            table.quantity("conductivity", "conductivity", 1.2),
            table.quantity("volumetric_heat_capacity", "volumetric_heat_capacity", 2.2e6),
            table.quantity("temperature", "temperature", "15 degC"),
            table.quantity("outer_radius", "length", 1.0),
        )

    def gas(self, table: Inputs) -> model.Supply:
        """Steam, air and vent."""
        gauge = table.quantity("gauge_pressure", "pressure")
        barometer = table.quantity("barometer", "pressure", "101.325 kPa")
        vent: float | None = None
        if table.raw("vent_diameter", required=True) != "blind":
            vent = table.quantity("vent_diameter", "diameter")
        return model.Supply(
            gauge_pressure=gauge,
            barometer=barometer,
            steam_supply=self.steam_supply(table, gauge + barometer),
            air_supply=table.quantity("air_supply", "mass_flow", 0.0),
            air_temperature=table.quantity("air_temperature", "temperature", "20 degC"),
            vent_diameter=vent,
            discharge_coefficient=table.quantity("discharge_coefficient", "number", 0.61),
            mixture=table.flag("mixture", default=True),
            film_steam=table.quantity("film_steam", "film", 2000.0),
            film_dry=table.quantity("film_dry", "film", 15.0),
            film_air=table.quantity("film_air", "film", 20.0),
            blind_air=table.quantity("blind_air", "ratio", 0.0),
        )

    def steam_supply(self, table: Inputs, pressure: float) -> float | None:
        """Mass flow; power over the latent heat; None for “ample”."""
        raw = table.raw("steam_supply")
        if raw is None or raw == "ample":
            return None
        if isinstance(raw, str):
            try:
                power = parse(raw, "power", "steam_supply")
            except InputError:
                power = math.nan
            if not math.isnan(power):
                if not power > 0:
                    table.fault("steam_supply", f"{raw} is not above zero", raw)
                    return math.nan
                fine = math.isfinite(pressure) and 620.0 <= pressure <= 1e6
                return power / saturated_by_fit(pressure).latent_heat if fine else math.nan
        return table.quantity("steam_supply", "mass_flow")

    def schedule(self, table: Inputs) -> model.Schedule:
        """Phases."""
        steam: float | None = None
        if table.raw("steam") not in (None, "auto"):
            steam = table.quantity("steam", "time")
        heat_up = table.quantity("heat_up", "time", min(600.0, steam or 600.0))
        return model.Schedule(
            heat_up,
            steam,
            table.quantity("cool_to", "temperature", "100 degF"),
            table.quantity("target_conversion", "ratio", 0.9),
        )

    def grid(self, table: Inputs) -> model.Grid:
        """Cells."""
        return model.Grid(
            table.whole("liner_cells", 10, low=2, high=60),
            table.whole("host_cells", 6, low=1, high=60),
            table.whole("soil_cells", 26, low=3, high=200),
            table.whole("axial_cells", 60, low=1, high=1000),
            table.flag("invert", default=False),
            table.flag("axial_conduction", default=False),
        )

    def collar(self) -> model.Collar | None:
        """The collar, if any."""
        table = self.inputs.table("collar")
        if table is None:
            return None
        return model.Collar(
            table.quantity("length", "length"),
            table.quantity("wall", "wall"),
            table.quantity("main_diameter", "diameter"),
            table.quantity("bladder_wall", "thickness", "5 mm"),
            table.quantity("bladder_conductivity", "conductivity", 0.2),
            table.choice("bladder_fill", ("steam", "air"), "steam"),
            self.water(table),
        )

    def water(self, table: Inputs) -> bool:
        """True, false, or a depth, of which any above zero counts as water."""
        raw = table.raw("water_in_main")
        if raw is None or isinstance(raw, bool):
            return bool(raw)
        return table.quantity("water_in_main", "thickness", low=0.0) > 0

    def stretches(self, key: str, value: str, kind: str) -> tuple[model.Stretch, ...]:
        """Bellies or moving groundwater."""
        return tuple(
            model.Stretch(
                table.quantity("start", "length"),
                table.quantity("end", "length"),
                table.quantity(value, kind),
            )
            for table in self.inputs.tables(key)
        )


def _confidence(inputs: Inputs) -> dict[str, Any] | None:
    table = inputs.table("confidence")
    if table is None:
        return None
    level = table.quantity("level", "ratio", 0.95, low=0.5, high=0.9999)
    draws = table.whole("draws", 500, low=20, high=20_000)
    seed = table.whole("seed", 1, low=0, high=2**31 - 1)
    defaults = Spreads()
    values = {}
    for item in fields(Spreads):
        kelvin = item.name == "soil_temperature"
        kind = "temperature_difference" if kelvin else "ratio"
        default = getattr(defaults, item.name)
        values[item.name] = table.quantity(
            item.name, kind, default, low=0.0, high=15.0 if kelvin else 1.0
        )
    return {"level": level, "draws": draws, "seed": seed, "spreads": Spreads(**values)}


def _probes(inputs: Inputs, case: model.CureCase | None) -> list[Probe]:
    found = []
    for table in inputs.tables("probes"):
        length = case.length if case else None
        position = table.quantity("position", "length", low=0.0, high=length)
        depth = table.choice("depth", _DEPTHS)
        line = table.choice("line", ("top", "invert"), "top")
        times = table.quantities("times", "time", low=0.0, high=1e6)
        found.append(Probe(position, depth, line, tuple(times)))
    return found


def _place(place: model.Place) -> dict[str, Any]:
    return {
        "part": place.part,
        "line": place.line or "all round",
        "position": Quantity(place.position, "length"),
        "depth": Quantity(place.depth, "thickness"),
    }


def _answer(
    case: model.CureCase, result: CureResult, confident: Confident | None, probes: list[Probe]
) -> Answer:
    nominal = result.hold
    required = nominal if confident is None else confident.hold
    how = "nominal; no [confidence] given" if confident is None else (
        f"covers {confident.level:.0%} of {confident.draws} draws"
    )  # fmt: skip
    times, reach = _front(result)
    results: dict[str, Result] = {
        "hold_required": Quantity(required, "time", how),
        "hold_nominal": Quantity(nominal, "time", "steam on until the last liner cell is cured"),
        "coldest_position": Quantity(result.last_place.position, "length", "from the tap"),
        "coldest_place": Said([_place(result.last_place)], "last to cure"),
        "conversion_at_end": Quantity(result.conversion_at_end, "ratio", "least, after cool-down"),
        "peak_wall_temperature": Quantity(result.peak_temperature, "temperature", "in the liner"),
        "peak_host_temperature": Quantity(result.peak_host, "temperature", "in the host"),
        "steam_time": Quantity(result.steam_end, "time", "steam shut in this run after"),
        "steam_used": Quantity(result.steam_used, "mass", "condensed and vented, this run"),
        "cool_down": Quantity(result.cool_down, "time", "from steam off to the limit"),
        "front_position": Quantity(reach, "length", "how far steam reaches, at front_times"),
        "front_times": Quantity(times, "time", "since steam on"),
        "energy_error": Quantity(result.energy_error, "ratio", "missing over turned over"),
    }
    temperatures = [probe_rows(case, result.fields, probe)[0] for probe in probes]
    conversions = [probe_rows(case, result.fields, probe)[1] for probe in probes]
    results["probe_temperatures"] = Quantity(temperatures, "temperature", "a list per probe")
    results["probe_conversions"] = Quantity(conversions, "ratio", "a list per probe")
    sources = (
        cite("cure-model"), *kinetics_sources(case.kinetics), cite("iapws-if97", "by fit"),
        cite("gas-dynamics"),
    )  # fmt: skip
    return Answer("cure", _method(case), results, (), _cautions(case, result, confident), sources)


def _method(case: model.CureCase) -> str:
    gas = case.gas
    kind = "ample steam" if gas.steam_supply is None else (
        "steam-air mixture" if gas.mixture else "pure steam"
    )  # fmt: skip
    return f"cure model, {kind}, second order in time"


def _front(result: CureResult) -> tuple[list[float], list[float]]:
    """Times and how far steam reaches, every minute or at most 240 times."""
    step = 60.0 * max(1, math.ceil(result.steam_end / 60.0 / 240.0))
    times = [step * n for n in range(int(result.steam_end // step) + 1)]
    return times, front_at(result.log, times)


def _cautions(
    case: model.CureCase, result: CureResult, confident: Confident | None
) -> tuple[str, ...]:
    out = [NOT_COMPARED]
    if result.hold is None:
        out.append("The target is not reached with steam on within a day (null).")
    elif case.schedule.steam is not None and case.schedule.steam < result.hold:
        out.append("The steam time given is shorter than the hold: the last point is not cured.")
    if confident is None:
        out.append("No confidence table given: hold_required is the nominal hold, without margin.")
    elif confident.hold is None:
        out.append(f"{confident.never} of {confident.draws} draws never cure: no hold is enough.")
    gas = case.gas
    if gas.vent_diameter is None:
        out.append(
            "Blind end: gas is taken to return through the carrier; without that air stays at "
            "the end and it does not cure. No sensor sees the far end."
        )
    elif gas.steam_supply is not None:
        on = result.log.steam_on
        left = float(result.log.left[on][-1])
        if left < result.vent_steam:
            out.append(
                "At the end of steam the vent would pass more than is left: pressure must be "
                "held with air, or the boiler or the vent changed."
            )
    if gas.steam_supply is None and gas.air_supply > 0 and gas.mixture:
        out.append("Ample steam: air blown in with it is not counted while steam is on.")
    if result.cool_down is None:
        out.append("The wall is not below the limit two days after steam off (null).")
    return tuple(out)


TOPIC = Topic("cure", "how long steam must flow until the last point is cured", _run)
