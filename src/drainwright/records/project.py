"""The project and the main segments its laterals join."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from drainwright.records.standing import Standing
from drainwright.units import UnitSystem

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Project:
    """One job for one owner; `key` names it in the store."""

    key: str
    name: str
    town: str = ""
    owner: str = ""
    zone: str = "America/Chicago"
    units: UnitSystem = UnitSystem.US
    currency: str = "USD"
    elevation: float = 0.0
    """Height above sea level [m]; sets the barometer."""
    demo: bool = False
    """Only a demo project may use demo resin."""
    crs: str = ""
    """Coordinate reference system of all geometry, such as an EPSG code."""


class MainLining(StrEnum):
    """When the main itself is or was lined."""

    NEVER = "never"
    BEFORE = "lined before"
    AFTER = "to be lined after"


@dataclass(frozen=True, slots=True)
class MainSegment:
    """A run of public main, manhole to manhole; distances count from `from_manhole`."""

    key: str
    from_manhole: str
    to_manhole: str
    inside_diameter: float
    """Inside diameter of the host main, without any liner [m]."""
    length: float
    street: str = ""
    material: str = ""
    lining: MainLining = MainLining.NEVER
    liner_wall: float | None = None
    """Wall of the main's own liner [m]."""
    from_depth: float | None = None
    """Depth of the invert below the rim at `from_manhole` [m]."""
    to_depth: float | None = None
    manhole_opening: float | None = None
    joints: tuple[float, ...] = ()
    """Distances of joints and repairs of the main that matter to a collar [m]."""
    geometry: tuple[Point, ...] = ()
    standing: dict[str, Standing] = field(default_factory=dict)

    @property
    def bore(self) -> float:
        """True inside diameter today [m]: less the liner where the main was lined before."""
        wall = self.liner_wall if self.lining is MainLining.BEFORE else None
        return self.inside_diameter - 2 * (wall or 0.0)
