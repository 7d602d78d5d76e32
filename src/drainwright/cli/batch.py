"""Command batch: one mix for several liners, its ticket, and what was weighed back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError, PaperError
from drainwright.units import UnitSystem, parse
from drainwright.units import show as shown


def batch(
    store: Store,
    laterals: Annotated[list[str], typer.Argument(help="Laterals whose liners share one mix.")],
    out: Annotated[Path | None, typer.Option(help="Write the batch ticket here, a PDF.")] = None,
    poured_a: Annotated[str, typer.Option(help="Part A as weighed, such as 20.4 lb.")] = "",
    poured_b: Annotated[str, typer.Option(help="Part B as weighed.")] = "",
    back: Annotated[str, typer.Option(help="Weighed back from pails and rollers.")] = "0 lb",
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Weigh out one batch for several planned liners; check it when it was weighed."""
    from drainwright.operations.mix_batch import Weighed, check_weighed, plan_batch, print_batch
    from drainwright.operations.stores import existing

    units = UnitSystem.US
    refused = False
    try:
        with existing(store, project) as (opened, chosen):
            units = chosen.units
            made = plan_batch(opened, chosen.key, laterals).batch
            for share in made.shares:
                _line(share.lateral, share.mass, units)
            for name, mass in (("A", made.part_a), ("B", made.part_b), ("A + B", made.mass)):
                _line(name, mass, units)
            if out is not None:
                _write(out, print_batch(opened, chosen.key, laterals, by=who(by), at=now()))
            if poured_a or poured_b:
                weighed = Weighed(
                    parse(poured_a, "mass", "poured_a"),
                    parse(poured_b, "mass", "poured_b"),
                    parse(back, "mass", "back"),
                )
                for check in check_weighed(opened, chosen.key, laterals, weighed):
                    print(f"{check.name}: {check.outcome}")
                    refused |= check.outcome == "not met"
    except DrainwrightError as error:
        tell(error, units)
    if refused:
        fail(["Do not use this batch before the superintendent has decided."], 1)


def _line(name: str, mass: float, units: UnitSystem) -> None:
    print(f"{name}: {shown(mass, 'mass', units, 2 if units is UnitSystem.US else 3).text}")


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise PaperError(f"{path} can't be written: {error.strerror or error}") from error
    print(f"{path} written.")
