"""The pressure window in every phase, from inversion to let-down.

At least: the groundwater at the lowest lined point with its margin, and while inverting the
tube's starting pressure. At most: the least of tube, bladder, cap, rig and host.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drainwright.engineering import inversion
from drainwright.planning.figures import figure, given
from drainwright.planning.site import Site
from drainwright.planning.stations import Station, ground
from drainwright.records.material import Tube
from drainwright.records.standing import Knowledge
from drainwright.records.work_sheet import Figure
from drainwright.sources import cite

_PRACTICE = cite("practice")
_MAKER = cite("maker", "pressure letters")
CHANGE_TO_AIR = (
    "At the change from steam to air pressure falls in seconds: air on and shown on the gauge "
    "before steam is shut. Log every 10 s or faster; the least value is judged."
)
PHASES = ("invert", "steam", "cool")


@dataclass(frozen=True, slots=True)
class Window:
    """Gauge pressure window of one phase [Pa]; `most` is None where no letter is entered."""

    phase: str
    least: float
    most: float | None
    limited_by: str
    """What sets the upper end."""

    @property
    def open(self) -> bool:
        """Whether there is a pressure that satisfies both ends."""
        return self.most is None or self.least <= self.most


def windows(site: Site, stations: Sequence[Station], tube: Tube) -> tuple[Window, ...]:
    """The window of each phase at the lowest lined point."""
    water = max(station.water for station in stations)
    margin = site.specification.value("pressure_margin")
    rig = site.rig
    tops = {
        "tube": tube.maximum_pressure,
        "rig": rig.maximum_pressure if rig else None,
        "cap": rig.cap_maximum_pressure if rig else None,
        "carrier’s bladder": rig.bladder_maximum_pressure if rig else None,
        "host": site.specification.optional("host_pressure_most"),
    }
    known = {name: top for name, top in tops.items() if top is not None}
    limited_by = min(known, key=lambda name: known[name]) if known else ""
    most = known.get(limited_by)
    return tuple(
        Window(
            phase,
            float(
                inversion.minimum_pressure(
                    water, margin, (tube.starting_pressure or 0.0) if phase == "invert" else 0.0
                )
            ),
            most,
            limited_by,
        )
        for phase in PHASES
    )


def phase_figures(site: Site, stations: Sequence[Station], tube: Tube) -> list[Figure]:
    """The windows while steam flows and while the liner cools; inversion stands with the launch."""
    water = max(station.water for station in stations)
    inputs = (
        given("water above the lowest point", water, "length", ground(site).water_knowledge),
        given(
            "margin",
            site.specification.value("pressure_margin"),
            "pressure",
            Knowledge.MEMORY,
        ),
    )
    words = {"steam": "from steam on", "cool": "while it cools, until let down"}
    figures = []
    for window in windows(site, stations, tube)[1:]:
        figures.append(
            figure(
                f"pressure.{window.phase}_least",
                f"{words[window.phase]}, at least",
                window.least,
                "pressure",
                _PRACTICE,
                *inputs,
                how="0.433 psi/ft (9.795 kPa/m) × water + margin",
            )
        )
        if window.most is not None:
            figures.append(
                figure(
                    f"pressure.{window.phase}_most",
                    f"… at most ({window.limited_by})",
                    window.most,
                    "pressure",
                    _MAKER,
                    how="least of tube, rig, cap, bladder and host; at their actual temperature",
                )
            )
    bladder = site.rig.bladder_maximum_pressure if site.rig else None
    if bladder is not None:
        label, how = "carrier’s bladder, at most", "the bladder's letter, at its temperature"
        figures.append(figure("launch.bladder_most", label, bladder, "pressure", _MAKER, how=how))
    return figures
