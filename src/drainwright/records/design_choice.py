"""What the engineer chose or assumed for one lateral, over what its records say."""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class DesignChoice:
    """The design choice of one lateral; `key` is the owner's id, SI.

    An empty field leaves what the records say. Why it was made is its revision's reason.
    """

    key: str
    tube: str = ""
    resin: str = ""
    minimum_wall: float | None = None
    """Least finished wall, whatever the design needs [m]."""
    water_depth: float | None = None
    """Depth of the groundwater below ground [m]."""
    usual_pressure: float | None = None
    """Planned launch pressure [Pa]."""
    cap_vent: float | None = None
    """Bore of the vent in the far cap [m]."""
    boiler_power: float | None = None
    """Heat of the steam supply [W]."""
    soil_temperature: float | None = None
    soil_heat_conductivity: float | None = None

    @property
    def chosen(self) -> tuple[str, ...]:
        """The fields that say something else than the records."""
        named = (field.name for field in fields(self) if field.name != "key")
        return tuple(name for name in named if getattr(self, name) not in ("", None))
