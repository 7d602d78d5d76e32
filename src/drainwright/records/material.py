"""Tubes and resins, as their makers describe them."""

from __future__ import annotations

from dataclasses import dataclass, field

from drainwright.records.standing import Standing


@dataclass(frozen=True, slots=True)
class Tube:
    """A lining tube of one size and wall; SI, None where the maker gives nothing."""

    key: str
    diameter: float
    """Nominal inside diameter it is made for [m]."""
    wall: float
    """Finished wall in a host of its own diameter [m]."""
    void_fraction: float | None = None
    chart_mass: float | None = None
    """Maker's resin chart [kg/m], resin A + B; wins over the computed mass."""
    chart_gap: float | None = None
    """Maker's roller gap [m]; wins over the computed one."""
    coating: float | None = None
    """Thickness of one coating [m]."""
    largest_host: float | None = None
    smallest_host: float | None = None
    largest_bend: float | None = None
    """Sharpest bend it passes without wrinkles beyond the maker's letter [rad]."""
    size_steps: int = 0
    """Size steps of the host it can follow."""
    starting_pressure: float | None = None
    maximum_pressure: float | None = None
    cutting_factor: float = 1.0
    length_change: float = 0.0
    """Signed change of length on inversion, share of the length; learned from launches."""
    maximum_gas_temperature: float | None = None
    lead_time_days: int | None = None
    lot: str = ""
    demo: bool = False
    standing: dict[str, Standing] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Collar:
    """The piece of the liner that stays in the main around the tap; SI."""

    key: str
    main_diameter: float
    """Inside diameter of the main it is made for [m]."""
    length: float
    """Along the main [m]."""
    wall: float
    lap: float = 0.0
    """Overlap of a full wrap around the main [m]."""
    full_wrap: bool = True
    """False for a brim that covers only the tap's surroundings."""
    seam_offset: float = 0.0
    """From the middle of the collar to the seam with the tube, along the main [m]."""
    stretch: float = 0.05
    """Share by which the main's bore may differ from the size it is made for."""
    seal: str = ""
    lot: str = ""
    demo: bool = False
    standing: dict[str, Standing] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class GelTime:
    """One line of a data sheet: gel time at one temperature, with the mass it holds for."""

    temperature: float
    time: float
    mass: float | None = None
    criterion: str = ""


@dataclass(frozen=True, slots=True)
class CureStep:
    """One line of the maker's cure schedule: hold at a wall or gas temperature."""

    temperature: float
    time: float


@dataclass(frozen=True, slots=True)
class Resin:
    """A two-part resin system; SI."""

    key: str
    part_a: str = "resin"
    part_b: str = "hardener"
    ratio_a: float = 1.0
    ratio_b: float = 1.0
    """Mixing ratio by weight, A : B."""
    density: float | None = None
    """Of the mix [kg/m^3]."""
    density_a: float | None = None
    density_b: float | None = None
    gel_times: tuple[GelTime, ...] = ()
    schedule: tuple[CureStep, ...] = ()
    """Maker's steam schedule, in order."""
    modulus: float | None = None
    """Initial flexural modulus of the cured composite [Pa]."""
    strength: float | None = None
    """Initial flexural strength of the cured composite [Pa]."""
    retention: float | None = None
    """Long-term over initial modulus."""
    long_term_strength: float | None = None
    kinetics: dict[str, float] = field(default_factory=dict)
    """Named constants of the cure kinetics in SI; empty where not known."""
    kinetics_model: str = ""
    heat_of_reaction: float | None = None
    demo: bool = False
    """A stand-in for demos and tests; never enters a real project."""
    standing: dict[str, Standing] = field(default_factory=dict)
