"""Commands on the record: history, compare, withdraw, verify, bundle, restore, backup."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated

import typer

from drainwright.cli.faces import fail, tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError
from drainwright.units import UnitSystem

Kind = Annotated[str, typer.Argument(help="lateral, survey, “work sheet”, segment, tube, ...")]
Key = Annotated[str, typer.Argument(help="Key of the document, such as the owner's id.")]
Attachments = Annotated[
    Path | None, typer.Option(help="Folder of attachments; a file's own is beside it.")
]

MOST = 40
"""Keys and notes printed at most."""


def register(app: typer.Typer) -> None:
    """Add the commands of the record."""
    for command in (history, compare, withdraw, verify, bundle, restore, backup):
        app.command()(command)
    app.command("map")(map_)
    app.command("read-map")(read_map_)
    app.command("sketch")(sketch)
    app.command("prove")(prove_)
    app.command("register")(register_)


def history(
    store: Store,
    kind: Kind,
    key: Key,
    at: Annotated[str, typer.Option(help="Show it as it stood then: 2026-05-04[T13:00].")] = "",
    project: ProjectKey = "",
) -> None:
    """Show who changed a document when, from what and why."""
    from drainwright.operations import look_back
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            if at:
                stood = look_back.stood_at(opened, chosen, kind, key, at)
                print(f"revision {stood.revision.number}, by {stood.revision.by}")
                print(stood.text)
                return
            found = look_back.history(opened, chosen.key, kind, key)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in found:
        words = [f"{one.at:%Y-%m-%d %H:%M} UTC", f"by {one.by}"]
        words += [f"from {one.origin}"] if one.origin else []
        words += [one.reason] if one.reason else []
        words += ["WITHDRAWN"] if one.withdrawn else []
        print(f"revision {one.number}: {', '.join(words)}")


def compare(
    store: Store,
    kind: Kind,
    key: Key,
    old: Annotated[
        int | None, typer.Argument(help="Revision.", show_default="last but one")
    ] = None,
    new: Annotated[int | None, typer.Argument(help="Revision.", show_default="last")] = None,
    project: ProjectKey = "",
) -> None:
    """Compare two revisions of a document in plain words."""
    from drainwright.operations import look_back
    from drainwright.operations.stores import existing

    if (old is None) != (new is None):
        fail(["Name both revisions, or none for the last two."])
    numbers = (old, new) if old is not None and new is not None else None
    try:
        with existing(store, project) as (opened, chosen):
            found = look_back.difference(opened, chosen, kind, key, numbers)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(
        f"revision {found.old.number} → {found.new.number},"
        f" {found.new.at:%Y-%m-%d %H:%M} UTC, by {found.new.by}"
    )
    for line in found.changes or ("nothing changed",):
        print(f"  {line}")


def withdraw(
    store: Store,
    kind: Kind,
    key: Key,
    reason: Annotated[str, typer.Option(help="Why it is withdrawn.")],
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Withdraw a document; it stays in the record."""
    from drainwright.operations import look_back
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            done = look_back.withdraw(
                opened, chosen.key, kind, key, by=who(by), at=now(), reason=reason
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    state = "withdrawn" if done.changed else "was withdrawn before"
    print(f"{kind} {key}: {state}, revision {done.revision}")


def verify(
    store: Store,
    project: Annotated[str, typer.Option("--project", help="Only this project.")] = "",
    attachments: Attachments = None,
) -> None:
    """Recompute every hash; exit code 1 where something does not match."""
    from drainwright.operations.stores import opened
    from drainwright.operations.verify_store import verify_store

    try:
        with opened(store, attachments) as there:
            found = verify_store(there, project)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    if found.findings:
        fail((f"{one.project}, {one.where}: {one.what}" for one in found.findings), 1)
    for key, device, number, sha256 in found.heads:
        print(f"{key}: newest field entry of {device}: {number}, {sha256}")
    print(f"All of it matches: {', '.join(found.projects) or 'no project'}.")


def bundle(
    store: Store,
    file: Annotated[Path, typer.Argument(help="The bundle to write, a ZIP file.")],
    project: ProjectKey = "",
    attachments: Attachments = None,
) -> None:
    """Write a whole project, every revision and attachment, as one open file."""
    from drainwright.operations.bundle import write_bundle
    from drainwright.operations.stores import existing

    try:
        with existing(store, project, attachments) as (opened, chosen):
            made = write_bundle(opened, chosen.key, file, at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{file}: project {made.project}, {_told(made.lines)}; sha256 {made.sha256}")


def restore(
    file: Annotated[Path, typer.Argument(help="A bundle.")],
    store: Store,
    replace: Annotated[
        bool, typer.Option("--replace", help="Take an existing file's place; it is kept.")
    ] = False,
    attachments: Attachments = None,
    by: By = "",
) -> None:
    """Restore a bundle into a store, checked before anything is kept."""
    from drainwright.operations import backup as copies

    try:
        done, kept = copies.restore(
            file, store, by=who(by), at=now(), replace=replace, attachments=attachments
        )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{store}: project {done.project}, {_told(done.lines)}; sha256 {done.sha256}")
    if kept is not None:
        print(f"The file that was there is kept as {kept}.")


def backup(
    store: Store,
    file: Annotated[Path, typer.Argument(help="The copy to make.")],
) -> None:
    """Copy a store with its attachments while it is in use."""
    from drainwright.operations import backup as copies

    try:
        print(f"{copies.backup(store, file)}: copied and verified")
    except DrainwrightError as error:
        tell(error, UnitSystem.US)


def _told(lines: Mapping[str, int]) -> str:
    names = {"revision": "revisions", "entry": "field entries", "attachment": "attachments"}
    return ", ".join(f"{lines[one]} {name}" for one, name in names.items() if one in lines)


def map_(
    store: Store,
    file: Annotated[Path, typer.Argument(help="A name ending in .gpkg, .geojson or .shp.")],
    project: ProjectKey = "",
) -> None:
    """Write laterals, taps, access points, liners and collars for a GIS."""
    from drainwright.operations.stores import existing
    from drainwright.operations.write_map import write_map

    try:
        with existing(store, project) as (opened, chosen):
            done = write_map(opened, chosen, file)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for layer, number in done.layers.items():
        print(f"{layer}: {number}")
    if not done.layers:
        print("Nothing in the project has geometry; no file was written.")
    if done.note:
        print(done.note)


def read_map_(
    store: Store,
    file: Annotated[Path, typer.Argument(help="The map that `map` wrote, .gpkg and so on.")],
    project: ProjectKey = "",
    preview: Annotated[bool, typer.Option("--preview", help="Show; store nothing.")] = False,
    reason: Annotated[str, typer.Option(help="Why.")] = "map read",
    by: By = "",
) -> None:
    """Take the lines of segments and laterals from a map that was edited in a GIS."""
    from drainwright.operations.read_map import read_map
    from drainwright.operations.stores import existing

    try:
        with existing(store, project) as (opened, chosen):
            done = read_map(
                opened, chosen, file, by=who(by), at=now(), reason=reason, preview=preview
            )
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for layer, number in done.layers.items():
        print(f"{layer}: {number}")
    word = "stored" if done.stored else "not stored"
    print(f"other geometry: {len(done.changed)} ({word}), as before: {done.unchanged}")
    for key in done.changed[:MOST]:
        print(f"  {key}")
    for key in done.unknown[:MOST]:
        print(f"  not in the project: {key}")
    for note in done.notes[:MOST]:
        print(note)


def sketch(
    store: Store,
    file: Annotated[Path, typer.Argument(help="The drawing to write, .svg.")],
    segment: Annotated[str, typer.Option(help="Only this main segment.")] = "",
    schematic: Annotated[
        bool, typer.Option("--schematic", help="By segment and distance, also where a map is.")
    ] = False,
    project: ProjectKey = "",
) -> None:
    """Draw the sketch map; a schematic by segment and distance where there is no geometry."""
    from drainwright.operations.sketch_map import sketch_map
    from drainwright.operations.stores import existing

    if file.exists():
        fail([f"{file}: it is there already; choose another name."])
    try:
        with existing(store, project) as (opened, chosen):
            drawn = sketch_map(opened, chosen, segment=segment, schematic=schematic)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    try:
        file.write_text(drawn.svg, encoding="utf-8")
    except OSError as error:
        fail([f"{file}: it can't be written: {error}"], 1)
    print(f"{file}: {drawn.words}")


def prove_(
    store: Store,
    storms: Annotated[Path, typer.Argument(help="CSV: period, rain, treated, control.")],
    out: Annotated[Path, typer.Argument(help="The report to write, .pdf.")],
    annual: Annotated[
        float | None, typer.Option(help="Rain-derived volume of a year before the work.")
    ] = None,
    unit: Annotated[str, typer.Option(help="Unit of that volume.")] = "Mgal",
    price: Annotated[str, typer.Option(help="Your price for one unit of volume.")] = "",
    years: Annotated[float, typer.Option(help="Years for a present worth.")] = 0.0,
    rate: Annotated[float, typer.Option(help="Real interest, such as 0.03.")] = 0.0,
    confidence: Annotated[float, typer.Option(help="Of the intervals.")] = 0.95,
    project: ProjectKey = "",
    by: By = "",
) -> None:
    """Print the proof report: how much less rain-derived flow comes, with its interval."""
    from decimal import Decimal, InvalidOperation

    from drainwright.operations.print_papers import write_file
    from drainwright.operations.prove import MoneyAsked, prove
    from drainwright.operations.stores import existing

    if (annual is None) != (not price):
        fail(["Give the volume of a year and its price together, or neither."])
    try:
        asked = (
            MoneyAsked(annual, unit, Decimal(price), years, rate) if annual is not None else None
        )
    except InvalidOperation:
        fail([f"--price: “{price}” is not a number"])
    try:
        with existing(store, project) as (_, chosen):
            made = prove(chosen, storms, by=who(by), at=now(), confidence=confidence, money=asked)
        write_file(out, made.pdf)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    for one in made.proof.methods:
        mark = "  (reported)" if one.method == made.proof.reported else ""
        print(f"{one.method}: {100 * one.reduction:.1f} %{mark}")
    print(made.proof.why)
    print(out)


def register_(
    store: Store,
    file: Annotated[Path, typer.Argument(help="The spreadsheet to write, .xlsx.")],
    project: ProjectKey = "",
) -> None:
    """Write the register of laterals as a spreadsheet."""
    from drainwright.operations.stores import existing
    from drainwright.operations.write_register import register_of

    if file.exists():
        fail([f"{file}: it is there already; choose another name."])
    try:
        with existing(store, project) as (opened, chosen):
            content = register_of(opened, chosen, at=now())
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    try:
        file.write_bytes(content)
    except OSError as error:
        fail([f"{file}: it can't be written: {error}"], 1)
    print(file)
