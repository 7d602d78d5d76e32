"""Commands on the warranty: dates, terms, second look."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

app = typer.Typer(help="Warranty: dates, terms, second look.", no_args_is_help=True)


@app.command()
def dates(
    store: Store,
    out: Annotated[Path | None, typer.Option(help="Calendar file to write.")] = None,
    project: ProjectKey = "",
) -> None:
    """Show when each accepted lateral's warranty ends and when the sample is looked at."""
    from rich.console import Console
    from rich.table import Table

    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing
    from drainwright.operations.warranty import warranty

    try:
        with existing(store, project) as (opened, chosen):
            found = warranty(opened, chosen.key, now())
        if out is not None:
            write_file(out, found.calendar)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for title in ("lateral", "accepted", "warranty ends", "look again", "why then"):
        table.add_column(title)
    for one in found.plans:
        window = f"{one.window_from} to {one.window_to}" if one.sampled else "not in the sample"
        why = "wet season" if one.in_wet_season else "no wet month within the warranty"
        table.add_row(
            one.lateral, str(one.accepted), str(one.ends), window, why if one.sampled else ""
        )
    Console().print(table, highlight=False)
    chosen_ones = sum(one.sampled for one in found.plans)
    print(f"{len(found.plans)} accepted, {chosen_ones} in the sample (seed {found.terms.seed})")


@app.command()
def terms(
    store: Store,
    years: Annotated[int, typer.Option(help="Years from acceptance.")],
    reason: Annotated[str, typer.Option(help="Where the contract says so.")],
    share: Annotated[float, typer.Option(help="Share that is looked at again.")] = 0.1,
    seed: Annotated[int, typer.Option(help="Seed of the sample.")] = 1,
    wet: Annotated[str, typer.Option(help="Wet months.")] = "3,4,5",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Set the contract's terms."""
    from drainwright.operations.stores import existing
    from drainwright.operations.warranty import set_terms
    from drainwright.records.warranty_terms import WarrantyTerms

    try:
        months = tuple(int(one) for one in wet.split(",") if one.strip())
    except ValueError:
        fail([f"wet: “{wet}” is not a list of months such as 3,4,5"])
    try:
        with existing(store, project) as (opened, chosen):
            done = set_terms(
                opened, chosen.key, WarrantyTerms(years, share, seed, months), by=who(by),
                at=now(), reason=reason,
            )  # fmt: skip
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"warranty terms: revision {done.revision}")


@app.command()
def look(
    store: Store,
    lateral: str,
    shift: Annotated[
        str, typer.Option(help="Added to the later survey's distances, as 0.5 ft.")
    ] = "0 ft",
    project: ProjectKey = "",
) -> None:
    """Lay the newest warranty survey over post-lining TV: what is new, what has grown."""
    from drainwright.operations.stores import existing
    from drainwright.operations.warranty import look_again
    from drainwright.units import parse, show

    try:
        by_shift = parse(shift, "length", "shift")
        with existing(store, project) as (opened, chosen):
            post, later, findings = look_again(opened, chosen.key, lateral, by_shift)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"post-lining TV {post.date}, looked at again {later.date}")
    for one in findings:
        at = show(one.observation.distance + by_shift, "length", chosen.units).text
        kind = one.observation.kind.replace("_", " ")
        print(f"  {at}: {kind}, {one.words}: {one.defect}")
    if not findings:
        print("  nothing within the lined length")
