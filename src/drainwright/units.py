"""Units at the edges: reading quantities, and showing SI numbers as a reader wants them.

Inside, every number is SI (temperatures in kelvin). A *kind* says what a number is (a
diameter, a pressure, ...), hence its SI unit and the units a reader of each `UnitSystem` sees.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from drainwright.errors import Fault, InputError, range_text

if TYPE_CHECKING:
    import pint


class UnitSystem(StrEnum):
    """The two unit systems a project can be read in."""

    US = "us"
    SI = "si"


# Exact definitions: international foot and pound, standard gravity, US gallon of 231 in^3.
INCH = 0.0254
FOOT = 0.3048
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665
PSI = POUND_FORCE / INCH**2
GALLON = 231 * INCH**3
BTU_PER_POUND = 2326.0  # J/kg, International Table Btu, exact
ZERO_CELSIUS = 273.15

# unit text -> (factor, offset): SI = value * factor + offset
_SHOWN_UNITS: dict[str, tuple[float, float]] = {
    "1": (1.0, 0.0),
    "in": (INCH, 0.0),
    "ft": (FOOT, 0.0),
    "mm": (1e-3, 0.0),
    "m": (1.0, 0.0),
    "psi": (PSI, 0.0),
    "kPa": (1e3, 0.0),
    "MPa": (1e6, 0.0),
    "Pa": (1.0, 0.0),
    "degC": (1.0, ZERO_CELSIUS),
    "degF": (5 / 9, 459.67 * 5 / 9),
    "K": (1.0, 0.0),
    "delta_degF": (5 / 9, 0.0),
    "deg": (math.pi / 180, 0.0),
    "rad": (1.0, 0.0),
    "s": (1.0, 0.0),
    "min": (60.0, 0.0),
    "h": (3600.0, 0.0),
    "lb": (POUND, 0.0),
    "kg": (1.0, 0.0),
    "lb/ft": (POUND / FOOT, 0.0),
    "kg/m": (1.0, 0.0),
    "lb/h": (POUND / 3600, 0.0),
    "kg/h": (1 / 3600, 0.0),
    "kg/s": (1.0, 0.0),
    "lb/ft^3": (POUND / FOOT**3, 0.0),
    "lbf/ft^3": (POUND_FORCE / FOOT**3, 0.0),
    "kN/m^3": (1e3, 0.0),
    "N/m^3": (1.0, 0.0),
    "kg/m^3": (1.0, 0.0),
    "ft^3/lb": (FOOT**3 / POUND, 0.0),
    "m^3/kg": (1.0, 0.0),
    "ft^3/s": (FOOT**3, 0.0),
    "ft^3/min": (FOOT**3 / 60, 0.0),
    "L/s": (1e-3, 0.0),
    "m^3/s": (1.0, 0.0),
    "gal/min": (GALLON / 60, 0.0),
    "Mgal/d": (GALLON * 1e6 / 86400, 0.0),
    "gal": (GALLON, 0.0),
    "ft^3": (FOOT**3, 0.0),
    "m^3": (1.0, 0.0),
    "ft^2": (FOOT**2, 0.0),
    "m^2": (1.0, 0.0),
    "acre": (43560 * FOOT**2, 0.0),
    "ha": (1e4, 0.0),
    "ft/s": (FOOT, 0.0),
    "m/s": (1.0, 0.0),
    "kJ/kg": (1e3, 0.0),
    "Btu/lb": (BTU_PER_POUND, 0.0),
    "J/kg": (1.0, 0.0),
    "J/mol": (1.0, 0.0),
    "kJ/mol": (1e3, 0.0),
    "J/kg/K": (1.0, 0.0),
    "J/m^3/K": (1.0, 0.0),
    "W/m/K": (1.0, 0.0),
    "W/m^2/K": (1.0, 0.0),
    "W": (1.0, 0.0),
    "kW": (1e3, 0.0),
    "lbf": (POUND_FORCE, 0.0),
    "N": (1.0, 0.0),
    "N/mm": (1e3, 0.0),
    "1/h": (1 / 3600, 0.0),
    "1/s": (1.0, 0.0),
    "%": (0.01, 0.0),
}


@dataclass(frozen=True, slots=True)
class Kind:
    """What a number is: SI unit inside, unit and decimals for each reader."""

    si: str
    us_unit: str
    si_unit: str
    us_digits: int
    si_digits: int


def _same(unit: str, digits: int, si: str | None = None) -> Kind:
    return Kind(si or unit, unit, unit, digits, digits)


KINDS: dict[str, Kind] = {
    "number": _same("1", 4),
    "count": _same("1", 0),
    "ratio": _same("1", 3),
    "share": _same("%", 1, "1"),
    "diameter": Kind("m", "in", "mm", 2, 0),
    "thickness": Kind("m", "in", "mm", 3, 2),
    "wall": _same("mm", 2, "m"),
    "length": Kind("m", "ft", "m", 1, 2),
    "small_length": Kind("m", "in", "mm", 2, 0),
    "pressure": Kind("Pa", "psi", "kPa", 2, 1),
    "modulus": Kind("Pa", "psi", "MPa", 0, 1),
    "strength": Kind("Pa", "psi", "MPa", 0, 1),
    "temperature": Kind("K", "degF", "degC", 0, 0),
    "temperature_difference": Kind("K", "delta_degF", "K", 1, 1),
    "angle": _same("deg", 1, "rad"),
    "time": _same("min", 1, "s"),
    "seconds": _same("s", 0),
    "mass": Kind("kg", "lb", "kg", 1, 2),
    "mass_per_length": Kind("kg/m", "lb/ft", "kg/m", 2, 3),
    "mass_flow": Kind("kg/s", "lb/h", "kg/h", 1, 1),
    "density": Kind("kg/m^3", "lb/ft^3", "kg/m^3", 1, 0),
    "unit_weight": Kind("N/m^3", "lbf/ft^3", "kN/m^3", 0, 1),
    "specific_volume": Kind("m^3/kg", "ft^3/lb", "m^3/kg", 2, 4),
    "flow": Kind("m^3/s", "gal/min", "L/s", 1, 2),
    "storm_flow": Kind("m^3/s", "ft^3/s", "L/s", 3, 2),
    "air_flow": Kind("m^3/s", "ft^3/min", "L/s", 0, 1),
    "plant_flow": Kind("m^3/s", "Mgal/d", "L/s", 3, 1),
    "volume": Kind("m^3", "gal", "m^3", 2, 4),
    "storm_volume": Kind("m^3", "ft^3", "m^3", 0, 1),
    "area": Kind("m^2", "ft^2", "m^2", 1, 2),
    "velocity": Kind("m/s", "ft/s", "m/s", 2, 2),
    "crosshead_speed": Kind("m/s", "ft/s", "m/s", 8, 8),
    "specific_energy": Kind("J/kg", "Btu/lb", "kJ/kg", 1, 1),
    "molar_energy": _same("kJ/mol", 1, "J/mol"),
    "heat_capacity": _same("J/kg/K", 0),
    "volumetric_heat_capacity": _same("J/m^3/K", 0),
    "conductivity": _same("W/m/K", 2),
    "film": _same("W/m^2/K", 0),
    "power": _same("kW", 1, "W"),
    "force": Kind("N", "lbf", "N", 0, 0),
    "stiffness": _same("N/mm", 1, "N/m"),
    "hourly_rate": _same("1/h", 6, "1/s"),
    "rate": _same("1/s", 6),
}

_PRETTY = {
    "degF": "°F",
    "degC": "°C",
    "delta_degF": "°F",
    "deg": "°",
    "lb/ft^3": "lb/ft³",
    "lbf/ft^3": "lbf/ft³",
    "kg/m^3": "kg/m³",
    "kN/m^3": "kN/m³",
    "ft^3": "ft³",
    "m^3": "m³",
    "ft^2": "ft²",
    "m^2": "m²",
    "ft^3/s": "ft³/s",
    "ft^3/min": "ft³/min",
    "m^3/s": "m³/s",
    "ft^3/lb": "ft³/lb",
    "m^3/kg": "m³/kg",
    "W/m^2/K": "W/m²K",
    "W/m/K": "W/mK",
    "J/m^3/K": "J/m³K",
    "1": "",
}


@dataclass(frozen=True, slots=True)
class Shown:
    """A number as a reader sees it: unrounded `value` in `unit`, and the rounded `text`."""

    value: float
    unit: str
    number: str

    @property
    def unit_text(self) -> str:
        """The unit as printed, such as `°F` or `ft³`; empty without dimension."""
        return unit_text(self.unit)

    @property
    def text(self) -> str:
        """Number and unit, such as `39.8 ft` or `22.5°`."""
        unit = self.unit_text
        gap = "" if unit in ("", "°") else " "
        return f"{self.number}{gap}{unit}"


def kind_unit(kind: str, system: UnitSystem) -> str:
    """The unit in which a reader of `system` sees numbers of `kind`."""
    entry = KINDS[kind]
    return entry.us_unit if system is UnitSystem.US else entry.si_unit


def unit_text(unit: str) -> str:
    """A unit as printed, such as `°F` for `degF`; empty without dimension."""
    return _PRETTY.get(unit, unit)


def scale(unit: str) -> tuple[float, float]:
    """(factor, offset) of a shown `unit`: SI = number × factor + offset."""
    return _SHOWN_UNITS[unit]


def from_si(value: float, unit: str) -> float:
    """An SI value in a shown `unit` (temperatures included)."""
    factor, offset = _SHOWN_UNITS[unit]
    return (value - offset) / factor


def to_si(value: float, unit: str) -> float:
    """A value given in a shown `unit`, in SI."""
    factor, offset = _SHOWN_UNITS[unit]
    return value * factor + offset


def show(value: float, kind: str, system: UnitSystem, digits: int | None = None) -> Shown:
    """An SI `value` of `kind` for a reader of `system`; `digits` overrides the usual decimals."""
    entry = KINDS[kind]
    us = system is UnitSystem.US
    unit = entry.us_unit if us else entry.si_unit
    places = digits if digits is not None else (entry.us_digits if us else entry.si_digits)
    shown = from_si(value, unit)
    number = f"{shown:,.{places}f}"
    if number.lstrip("-").strip("0.,") == "":
        number = number.lstrip("-")
    return Shown(shown, unit, number)


def feet_and_inches(value: float, parts: int = 4) -> str:
    """A length [m] in feet, inches and fractions, rounded to 1/`parts` in: `39 ft 9 1/2 in`."""
    total = round(abs(value) / INCH * parts)
    feet, rest = divmod(total, 12 * parts)
    inches, fraction = divmod(rest, parts)
    text = str(inches)
    if fraction:
        part = Fraction(fraction, parts)
        text = f"{inches} {part}" if inches else str(part)
    sign = "-" if value < 0 and total else ""
    return f"{sign}{feet} ft {text} in" if feet else f"{sign}{text} in"


# ---------------------------------------------------------------- reading quantities

_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_MIXED = r"(?:\d+\s*-?\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|\d+(?:\.\d*)?|\.\d+)"
_FEET = re.compile(
    rf"^(?P<sign>[-+])?\s*(?P<ft>{_MIXED})\s*(?:'|ft|feet|foot)\s*-?\s*"
    rf"(?:(?P<inch>{_MIXED})\s*(?:\"|''|in|inch|inches)\.?)?$",
    re.IGNORECASE,
)
_NUMBER_UNIT = re.compile(
    r"^(?P<number>[-+]?\s*(?:\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?))"
    r"\s*(?P<unit>.*)$"
)
_UNIT_TEXT = re.compile(r"^[A-Za-z%°µμ\"'][A-Za-z0-9_ /*^().%°µμ²³\"'-]*$")
_ALIASES = {
    "%": "percent",
    '"': "inch",
    "''": "inch",
    "'": "foot",
    "°": "degree",
    "°C": "degC",
    "°F": "degF",
    "C": "degC",
    "F": "degF",
    "psig": "psi",
    "psia": "psi",
    "kPag": "kPa",
    "lbs": "lb",
    "gpm": "gallon/minute",
    "gpd": "gallon/day",
    "mgd": "million_gallon/day",
    "MGD": "million_gallon/day",
    "Mgal/d": "million_gallon/day",
    "Mgal": "million_gallon",
    "MG": "million_gallon",
    "cfs": "foot**3/second",
    "cfm": "foot**3/minute",
    "lpm": "liter/minute",
    "cP": "centipoise",
    "HP": "horsepower",
    "mins": "minute",
    "hrs": "hour",
    "hr": "hour",
    "days": "day",
    "inches": "inch",
    "feet": "foot",
    # by the international foot, as its square foot is; pint's own is the survey acre
    "acre": "international_acre",
    "acres": "international_acre",
    "ac": "international_acre",
}
_DIFFERENCES = {
    "°C": "delta_degC",
    "degC": "delta_degC",
    "C": "delta_degC",
    "°F": "delta_degF",
    "degF": "delta_degF",
    "F": "delta_degF",
}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    registry.define("million_gallon = 1e6 * gallon")
    registry.define("boiler_hp = 9809.5 watt")
    registry.define("international_acre = 43560 * foot ** 2")
    return registry


@lru_cache(maxsize=512)
def _unit_factor(text: str, si: str) -> tuple[float, float] | None:
    """(factor, offset) that turns a number in unit `text` into the SI unit `si`.

    A weight per volume (N/m^3) may be given as a density, as soils usually are.
    None if the unit is not known; raises KeyError where it has another dimension.
    """
    name = _ALIASES.get(text, text).replace("²", "^2").replace("³", "^3").replace("°", "deg")
    registry = _registry()
    try:
        unit = registry.parse_units(name)
        target = registry.parse_units("dimensionless" if si == "1" else si)
        zero = registry.Quantity(0.0, unit)
        one = registry.Quantity(1.0, unit)
    except Exception:  # noqa: BLE001  pint raises many kinds on odd unit text
        return None
    gravity = registry.Quantity(1.0, "standard_gravity")
    if si == "N/m^3" and one.dimensionality == registry.Quantity(1.0, "kg/m^3").dimensionality:
        zero, one = zero * gravity, one * gravity
    if zero.dimensionality != registry.Quantity(1.0, target).dimensionality:
        raise KeyError(text)
    offset = float(zero.to(target).magnitude)
    factor = float(one.to(target).magnitude) - offset
    return float(f"{factor:.15g}"), offset  # pint's product of factors is off in the last digit


def parse_number(text: str) -> float | None:
    """A plain number, fraction (`3/8`) or mixed number (`1 1/2`, `1-1/2`, `1½`); else None."""
    match = _NUMBER_UNIT.match(_plain(text))
    if match is None or match["unit"]:
        return None
    return _number(match["number"])


def _plain(text: str) -> str:
    out = text.strip().replace("−", "-").replace("’", "'").replace("′", "'").replace("″", '"')
    out = out.replace("”", '"').replace("“", '"')
    for sign, plain in _VULGAR.items():
        out = re.sub(rf"(?<=\d)\s*{sign}", f" {plain}", out).replace(sign, plain)
    return out


def _number(text: str) -> float | None:
    sign, body = (-1.0, text[1:]) if text.startswith("-") else (1.0, text.lstrip("+"))
    body = body.strip()
    if "/" not in body:
        return sign * float(body)
    whole, _, part = body.replace("-", " ").rpartition(" ")
    above, below = part.split("/")
    if float(below) == 0:
        return None
    return sign * ((float(whole) if whole.strip() else 0.0) + float(above) / float(below))


def parse(text: str, kind: str, name: str = "value") -> float:
    r"""Read a quantity such as `48 in`, `12'-6"`, `1 1/2 in`, `140 degC` or `2 %` into SI.

    Raises `InputError` (name, value) for text that is no quantity, a unit that is not known
    or one of another dimension, and for a missing unit where one is needed.

    >>> round(parse("12'-6\"", "length"), 4)
    3.81
    >>> round(parse("-5 degF", "temperature"), 3)
    252.594
    """
    return _parse(text, KINDS[kind], name, default=None)


def parse_in(text: str, kind: str, unit: str, name: str = "value") -> float:
    """Like `parse`, but a bare number is taken in `unit` (a column's or a file's unit)."""
    return _parse(text, KINDS[kind], name, default=unit)


def _parse(text: str, kind: Kind, name: str, default: str | None) -> float:
    plain = _plain(text)
    wanted = _wanted(kind)
    if kind.si == "m":
        feet = _FEET.match(plain)
        if feet is not None and (feet["inch"] or "'" in plain):
            return _feet_value(feet)
    match = _NUMBER_UNIT.match(plain)
    number = _number(match["number"].replace("- ", "-")) if match else None
    if match is None or number is None:
        raise _fault(name, f"“{text}” is not a number with a unit{wanted}", text)
    unit = match["unit"].strip() or (default or "")
    if not unit:
        if kind.si == "1":
            return number
        raise _fault(name, f"“{text}” has no unit{wanted}", text)
    return _scaled(number, unit, kind, text, name)


def _feet_value(match: re.Match[str]) -> float:
    feet = _number(match["ft"]) or 0.0
    inches = _number(match["inch"]) or 0.0 if match["inch"] else 0.0
    return (-1.0 if match["sign"] == "-" else 1.0) * (feet * FOOT + inches * INCH)


def _scaled(number: float, unit: str, kind: Kind, text: str, name: str) -> float:
    wanted = _wanted(kind)
    if not _UNIT_TEXT.match(unit) and not re.match(r"^1/[A-Za-z]+$", unit):
        raise _fault(name, f"“{text}” is not a number with a unit{wanted}", text)
    if kind is KINDS["temperature_difference"]:
        unit = _DIFFERENCES.get(unit, unit)
    try:
        scale = _unit_factor(unit, kind.si)
    except KeyError:
        raise _fault(name, f"“{unit}” is a unit of something else{wanted}", text) from None
    if scale is None:
        raise _fault(name, f"“{unit}” is not a unit known here{wanted}", text)
    value = number * scale[0] + scale[1]
    if not math.isfinite(value):
        raise _fault(name, f"“{text}” is too large", text)
    return value


def parse_unit(unit: str, kind: str) -> tuple[float, float]:
    """(factor, offset) from a `unit` named in a column header to SI; raises `InputError`."""
    zero = parse(f"0 {unit}", kind, unit)
    return parse(f"1 {unit}", kind, unit) - zero, zero


def _wanted(kind: Kind) -> str:
    if kind.si == "1":
        return " (a number or a percentage)"
    units = sorted({kind.us_unit, kind.si_unit} - {"delta_degF"})
    return f" (for example in {' or '.join(units)})"


def _fault(name: str, message: str, value: str) -> InputError:
    return InputError(Fault(name, message, value))


# ---------------------------------------------------------------- faults in the reader's units


def fault_text(fault: Fault, system: UnitSystem, kinds: Mapping[str, str] | None = None) -> str:
    """A fault as a sentence, value and range in the reader's units where the kind is known."""
    place = fault.place()
    head = f"{place}: {fault.name}" if place else fault.name
    kind = (kinds or {}).get(fault.name)
    message = fault.message
    if (
        kind is not None
        and isinstance(fault.value, float)
        and KINDS[kind].si == (fault.unit or "1")
    ):
        unit = kind_unit(kind, system)
        low = None if fault.low is None else from_si(fault.low, unit)
        high = None if fault.high is None else from_si(fault.high, unit)
        pretty = "" if unit == "1" else _PRETTY.get(unit, unit)
        shown = f"{from_si(fault.value, unit):.6g} {pretty}".rstrip()
        message = f"{shown} is outside {range_text(low, high, pretty)}"
        if fault.message.endswith(")") and " (" in fault.message:
            message += " (" + fault.message.rsplit(" (", 1)[1]
    if fault.guess:
        message += f"; {fault.guess}"
    return f"{head}: {message}"


def fault_texts(
    faults: Iterable[Fault], system: UnitSystem, kinds: Mapping[str, str] | None = None
) -> Sequence[str]:
    """`fault_text` of each fault."""
    return [fault_text(fault, system, kinds) for fault in faults]
