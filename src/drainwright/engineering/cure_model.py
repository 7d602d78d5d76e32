"""What a cure computation needs to know: pipe, liner, resin, soil, gas, collar, schedule.

Every class checks its own values; `CureCase` holds them together and checks what concerns more
than one. All values are SI, temperatures in kelvin.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from drainwright.engineering.kinetics import Kinetics
from drainwright.errors import Fault, raise_if_any, range_text


def _range(
    name: str, value: float, unit: str, low: float, high: float, *, open_low: bool = False
) -> list[Fault]:
    inside = math.isfinite(value) and value <= high and (value > low if open_low else value >= low)
    if inside:
        return []
    message = f"{value:g} {unit} is outside {range_text(low, high, unit)}"
    return [Fault(name, message, value, unit, low, high)]


@dataclass(frozen=True, slots=True)
class Host:
    """The host pipe's wall.

    Attributes
    ----------
    wall : float
        Wall thickness [m].
    conductivity : float
        Heat conductivity [W/m/K].
    density : float
        Density [kg/m^3].
    heat_capacity : float
        Specific heat capacity [J/kg/K].
    """

    wall: float
    conductivity: float
    density: float
    heat_capacity: float

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        return [
            *_range("host_wall", self.wall, "m", 0.0005, 0.2),
            *_range("host_conductivity", self.conductivity, "W/m/K", 0.02, 400.0),
            *_range("host_density", self.density, "kg/m^3", 100.0, 10_000.0),
            *_range("host_heat_capacity", self.heat_capacity, "J/kg/K", 100.0, 5_000.0),
        ]


HOST_MATERIALS: Mapping[str, tuple[float, float, float]] = {
    "cast iron": (56.0, 7500.0, 530.0),
    "pvc": (0.16, 1380.0, 1000.0),
    "clay": (1.40, 2500.0, 840.0),
    "brick": (0.70, 1750.0, 840.0),
    "concrete": (1.75, 2300.0, 920.0),
}
"""Conductivity [W/m/K], density [kg/m^3], heat capacity [J/kg/K] by material: CIBSE Guide A
for iron, PVC and clay (glazed ceramic, an upper bound); concrete in part from memory."""


@dataclass(frozen=True, slots=True)
class Liner:
    """The wet-out liner.

    Attributes
    ----------
    wall : float
        Finished wall [m].
    conductivity : float
        Heat conductivity across the wall [W/m/K].
    density : float
        Density [kg/m^3].
    heat_capacity : float
        Specific heat capacity [J/kg/K].
    resin_mass_fraction : float
        Mass of resin over mass of liner [1].
    coating : float
        Thickness of the inner coating [m].
    gap : float
        Air gap between liner and host [m].
    """

    wall: float
    conductivity: float = 0.2
    density: float = 1180.0
    heat_capacity: float = 1400.0
    resin_mass_fraction: float = 0.85
    coating: float = 0.0
    gap: float = 0.0

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        return [
            *_range("liner.wall", self.wall, "m", 0.0005, 0.05),
            *_range("liner.conductivity", self.conductivity, "W/m/K", 0.02, 5.0),
            *_range("liner.density", self.density, "kg/m^3", 300.0, 4000.0),
            *_range("liner.heat_capacity", self.heat_capacity, "J/kg/K", 300.0, 5000.0),
            *_range("liner.resin_mass_fraction", self.resin_mass_fraction, "1", 0.0, 1.0),
            *_range("liner.coating", self.coating, "m", 0.0, 0.005),
            *_range("liner.gap", self.gap, "m", 0.0, 0.02),
        ]


@dataclass(frozen=True, slots=True)
class Soil:
    """The ground around the pipe.

    Attributes
    ----------
    conductivity : float
        Heat conductivity [W/m/K].
    volumetric_heat_capacity : float
        Heat capacity per volume [J/m^3/K].
    temperature : float
        Undisturbed temperature [K].
    outer_radius : float
        Radius held at that temperature [m].
    """

    conductivity: float = 1.2
    volumetric_heat_capacity: float = 2.2e6
    temperature: float = 288.15
    outer_radius: float = 1.0

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        return [
            *_range("soil.conductivity", self.conductivity, "W/m/K", 0.1, 10.0),
            *_range(
                "soil.volumetric_heat_capacity", self.volumetric_heat_capacity, "J/m^3/K",
                5e5, 5e6,
            ),
            *_range("soil.temperature", self.temperature, "K", 260.0, 320.0),
            *_range("soil.outer_radius", self.outer_radius, "m", 0.1, 10.0),
        ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Supply:
    """Steam and air blown in, and the way out.

    Attributes
    ----------
    gauge_pressure : float
        Pressure in the tube above the barometer, held [Pa].
    barometer : float
        Pressure outdoors [Pa].
    steam_supply : float or None
        Steam that the boiler can give [kg/s]; None is ample.
    air_supply : float
        Air blown in with the steam (mixture) and for cooling [kg/s].
    air_temperature : float
        Temperature of that air [K].
    vent_diameter : float or None
        Orifice at the far end [m]; None is a blind end.
    discharge_coefficient : float
        Of the orifice [1].
    mixture : bool
        True marches a steam-air mixture; False pure steam with a sharp front.
    film_steam : float
        Heat transfer of condensing steam [W/m^2/K].
    film_dry : float
        Heat transfer where the wall is hotter than saturation [W/m^2/K].
    film_air : float
        Heat transfer of cooling air [W/m^2/K].
    blind_air : float
        Still air kept at a blind end without return, as a share of the length [1].
    """

    gauge_pressure: float
    barometer: float = 101_325.0
    steam_supply: float | None = None
    air_supply: float = 0.0
    air_temperature: float = 293.15
    vent_diameter: float | None = 0.00635
    discharge_coefficient: float = 0.61
    mixture: bool = True
    film_steam: float = 2000.0
    film_dry: float = 15.0
    film_air: float = 20.0
    blind_air: float = 0.0

    @property
    def pressure(self) -> float:
        """Absolute pressure in the tube [Pa]."""
        return self.gauge_pressure + self.barometer

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        found = [
            *_range("gas.gauge_pressure", self.gauge_pressure, "Pa", 0.0, 4e5),
            *_range("gas.barometer", self.barometer, "Pa", 50e3, 110e3),
            *_range("gas.air_supply", self.air_supply, "kg/s", 0.0, 5.0),
            *_range("gas.air_temperature", self.air_temperature, "K", 230.0, 400.0),
            *_range("gas.discharge_coefficient", self.discharge_coefficient, "1", 0.05, 1.0),
            *_range("gas.film_steam", self.film_steam, "W/m^2/K", 1.0, 1e5),
            *_range("gas.film_dry", self.film_dry, "W/m^2/K", 0.1, 1e3),
            *_range("gas.film_air", self.film_air, "W/m^2/K", 0.1, 1e3),
            *_range("gas.blind_air", self.blind_air, "1", 0.0, 0.9),
        ]
        if self.steam_supply is not None:
            found += _range("gas.steam_supply", self.steam_supply, "kg/s", 0.0, 5.0, open_low=True)
        if self.vent_diameter is not None:
            found += _range("gas.vent_diameter", self.vent_diameter, "m", 0.0, 0.5, open_low=True)
        return found


@dataclass(frozen=True, slots=True)
class Collar:
    """The collar in the main, behind the carrier's bladder.

    Attributes
    ----------
    length : float
        Along the main [m].
    wall : float
        Thickness [m].
    main_diameter : float
        Inside diameter of the main where the collar sits [m].
    bladder_wall : float
        Thickness of the bladder [m].
    bladder_conductivity : float
        Of the bladder's rubber [W/m/K].
    bladder_fill : str
        "steam" or "air".
    water_in_main : bool
        Whether water at the soil's temperature touches the main's wall beside the collar.
    """

    length: float
    wall: float
    main_diameter: float
    bladder_wall: float = 0.005
    bladder_conductivity: float = 0.2
    bladder_fill: str = "steam"
    water_in_main: bool = False

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        found = [
            *_range("collar.length", self.length, "m", 0.1, 3.0),
            *_range("collar.wall", self.wall, "m", 0.0005, 0.05),
            *_range("collar.main_diameter", self.main_diameter, "m", 0.1, 2.0),
            *_range("collar.bladder_wall", self.bladder_wall, "m", 0.0, 0.03),
            *_range("collar.bladder_conductivity", self.bladder_conductivity, "W/m/K", 0.02, 5.0),
        ]
        if self.bladder_fill not in ("steam", "air"):
            message = f"“{self.bladder_fill}” is not “steam” or “air”"
            found.append(Fault("collar.bladder_fill", message, self.bladder_fill))
        return found


@dataclass(frozen=True, slots=True)
class Schedule:
    """The phases.

    Attributes
    ----------
    heat_up : float
        Time over which the gas rises to its full temperature, within the steam time [s].
    steam : float or None
        Steam time [s]; None runs until the last liner cell reaches the target.
    cool_to : float
        Liner temperature at which cooling ends [K].
    target_conversion : float
        Conversion every liner cell must reach [1].
    """

    heat_up: float = 600.0
    steam: float | None = None
    cool_to: float = 310.928
    target_conversion: float = 0.9

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        found = [
            *_range("schedule.heat_up", self.heat_up, "s", 0.0, 86_400.0),
            *_range("schedule.cool_to", self.cool_to, "K", 273.15, 400.0),
            *_range(
                "schedule.target_conversion", self.target_conversion, "1", 0.0, 0.999,
                open_low=True,
            ),
        ]  # fmt: skip
        if self.steam is not None:
            found += _range("schedule.steam", self.steam, "s", 0.0, 604_800.0, open_low=True)
            if self.steam < self.heat_up:
                message = f"{self.heat_up:g} s is longer than the steam time, {self.steam:g} s"
                found.append(Fault("schedule.heat_up", message, self.heat_up, "s"))
        return found


@dataclass(frozen=True, slots=True)
class Grid:
    """Numbers of cells, and what is left in.

    Attributes
    ----------
    liner_cells : int
        Across the liner.
    host_cells : int
        Across the host pipe.
    soil_cells : int
        Across the soil, widening outwards.
    axial_cells : int
        Along the lateral.
    invert : bool
        Whether the invert, under condensate, is followed beside the top line.
    axial_conduction : bool
        Whether heat is conducted along the pipe.
    """

    liner_cells: int = 10
    host_cells: int = 6
    soil_cells: int = 26
    axial_cells: int = 60
    invert: bool = False
    axial_conduction: bool = False

    def faults(self) -> list[Fault]:
        """What is wrong with the values."""
        limits = (
            ("liner_cells", self.liner_cells, 2, 60),
            ("host_cells", self.host_cells, 1, 60),
            ("soil_cells", self.soil_cells, 3, 200),
            ("axial_cells", self.axial_cells, 1, 1000),
        )
        return [
            Fault(f"model.{name}", f"{value} is outside {low} to {high}", value, "1", low, high)
            for name, value, low, high in limits
            if not low <= value <= high
        ]


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of the lateral with something of its own.

    Attributes
    ----------
    start : float
        Distance from the tap [m].
    end : float
        Distance from the tap [m].
    value : float
        Depth of standing water of a belly [m], or film of moving groundwater at the host's
        outer face [W/m^2/K].
    """

    start: float
    end: float
    value: float


