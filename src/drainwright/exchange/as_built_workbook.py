"""What was built as a spreadsheet: laterals, every check, attempts, lots, faults, claims."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from drainwright.checks import Check
from drainwright.exchange.forms import Cell
from drainwright.exchange.table_writing import safe
from drainwright.exchange.workbook import xlsx_of
from drainwright.units import KINDS, UnitSystem, from_si, kind_unit


@dataclass(frozen=True, slots=True)
class BuiltRow:
    """One lateral; SI, None where nothing was measured."""

    key: str
    address: str
    segment: str
    stage: str
    verdict: str
    lined: float | None
    mean_wall: float | None
    least_wall: float | None
    modulus: float | None
    signed: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One check of one lateral."""

    lateral: str
    subject: str
    check: Check


_COLUMNS = (("lined", "length"), ("mean wall", "wall"), ("least wall", "wall"),
            ("mean modulus", "modulus"))  # fmt: skip


def as_built_workbook(
    rows: Iterable[BuiltRow],
    checks: Iterable[CheckRow],
    others: dict[str, list[list[Cell]]],
    system: UnitSystem,
    about: str,
) -> bytes:
    """Laterals and checks with units in the header or beside the number, as XLSX.

    `others` are further sheets of words, their first row the header.
    """
    head: list[Cell] = ["lateral", "address", "segment", "stage", "verdict"]
    head += [f"{name} [{kind_unit(kind, system)}]" for name, kind in _COLUMNS]
    laterals: list[list[Cell]] = [[*head, "signed"]]
    for one in rows:
        texts = (one.key, one.address, one.segment, one.stage, one.verdict)
        numbers = (one.lined, one.mean_wall, one.least_wall, one.modulus)
        cells: list[Cell] = [safe(text) for text in texts]
        cells += [
            _number(value, kind, system) for value, (_, kind) in zip(numbers, _COLUMNS, strict=True)
        ]
        laterals.append([*cells, safe(one.signed)])
    told: list[list[Cell]] = [
        ["lateral", "subject", "check", "outcome", "limit", "reached", "unit", "limit is",
         "ratio", "note", "source"]
    ]  # fmt: skip
    told += [_check(one, system) for one in checks]
    meaning: list[list[Cell]] = [
        [safe(about)],
        ["An empty cell is not known. “Not assessed” never counts as met."],
        ["A limit is a least or a most; the ratio is 1 or more where it is met."],
    ]
    return xlsx_of({"laterals": laterals, "checks": told, **others, "about": meaning})


def _check(one: CheckRow, system: UnitSystem) -> list[Cell]:
    check = one.check
    unit = kind_unit(check.kind, system) if check.kind in KINDS else ""
    which = "" if check.limit is None else ("most" if check.most else "least")
    return [
        safe(one.lateral), safe(one.subject), safe(check.name), check.outcome.value,
        _number(check.limit, check.kind, system), _number(check.reached, check.kind, system),
        unit, which, check.ratio if check.ratio is None else float(f"{check.ratio:.6g}"),
        safe(check.note), safe(check.source.source.title),
    ]  # fmt: skip


def _number(value: float | None, kind: str, system: UnitSystem) -> Cell:
    if value is None or kind not in KINDS:
        return None
    return float(f"{from_si(value, kind_unit(kind, system)):.6g}")
