"""Commands on files: read, write, template."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from drainwright.cli.faces import tell
from drainwright.cli.projects import By, ProjectKey, Store, now, who
from drainwright.errors import DrainwrightError, Fault, InputError
from drainwright.units import UnitSystem, fault_text

if TYPE_CHECKING:
    from drainwright.operations.read_files import FilePreview, ReadRequest
    from drainwright.records.project import Project

MOST_LINES = 60
UNREAD = "this column is not read"  # told with the columns already


def read(
    store: Store,
    files: Annotated[list[Path], typer.Argument(help="CSV, XLSX, a map or exchange text.")],
    kind: Annotated[
        str, typer.Option("--as", help="What the rows are, such as laterals; else found.")
    ] = "",
    project: ProjectKey = "",
    layer: Annotated[str, typer.Option(help="Layer of a GeoPackage with several.")] = "",
    mapping: Annotated[Path | None, typer.Option(help="Mapping file for the columns.")] = None,
    write_mapping: Annotated[
        Path | None, typer.Option(help="Write what was recognized as a mapping to correct.")
    ] = None,
    kept: Annotated[bool, typer.Option(help="Use the mapping kept for this header.")] = True,
    codes: Annotated[Path | None, typer.Option(help="Code table that extends EN 13508-2.")] = None,
    only_these_codes: Annotated[
        bool, typer.Option(help="The code table replaces EN 13508-2's.")
    ] = False,
    preview: Annotated[bool, typer.Option("--preview", help="Show; store nothing.")] = False,
    accept_clean_rows: Annotated[
        bool, typer.Option("--accept-clean-rows", help="Store the rows without a fault.")
    ] = False,
    left_out: Annotated[
        Path | None, typer.Option(help="Where the rows left out go.", show_default="beside FILE")
    ] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask before storing.")] = False,
    by: By = "",
) -> None:
    """Read files into a project: shows what was recognized, then stores it."""
    from drainwright.operations.stores import existing

    units = UnitSystem.US
    clean = True
    after = _After(preview, yes or accept_clean_rows, write_mapping, left_out, who(by))
    try:
        with existing(store, project) as (opened, chosen):
            units = chosen.units
            for file in files:
                asked = replace(
                    request_of(file, _table(file, layer, chosen), kind, mapping, codes),
                    use_kept=kept,
                    only_these_codes=only_these_codes,
                    accept_clean_rows=accept_clean_rows,
                )
                clean &= _read_one(opened, chosen, (file, asked), after)
    except DrainwrightError as error:
        tell(error, units)
    if not clean:
        raise typer.Exit(2)


@dataclass(frozen=True, slots=True)
class _After:
    """What is to happen once a file was looked at."""

    preview: bool
    sure: bool
    """Do not ask before storing."""
    mapping: Path | None
    left_out: Path | None
    by: str


def _read_one(store: Any, project: Project, file: tuple[Path, ReadRequest], after: _After) -> bool:
    """Show one file and store it; whether it went in as was asked."""
    from drainwright.operations.read_files import mapping_text, preview_file, read_file

    path, asked = file
    today = today_in(project.zone)
    seen = preview_file(store, project.key, asked, today=today)
    _show(seen, project.units)
    if after.mapping is not None:
        _write(after.mapping, mapping_text(seen.mapping, today))
    if seen.faults and (after.preview or not after.sure):
        _advise(seen, path, after)
        return False
    if after.preview or not _may_store(seen, ask=not after.sure):
        return not seen.faults
    with _progress() as step:
        done = read_file(
            store, project.key, asked, by=after.by, at=now(), today=today, progress=step
        )
    _told(done, after.left_out or _beside(path, done.ending))
    return done.stored


def write(
    store: Store,
    kind: Annotated[str, typer.Argument(help="laterals, segments, surveys, codes and so on.")],
    file: Annotated[Path, typer.Argument(help="To write: .csv, .xlsx or, for surveys, .txt.")],
    keys: Annotated[list[str] | None, typer.Argument(help="Only these; all if none.")] = None,
    project: ProjectKey = "",
    codes: Annotated[Path | None, typer.Option(help="Code table that extends EN 13508-2.")] = None,
) -> None:
    """Write records of a project as a file that reads back the same."""
    from drainwright.operations.stores import existing
    from drainwright.operations.write_files import write_file

    try:
        with existing(store, project) as (opened, chosen):
            data = write_file(
                opened,
                chosen.key,
                kind,
                form=file.suffix.lower().lstrip("."),
                units=chosen.units,
                keys=keys or (),
                codes=_bytes(codes) if codes else None,
            )
        _write(file, data)
    except DrainwrightError as error:
        tell(error, UnitSystem.US)
    print(f"{file} written.")


def template(
    kind: Annotated[str, typer.Argument(help="laterals, segments, tubes and so on.")],
    out: Annotated[Path | None, typer.Option(help="File: .xlsx or .csv.")] = None,
    units: Annotated[UnitSystem, typer.Option(help="Units of the headers.")] = UnitSystem.US,
) -> None:
    """Write an empty, explained table to fill in."""
    from drainwright.operations.template import template as made

    file = out or Path(f"{kind}.xlsx")
    try:
        _write(file, made(kind, form=file.suffix.lower().lstrip("."), units=units))
    except DrainwrightError as error:
        tell(error, units)
    print(f"{file} written.")


# ---------------------------------------------------------------- files


def _table(file: Path, layer: str, project: Project) -> bytes:
    """The file's bytes; a layer of a GeoPackage or shapefile as a table."""
    if file.suffix.lower() not in (".gpkg", ".shp"):
        return _bytes(file)
    from drainwright.operations.read_map import table_of_map

    data, notes = table_of_map(file, layer, project)
    for note in notes:
        print(note)
    return data


