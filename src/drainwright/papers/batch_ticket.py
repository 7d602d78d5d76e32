"""The mix ticket of one batch for several liners: weighed once, shared out, weighed back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from drainwright.errors import PaperError
from drainwright.papers.mix_ticket import qr_code, refuse_ticket, tolerance_data
from drainwright.papers.paper import Data, make_pdf
from drainwright.papers.sheet_head import STAMPS, Issue, project_head, refuse_demo_resin
from drainwright.papers.shown import distance_text, figure_reading, mass_text
from drainwright.papers.tube_order import Ordered
from drainwright.planning.batch import Batch, Share
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.units import UnitSystem, show

CODE_HEAD = "DWB1"
_OF_A_LINER = (("tube", "tube.name"), ("cut", "cut.length"), ("gap", "wetout.roller_gap"))
_DEADLINES = (
    "deadline.on_ice",
    "deadline.off_ice",
    "deadline.at_tap",
    "deadline.seated",
    "deadline.pull_out",
)


def batch_ticket_pdf(
    batch: Batch,
    orders: Sequence[Ordered],
    issue: Issue,
    system: UnitSystem | None = None,
) -> bytes:
    """The ticket of a batch for the work sheets it was made from, in their order, as PDF.

    Raises `PaperError` for a liner that could have no mix ticket of its own, or for a batch
    that is not of these sheets.
    """
    if [share.lateral for share in batch.shares] != [one.sheet.lateral.key for one in orders]:
        raise PaperError("the batch was made for other liners")
    for one in orders:
        refuse_demo_resin(one.sheet)
        refuse_ticket(one.sheet)
    shown = system or orders[0].sheet.project.units
    return make_pdf("batch_ticket", batch_ticket_data(batch, orders, issue, shown), issue.timestamp)


def batch_code(batch: Batch, project: str) -> str:
    """What the QR code says: project, laterals and the masses A and B in grams."""
    grams = [round(part * 1000) for part in (batch.part_a, batch.part_b)]
    laterals = "+".join(share.lateral for share in batch.shares)
    fields = (project, laterals, *(str(one) for one in grams))
    return "|".join((CODE_HEAD, *(field.replace("|", "/") for field in fields)))


def batch_ticket_data(
    batch: Batch, orders: Sequence[Ordered], issue: Issue, system: UnitSystem
) -> dict[str, Data]:
    """Everything the template prints, as texts."""
    project = orders[0].sheet.project
    sheets = [one.sheet for one in orders]
    specification = orders[0].sheet.specification
    outcomes = {sheet.outcome for sheet in sheets}
    return {
        **project_head(project, issue, system, "Batch ticket"),
        "demo_material": batch.resin.demo,
        "stamp": next(
            (STAMPS[one] for one in (Fitness.ASK, Fitness.PREPARE) if one in outcomes), ""
        ),
        "resin": batch.resin.key,
        "weigh": list(_weigh(batch, system)),
        "tolerance": tolerance_data(batch.resin, batch.part_b, specification, system),
        "liners": [
            _liner(share, one, system) for share, one in zip(batch.shares, orders, strict=True)
        ],
        "works": [words for sheet in sheets for words in _works(sheet, system)],
        "ask": Fitness.ASK in outcomes,
        "first": _first(sheets, system),
        "go": list(dict.fromkeys(line for sheet in sheets for line in sheet.go_no_go)),
        "qr": qr_code(batch_code(batch, project.key)),
        "code": batch_code(batch, project.key),
    }


def _weigh(batch: Batch, system: UnitSystem) -> Iterator[Data]:
    """A, B and both together; a volume is a cross-check of the scale only."""
    rows = (
        (f"A, {batch.resin.part_a}", batch.part_a, batch.volume_a),
        (f"B, {batch.resin.part_b}", batch.part_b, batch.volume_b),
        ("A + B", batch.mass, None),
    )
    for name, mass, volume in rows:
        about = "" if volume is None else f"about {show(volume, 'volume', system).text}"
        yield {"name": name, "text": mass_text(mass, system), "volume": about}


def _liner(share: Share, one: Ordered, system: UnitSystem) -> Data:
    sheet = one.sheet
    texts = {}
    for name, key in _OF_A_LINER:
        figure = sheet.figure(key)
        texts[name] = figure_reading(figure, system).whole if figure else ""
    return {
        "key": share.lateral,
        "revision": f"rev {one.revision}" if one.revision else "draft",
        "address": sheet.lateral.address,
        "mass": mass_text(share.mass, system),
        "collar": mass_text(share.collar, system) if share.collar else "none",
        "deadlines": [_deadline(sheet, key, system) for key in _DEADLINES],
        **texts,
    }


def _deadline(sheet: WorkSheet, key: str, system: UnitSystem) -> str:
    figure = sheet.figure(key)
    if figure is None:
        return ""
    read = figure_reading(figure, system)
    return read.also or read.text


def _first(sheets: Sequence[WorkSheet], system: UnitSystem) -> str:
    """The liner whose pull-out deadline comes first: the batch lives as long as that."""
    known = [
        (figure.value, sheet)
        for sheet in sheets
        if (figure := sheet.figure("deadline.pull_out")) and isinstance(figure.value, float)
    ]
    if not known:
        return ""
    _, sheet = min(known, key=lambda one: one[0])
    return f"{sheet.lateral.key}: mixed + {_deadline(sheet, 'deadline.pull_out', system)}"


def _works(sheet: WorkSheet, system: UnitSystem) -> Iterator[str]:
    for reason in sheet.reasons:
        place = distance_text(reason.distance, system)
        words = reason.work or reason.words
        yield f"{sheet.lateral.key}{', ' + place if place else ''}: {words}"
