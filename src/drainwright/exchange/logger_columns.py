"""What the columns of a logger's file are: times, units by header, channels by name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from drainwright.exchange.logger_times import is_clock, is_date
from drainwright.records.cure_log import Channel, Reads
from drainwright.units import FOOT, PSI, to_si

_UNITS = {
    "degc": "degC", "°c": "degC", "c": "degC", "celsius": "degC", "deg c": "degC", "℃": "degC",
    "degf": "degF", "°f": "degF", "f": "degF", "fahrenheit": "degF", "deg f": "degF", "℉": "degF",
    "k": "K", "kelvin": "K",
    "psi": "psi", "psig": "psi", "psia": "psia", "kpa": "kPa", "kpag": "kPa", "kpaa": "kPaa",
    "bar": "bar", "barg": "bar", "bara": "bara", "mbar": "mbar", "pa": "Pa", "mpa": "MPa",
}  # fmt: skip
TEMPERATURE_UNITS = ("degC", "degF", "K")
_PRESSURES = {
    "psi": PSI, "psia": PSI, "kPa": 1e3, "kPaa": 1e3, "bar": 1e5, "bara": 1e5, "mbar": 100.0,
    "Pa": 1.0, "MPa": 1e6,
}  # fmt: skip
ABSOLUTE = ("psia", "kPaa", "bara")
_BRACKETED = re.compile(r"[\[(]\s*([^\])]+?)\s*[\])]")
_POSITION = re.compile(r"(\d+(?:\.\d+)?)\s*(ft|feet|'|m|meters?)\b", re.IGNORECASE)
_ELAPSED = ("elapsed", "seconds", "minutes", "sec", "time (s)", "time [s]", "t [s]", "time_s")
OPEN = {"open", "oc", "err", "error", "ol", "o.l", "o.l.", "nan", "nc", "over", "fault", "#n/a"}
OPEN |= {"inf", "-inf", "----", "---", "--", "-", "n/a", "burnout", "no probe"}
"""Words a logger writes for a sensor that is not there or open, folded."""
OPEN_NUMBERS = (9999.0, -9999.0, 99999.0, 1372.0, 2502.0, 32767.0, -32768.0, 6999.0, 7999.0)


def unit_of(text: str) -> str:
    """The unit a header or a cell of the units row names; “” where it names none."""
    for found in _BRACKETED.findall(text):
        if found.casefold() in _UNITS:
            return _UNITS[found.casefold()]
    plain = text.strip().casefold()
    if plain in _UNITS:
        return _UNITS[plain]
    last = re.split(r"[\s_,;/]+", plain)
    if len(last) > 1 and last[-1] in _UNITS:
        return _UNITS[last[-1]]
    if len(last) > 2 and f"{last[-2]} {last[-1]}" in _UNITS:
        return _UNITS[f"{last[-2]} {last[-1]}"]
    return ""


def name_of_header(text: str) -> str:
    """A header without its unit, folded, to be compared with a channel's name."""
    plain = _BRACKETED.sub(lambda m: "" if m[1].casefold() in _UNITS else m[0], text)
    words = re.split(r"[\s_]+", plain.strip().casefold())
    if len(words) > 1 and words[-1] in _UNITS:
        words = words[:-1]
    if words[-1:] == ["deg"]:
        words = words[:-1]
    return " ".join(words).strip(" ,;:")


def in_si(value: float, unit: str, barometer: float) -> float:
    """A reading in SI: kelvin, or pascal above the barometer."""
    if unit in TEMPERATURE_UNITS:
        return to_si(value, unit)
    pascal = value * _PRESSURES[unit]
    return pascal - barometer if unit in ABSOLUTE else pascal


def kind_of(unit: str) -> str:
    """The kind of quantity of a unit."""
    return "temperature" if unit in TEMPERATURE_UNITS else "pressure"


@dataclass(frozen=True, slots=True)
class TimeColumns:
    """Which columns hold the time; `clock` is None where date and time are in one."""

    date: int | None
    clock: int | None = None
    elapsed: int | None = None

    @property
    def used(self) -> set[int]:
        """The columns that are no channels."""
        return {at for at in (self.date, self.clock, self.elapsed) if at is not None}


def find_times(header: Sequence[str], rows: Sequence[Sequence[str]]) -> TimeColumns | None:
    """The columns of the time, by their cells and, for plain numbers, by the header."""
    sample = rows[: min(len(rows), 30)]
    width = max((len(row) for row in sample), default=0)

    def share(at: int, test: object) -> float:
        cells = [row[at] for row in sample if at < len(row) and row[at].strip()]
        return sum(bool(test(cell)) for cell in cells) / len(cells) if cells else 0.0  # type: ignore[operator]

    dates = [at for at in range(width) if share(at, is_date) > 0.6]
    clocks = [at for at in range(width) if at not in dates and share(at, is_clock) > 0.6]
    if dates:
        whole = share(dates[0], lambda cell: is_date(cell) and ":" in cell) > 0.6
        return TimeColumns(dates[0], None if whole or not clocks else clocks[0])
    folded = [text.casefold() for text in header]
    named = [
        at
        for at, text in enumerate(folded)
        if any(word in text for word in _ELAPSED) or re.match(r"^(run )?time\b", text)
    ]
    if clocks:
        return TimeColumns(None, elapsed=clocks[0])
    return TimeColumns(None, elapsed=named[0]) if named else None


def guess_channels(headers: Sequence[str]) -> Iterator[Channel]:
    """What the headers seem to say, as a map to be looked at; nothing is sure."""
    for header in headers:
        text = header.casefold()
        unit = unit_of(header)
        name = name_of_header(header)
        position = _position(text)
        if (unit and kind_of(unit) == "pressure") or "press" in text or re.match(r"p\d*\b", name):
            place = "carrier bladder" if "bladder" in text or "carrier" in text else ""
            yield Channel(header, Reads.PRESSURE, place=place)
        elif "collar" in text:
            yield Channel(header, Reads.COLLAR, 0.0)
        elif any(word in text for word in ("exhaust", "outlet", "cap", "gas out")):
            yield Channel(header, Reads.EXHAUST, position)
        elif any(word in text for word in ("gas in", "inlet", "steam in", "gas_in", "supply")):
            yield Channel(header, Reads.GAS_IN, position)
        elif any(word in text for word in ("bottom", "invert")):
            yield Channel(header, Reads.WALL_BOTTOM, position)
        elif any(word in text for word in ("wall", "top", "crown")):
            yield Channel(header, Reads.WALL_TOP, position)


def _position(text: str) -> float | None:
    match = _POSITION.search(text)
    if match is None:
        return None
    return float(match[1]) * (1.0 if match[2].startswith("m") else FOOT)
