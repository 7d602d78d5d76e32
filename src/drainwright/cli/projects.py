"""Commands on a project: new, list, show, plan, print, demo."""

from __future__ import annotations

import datetime as dt
import getpass
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

Store = Annotated[
    str, typer.Argument(metavar="STORE", help="A .drainwright file, or a postgresql:// address.")
]
ProjectKey = Annotated[str, typer.Option("--project", help="Key of the project in the store.")]
By = Annotated[str, typer.Option("--by", help="Who does it.", show_default="the login name")]


def who(by: str) -> str:
    """The name given, else the login name."""
    return by or getpass.getuser()


def now() -> dt.datetime:
    """The one place where the command line reads the clock."""
    return dt.datetime.now(dt.UTC).replace(microsecond=0)


def new(
    store: Store,
    name: Annotated[str, typer.Option(help="Name of the project.")],
    key: Annotated[str, typer.Option(help="Short key; made from the name if left out.")] = "",
    units: Annotated[UnitSystem, typer.Option(help="Units of screens and papers.")] = UnitSystem.US,
    town: Annotated[str, typer.Option(help="Town.")] = "",
    owner: Annotated[str, typer.Option(help="Owner of the sewer.")] = "",
    zone: Annotated[str, typer.Option(help="Time zone.")] = "America/Chicago",
    elevation: Annotated[str, typer.Option(help="Height above sea level.")] = "0 ft",
    specification: Annotated[
        str, typer.Option(help="Limits to start from: astm, city or iso.")
    ] = "astm",
    by: By = "",
) -> None:
    """Start a project."""
    from drainwright.operations.start_project import start_project
    from drainwright.operations.stores import create
    from drainwright.records.project import Project
    from drainwright.units import parse

    try:
        project = Project(
            key=key or _short(name),
            name=name,
            town=town,
            owner=owner,
            zone=zone,
            units=units,
            elevation=parse(elevation, "length", "elevation"),
        )
        with create(store) as opened:
            start_project(opened, project, by=who(by), at=now(), specification=specification)
    except DrainwrightError as error:
        tell(error, units)
    print(f"Project “{project.key}” started in {store}.")


def _short(name: str) -> str:
    words = "".join(c if c.isalnum() else " " for c in name.lower()).split()
    return "-".join(words)


def list_(
    store: Store,
    words: Annotated[list[str] | None, typer.Argument(help="Words to look for.")] = None,
    project: ProjectKey = "",
    segment: Annotated[str, typer.Option(help="Only this main segment.")] = "",
    stage: Annotated[str, typer.Option(help="Only this stage.")] = "",
    fitness: Annotated[str, typer.Option(help="Only this outcome.")] = "",
    page: Annotated[int, typer.Option(help="Page of 50.", min=1)] = 1,
) -> None:
    """List laterals."""
    from rich.console import Console
    from rich.table import Table

    from drainwright.operations.list_laterals import list_laterals
    from drainwright.operations.stores import existing
    from drainwright.units import show as shown

    try:
        with existing(store, project) as (opened, chosen):
            found = list_laterals(
                opened,
                chosen.key,
                words=" ".join(words or []),
                segment=segment,
                stage=stage,
                fitness=fitness,
                page=page,
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("lateral", "address", "segment", "tap", "stage", "outcome"):
        table.add_column(title, justify="right" if title == "tap" else "left")
    for item in found.items:
        tap = shown(item.tap_distance, "length", chosen.units).text
        table.add_row(item.key, item.address, item.segment, tap, item.stage, item.fitness)
    console = Console()
    console.print(table, highlight=False)
    console.print(
        f"{len(found.items)} of {found.total} laterals, page {found.number} of {found.pages}",
        highlight=False,
    )


def show(store: Store, lateral: str, project: ProjectKey = "") -> None:
    """Show one lateral: outcome, reasons, figures."""
    from drainwright.cli.sheet_text import print_sheet
    from drainwright.operations.show_lateral import show_lateral
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            print_sheet(show_lateral(opened, chosen.key, lateral), chosen.units)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)


def plan(
    store: Store,
    laterals: Annotated[list[str] | None, typer.Argument(help="Laterals; all if none.")] = None,
    project: ProjectKey = "",
    sure: Annotated[
        int, typer.Option(help="Draws for a steam time at the confidence; 500 is usual.", min=0)
    ] = 0,
    by: By = "",
) -> None:
    """Plan laterals and keep a work sheet of each."""
    from drainwright.operations.plan_laterals import plan_laterals
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            done = plan_laterals(
                opened, chosen.key, laterals or [], by=who(by), at=now(), draws=sure
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for item in done:
        if item.sheet is None:
            print(f"{item.lateral}: not planned: {'; '.join(item.faults)}")
        else:
            state = "new" if item.changed else "unchanged"
            print(f"{item.lateral}: {item.sheet.outcome}, revision {item.revision} ({state})")


def print_(
    store: Store,
    laterals: Annotated[list[str] | None, typer.Argument(help="Laterals; all if none.")] = None,
    paper: Annotated[
        list[str] | None,
        typer.Option(
            help="work sheet, mix ticket, design note, survey sheet, field form, door notice, "
            "tube order, or all; may be given several times.",
            show_default="work sheet",
        ),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder for the PDFs.")] = Path("papers"),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Print papers of planned laterals as PDF."""
    from drainwright.operations.print_papers import PAPERS, WORK_SHEET, print_papers
    from drainwright.operations.stores import existing

    papers = list(PAPERS) if paper == ["all"] else paper or [WORK_SHEET]
    try:
        with existing(store, project) as (opened, chosen):
            printed = print_papers(
                opened, chosen.key, laterals or [], papers, folder=out, by=who(by), at=now()
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for path in printed.files:
        print(path)
    for words in printed.left_out:
        print(f"left out: {words}")
    if not printed.files:
        fail(["Nothing was printed; run `drainwright plan` first."], 1)


def demo(
    out: Annotated[Path, typer.Option(help="Folder for store and PDFs.")] = Path("demo-output"),
    units: Annotated[UnitSystem, typer.Option(help="Units of the papers.")] = UnitSystem.US,
) -> None:
    """Run the whole way on the demo town and print its papers."""
    from drainwright.cli.demo_text import print_demo
    from drainwright.operations.run_demo import run_demo

    try:
        print_demo(run_demo(out, units, by="demo"))
    except DrainwrightError as error:
        tell(error, units)
