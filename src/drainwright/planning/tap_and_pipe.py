"""What the tap and the pipe themselves bring along: tap kind, riser, slope, host material."""

from __future__ import annotations

from collections.abc import Iterator

from drainwright.planning.site import Site
from drainwright.planning.stations import ground
from drainwright.records.lateral import TapKind
from drainwright.records.work_sheet import Fitness, Reason
from drainwright.sources import cite

_PRACTICE = cite("practice")
PLASTIC = ("pvc", "polyethylene", "polypropylene", "plastic", "abs")
PITCH_FIBRE = ("pitch fibre", "pitch fiber", "bituminized")


def tap_kind(site: Site) -> Iterator[Reason]:
    """A hole broken into the main has no fitting: its size, edge and surroundings are unknown."""
    if site.lateral.tap_kind is TapKind.BROKEN_IN:
        words = (
            "The lateral was broken into the main: the hole may be large or sharp, with a void or "
            "missing pipe behind it."
        )
        work = "Pan the tap, measure the hole, grind the edge; the engineer looks at the film."
        yield Reason(Fitness.ASK, "tap kind", words, _PRACTICE, 0.0, work=work)


def steepness(site: Site) -> Iterator[Reason]:
    """A steep lateral drains its resin and lets the tube slide."""
    limit, slope = site.specification.limit("slope_most"), slope_of(site)
    if slope is not None and limit.value is not None and slope > limit.value:
        words = f"The lateral climbs {slope * 100:.0f} %: resin drains and the tube slides."
        work = "Hold the tube at the carrier; ask the resin maker about a thicker mix."
        yield Reason(Fitness.ASK, "steep", words, limit.source, work=work)


def host_material(site: Site) -> Iterator[Reason]:
    """Pitch fiber softens in steam; nobody promises what it does."""
    if is_pitch_fibre(site):
        words = "Pitch fiber softens when it is heated."
        work = "The engineer and the resin maker name a temperature, or it is dug."
        yield Reason(Fitness.ASK, "host material", words, cite("memory"), work=work)


def slope_of(site: Site) -> float | None:
    """Fall toward the main, rise over run: as measured, else from depths under level ground."""
    lateral = site.lateral
    if lateral.slope is not None:
        return lateral.slope
    if lateral.tap_depth is None or lateral.far_depth is None:
        return None
    run = lateral.cleanout_distance or max((m.reading for m in lateral.lengths), default=0.0)
    around = ground(site)
    return (around.tap_depth - lateral.riser - around.far_depth) / run if run > 0 else None


def is_plastic(site: Site) -> bool:
    """Whether the host softens well below steam's temperature."""
    return any(word in site.lateral.material.lower() for word in PLASTIC)


def is_pitch_fibre(site: Site) -> bool:
    """Whether the host is pitch fiber."""
    return any(word in site.lateral.material.lower() for word in PITCH_FIBRE)


def pipe_cautions(site: Site) -> Iterator[str]:
    """What the crew should know of this pipe, where nothing speaks against lining it."""
    if site.lateral.riser > 0:
        yield (
            "A riser stands at the main: the pipe is longer than the map, and condensate runs "
            "down onto the collar."
        )
    if is_plastic(site):
        yield "Plastic host: keep the gas below the limit on this sheet; watch the first minutes."