def request_of(
    file: Path,
    data: bytes | None = None,
    kind: str = "",
    mapping: Path | None = None,
    codes: Path | None = None,
) -> ReadRequest:
    """What is to be read, `data` or what the file holds; `InputError` for one that can't be."""
    from drainwright.operations.read_files import ReadRequest

    return ReadRequest(
        _bytes(file) if data is None else data,
        file.name,
        kind,
        mapping=_bytes(mapping) if mapping else None,
        mapping_file=mapping.name if mapping else "",
        codes=_bytes(codes) if codes else None,
        codes_file=codes.name if codes else "",
    )


def _bytes(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise InputError(Fault("file", error.strerror or str(error), str(file))) from error


def _write(file: Path, data: bytes) -> None:
    try:
        file.write_bytes(data)
    except OSError as error:
        raise InputError(Fault("file", error.strerror or str(error), str(file))) from error


def _beside(file: Path, ending: str) -> Path:
    return file.with_name(f"{file.stem}.left-out{ending or file.suffix}")


def today_in(zone: str) -> dt.date:
    """Today in the project's zone."""
    from zoneinfo import ZoneInfo

    return now().astimezone(ZoneInfo(zone)).date()


# ---------------------------------------------------------------- what is shown


def _show(seen: FilePreview, units: UnitSystem) -> None:
    """What was recognized, what is odd and what is wrong."""
    print(f"{seen.file}: {seen.kind}")
    if seen.mapping_kept:
        print("  The mapping kept for this header is used (--no-kept leaves it).")
    for words in dict.fromkeys(seen.recognized):  # sheets mostly have the same columns
        print(f"  {words}")
    notes = [one for one in seen.notices if UNREAD not in one.message]
    _lines("note", notes, seen, units)
    _lines("fault", seen.faults, seen, units)
    what = "surveys" if seen.ending == ".txt" else "rows"
    print(
        f"  {seen.records} {what} without fault: {len(seen.new)} new, {len(seen.changed)} changed, "
        f"{seen.unchanged} as before; {len(seen.faults)} faults, {len(notes)} notes"
    )
    for title, keys in (("changed", seen.changed), ("no more in the file, kept", seen.vanished)):
        if keys:
            more = f" and {len(keys) - 20} more" if len(keys) > 20 else ""
            print(f"  {title}: {', '.join(keys[:20])}{more}")


def _lines(title: str, faults: Sequence[Fault], seen: FilePreview, units: UnitSystem) -> None:
    for fault in faults[:MOST_LINES]:
        print(f"  {title}: {fault_text(fault, units, seen.kinds)}")
    if len(faults) > MOST_LINES:
        print(f"  and {len(faults) - MOST_LINES} more of these")


def _advise(seen: FilePreview, path: Path, after: _After) -> None:
    """What to do about the faults."""
    print("  Nothing was stored. Mend the file and read it again.")
    if seen.records:
        print(f"  Or --accept-clean-rows stores the {seen.records} without fault and writes the")
        print("  others into a file of the same form, to be mended and read.")
    if after.mapping is not None:
        print(f"  What was recognized is in {after.mapping}. Correct it there, then read with")
        print(f"  --mapping {after.mapping}; it is kept for files with this header.")
    elif any("not read (" in words for words in seen.recognized):
        name = f"{path.stem}.toml".replace(" ", "-")
        print("  A column is not read, or taken for the wrong thing? Read with")
        print(f"    --preview --write-mapping {name}")
        print("  which lists every field; say there what each column is, then read with")
        print(f"    --mapping {name}")
        print("  once; it is kept for files with this header.")


def _may_store(seen: FilePreview, *, ask: bool) -> bool:
    if ask and sys.stdin.isatty() and (seen.new or seen.changed):
        return typer.confirm("  Store it?", default=True)
    return True


def _told(done: FilePreview, left_out: Path) -> None:
    if not done.stored:
        print("  Nothing was stored.")
        return
    print(f"  Stored: {len(done.new)} new, {len(done.changed)} changed.")
    if done.faults and done.left_out:
        _write(left_out, done.left_out)
        print(f"  Left out: {done.left_out_rows} rows, written to {left_out} to mend and read.")


@contextmanager
def _progress() -> Iterator[Callable[[str, int, int], None]]:
    """A bar on a terminal; elsewhere nothing."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, disable=not console.is_terminal, transient=True) as bar:
        task = bar.add_task("reading", total=1)

        def step(words: str, done: int, total: int) -> None:
            bar.update(task, description=words, completed=done, total=max(total, 1))

        yield step
