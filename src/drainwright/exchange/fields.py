"""What a column of a table can hold, and the words that choices and materials go by."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from typing import Any

from drainwright.units import KINDS, UnitSystem, kind_unit

# kinds of columns that are no quantity of `units.KINDS`
TEXT, MATERIAL, DATE, TIME, CHOICE, YES_NO = (
    "text",
    "material",
    "date",
    "time of day",
    "choice",
    "yes/no",
)
COUNT, CLOCK, NAMES, STRUCTURE, GEOMETRY, STANDING = (
    "whole number",
    "clock",
    "names",
    "structure",
    "geometry",
    "standing",
)


@dataclass(frozen=True, slots=True)
class Field:
    """One column: our name, the record's attribute, and what may stand in its cells."""

    name: str
    attribute: str
    kind: str
    synonyms: tuple[str, ...] = ()
    required: bool = False
    low: float | None = None
    """Least value, SI."""
    high: float | None = None
    above: float | None = None
    """Value that must be exceeded, SI."""
    choices: type[StrEnum] | None = None
    words: Mapping[str, str] = field(default_factory=dict)
    """Other words for the choices, folded."""
    help: str = ""
    example: str = ""
    """As a US reader types it, without unit."""
    structure: Any = None
    """The type of a structured cell."""
    unit_needed: bool = False
    """Whether a share must say that it is one, as 2 without % can mean 2 or 0.02."""
    parts: tuple[str, ...] = ()
    """Kinds of the numbers in an item of a structured cell, such as temperature and time."""

    @property
    def is_quantity(self) -> bool:
        """Whether cells are numbers with a unit."""
        return self.kind in KINDS

    def unit(self, system: UnitSystem) -> str:
        """The unit a reader of `system` expects; empty for none."""
        if not self.is_quantity:
            return ""
        unit = kind_unit(self.kind, system)
        return "" if unit == "1" else unit

    def title(self, system: UnitSystem) -> str:
        """The column header we write, such as `length [ft]`."""
        unit = self.unit(system)
        return f"{self.name} [{unit}]" if unit else self.name


@lru_cache(maxsize=4096)
def fold(text: str) -> str:
    """Case, accents, punctuation and blanks folded, for comparing words."""
    plain = unicodedata.normalize("NFKD", text.replace("#", " number ").replace("ß", "ss"))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()
    return " ".join(re.findall(r"[^\W_]+", plain))


_MATERIALS = {
    "vitrified clay": "VCP|VC|clay|clay pipe|vitrified clay pipe|terracotta|terra cotta|TC|"
    "clay tile|tile|stoneware",
    "PVC": "PVC|PVC-U|uPVC|SDR35|SDR 35|SDR26|SDR 26|polyvinyl chloride|vinyl",
    "cast iron": "CI|CIP|C.I.|cast iron pipe|castiron",
    "ductile iron": "DI|DIP|ductile|ductile iron pipe",
    "concrete": "conc|CON|CP|PCC|NRCP|concrete pipe",
    "reinforced concrete": "RCP|RC|reinforced concrete pipe",
    "asbestos cement": "AC|ACP|transite|asbestos cement pipe|asbestos",
    "pitch fibre": "pitch fiber|orangeburg|ORB|bituminous fiber|bituminized fiber",
    "polyethylene": "PE|HDPE|MDPE|poly",
    "polypropylene": "PP",
    "ABS": "ABS pipe",
    "steel": "ST|STL|steel pipe",
    "brickwork": "brick|BR|brick pipe",
    "": "unknown|unk|n/a|not known|not identified|?|xxx|none",
}


@lru_cache(maxsize=1)
def material_words() -> Mapping[str, str]:
    """Folded words of the trade for materials, each with our word."""
    found: dict[str, str] = {}
    for word, others in _MATERIALS.items():
        for other in (word, *others.split("|")):
            found[fold(other)] = word
    return found


# what a cell may say instead of yes and no
YES = {"yes", "y", "true", "1", "x", "live", "active", "in use", "on", "ja", "si", "oui"}
NO = {"no", "n", "false", "0", "dead", "inactive", "abandoned", "off", "nein", "non", "not in use"}
