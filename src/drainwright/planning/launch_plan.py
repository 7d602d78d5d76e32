"""How to put it in: pressure window, end thrust, cable marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least, at_most, not_assessed
from drainwright.engineering import inversion
from drainwright.planning.cut_length import LengthPlan
from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.stations import Station, ground
from drainwright.records.material import Tube
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure, Fitness, Reason
from drainwright.sources import cite

_PRACTICE = cite("practice")
_MAKER = cite("maker", "pressure letter")


@dataclass(frozen=True, slots=True)
class LaunchPart:
    """Launch figures, their checks, and reasons against the launch."""

    pressure: float
    """Planned gauge pressure [Pa]."""
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    reasons: tuple[Reason, ...]


def launch_figures(
    site: Site, stations: Sequence[Station], tube: Tube, length: LengthPlan
) -> LaunchPart:
    """The pressure window at the lowest lined point, and the marks on the cable."""
    specification = site.specification
    lowest = max(stations, key=lambda station: station.water)
    margin = specification.value("pressure_margin")
    start = tube.starting_pressure or 0.0
    least = float(inversion.minimum_pressure(lowest.water, margin, start))
    usual = specification.value("usual_pressure")
    pressure = max(usual, least)
    tops = {"tube": tube.maximum_pressure, "rig": site.rig.maximum_pressure if site.rig else None}
    most = min((top for top in tops.values() if top is not None), default=None)
    inputs = (
        given("water above the lowest point", lowest.water, "length", ground(site).water_knowledge),
        given("margin", margin, "pressure", Knowledge.MEMORY),
        given("tube's starting pressure", start, "pressure", Knowledge.MAKER),
    )
    figures = [
        figure(
            "launch.minimum",
            "launch pressure, at least",
            least,
            "pressure",
            _PRACTICE,
            *inputs,
            how="larger of 0.433 psi/ft × water + margin, and the tube's starting pressure",
        ),
        figure("launch.usual", "planned launch pressure", pressure, "pressure", _PRACTICE),
        figure(
            "launch.head_limit",
            "deepest water it holds",
            float(inversion.head_limit(pressure, margin)),
            "length",
            _PRACTICE,
            given("pressure", pressure, "pressure"),
            how="(pressure − margin) / 0.433 psi/ft",
        ),
        figure(
            "launch.thrust",
            "end thrust",
            float(inversion.end_thrust(pressure, lowest.diameter)),
            "force",
            cite("geometry"),
            how="pressure × π D²/4",
        ),
        *_cable(length),
    ]
    checks = [at_least("launch pressure above the least", pressure, least, "pressure", _PRACTICE)]
    if most is None:
        reason = "neither the tube's nor the rig's greatest pressure is entered"
        checks.append(
            not_assessed("launch pressure within the letters", "pressure", _MAKER, reason)
        )
        return LaunchPart(pressure, tuple(figures), tuple(checks), ())
    figures.insert(1, figure("launch.maximum", "… at most", most, "pressure", _MAKER))
    checks.append(at_most("launch pressure within the letters", pressure, most, "pressure", _MAKER))
    return LaunchPart(pressure, tuple(figures), tuple(checks), _closed_window(least, most))


def _closed_window(least: float, most: float) -> tuple[Reason, ...]:
    if least <= most:
        return ()
    words = "The water needs more pressure than the tube or the rig may have."
    work = "Lower the groundwater, or wait for a dry season."
    return (Reason(Fitness.ASK, "pressure window", words, _MAKER, work=work),)


def _cable(length: LengthPlan) -> list[Figure]:
    marks = inversion.cable_marks(length.lined)
    source = cite("geometry", "x_tail = 2 x_front − L")
    how = "cable counts twice the front; true for a tube stored straight"
    lined = given("lined length", length.lined, "length")
    return [
        figure(
            "launch.cable_half", "cable, half way", marks.half, "length", source, lined, how=how
        ),
        figure(
            "launch.cable_seated", "cable, seated", marks.seated, "length", source, lined, how=how
        ),
    ]