@dataclass(frozen=True, slots=True)
class CureCase:
    """One lateral, ready to be computed.

    Attributes
    ----------
    length : float
        Lined length [m].
    host_diameter : float
        Inside diameter of the host [m].
    host : Host
        Host pipe.
    liner : Liner
        Liner.
    kinetics : Kinetics
        Rate law of the resin.
    heat_of_reaction : float
        Heat of the whole reaction per mass of resin [J/kg].
    gas : Supply
        Steam, air and vent.
    soil : Soil
        Ground.
    schedule : Schedule
        Phases.
    grid : Grid
        Cells.
    start_conversion : float
        Conversion when steam comes on [1].
    start_temperature : float or None
        Liner temperature when steam comes on [K]; None is the soil's.
    collar : Collar or None
        Collar in the main.
    bellies : tuple of Stretch
        Standing water inside.
    groundwater : tuple of Stretch
        Moving groundwater outside.
    """

    length: float
    host_diameter: float
    host: Host
    liner: Liner
    kinetics: Kinetics
    heat_of_reaction: float
    gas: Supply
    soil: Soil = field(default_factory=Soil)
    schedule: Schedule = field(default_factory=Schedule)
    grid: Grid = field(default_factory=Grid)
    start_conversion: float = 0.0
    start_temperature: float | None = None
    collar: Collar | None = None
    bellies: tuple[Stretch, ...] = ()
    groundwater: tuple[Stretch, ...] = ()

    def __post_init__(self) -> None:
        raise_if_any(_case_faults(self))


