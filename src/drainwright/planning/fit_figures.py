"""How the tube lies in this bore: surplus girth, and bends with a longer outer line."""

from __future__ import annotations

import math
from collections.abc import Sequence

from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.stations import Station
from drainwright.records.material import Tube
from drainwright.records.standing import Knowledge
from drainwright.records.survey import ObservationKind
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite

_GEOMETRY = cite("geometry")


def surplus_girth(tube_diameter: float, host_diameter: float) -> float:
    """Girth of a tube that the bore does not take up [m]: π (D tube − D host), not below 0."""
    return max(math.pi * (tube_diameter - host_diameter), 0.0)


def outer_line(diameter: float, angle: float) -> float:
    """By how much a bend's outer line is longer than its inner one [m]: D θ."""
    return diameter * angle


def fit_figures(site: Site, stations: Sequence[Station], tube: Tube) -> list[Figure]:
    """A fin from surplus girth, and the wrinkles to expect at the sharpest bend."""
    tightest = min(stations, key=lambda station: station.diameter)
    figures = []
    surplus = surplus_girth(tube.diameter, tightest.diameter)
    if surplus > 1e-4:
        figures.append(
            figure(
                "fit.surplus_girth",
                "surplus girth, a fin",
                surplus,
                "small_length",
                _GEOMETRY,
                given("tube diameter", tube.diameter, "diameter", Knowledge.MAKER),
                given("host diameter", tightest.diameter, "diameter"),
                how="π (D tube − D host) at the tightest place",
            )
        )
    bends = [
        (o.measure, distance)
        for _, o, distance in site.seen(ObservationKind.BEND)
        if o.measure is not None
    ]
    if bends:
        angle, distance = max(bends)
        figures.append(
            figure(
                "fit.bend_outer_line",
                "sharpest bend, outer line longer by",
                outer_line(tube.diameter, angle),
                "small_length",
                _GEOMETRY,
                given("bend", angle, "angle", Knowledge.MEASURED),
                given("at", distance, "length", Knowledge.MEASURED),
                how="D × angle: expect wrinkles there, look at it after lining",
            )
        )
    return figures
