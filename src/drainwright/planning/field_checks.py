"""A reading against the window of the work sheet as issued: what it means, what is usually done.

The program says what it sees; the person decides. A window is plain numbers with its words, so
that a device without network holds a reading against it as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from drainwright.checks import Outcome
from drainwright.engineering.groundwater import water_pressure
from drainwright.records.field_step import AskedReading, FieldStep
from drainwright.records.work_sheet import Figure, WorkSheet
from drainwright.units import UnitSystem, show, to_si

_AGAIN, _HOLD = "read again", "hold, wait"


@dataclass(frozen=True, slots=True)
class Window:
    """What a reading of a step is held against: SI of `kind`, None for an open end.

    An end is the sheet's figure, or the figure as printed where that is wider, so that a
    reading typed as the printed end is inside.
    """

    step: str
    name: str
    words: str
    kind: str
    low: float | None
    high: float | None
    limits: str
    """The window as the crew reads it; “” where the sheet has none."""
    below: str
    """What it means to be below."""
    above: str
    again: str
    """The usual first choice."""
    hold: str
    """The usual second choice."""
    mark: float | None = None
    """The value it should come to."""


@dataclass(frozen=True, slots=True)
class ReadingCheck:
    """How one reading stands."""

    outcome: Outcome
    heading: str
    meaning: str
    choices: tuple[str, ...] = ()


def windows_of(
    sheet: WorkSheet, steps: Sequence[FieldStep], system: UnitSystem
) -> tuple[Window, ...]:
    """The window of every number that the steps ask for and the sheet bounds, in their order."""
    made = (
        _window(sheet, step.key, asked, system)
        for step in steps
        for asked in step.readings
        if asked.kind
    )
    return tuple(one for one in made if one.low is not None or one.high is not None)


def check_reading(window: Window, value: float) -> ReadingCheck:
    """Hold an SI value against a window; both ends belong to it."""
    if window.low is not None and value < window.low:
        return _failed("Too low.", window.below, window)
    if window.high is not None and value > window.high:
        return _failed("Too high.", window.above, window)
    return ReadingCheck(Outcome.MET, "", "")


def _failed(heading: str, meaning: str, window: Window) -> ReadingCheck:
    return ReadingCheck(
        Outcome.NOT_MET, heading, meaning, (window.again, window.hold, "trouble cards", "keep it")
    )


def _window(sheet: WorkSheet, step: str, asked: AskedReading, system: UnitSystem) -> Window:
    low, high = _value(sheet, asked.low), _value(sheet, asked.high)
    mark = _value(sheet, asked.near)
    if mark is not None:
        give = _give(sheet, asked, mark)
        low, high = mark - give, mark + give
    low, high = _printed(low, asked.kind, system, -1), _printed(high, asked.kind, system, 1)
    words = _words(sheet, step, asked, system)
    shown = _shown(low, high, asked.kind, system)
    return Window(
        step, asked.name, asked.words, asked.kind, low, high, shown, words["below"],
        words["above"], words.get("again", _AGAIN), words.get("hold", _HOLD), mark,
    )  # fmt: skip


def _printed(value: float | None, kind: str, system: UnitSystem, way: int) -> float | None:
    """An end of the window, widened to the number that a paper shows of it."""
    if value is None:
        return None
    shown = show(value, kind, system)
    printed = to_si(float(shown.number.replace(",", "")), shown.unit)
    return (min if way < 0 else max)(value, printed) + way * 1e-9 * max(abs(value), 1.0)


def _value(sheet: WorkSheet, key: str) -> float | None:
    found = sheet.figure(key) if key else None
    return found.value if found is not None and isinstance(found.value, float) else None


def _give(sheet: WorkSheet, asked: AskedReading, mark: float) -> float:
    """How far a reading may be from its mark; two ends of a length agree by share or amount."""
    limits = sheet.specification
    if asked.give == "length_agreement":
        share, least = (limits.value(f"length_agreement_{end}") for end in ("share", "least"))
        return max(share * mark, least)
    given = limits.limit(asked.give)
    value = given.value or 0.0
    return value * mark if given.kind == "share" else value


def _shown(low: float | None, high: float | None, kind: str, system: UnitSystem) -> str:
    if low is None and high is None:
        return ""
    if low is not None and high is not None:
        first, last = show(low, kind, system), show(high, kind, system)
        return f"window {first.number} – {last.text}"
    if low is not None:
        return f"at least {show(low, kind, system).text}"
    return f"at most {show(high or 0.0, kind, system).text}"


# ---------------------------------------------------------------- words


def _words(
    sheet: WorkSheet, step: str, asked: AskedReading, system: UnitSystem
) -> Mapping[str, str]:
    makers = {
        "tube_pressure": _tube_pressure,
        "bladder_pressure": _bladder,
        "cable": _cable,
        "exhaust_temperature": _exhaust,
        "gas_temperature": _gas,
        "length": _length,
        "part_a": _part,
        "part_b": _part,
    }
    if asked.high == "steam.letdown":
        return _wall(sheet, asked, system)
    made = makers.get(asked.name, _plain)(sheet, asked, system)
    if step in {"air_on", "steam_shut"} and asked.name == "tube_pressure":
        change = " At the change to air the least value counts."
        return {**made, "below": made["below"] + change}
    return made


def _figure_text(sheet: WorkSheet, key: str, system: UnitSystem) -> str:
    found = sheet.figure(key)
    if found is None or isinstance(found.value, str):
        return "not on the sheet"
    return show(found.value, found.kind, system).text


def _plain(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    low, high = (_figure_text(sheet, key, system) for key in (asked.low, asked.high))
    return {
        "below": f"The work sheet asks for at least {low}.",
        "above": f"The work sheet allows at most {high}.",
    }


def _water(figure: Figure | None, system: UnitSystem) -> str:
    """What the groundwater pushes with, from the figure's own input."""
    for given in figure.inputs if figure else ():
        if given.name == "water above the lowest point" and isinstance(given.value, float):
            return show(float(water_pressure(given.value)), "pressure", system).text
    return ""


