"""Commands on acceptance: accept record, judge, file, book, recall, sign."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.records.acceptance import AcceptanceStep
from drainwright.units import UnitSystem

app = typer.Typer(
    help="Tests, verdicts, lateral files, closeout book, signatures.", no_args_is_help=True
)
Key = Annotated[str, typer.Argument(help="Lateral.")]


@app.command()
def record(
    store: Store,
    file: Annotated[
        Path | None, typer.Argument(help="Form as TOML; left out: an example is printed.")
    ] = None,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Take in tests, inspections, coupons, non-conformities, claims, submittals."""
    from drainwright.operations import record_tests
    from drainwright.operations.stores import existing

    if file is None:
        print(record_tests.form_example(), end="")
        return
    try:
        content = file.read_bytes()
    except OSError as error:
        fail([f"{file}: {error.strerror or error}"])
    try:
        with existing(store, project) as (opened, chosen):
            done = record_tests.record_tests(
                opened, chosen.key, content, file.name,
                beside=record_tests.folder_of(file), by=who(by), at=now(),
            )  # fmt: skip
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in done:
        state = "" if one.saved.changed else ", as before"
        print(f"{one.kind} {one.saved.key}: revision {one.saved.revision}{state}")


@app.command()
def judge(store: Store, lateral: Key, project: ProjectKey = "") -> None:
    """Judge a finished lateral; exit code 1 where anything is not met or not assessed."""
    from drainwright.operations.judge_lateral import judge_lateral
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            verdict = judge_lateral(opened, chosen.key, lateral).verdict
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in verdict.subjects:
        print(f"{one.title}: {one.outcome.value if one.demanded else 'not asked for'}")
        for words in one.failed:
            print(f"  not met: {words}")
        for words in one.missing:
            print(f"  missing: {words}")
    print(f"{lateral}: {verdict.words}")
    if verdict.open:
        raise typer.Exit(1)


@app.command()
def file(
    store: Store,
    lateral: Key,
    out: Annotated[Path, typer.Option(help="Folder for the PDF.")] = Path("papers"),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Write the lateral file as PDF/A."""
    from drainwright.operations.lateral_file import write_lateral_file
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            print(write_lateral_file(opened, chosen.key, lateral, out, by=who(by), at=now()))
    except DrainwrightError as error:
        tell(error, UnitSystem.US)


@app.command()
def book(
    store: Store,
    out: Annotated[Path, typer.Option(help="Folder for the book.")] = Path("closeout"),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Bind the closeout book: volumes, spreadsheet, map as built."""
    from drainwright.operations.closeout_book import closeout_book
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            bound = closeout_book(opened, chosen.key, out, by=who(by), at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for path in bound.files:
        print(path)
    for words in bound.left_out:
        print(f"left out: {words}")


@app.command()
def recall(
    store: Store,
    lot: Annotated[str, typer.Argument(help="Lot, or a part of it.")],
    project: ProjectKey = "",
) -> None:
    """Show which laterals got a lot."""
    from drainwright.operations.recall_lot import recall_lot
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            found = recall_lot(opened, chosen.key, lot)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in found:
        print(f"{one.lateral}, attempt {one.attempt} ({one.end}): {one.part} {one.lot}")
    if not found:
        print(f"No attempt used a lot “{lot}”.")


@app.command()
def sign(
    store: Store,
    lateral: Key,
    name: Annotated[str, typer.Option(help="The person who answers for it.")],
    role: Annotated[str, typer.Option(help="In which role.")],
    step: Annotated[AcceptanceStep, typer.Option(help="What is signed.")] = AcceptanceStep.ACCEPTED,
    reason: Annotated[str, typer.Option(help="Needed where something is open.")] = "",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Record a person's signature; it alone sets the stage."""
    from drainwright.operations.accept_lateral import Signature, accept_lateral
    from drainwright.operations.stores import existing

    signature = Signature(step, name, role, reason)
    try:
        with existing(store, project) as (opened, chosen):
            made, saved = accept_lateral(
                opened, chosen.key, lateral, signature, by=who(by), at=now()
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{lateral}: {made.step} by {made.by}, {made.role}; revision {saved.revision}")
    if made.left_open:
        print(f"left open: {', '.join(made.left_open)}")
