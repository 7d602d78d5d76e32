"""Command would-change: what an update would do to the plans, before it is stored."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from drainwright.cli.faces import tell
from drainwright.cli.projects import ProjectKey, Store, now
from drainwright.cli.read import request_of, today_in
from drainwright.errors import DrainwrightError, Fault, InputError
from drainwright.units import UnitSystem, parse

if TYPE_CHECKING:
    from drainwright.operations.would_change import Change, PlanChange
    from drainwright.records.project import Project
    from drainwright.records.specification import Specification


def would_change(
    store: Store,
    files: Annotated[
        list[Path] | None,
        typer.Argument(help="Lists as for read: tubes, resins, collars, rigs, laterals, segments."),
    ] = None,
    limit: Annotated[
        list[str] | None,
        typer.Option(help="A limit of the specification, as NAME=VALUE with its unit; or NAME=."),
    ] = None,
    wall_method: Annotated[str, typer.Option(help="Method and edition of the wall.")] = "",
    lateral: Annotated[
        list[str] | None, typer.Option(help="Only this lateral; may be given several times.")
    ] = None,
    project: ProjectKey = "",
) -> None:
    """List the laterals whose outcome or main numbers an update would change; nothing is stored.

    Without an update: what planning again would change in the work sheets that are kept.
    """
    from drainwright.operations.stores import existing
    from drainwright.operations.would_change import would_change as compared

    units = UnitSystem.US
    try:
        with existing(store, project) as (opened, chosen):
            units = chosen.units
            changed = _records(opened, chosen, files or [])
            changed += _specification(opened, chosen, limit or [], wall_method)
            found = compared(opened, chosen.key, changed, at=now(), keys=lateral or ())
    except DrainwrightError as error:
        tell(error, units)
    for one in found.laterals:
        _print(one, units)
    print(
        f"{found.looked_at} laterals looked at: {len(found.laterals)} would change, "
        f"{found.outcomes} of them in outcome. Nothing was stored."
    )


def _records(store: Any, project: Project, files: list[Path]) -> list[Change]:
    from drainwright.operations.read_files import records_in

    found: list[Any] = []
    for file in files:
        asked = request_of(file)
        found += records_in(store, project.key, asked, today=today_in(project.zone))
    return found


def _specification(
    store: Any, project: Project, limits: list[str], method: str
) -> list[Specification]:
    """The project's specification with the limits asked for, if any are."""
    from drainwright.operations.show_specification import show_specification

    if not limits and not method:
        return []
    made = show_specification(store, project).specification
    for words in limits:
        name, sign, text = (part.strip() for part in words.partition("="))
        if not sign:
            raise InputError(Fault("limit", "is written NAME=VALUE, such as safety_factor=2.5"))
        about = made.limit(name)
        value = parse(text, about.kind, name) if text else None
        made = made.with_limits({name: (value, about.source)})
    return [replace(made, wall_method=method or made.wall_method)]


def _print(one: PlanChange, units: UnitSystem) -> None:
    from drainwright.operations.show_columns import shown_value

    before, after = (str(outcome or "not planned") for outcome in (one.before, one.after))
    print(
        f"{one.lateral}: {before} → {after}" if one.outcome_changes else f"{one.lateral}: {after}"
    )
    for words in (*one.faults, *one.new_reasons):
        print(f"  new: {words}")
    for words in one.gone_reasons:
        print(f"  gone: {words}")
    for figure in one.figures:
        old, new = (
            shown_value(value, figure.kind, units) for value in (figure.before, figure.after)
        )
        print(f"  {figure.label}: {old} → {new}")
