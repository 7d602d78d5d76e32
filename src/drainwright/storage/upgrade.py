"""Making a new store, and bringing an older one to this program's schema.

Forward only. A file is copied aside before it is changed; a newer store is refused. The
whole change is one transaction, so that a failed one leaves the store as it was.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import sqlalchemy as sa

from drainwright.errors import StorageError
from drainwright.storage import schema
from drainwright.storage.driver import Location, make_engine, take_turn, told

VERSION_TABLE = "drainwright_schema"
_VERSION = sa.table(VERSION_TABLE)
MIGRATIONS = Path(__file__).parent / "migrations"
VERSIONS: tuple[Path, ...] = (MIGRATIONS / "versions",)


def ready(location: Location, *, create: bool, read_only: bool) -> None:
    """See that the store is there and has this program's schema; make or upgrade it if not."""
    with told(location):
        if location.file is not None and not create and not location.file.exists():
            raise StorageError(f"{location}: there is no store")
        engine = make_engine(location, create=create, read_only=read_only)
        try:
            found = _version(engine, location)
            if found == schema.HEAD:
                return
            _check(found, location, create=create, read_only=read_only)
            _upgrade(engine, location)
        finally:
            engine.dispose()


def _version(engine: sa.Engine, location: Location) -> str | None:
    """The schema of the store, None for an empty database; refuses what is no store."""
    with engine.connect() as connection:
        if location.file is None:
            encoding = connection.exec_driver_sql("SHOW server_encoding").scalar()
            if encoding != "UTF8":
                raise StorageError(f"{location}: the database must be UTF8, it is {encoding}")
        else:
            mark = connection.exec_driver_sql("PRAGMA application_id").scalar()
            tables = sa.inspect(connection).get_table_names()
            if mark != schema.APPLICATION_ID and (mark or tables):
                raise StorageError(f"{location}: it is not a drainwright store")
        return _version_in(connection)


def _version_in(connection: sa.Connection) -> str | None:
    if not sa.inspect(connection).has_table(VERSION_TABLE):
        return None
    version = connection.execute(sa.select(sa.column("version_num")).select_from(_VERSION)).scalar()
    return str(version) if version is not None else None


def _check(found: str | None, location: Location, *, create: bool, read_only: bool) -> None:
    if found is None:
        if not create:
            raise StorageError(f"{location}: there is no store")
        return
    if found not in _known():
        message = (
            f"{location}: it was written by a newer drainwright (schema {found}, this program"
            f" knows {schema.HEAD}); update drainwright to open it"
        )
        raise StorageError(message)
    if read_only:
        message = (
            f"{location}: it was written by an older drainwright (schema {found}) and must be"
            " opened for writing once, to be brought up to date"
        )
        raise StorageError(message)


def _known() -> set[str]:
    return {path.name[1:5] for folder in VERSIONS for path in folder.glob("v[0-9]*.py")}


def _upgrade(engine: sa.Engine, location: Location) -> None:
    from alembic import command
    from alembic.config import Config

    if location.file is not None:
        with engine.connect() as connection:
            connection.exec_driver_sql("ROLLBACK")  # journal mode can't change inside one
            connection.exec_driver_sql("PRAGMA journal_mode = WAL")
            connection.exec_driver_sql("BEGIN")
    config = Config()
    config.set_main_option("script_location", _escaped(str(MIGRATIONS)))
    config.set_main_option("path_separator", "newline")
    config.set_main_option("version_locations", _escaped("\n".join(map(str, VERSIONS))))
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        take_turn(connection)
        found = _version_in(connection)  # somebody else may have been quicker
        if found == schema.HEAD:
            return
        if location.file is not None:
            if found is not None:
                copy_aside(location.file, found)
            connection.exec_driver_sql(f"PRAGMA application_id = {schema.APPLICATION_ID}")
        config.attributes["connection"] = connection
        command.upgrade(config, schema.HEAD)


def _escaped(text: str) -> str:
    return text.replace("%", "%%")


def copy_aside(file: Path, version: str) -> Path:
    """Copy a store's file beside itself, named by its schema; return the copy's path."""
    stem = f"{file.stem}.schema-{version}"
    copy = file.with_name(f"{stem}{file.suffix}")
    number = 1
    while copy.exists():
        number += 1
        copy = file.with_name(f"{stem}-{number}{file.suffix}")
    with closing(sqlite3.connect(file)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
        (state,) = target.execute("PRAGMA integrity_check").fetchone()
    if state != "ok":
        raise StorageError(f"{file}: the copy made before the upgrade is damaged: {state}")
    return copy
