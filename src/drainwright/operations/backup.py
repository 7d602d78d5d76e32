"""Copy a store that is in use (read), and restore a bundle in place of a file (write)."""

from __future__ import annotations

import datetime as dt
import shutil
import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path

from drainwright.errors import NotFoundError, StorageError
from drainwright.operations.bundle import Bundled, read_bundle
from drainwright.operations.stores import create, opened
from drainwright.operations.verify_store import verify_store


def backup(location: str, target: Path) -> Path:
    """Copy a store's file with its attachments while others use it; checked, then named."""
    if "://" in location:
        raise StorageError(
            "a server's store is backed up with its own tool, pg_dump, together with the folder of"
            " attachments; `drainwright bundle` writes single projects of either kind of store"
        )
    source = Path(location)
    if not source.is_file():
        raise NotFoundError(f"there is no store at {location}")
    _refuse_taken(target)
    with _workplace(target) as place:
        copy = Path(place) / target.name
        _copy_database(source, copy)
        with opened(location) as old, opened(str(copy)) as new, new.read() as session:
            for key in session.project_keys():
                for one in session.attachments.all(key):
                    with old.read() as there:
                        content = there.attachments.content(key, one.sha256)
                    file = _attachments(copy) / one.sha256[:2] / one.sha256
                    file.parent.mkdir(parents=True, exist_ok=True)
                    file.write_bytes(content)
        _check(copy)
        _move(copy, target)
    return target


def restore(
    file: Path, location: str, *, by: str, at: dt.datetime, replace: bool, attachments: Path | None
) -> tuple[Bundled, Path | None]:
    """Restore a bundle into a store; return what it holds and where a replaced file went.

    The project is added to a store that does not hold it. With `replace` a file is made anew
    beside the old one, checked, and takes its place; the old one is kept under another name.
    """
    if "://" in location or (Path(location).exists() and not replace):
        if replace:
            raise StorageError("--replace is for files; on a server restore into an empty schema")
        with create(location, attachments) as store:
            return read_bundle(store, file, by=by, at=at), None
    target = Path(location)
    with _workplace(target) as place:
        new = Path(place) / target.name
        with create(str(new)) as store:
            done = read_bundle(store, file, by=by, at=at)
        _check(new)
        kept = _set_aside(target) if target.exists() else None
        _move(new, target)
    return done, kept


def _workplace(target: Path) -> tempfile.TemporaryDirectory[str]:
    try:
        return tempfile.TemporaryDirectory(prefix=".drainwright-", dir=target.absolute().parent)
    except OSError as error:
        raise StorageError(f"{target}: its folder can't be written: {error}") from error


def _attachments(file: Path) -> Path:
    return file.with_name(f"{file.name}.attachments")


def _refuse_taken(target: Path) -> None:
    for path in (target, _attachments(target)):
        if path.exists():
            raise StorageError(f"{path}: it is there already; choose another name")


def _copy_database(source: Path, copy: Path) -> None:
    try:
        address = f"{source.absolute().as_uri()}?mode=ro"
        with (
            closing(sqlite3.connect(address, uri=True)) as old,
            closing(sqlite3.connect(copy)) as new,
        ):
            old.backup(new)
            (state,) = new.execute("PRAGMA integrity_check").fetchone()
    except sqlite3.Error as error:
        raise StorageError(f"{source}: it can't be copied: {error}") from error
    if state != "ok":
        raise StorageError(f"{source}: the copy is damaged, so the store is: {state}")


def _check(file: Path) -> None:
    with opened(str(file)) as store:
        found = verify_store(store).findings
    if found:
        told = "\n".join(f"{one.project}, {one.where}: {one.what}" for one in found)
        raise StorageError(f"the copy does not hold together, nothing was replaced:\n{told}")


def _set_aside(file: Path) -> Path:
    """Rename a store's file that nobody uses; `StorageError` where somebody does."""
    number, kept = 1, file.with_name(f"{file.stem}.replaced{file.suffix}")
    while kept.exists() or _attachments(kept).exists():
        number += 1
        kept = file.with_name(f"{file.stem}.replaced-{number}{file.suffix}")
    try:
        with closing(sqlite3.connect(file, timeout=2)) as connection:
            (mode,) = connection.execute("PRAGMA journal_mode = DELETE").fetchone()
    except sqlite3.Error as error:
        raise StorageError(f"{file}: somebody is using it; close it and try again") from error
    if mode != "delete":
        raise StorageError(f"{file}: somebody is using it; close it and try again")
    _move(file, kept)
    return kept


def _move(file: Path, target: Path) -> None:
    try:
        if _attachments(file).exists():
            shutil.move(_attachments(file), _attachments(target))
        file.replace(target)
    except OSError as error:
        raise StorageError(f"{target}: it can't be written: {error}") from error
