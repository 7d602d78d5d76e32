"""How to put it in: pressure window, end thrust, cable marks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.checks import Check, at_least, at_most, not_assessed
from drainwright.engineering import inversion
from drainwright.planning.cut_length import LengthPlan
from drainwright.planning.figures import figure, given
from drainwright.planning.pressure_phases import windows
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
    window = windows(site, stations, tube)[0]
    least, most = window.least, window.most
    pressure = max(specification.value("usual_pressure"), least)
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
            how="larger of 0.433 psi/ft (9.795 kPa/m) × water + margin, and the tube's start",
        ),
        figure(
            "launch.usual",
            "planned pressure",
            pressure,
            "pressure",
            _PRACTICE,
            given("usual launch pressure", specification.value("usual_pressure"), "pressure"),
            how="the usual one, or the least where that is more",
        ),
        figure(
            "launch.head_limit",
            "water it holds back",
            float(inversion.head_limit(pressure, margin)),
            "length",
            _PRACTICE,
            given("pressure", pressure, "pressure"),
            given("margin", margin, "pressure", Knowledge.MEMORY),
            how="(pressure − margin) / 0.433 psi/ft (9.795 kPa/m)",
        ),
        figure(
            "launch.thrust",
            "end thrust",
            float(inversion.end_thrust(pressure, lowest.diameter)),
            "force",
            cite("geometry"),
            given("pressure", pressure, "pressure"),
            given("host diameter", lowest.diameter, "diameter"),
            how="pressure × π D²/4",
        ),
        *_cable(site, length),
    ]
    checks = [at_least("launch pressure above the least", pressure, least, "pressure", _PRACTICE)]
    if most is None:
        reason = "neither the tube's nor the rig's greatest pressure is entered"
        checks.append(
            not_assessed("launch pressure within the letters", "pressure", _MAKER, reason)
        )
        return LaunchPart(pressure, tuple(figures), tuple(checks), ())
    figures.insert(
        1, figure("launch.maximum", f"… at most ({window.limited_by})", most, "pressure", _MAKER)
    )
    checks.append(at_most("launch pressure within the letters", pressure, most, "pressure", _MAKER))
    return LaunchPart(pressure, tuple(figures), tuple(checks), _closed_window(least, most))


def _closed_window(least: float, most: float) -> tuple[Reason, ...]:
    if least <= most:
        return ()
    words = "The water needs more pressure than the tube or the rig may have."
    work = "Lower the groundwater, or wait for a dry season."
    return (Reason(Fitness.ASK, "pressure window", words, _MAKER, work=work),)


def _cable(site: Site, length: LengthPlan) -> list[Figure]:
    marks = inversion.cable_marks(length.lined)
    source = cite("geometry", "x_tail = 2 x_front − L")
    reference = (site.rig.cable_reference if site.rig else "") or "a point you name"
    how = f"read at {reference}, 0 with the tube loaded; cable counts twice the front"
    lined = given("lined length", length.lined, "length")
    seated = figure(
        "launch.cable_seated", "cable, seated", marks.seated, "length", source, lined, how=how
    )
    at = figure("launch.cable_reference", "cable read at", reference, "", source, how=how)
    if site.rig is not None and site.rig.tube_stored == "folded":
        return [at, seated]  # folded storage breaks the ratio; only the seated mark counts
    half = figure(
        "launch.cable_half", "cable, half way", marks.half, "length", source, lined, how=how
    )
    return [at, half, seated]


def cable_cautions(site: Site) -> tuple[str, ...]:
    """What weakens the cable's proof on this rig."""
    if site.rig is None:
        return ()
    cautions = []
    if site.rig.cable_tied_to == "carrier":
        cautions.append("The cable is tied to the carrier: its marks prove nothing of the front.")
    if site.rig.tube_stored == "folded":
        cautions.append("The tube is stored folded: only the seated mark of the cable counts.")
    return tuple(cautions)
