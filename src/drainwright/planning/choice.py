"""A design choice laid over what the records of a lateral say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from drainwright.errors import Fault, raise_if_any
from drainwright.planning.site import Site
from drainwright.records.design_choice import DesignChoice
from drainwright.records.lateral import Lateral
from drainwright.records.material import Resin, Tube
from drainwright.records.rig import Rig
from drainwright.records.standing import Knowledge, Standing
from drainwright.sources import cite
from drainwright.units import KINDS

SOURCE = cite("choice")
_LIMITS = ("minimum_wall", "usual_pressure", "soil_temperature", "soil_heat_conductivity")
_RANGES = {
    "minimum_wall": ("wall", 0.0, 0.05),
    "water_depth": ("length", -5.0, 60.0),
    "usual_pressure": ("pressure", 0.0, 4.0e5),
    "cap_vent": ("diameter", 0.0, 0.1),
    "boiler_power": ("power", 100.0, 5.0e6),
    "soil_temperature": ("temperature", 253.15, 333.15),
    "soil_heat_conductivity": ("conductivity", 0.05, 10.0),
}
"""What can be chosen at all, so that a slip of the pen is told: kind, lowest, highest [SI]."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """A site and its materials with the choice laid over them."""

    site: Site
    tubes: tuple[Tube, ...]
    resins: tuple[Resin, ...]


def check_choice(choice: DesignChoice, tubes: Sequence[Tube], resins: Sequence[Resin]) -> None:
    """Raise one `InputError` with everything that can't be meant or is not on record."""
    faults = []
    for name, (kind, low, high) in _RANGES.items():
        value = getattr(choice, name)
        if value is not None and not low <= value <= high:
            message = "is outside what can be meant"
            faults.append(Fault(name, message, value, KINDS[kind].si, low, high))
    if choice.tube and choice.tube not in {tube.key for tube in tubes}:
        faults.append(Fault("tube", f"no tube “{choice.tube}” is on record", choice.tube))
    if choice.resin and choice.resin not in {resin.key for resin in resins}:
        faults.append(Fault("resin", f"no resin “{choice.resin}” is on record", choice.resin))
    raise_if_any(faults)


def with_choice(
    choice: DesignChoice | None, site: Site, tubes: Sequence[Tube], resins: Sequence[Resin]
) -> Chosen:
    """The site as the choice has it; a tube or resin no longer on record leaves none to use."""
    if choice is None:
        return Chosen(site, tuple(tubes), tuple(resins))
    kept = tuple(tube for tube in tubes if choice.tube in ("", tube.key))
    mixed = tuple(resin for resin in resins if choice.resin in ("", resin.key))
    changes = {
        name: (getattr(choice, name), SOURCE)
        for name in _LIMITS
        if getattr(choice, name) is not None
    }
    specification = site.specification.with_limits(changes) if changes else site.specification
    found = replace(
        site,
        lateral=_lateral(choice, site),
        specification=specification,
        rig=_rig(choice, site.rig),
    )
    return Chosen(found, kept, mixed)


def _lateral(choice: DesignChoice, site: Site) -> Lateral:
    lateral = site.lateral
    if choice.resin:
        lateral = replace(lateral, resin=choice.resin)
    if choice.water_depth is not None:
        standing = Standing(Knowledge.ASSUMED, note="chosen for the design")
        lateral = replace(
            lateral,
            water_depth=choice.water_depth,
            standing={**lateral.standing, "water_depth": standing},
        )
    return lateral


def _rig(choice: DesignChoice, rig: Rig | None) -> Rig | None:
    if choice.cap_vent is None and choice.boiler_power is None:
        return rig
    found = rig or Rig("chosen for the design")
    if choice.cap_vent is not None:
        found = replace(found, cap_vent=choice.cap_vent)
    if choice.boiler_power is not None:
        found = replace(found, boiler_power=choice.boiler_power)
    return found
