"""The go/no-go list before mixing, made for this lateral: every line is answered by a person.

Works that must be done first stand with the reasons, not here.
"""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.planning.site import Site
from drainwright.planning.tap_and_pipe import is_plastic
from drainwright.records.lateral import FarAccess
from drainwright.units import UnitSystem

# height of the exhaust stack, and how far people stay away from it
_AWAY = {UnitSystem.US: ("6 ft", "15 ft"), UnitSystem.SI: ("1.8 m", "4.6 m")}


def go_no_go(site: Site) -> tuple[str, ...]:
    """Lines that all need a yes before the mix ticket is released."""
    return (*_always(), *_here(site), *_premises(site))


def _always() -> Iterator[str]:
    yield "Looked through today, after cleaning"
    yield "Length measured again, as on this sheet"
    yield "Tube, collar and seals received and checked"
    yield "Boiler hot; standby air runs"
    yield "Flow in the main held or bypassed"
    yield "Weather looked at for the whole cure"
    yield "Permits on site: entry, traffic"
    yield "Air monitor on; attendant and rescue named"
    yield "Instruments in calibration; sensors placed"
    yield "Witness cup ready"


def _here(site: Site) -> Iterator[str]:
    if site.lateral.far_access is FarAccess.OUTDOORS:
        high, away = _AWAY[site.project.units]
        yield f"Exhaust outdoors, stack {high}, {away} kept clear"
    else:
        yield "Blind end: method agreed with the engineer"
    if is_plastic(site):
        yield "Plastic host: gas limit set and known"
    if any(branch.live is not False for branch in site.lateral.branches):
        yield "Branches within the lined length settled"


def _premises(site: Site) -> Iterator[str]:
    names = [premises.address for premises in site.premises] or list(site.lateral.premises)
    for name in names:
        yield f"Water off, traps filled: {name}"
    if not names:
        yield "Water off at every premises on this lateral"
