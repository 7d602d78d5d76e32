"""The mix ticket: what is weighed out for one lateral, and who releases it.

There is none for a lateral that is not lined, and none without proof that the tap serves the
address unless the superintendent overrides that by name and reason.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass

from drainwright.errors import PaperError
from drainwright.papers.crew_words import BIG, crew_label, for_crew, grouped
from drainwright.papers.paper import Data, Svg, make_pdf
from drainwright.papers.sheet_head import (
    lateral_head,
    outcome_data,
    refuse_demo_resin,
    subject_of,
)
from drainwright.papers.shown import UNKNOWN, distance_text, figure_reading, mass_text
from drainwright.records.material import Resin
from drainwright.records.specification import Specification
from drainwright.records.work_sheet import Figure, Fitness, WorkSheet
from drainwright.units import UnitSystem

CODE_HEAD = "DW1"
_PROOF = "address proof"
_LOTS = ("resin A", "resin B", "tube", "collar", "seals", "bladder, uses so far")
NEEDED = ("wetout.mass", "wetout.part_a", "wetout.part_b", "cut.length", "tube.name", "resin.name")


@dataclass(frozen=True, slots=True)
class Override:
    """A missing address proof set aside by the superintendent, with the reason."""

    by: str
    reason: str


def mix_ticket_pdf(
    sheet: WorkSheet,
    *,
    revision: int,
    system: UnitSystem | None = None,
    override: Override | None = None,
) -> bytes:
    """The mix ticket of one lateral as PDF.

    Raises `PaperError` for a lateral that is not lined, without its masses, with demo material
    in a real project, or without address proof and without `override`.
    """
    refuse_demo_resin(sheet)
    refuse_ticket(sheet, override)
    shown = system or sheet.project.units
    data = mix_ticket_data(sheet, revision, shown, override)
    return make_pdf("mix_ticket", data, subject_of(sheet, revision).issue.timestamp)


def refuse_ticket(sheet: WorkSheet, override: Override | None = None) -> None:
    """Raise `PaperError` for a lateral that can have no mix ticket."""
    key = sheet.lateral.key
    if sheet.outcome is Fitness.STOP:
        raise PaperError(f"“{key}” is not lined, so it has no mix ticket")
    missing = [name for name in NEEDED if sheet.figure(name) is None]
    if missing:
        raise PaperError(f"“{key}” has no mix ticket yet; its sheet lacks {', '.join(missing)}")
    if sheet.lateral.proof is not None:
        return
    if override is None:
        raise PaperError(
            f"nobody has shown that the tap of “{key}” serves its address; "
            "the superintendent may override that by name and reason"
        )
    if not override.by.strip() or not override.reason.strip():
        raise PaperError("an override needs the superintendent's name and the reason")


def ticket_code(sheet: WorkSheet, revision: int) -> str:
    """What the QR code says: project, lateral, revision and the masses A and B in grams."""
    grams = [round(_number(sheet, f"wetout.part_{part}") * 1000) for part in "ab"]
    fields = (sheet.project.key, sheet.lateral.key, str(revision), *(str(g) for g in grams))
    return "|".join((CODE_HEAD, *(field.replace("|", "/") for field in fields)))


def mix_ticket_data(
    sheet: WorkSheet,
    revision: int,
    system: UnitSystem,
    override: Override | None = None,
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    by_key = {group.key: group.figures for group in grouped(for_crew(sheet.figures))}
    weighed = ("wetout.part_a", "wetout.part_b", "wetout.mass")
    rest = [f for f in by_key.get("wetout", ()) if f.key not in weighed]
    make = [*by_key.get("tube", ()), *by_key.get("cut", ()), *rest, *by_key.get("collar", ())]
    return {
        **lateral_head(subject_of(sheet, revision), system, "Mix ticket"),
        "outcome": outcome_data(sheet.outcome),
        "works": [_work(sheet, at, system) for at in range(len(sheet.reasons))],
        "resin": _text(sheet, "resin.name", system),
        "weigh": list(_weigh(sheet, system)),
        "tolerance": tolerance_data(
            sheet.resin, _number(sheet, "wetout.part_b"), sheet.specification, system
        ),
        "make": [_row(figure, system) for figure in make],
        "deadlines": [_row(figure, system) for figure in by_key.get("deadline", ())],
        "life": [_row(figure, system) for figure in by_key.get("life", ())],
        "lots": list(_LOTS),
        "go": list(sheet.go_no_go),
        "override": "" if override is None else f"{override.by}: {override.reason}",
        "proof": _proof(sheet),
        "qr": qr_code(ticket_code(sheet, revision)),
        "code": ticket_code(sheet, revision),
    }


def _number(sheet: WorkSheet, key: str) -> float:
    figure = sheet.figure(key)
    if figure is None or isinstance(figure.value, str):
        raise PaperError(f"the sheet of “{sheet.lateral.key}” lacks {key}")
    return float(figure.value)


def _text(sheet: WorkSheet, key: str, system: UnitSystem) -> str:
    figure = sheet.figure(key)
    return UNKNOWN if figure is None else figure_reading(figure, system).text


def _row(figure: Figure, system: UnitSystem) -> Data:
    read = figure_reading(figure, system)
    return {
        "label": crew_label(figure, system),
        "text": read.text,
        "also": read.also,
        "big": figure.key in BIG,
    }


def _work(sheet: WorkSheet, at: int, system: UnitSystem) -> Data:
    reason = sheet.reasons[at]
    place = distance_text(reason.distance, system)
    words = reason.work or reason.words
    return f"{place}: {words}" if place else words


def _weigh(sheet: WorkSheet, system: UnitSystem) -> Iterator[Data]:
    """A, B and both together, each to be weighed."""
    resin = sheet.resin
    names = (f"A, {resin.part_a}" if resin else "A", f"B, {resin.part_b}" if resin else "B")
    for name, key in zip((*names, "A + B"), ("part_a", "part_b", "mass"), strict=True):
        yield {"name": name, "text": mass_text(_number(sheet, f"wetout.{key}"), system)}


def tolerance_data(
    resin: Resin | None, part_b: float, specification: Specification, system: UnitSystem
) -> Data:
    """How far B [kg] may be off for the A above, and from where the batch is refused."""
    tell = {}
    for name in ("ratio_tolerance", "ratio_refuse"):
        limit = specification.limit(name)
        if limit.value is None:
            continue
        low, high = (mass_text(part_b / (1 + side * limit.value), system) for side in (1.0, -1.0))
        share = f"{limit.value * 100:g} %"
        if name == "ratio_tolerance":
            tell[name] = f"B from {low} to {high} is within {share}."
        else:
            tell[name] = (
                f"B below {low} or above {high} is off by more than {share}: do not use it."
            )
    ratio = ""
    if resin is not None:
        ratio = f"{resin.ratio_a:g} : {resin.ratio_b:g} by weight"
    return {
        "ratio": ratio,
        "within": tell.get("ratio_tolerance", ""),
        "refuse": tell.get("ratio_refuse", ""),
    }


def _proof(sheet: WorkSheet) -> str:
    proof = sheet.lateral.proof
    return "" if proof is None else f"{proof.method}, {proof.by}, {proof.on.isoformat()}"


def qr_code(code: str) -> Svg:
    """The QR code as SVG, its modules in black."""
    import segno

    buffer = io.BytesIO()
    segno.make(code, error="m", micro=False).save(
        buffer, kind="svg", border=2, xmldecl=False, svgclass=None, lineclass=None, dark="#000"
    )
    return Svg(buffer.getvalue().decode())
