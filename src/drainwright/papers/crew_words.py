"""What a crew's paper says and leaves to the design note, and in which order.

A crew paper has no thrust, no wall ratio and no buckling theory; those stand in the design
note. What is hidden here is never a failed check: that one stays, under a plain name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from drainwright.checks import Check, Outcome
from drainwright.records.work_sheet import Figure

HIDDEN = re.compile(
    r"^(launch\.thrust|wall\.close_fit_pressure|wall\.(by|term)_.*|sensitivity\..*|stations\..*"
    r"|length\.(public|private)|collar\.mouth|fit\.bend.*|pressure\.cool_.*"
    r"|steam\.(simulated|sure|used|stall|smallest_vent|vent_power|peak|share"
    r"|air_per_steam))$"
)
NOT_FOR_CREWS = re.compile(r"\bthrust\b|\bDR\b|\bSDR\b|\bGlock\b|\bclose[- ]fit\b", re.IGNORECASE)

# the groups of a column, in order; a group is what stands before the dot of a figure's key
CAN_IT = ("length", "flow", "fit")
MAKE_UP = ("tube", "cut", "resin", "wetout", "collar", "seal", "wall", "stations")
PUT_IN = ("deadline", "launch", "pressure", "steam", "boiler", "main")
# figures of a group that stand in another group's column
_BOILER = ("simulated", "peak", "used", "gas", "gas_limit", "air", "mix_steam", "mix_vent",
           "vent_flow", "vent_power", "trap_seal")  # fmt: skip
MOVED = {
    "length.lined": "cut",
    "length.gap": "cut",
    **{f"steam.{name}": "boiler" for name in _BOILER},
}
GROUP_WORDS = {
    "length": "Length",
    "station": "Stations",
    "stations": "Stations",
    "flow": "Flow",
    "tube": "Tube",
    "cut": "Cut",
    "wall": "Wall",
    "resin": "Resin",
    "wetout": "Resin and rollers",
    "collar": "Collar",
    "seal": "Seals",
    "seals": "Seals",
    "life": "Resin life",
    "deadline": "Deadlines, from mixing",
    "pressure": "Pressure held",
    "fit": "Fit",
    "launch": "Launch",
    "steam": "Steam",
    "boiler": "Boiler, gas, vent",
    "main": "Plugged main",
}

# what a crew can't work without, and why it may be missing
ESSENTIAL = {
    "cut.length": ("cut length", "no length measured"),
    "tube.name": ("tube", "no tube at hand satisfies the design"),
    "resin.name": ("resin", "no resin chosen"),
    "wetout.mass": ("resin A + B", "the tube or the resin lacks what this needs"),
    "launch.usual": ("launch pressure", "no tube, or its maker's pressures are not entered"),
    "launch.cable_seated": ("cable, seated", "no cut length"),
    "steam.hold": ("steam time", "the resin maker's schedule is not entered"),
    "steam.letdown": ("let down below", "no limit in the specification"),
}


@dataclass(frozen=True, slots=True)
class Group:
    """Figures that belong together, with the heading they stand under."""

    key: str
    title: str
    figures: tuple[Figure, ...]


def for_crew(figures: Iterable[Figure]) -> tuple[Figure, ...]:
    """The figures that belong on a crew's paper."""
    return tuple(
        figure
        for figure in figures
        if not HIDDEN.match(figure.key)
        and not NOT_FOR_CREWS.search(f"{figure.label} {figure.source.source.title}")
        and not (isinstance(figure.value, str) and NOT_FOR_CREWS.search(figure.value))
    )


def checks_for_crew(checks: Iterable[Check]) -> Iterator[Check]:
    """The checks that belong on a crew's paper; a failed one stays, under a plain name."""
    for check in checks:
        words = f"{check.name} {check.note} {check.source.source.title}"
        if not NOT_FOR_CREWS.search(words):
            yield check
        elif check.outcome is Outcome.NOT_MET:
            yield replace(check, name="a check that stands in the design note", note="")


def group_of(figure: Figure) -> str:
    """The group a figure stands in on a crew's paper."""
    moved = MOVED.get(figure.key)
    if moved:
        return moved
    group, _, rest = figure.key.partition(".")
    return "life" if group == "resin" and rest != "name" else group


def grouped(figures: Iterable[Figure], order: Iterable[str] = ()) -> tuple[Group, ...]:
    """Figures by group: first the groups of `order`, then all others as they come."""
    found: dict[str, list[Figure]] = {name: [] for name in order}
    for figure in figures:
        found.setdefault(group_of(figure), []).append(figure)
    return tuple(
        Group(key, GROUP_WORDS.get(key, key.replace("_", " ").capitalize()), tuple(members))
        for key, members in found.items()
        if members
    )
