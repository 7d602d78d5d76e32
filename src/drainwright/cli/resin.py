"""Command on a resin: fit its law to calorimeter runs."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem


def fit_resin(
    store: Store,
    resin: Annotated[str, typer.Argument(help="Key of the resin in the project.")],
    file: Annotated[Path, typer.Argument(help="TOML as for `drainwright calc resin-fit`.")],
    reason: Annotated[str, typer.Option(help="Why the law is changed.")],
    picture: Annotated[Path, typer.Option(help="Where the picture of the fit goes.")] = Path(
        "resin fit.svg"
    ),
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Fit a resin's law to its calorimeter runs and keep it with the resin."""
    from drainwright.operations.fit_resin import fit_project_resin
    from drainwright.operations.print_papers import write_file
    from drainwright.operations.stores import existing

    try:
        data = tomllib.loads(file.read_text("utf-8"))
    except (OSError, ValueError) as error:
        fail([f"{file}: {error}"])
    try:
        with existing(store, project) as (opened, chosen):
            done = fit_project_resin(
                opened, chosen.key, resin, data, file.parent, by=who(by), at=now(), reason=reason
            )
            write_file(picture, done.picture.encode())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{resin}: revision {done.saved.revision}; picture: {picture}")
    for words in done.notes:
        print(f"  {words}")
