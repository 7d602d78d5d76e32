"""Commands of the field: sync, field-report, entries read."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError, Fault, InputError
from drainwright.units import UnitSystem

entries = typer.Typer(help="Field entries of tablets.", no_args_is_help=True)


def register(app: typer.Typer) -> None:
    """Add the commands of the field."""
    app.command()(sync)
    app.command("field-report")(field_report)
    app.add_typer(entries, name="entries")


def sync(
    store: Store,
    address: Annotated[str, typer.Argument(help="The other side, such as http://truck:8417.")],
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Exchange field entries and photos with a running `drainwright serve`, both ways.

    Repeat it as often as you like; what was broken off goes on.
    """
    from drainwright.operations.stores import existing
    from drainwright.operations.sync_field import Sides, asker, sync_field

    try:
        with existing(store, project) as (opened, chosen):
            done = sync_field(Sides(opened, chosen.key, asker(address), who(by), now()))
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"entries: {done.sent} sent, {done.fetched} fetched")
    print(f"photos: {done.photos_sent} sent, {done.photos_fetched} fetched")
    if done.conflicts:
        fail([f"not moved: {words}" for words in done.conflicts], 1)


def field_report(
    store: Store,
    date: Annotated[str, typer.Argument(help="The day, such as 2026-11-19.")],
    out: Annotated[Path, typer.Option(help="Folder for the PDF.")] = Path("papers"),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Print the daily report of a day from the journal."""
    from drainwright.operations.daily_report import daily_report_paper
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing

    try:
        day = _day(date)
        with existing(store, project) as (opened, chosen):
            content = daily_report_paper(opened, chosen, day, by=who(by), at=now())
        path = out / f"daily report {day.isoformat()}.pdf"
        write_file(path, content)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(path)


def _day(text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        message = f"“{text}” is not a day such as 2026-11-19"
        raise InputError(Fault("date", message, text)) from error


@entries.command("read")
def read_entries(
    store: Store,
    files: Annotated[list[Path], typer.Argument(help="Outbox files saved on a tablet.")],
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Read outbox files of tablets; reading one again changes nothing."""
    from drainwright.operations.field_journal import read_outbox
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            for file in files:
                done = read_outbox(opened, chosen.key, _content(file), by=who(by), at=now())
                print(f"{file}: {done.new} new entries")
    except DrainwrightError as error:
        tell(error, UnitSystem.US)


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(Fault("file", f"{file} can't be read: {error.strerror}")) from error
