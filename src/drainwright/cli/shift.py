"""Commands on shifts: crews, plan, show, print, calloff."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

if TYPE_CHECKING:
    from drainwright.operations.schedule import Issued

app = typer.Typer(help="Crews, shift plan, shift sheets, call-off.", no_args_is_help=True)


@app.command()
def crews(
    store: Store,
    file: Annotated[
        Path | None,
        typer.Argument(help="Crews, calendar, stock as TOML; left out: an example is printed."),
    ] = None,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Take in crews, calendar, promises and stock."""
    from drainwright.operations import schedule
    from drainwright.operations.stores import existing

    if file is None:
        print(schedule.shift_example(), end="")
        return
    try:
        content = file.read_bytes()
    except OSError as error:
        fail([f"{file}: {error.strerror or error}"])
    try:
        with existing(store, project) as (opened, chosen):
            saved = schedule.take_crews(
                opened, chosen.key, content, file.name, by=who(by), at=now()
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in saved:
        print(f"{one.key}: revision {one.revision}" + ("" if one.changed else ", as before"))


@app.command()
def plan(
    store: Store,
    first: Annotated[str, typer.Option(help="First day: 2026-11-30.")],
    until: Annotated[str, typer.Option(help="Last day; left out: eight weeks.")] = "",
    frozen: Annotated[
        str, typer.Option(help="Shifts up to this day stay as they were issued.")
    ] = "",
    reason: Annotated[str, typer.Option(help="Why it is planned anew.")] = "",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Plan the shifts and issue the plan."""
    from drainwright.operations import schedule
    from drainwright.operations.stores import existing

    begin = _day(first)
    days = schedule.Days(
        begin,
        _day(until) if until else schedule.usual_end(begin),
        _day(frozen) if frozen else None,
    )
    try:
        with existing(store, project) as (opened, chosen):
            issued = schedule.make_schedule(
                opened, chosen.key, days, by=who(by), at=now(), reason=reason
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    _print(issued)


@app.command()
def show(store: Store, project: ProjectKey = "") -> None:
    """Show the plan in force, and who waits on whom."""
    from drainwright.operations import schedule
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            issued = schedule.show_schedule(opened, chosen.key)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    _print(issued)


@app.command("print")
def print_(
    store: Store,
    out: Annotated[Path, typer.Option(help="Folder for the PDFs.")] = Path(),
    day: Annotated[str, typer.Option(help="Only this day.")] = "",
    crew: Annotated[str, typer.Option(help="Only this crew.")] = "",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Print a shift sheet for each crew and day."""
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.shift_papers import shift_sheets
    from drainwright.operations.stores import existing

    only = _day(day) if day else None
    try:
        with existing(store, project) as (opened, chosen):
            for name, content in shift_sheets(
                opened, chosen.key, day=only, crew=crew, by=who(by), at=now()
            ):
                write_file(out / f"{name}.pdf", content)
                print(out / f"{name}.pdf")
    except DrainwrightError as error:
        tell(error, UnitSystem.US)


@app.command()
def calloff(
    store: Store,
    out: Annotated[Path | None, typer.Option(help="Folder for the PDF.")] = None,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Show what the plan takes out of the stock, and what to order by when."""
    from rich.console import Console
    from rich.table import Table

    from drainwright.operations import shift_papers
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            lines = shift_papers.call_off_lines(opened, chosen.key)
            if out is not None:
                content = shift_papers.call_off_sheet(opened, chosen.key, by=who(by), at=now())
                write_file(out / "material call-off.pdf", content)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    if not lines:
        print("The plan takes nothing: no lateral has a day.")
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("material", "needed", "on hand", "on order", "to order", "short on", "order by"):
        table.add_column(title)
    for one in lines:
        table.add_row(*one.texts)
    Console().print(table, highlight=False)


def _print(issued: Issued) -> None:
    from drainwright.operations.shift_words import schedule_lines

    for line in schedule_lines(issued):
        print(line)


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        fail([f"“{text}” is not a day such as 2026-11-30"])
