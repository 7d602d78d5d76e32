"""Commands on payment: pay contract, agree, show, estimate."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

app = typer.Typer(help="Contract, quantities and pay estimates.", no_args_is_help=True)


@app.command()
def contract(
    store: Store,
    file: Annotated[
        Path | None, typer.Argument(help="Contract as TOML; left out: an example is printed.")
    ] = None,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Take in the contract: pay items, rules, retainage, dates."""
    from drainwright.operations import pay
    from drainwright.operations.stores import existing

    if file is None:
        print(pay.contract_example(), end="")
        return
    try:
        content = file.read_bytes()
    except OSError as error:
        fail([f"{file}: {error.strerror or error}"])
    try:
        with existing(store, project) as (opened, chosen):
            done = pay.take_contract(opened, chosen.key, content, file.name, by=who(by), at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"contract: revision {done.revision}" + ("" if done.changed else ", as before"))


@app.command()
def agree(
    store: Store,
    key: Annotated[str, typer.Argument(help="A key of your own, such as T-12.")],
    item: Annotated[str, typer.Argument(help="Pay item.")],
    amount: Annotated[str, typer.Argument(help="Amount in the item's unit.")],
    reason: Annotated[str, typer.Option(help="What was agreed with whom.")],
    on: Annotated[str, typer.Option(help="Day of the work: 2026-11-19.")] = "",
    lateral: Annotated[str, typer.Option(help="Lateral, where it belongs to one.")] = "",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Keep work that no reading tells: mobilization, restoration, hours."""
    from drainwright.operations import pay
    from drainwright.operations.stores import existing
    from drainwright.records.contract import AgreedWork

    day = _day(on) if on else now().date()
    work = AgreedWork(key, item, amount, day, who(by), reason, lateral)
    try:
        with existing(store, project) as (opened, chosen):
            done = pay.agree_work(opened, chosen.key, work, at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{key}: kept, revision {done.revision}")


@app.command()
def show(store: Store, project: ProjectKey = "") -> None:
    """Show every quantity with the entry behind it."""
    from rich.console import Console
    from rich.table import Table

    from drainwright.operations import pay
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            found = pay.earned(opened, chosen.key)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("item", "quantity", "unit", "day", "lateral", "paid by", "entry"):
        table.add_column(title, justify="right" if title == "quantity" else "left")
    for one in found.quantities:
        item = found.contract.item(one.item)
        unit = item.unit if item else ""
        table.add_row(
            one.item, f"{one.amount:f}", unit, str(one.on), one.lateral, one.payer.value, one.ref
        )
    Console().print(table, highlight=False)
    print(f"{len(found.quantities)} quantities, {len(found.estimates)} estimates so far")


@app.command()
def estimate(
    store: Store,
    until: Annotated[str, typer.Option(help="All work up to this day: 2026-11-30.")],
    out: Annotated[Path, typer.Option(help="Folder for PDF and XLSX.")] = Path(),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Make the next pay estimate; it is kept in the record."""
    from drainwright.operations import pay
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            made = pay.make_estimate(opened, chosen.key, _day(until), by=who(by), at=now())
            for ending, content in (("pdf", made.pdf), ("xlsx", made.xlsx)):
                write_file(out / f"pay estimate {made.estimate.number}.{ending}", content)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"pay estimate {made.estimate.number}, up to {until}: {made.due} due")
    for words in made.varied:
        print(f"  {words}")


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        fail([f"“{text}” is not a day such as 2026-11-30"])