def _tube_pressure(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    low, high = (_figure_text(sheet, key, system) for key in (asked.low, asked.high))
    water = _water(sheet.figure(asked.low), system)
    pushes = f"The groundwater over this lateral pushes with {water}; " if water else ""
    below = f"below {low} the tube can fold, stall or let water in."
    top = sheet.figure(asked.high)
    weakest = top.label.partition("(")[2].rstrip(")") if top else ""
    held = f" ({weakest} gives way first)" if weakest else ""
    return {
        "below": f"{pushes}{below}" if pushes else below[:1].upper() + below[1:],
        "above": (
            f"No letter covers more than {high}{held}. Nobody over the manhole or in line with "
            "hose or cap while it comes down."
        ),
        "again": "changed slowly, read again",
        "hold": "hold pressure, look for a leak",
    }


def _bladder(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    high = _figure_text(sheet, asked.high, system)
    return {
        "below": "A soft carrier bladder lets the collar move and air past it.",
        "above": (
            f"The bladder’s letter ends at {high}. If it bursts, the collar comes off the hole."
        ),
        "again": "let off slowly, read again",
        "hold": "stop filling, wait",
    }


def _cable(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    mark = _figure_text(sheet, asked.near, system)
    return {
        "below": (
            f"The mark is {mark}. A cable short of it leaves the front short by half as much: the "
            "tube hangs at a bend, the cable has slack, or the pipe is longer."
        ),
        "above": (
            f"The mark is {mark}. More cable than that: the tube over-ran the cleanout, the cable "
            "stretched, or the zero was wrong."
        ),
        "again": "moved on, read again",
        "hold": "hold pressure, look in at the cleanout",
    }


def _exhaust(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    must = _figure_text(sheet, asked.low, system)
    late = _figure_text(sheet, "steam.trouble", system)
    return {
        "below": (
            f"The far end is not at temperature: it must read {must}, and time under steam does "
            f"not count before it does. Not there {late} after steam on: trouble card."
        ),
        "above": "",
        "again": "wait 5 min, read again",
        "hold": "look at vent, hose and boiler",
    }


def _gas(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    most = _figure_text(sheet, asked.high, system)
    return {
        "below": "",
        "above": f"Hotter gas than {most} harms coating, bladder or host.",
        "again": "more air or less pressure, read again",
        "hold": "turn steam down, wait",
    }


def _wall(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    limit = _figure_text(sheet, asked.high, system)
    return {
        "below": "",
        "above": (
            f"A wall warmer than {limit} is soft: let down now and it can move or fold. Air "
            "temperature is not wall temperature; heat soaks back."
        ),
        "again": "cool on, read again in 10 min",
        "hold": "hold pressure, air on",
    }


def _length(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    planned, cut = (_figure_text(sheet, key, system) for key in (asked.near, "cut.length"))
    told = f"The sheet was made for {planned} and a tube cut to {cut}. Another length means "
    told += "another tube, collar place, resin weight and steam time: plan again before mixing."
    return {
        "below": told,
        "above": told,
        "again": "measured again",
        "hold": "stop, call the superintendent",
    }


def _part(sheet: WorkSheet, asked: AskedReading, system: UnitSystem) -> dict[str, str]:
    ticket = _figure_text(sheet, asked.near, system)
    within, refuse = (
        show(sheet.specification.value(name), "share", system).text
        for name in ("ratio_tolerance", "ratio_refuse")
    )
    told = f"The mix ticket says {ticket}, by weight, within {within}. "
    told += f"A ratio off by more than {refuse} does not cure right: never into a pipe."
    return {
        "below": told,
        "above": told,
        "again": "weighed again",
        "hold": "stop, call the superintendent",
    }


@dataclass(frozen=True, slots=True)
class RatioWindow:
    """Part A over part B by weight as it may be; a pair of readings is held against it."""

    step: str
    over: str
    under: str
    low: float
    high: float
    meaning: str


def ratio_windows(sheet: WorkSheet, steps: Sequence[FieldStep]) -> Iterator[RatioWindow]:
    """The mixing ratio's window, for each step that asks for both parts."""
    resin = sheet.resin
    if resin is None:
        return
    wanted = resin.ratio_a / resin.ratio_b
    give = sheet.specification.value("ratio_tolerance")
    for step in steps:
        if {"part_a", "part_b"} <= {asked.name for asked in step.readings}:
            told = (
                f"A : B by weight must be {resin.ratio_a:g} : {resin.ratio_b:g} within "
                f"{give * 100:.0f} %. Both parts together count, not each alone."
            )
            yield RatioWindow(
                step.key, "part_a", "part_b", wanted * (1 - give), wanted * (1 + give), told
            )
