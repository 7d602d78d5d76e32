"""Command estimate: price the planned laterals with your own costs."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem


def estimate(
    store: Store,
    costs: Annotated[
        Path | None, typer.Argument(help="Your costs as TOML; left out: an example is printed.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for PDF and XLSX.")] = None,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Estimate the job: planned laterals priced with your own costs, which stay yours."""
    from drainwright.operations.estimate_job import costs_example, estimate_job
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing

    if costs is None:
        print(costs_example(), end="")
        return
    try:
        content = costs.read_bytes()
    except OSError as error:
        fail([f"{costs}: {error.strerror or error}"])
    try:
        with existing(store, project) as (opened, chosen):
            made = estimate_job(opened, chosen.key, content, costs.name, by=who(by), at=now())
        if out is not None:
            write_file(out / "job estimate.pdf", made.pdf)
            write_file(out / "job estimate.xlsx", made.xlsx)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)

    def money(minor: int) -> str:
        return f"{Decimal(minor).scaleb(-made.costs.minor_digits):,f} {made.costs.currency}"

    for one in made.estimate.lines:
        line = one.line
        print(f"{line.key}  {line.words}: {one.quantity:f} {line.unit}, {money(one.amount)}")
    for words, _, amount in made.estimate.added:
        print(f"{words}: {money(amount)}")
    counted = sum(1 for one in made.estimate.laterals if one.counted)
    print(f"estimate: {money(made.estimate.total)} for {counted} laterals")
    if made.value is not None:
        minor, currency = made.value.contract.minor_digits, made.value.contract.currency
        print(f"the contract pays: {Decimal(made.value.amount).scaleb(-minor):,f} {currency}")
    for lateral, why in made.estimate.left_out:
        print(f"  without a price: {lateral}, {why}")