def _case_faults(case: CureCase) -> list[Fault]:
    found = [
        *_range("length", case.length, "m", 0.1, 500.0),
        *_range("host_diameter", case.host_diameter, "m", 0.04, 2.0),
        *_range("heat_of_reaction", case.heat_of_reaction, "J/kg", 0.0, 2e6),
        *_range("start_conversion", case.start_conversion, "1", 0.0, 0.99),
    ]
    if case.start_temperature is not None:
        found += _range("start_temperature", case.start_temperature, "K", 230.0, 360.0)
    parts = (case.host, case.liner, case.soil, case.gas, case.schedule, case.grid, case.collar)
    for part in parts:
        if part is not None:
            found += part.faults()
    return found or _joint_faults(case)


def _joint_faults(case: CureCase) -> list[Fault]:
    """Faults that concern more than one part."""
    found: list[Fault] = []
    bore = case.host_diameter - 2 * case.liner.wall
    if bore <= 0.01:
        message = f"{case.liner.wall:g} m leaves no bore in a host of {case.host_diameter:g} m"
        found.append(Fault("liner.wall", message, case.liner.wall, "m"))
    vent = case.gas.vent_diameter
    if vent is not None and vent > max(bore, 0.0):
        message = f"{vent:g} m is larger than the lined bore, {max(bore, 0.0):g} m"
        found.append(Fault("gas.vent_diameter", message, vent, "m", 0.0, max(bore, 0.0)))
    outside = case.host_diameter / 2 + case.host.wall + case.liner.gap
    if case.collar is not None:
        outside = max(outside, case.collar.main_diameter / 2 + case.host.wall)
    if case.soil.outer_radius < 2.0 * outside:
        message = f"{case.soil.outer_radius:g} m is too near to the pipe ({outside:g} m)"
        low = 2.0 * outside
        found.append(Fault("soil.outer_radius", message, case.soil.outer_radius, "m", low, 10.0))
    target = case.schedule.target_conversion
    if target <= case.start_conversion:
        message = f"{target:g} is not above the start, {case.start_conversion:g}"
        found.append(Fault("schedule.target_conversion", message, target, "1"))
    if target >= case.kinetics.r:
        message = f"{target:g} is not below what the resin can reach, {case.kinetics.r:g}"
        high = case.kinetics.r
        found.append(Fault("schedule.target_conversion", message, target, "1", 0.0, high))
    if case.schedule.cool_to <= max(case.soil.temperature, case.gas.air_temperature):
        message = f"{case.schedule.cool_to:g} K is not above soil and cooling air"
        found.append(Fault("schedule.cool_to", message, case.schedule.cool_to, "K"))
    for name, stretches, high in (
        ("bellies", case.bellies, bore),
        ("groundwater", case.groundwater, 1e5),
    ):
        for stretch in stretches:
            if not (0 <= stretch.start < stretch.end <= case.length * 1.001):
                message = f"{stretch.start:g} to {stretch.end:g} m is not within the lateral"
                found.append(Fault(name, message))
            found += _range(name, stretch.value, "", 0.0, high)
    return found


@dataclass(frozen=True, slots=True)
class Place:
    """A point of the liner.

    Attributes
    ----------
    part : str
        "lateral", "collar middle" or "collar edge".
    line : str
        "top", "invert", or "" where the model has one line.
    position : float
        Distance from the tap [m].
    depth : float
        From the liner's inside [m].
    """

    part: str
    line: str
    position: float
    depth: float
