"""A lateral's work sheet as lines on a terminal."""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from drainwright.units import UnitSystem, feet_and_inches, show

if TYPE_CHECKING:
    from drainwright.operations.show_lateral import LateralView
    from drainwright.records.work_sheet import Figure


def print_sheet(view: LateralView, system: UnitSystem) -> None:
    """Print outcome, reasons, figures and checks."""
    from rich.console import Console
    from rich.table import Table

    console = Console(highlight=False)
    lateral, sheet = view.lateral, view.sheet
    tap = show(lateral.tap_distance, "length", system).text
    console.print(
        f"[bold]{lateral.key}[/bold]  {lateral.address}, segment {lateral.segment}, tap {tap}"
    )
    for survey in view.surveys:
        console.print(
            f"survey {survey.date}, {survey.method}, {len(survey.observations)} observations"
        )
    if sheet is None:
        console.print("Not planned yet; run `drainwright plan`.")
        return
    console.print(
        f"\n[bold]{sheet.outcome.capitalize()}.[/bold]  work sheet revision {view.sheet_revision}"
    )
    for reason in sheet.reasons:
        at = (
            "" if reason.distance is None else f" at {show(reason.distance, 'length', system).text}"
        )
        work = f" {reason.work}" if reason.work else ""
        console.print(
            f"- {reason.outcome}{at}: {reason.words}{work} ({reason.source})", markup=False
        )
    for group, figures in groupby(sheet.figures, key=lambda figure: figure.key.split(".")[0]):
        table = Table(
            box=None, pad_edge=False, show_header=False, title=group, title_justify="left"
        )
        table.add_column(width=34)
        table.add_column(justify="right", width=26)
        table.add_column()
        for figure in figures:
            table.add_row(figure.label, figure_text(figure, system), figure.how)
        console.print(table)
    for check in sheet.checks:
        ratio = "" if check.ratio is None else f", ratio {check.ratio:.2f}"
        console.print(f"check: {check.name}: {check.outcome}{ratio}", markup=False)
    for caution in sheet.cautions:
        console.print(f"caution: {caution}", markup=False)


def figure_text(figure: Figure, system: UnitSystem) -> str:
    """A figure as text: a length in the US also in feet and inches."""
    if isinstance(figure.value, str):
        return figure.value
    text = show(figure.value, figure.kind, system).text
    if figure.kind == "length" and system is UnitSystem.US:
        return f"{text} ({feet_and_inches(figure.value, 1)})"
    return text
