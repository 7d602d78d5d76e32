"""The demo's summary on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drainwright.operations.run_demo import DemoRun


def print_demo(run: DemoRun) -> None:
    """Print what was read, how the laterals came out, and where everything lies."""
    from rich.console import Console
    from rich.table import Table

    console = Console(highlight=False)
    console.print("[bold]Alder Ferry[/bold], an invented town. Read:")
    for name, records, notices in run.read:
        told = f", {notices} to look at" if notices else ""
        console.print(f"  {name}: {records} records{told}")
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("lateral", "outcome", "why"):
        table.add_column(title)
    for item in run.planned:
        if item.sheet is None:
            table.add_row(item.lateral, "not planned", "; ".join(item.faults))
            continue
        worst = [r for r in item.sheet.reasons if r.outcome is item.sheet.outcome]
        rules = list(dict.fromkeys(reason.rule for reason in worst))
        table.add_row(item.lateral, item.sheet.outcome, ", ".join(rules))
    console.print(table)
    counts = ", ".join(f"{count} {outcome}" for outcome, count in sorted(run.outcomes.items()))
    console.print(f"{len(run.planned)} laterals: {counts}")
    for one in run.finished:
        told = f"; open: {', '.join(one.open)}" if one.open else ""
        attempt = f" in attempt {one.attempts}" if one.attempts > 1 else ""
        console.print(f"{one.lateral}: lined{attempt}, {one.verdict}{told}")
    console.print(
        f"{run.papers} papers in {run.folder} and {run.folder.parent / 'closeout'}", soft_wrap=True
    )
    console.print(f"Store: {run.store}; try: drainwright show {run.store} A-07", soft_wrap=True)
