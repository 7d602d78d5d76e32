"""The register of laterals as a spreadsheet: typed columns, units in the header, explained."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from drainwright.exchange.forms import Cell
from drainwright.exchange.table_writing import safe
from drainwright.exchange.workbook import xlsx_of
from drainwright.records.lateral import Lateral
from drainwright.records.project import Project
from drainwright.records.work_sheet import WorkSheet
from drainwright.units import UnitSystem, from_si, kind_unit


@dataclass(frozen=True, slots=True)
class Entry:
    """One lateral in the register, with its newest work sheet."""

    lateral: Lateral
    stage: str
    outcome: str
    revision: int
    sheet: WorkSheet | None
    sheet_revision: int


@dataclass(frozen=True, slots=True)
class _Column:
    title: str
    meaning: str
    value: Callable[[Entry], Any]
    kind: str = ""
    """Kind of a quantity as in `units.KINDS`; "" for words, counts and dates."""

    def header(self, system: UnitSystem) -> str:
        unit = kind_unit(self.kind, system) if self.kind else ""
        return f"{self.title} [{unit}]" if unit else self.title

    def cell(self, entry: Entry, system: UnitSystem) -> Cell:
        value = self.value(entry)
        if value is None or value == "":
            return None
        if self.kind and isinstance(value, int | float):
            return float(f"{from_si(value, kind_unit(self.kind, system)):.6g}")
        if isinstance(value, Enum | str):
            return safe(str(value.value if isinstance(value, Enum) else value))
        cell: Cell = value
        return cell


def _issued(entry: Entry) -> Any:
    sheet = entry.sheet
    return sheet.issued_at.date() if sheet and sheet.issued_at else None


def _reasons(entry: Entry) -> str:
    return "; ".join(one.words for one in entry.sheet.reasons) if entry.sheet else ""


_COLUMNS = (
    _Column("lateral", "the owner's id", lambda e: e.lateral.key),
    _Column("address", "", lambda e: e.lateral.address),
    _Column("street", "", lambda e: e.lateral.street),
    _Column("segment", "run of main the lateral joins", lambda e: e.lateral.segment),
    _Column("tap distance", "along the main", lambda e: e.lateral.tap_distance, "length"),
    _Column("tap clock", "position in hours, looking downstream", lambda e: e.lateral.tap_clock),
    _Column("inside diameter", "", lambda e: e.lateral.inside_diameter, "diameter"),
    _Column("material", "of the host pipe", lambda e: e.lateral.material),
    _Column("cleanout distance", "from the tap", lambda e: e.lateral.cleanout_distance, "length"),
    _Column("stage", "how far the lateral has come, from listed to closed", lambda e: e.stage),
    _Column("outcome", "of the newest work sheet", lambda e: e.outcome),
    _Column("reasons", "of the outcome", _reasons),
    _Column("work sheet issued", "date, UTC", _issued),
    _Column("work sheet revision", "", lambda e: e.sheet_revision or None),
    _Column("lateral revision", "of the lateral's own document", lambda e: e.revision),
    _Column("remark", "", lambda e: e.lateral.remark),
)


def write_register(project: Project, entries: Iterable[Entry], made: str) -> bytes:
    """The register as XLSX; `made` tells when and from what."""
    system = project.units
    rows: list[list[Cell]] = [[one.header(system) for one in _COLUMNS]]
    rows += [[one.cell(entry, system) for one in _COLUMNS] for entry in entries]
    about: list[list[Cell]] = [
        [safe(f"Register of laterals: {project.name}")],
        [safe(made)],
        ["An empty cell is not known. A date is a date, a number a number in its header's unit."],
        ["Numbers are rounded to six digits; the store keeps them exactly."],
        ["Text that a spreadsheet would run as a formula stands behind an apostrophe."],
        [None],
        ["column", "unit", "meaning"],
    ]
    for one in _COLUMNS:
        unit = kind_unit(one.kind, system) if one.kind else None
        about.append([one.title, unit, one.meaning or None])
    return xlsx_of({"Register": rows, "About": about})
