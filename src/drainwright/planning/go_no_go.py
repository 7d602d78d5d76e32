"""The go/no-go list before mixing, made for this lateral: every line is answered by a person."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.planning.site import Site
from drainwright.planning.tap_and_pipe import is_plastic
from drainwright.records.lateral import FarAccess
from drainwright.records.work_sheet import Fitness, Reason


def go_no_go(site: Site, reasons: tuple[Reason, ...]) -> tuple[str, ...]:
    """Questions that all need a yes before the mix ticket is released."""
    return tuple(_works(reasons)) + tuple(_always(site)) + tuple(_here(site))


def _works(reasons: tuple[Reason, ...]) -> Iterator[str]:
    for reason in reasons:
        if reason.work and reason.outcome is Fitness.PREPARE:
            yield f"Done: {reason.work.rstrip('.')}?"


def _always(site: Site) -> Iterator[str]:
    yield "Looked through with the camera today, after cleaning?"
    yield "Length measured again, and the same as on this sheet?"
    yield "Tube, collar and seals received, checked, lots written down?"
    names = [premises.address for premises in site.premises] or list(site.lateral.premises)
    for name in names:
        yield f"Water off at {name}, traps filled, lids down?"
    if not names:
        yield "Water off at every premises on this lateral?"
    yield "Flow in the main held or bypassed, upstream level watched?"
    yield "Boiler hot, standby air ready, gauges and sensors in calibration?"
    yield "Entry and traffic permits there, air monitor running, weather holds?"
    yield "Witness cup ready?"


def _here(site: Site) -> Iterator[str]:
    if site.lateral.far_access is FarAccess.OUTDOORS:
        yield "Exhaust stack outdoors, at least 6 ft high, 15 ft kept clear?"
    else:
        yield "Blind end: the method without exhaust agreed with the engineer?"
    if site.lateral.proof is None:
        yield "Address proven, or overridden by the superintendent with name and reason?"
    if is_plastic(site):
        yield "Plastic host: gas limit set at the boiler and known to the crew?"
    if any(branch.live is not False for branch in site.lateral.branches):
        yield "Branches within the lined length settled?"
