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
from drainwright.units import UnitSystem, show

HIDDEN = re.compile(
    r"^(launch\.thrust|flow\..*|wall\.(governing|station)|wall\.close_fit_pressure|wall\.(by|term)_.*|sensitivity\..*|stations\..*"
    r"|length\.(public|private)|collar\.mouth|fit\.bend.*|pressure\.cool_.*"
    r"|steam\.(simulated|sure|used|stall|smallest_vent|vent_power|peak|share"
    r"|air_per_steam))$"
)
NOT_FOR_CREWS = re.compile(r"\bthrust\b|\bDR\b|\bSDR\b|\bGlock\b|\bclose[- ]fit\b", re.IGNORECASE)

# the groups of a column, in order; a group is what stands before the dot of a figure's key
CAN_IT = ("length", "fit", "boiler", "main")
MAKE_UP = ("tube", "cut", "resin", "wetout", "life", "collar", "seal", "wall", "stations")
PUT_IN = ("deadline", "launch", "pressure", "steam")
# figures of a group that stand in another group's column
_BOILER = ("simulated", "peak", "used", "gas", "gas_limit", "air", "mix_steam", "mix_vent",
           "vent_flow", "vent_power", "boiler", "maker", "last")  # fmt: skip
MOVED = {
    "length.lined": "cut",
    "length.gap": "cut",
    "steam.trap_seal": "pressure",
    **{f"steam.{name}": "boiler" for name in _BOILER},
}
# figures of a group in the order of work, where planning has another
_STEPS = ("route", "exhaust", "exhaust_at", "trouble", "after_exhaust", "hold", "maker",
          "last", "cool", "letdown", "soak", "let_down_time")  # fmt: skip
IN_ORDER = {f"steam.{name}": at for at, name in enumerate(_STEPS)}
# what a crew looks for at arm's length
BIG = frozenset(
    ("cut.length", "wetout.mass", "wetout.roller_gap", "launch.usual", "launch.cable_seated",
     "deadline.on_ice", "deadline.seated", "steam.hold", "steam.letdown")
)  # fmt: skip
# a figure whose label says nothing without one of its inputs
_WITH = {"resin.life_air": ("air temperature", "at"), "resin.life_ice": ("ice temperature", "at")}
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
    "deadline": "Deadlines, from A and B together",
    "pressure": "Pressure in the tube, held",
    "fit": "Fit",
    "launch": "Launch",
    "steam": "Steam",
    "boiler": "Boiler, gas, cure",
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
    """The figures that belong on a crew's paper, in the order of work."""
    kept = (
        figure
        for figure in figures
        if not HIDDEN.match(figure.key)
        and not NOT_FOR_CREWS.search(f"{figure.label} {figure.source.source.title}")
        and not (isinstance(figure.value, str) and NOT_FOR_CREWS.search(figure.value))
    )
    return tuple(sorted(kept, key=lambda figure: IN_ORDER.get(figure.key, -1)))


def crew_label(figure: Figure, system: UnitSystem) -> str:
    """The label of a figure, with the temperature at which alone it holds."""
    name, word = _WITH.get(figure.key, ("", ""))
    known = next((i for i in figure.inputs if i.name == name and name), None)
    if known is None or isinstance(known.value, str):
        return figure.label
    return f"{figure.label}, {word} {show(known.value, known.kind, system, 0).text}"


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
