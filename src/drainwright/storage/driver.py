"""Engines for both databases, and their drivers' errors in our own words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.pool import QueuePool

from drainwright.errors import StorageError

WAIT = 10.0
"""Seconds a writer waits for another one before it gives up."""
STOCK = "ANALYZE document, revision, word"
"""Lets PostgreSQL count its rows again; its plans follow old counts until then.

Looking up 500 keys would read all of a table that it believes to be empty, again for each
portion of an import.
"""
# what the drivers say, and what it means to a person; the first that fits counts
_MEANINGS = (
    ("file is not a database", "it is not a drainwright store"),
    ("unable to open database file", "it can't be opened: is the folder there and yours to write?"),
    ("readonly database", "it may be read, not written"),
    ("read-only transaction", "it may be read, not written"),
    ("database is locked", "somebody else is writing to it; try again"),
    ("lock timeout", "somebody else is writing to it; try again"),
    ("is malformed", "the file is damaged; restore it from a backup"),
    ("is full", "the disk is full"),
    ("No space left", "the disk is full"),
    ("authentication failed", "the server does not accept this user and password"),
    ("connection is bad", "the database server does not answer"),
    ("could not translate host name", "the database server does not answer"),
    ("connection failed", "the database server does not answer"),
    ("connection refused", "the database server does not answer"),
    ("closed the connection", "the database server went away"),
    ("terminating connection", "the database server went away"),
    ("connection is closed", "the session is over"),
    ("Connection is closed", "the session is over"),
)


@dataclass(frozen=True, slots=True)
class Location:
    """Where a store is: a file, or a server's URL."""

    file: Path | None
    url: sa.URL | None

    @property
    def attachments(self) -> Path | None:
        """The folder beside a file; a server has none of itself."""
        return self.file and self.file.with_name(f"{self.file.name}.attachments")

    def __str__(self) -> str:
        if self.url is not None:
            shown = self.url.render_as_string(hide_password=True)
            return shown.replace("postgresql+psycopg", "postgresql", 1)
        return str(self.file)


def locate(location: str | Path) -> Location:
    """Read a path or a `postgresql://` URL."""
    text = str(location)
    if "://" not in text:
        return Location(Path(text).expanduser().absolute(), None)
    scheme = text.partition("://")[0]
    if scheme not in {"postgresql", "postgres", "postgresql+psycopg"}:
        raise StorageError(f"a store is a file or a postgresql:// address, not {scheme}://")
    try:
        url = sa.make_url(text).set(drivername="postgresql+psycopg")
    except (SQLAlchemyError, ValueError) as error:
        raise StorageError("the postgresql:// address can't be read") from error
    return Location(None, url)


def make_engine(location: Location, *, create: bool = False, read_only: bool = False) -> sa.Engine:
    """An engine that begins transactions as the store needs them; nothing is opened yet."""
    if location.file is not None:
        return _sqlite(location.file, create=create, read_only=read_only)
    if location.url is None:
        raise StorageError("no location")
    return _postgresql(location.url, read_only=read_only)


def _sqlite(file: Path, *, create: bool, read_only: bool) -> sa.Engine:
    mode = "ro" if read_only else "rwc" if create else "rw"
    address = f"{file.as_uri()}?mode={mode}"

    def connect() -> sqlite3.Connection:
        # no isolation level: the driver must not begin or commit by itself
        connection = sqlite3.connect(
            address, uri=True, timeout=WAIT, isolation_level=None, check_same_thread=False
        )
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
        return connection

    engine = sa.create_engine("sqlite://", creator=connect, poolclass=QueuePool, max_overflow=40)

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _postgresql(url: sa.URL, *, read_only: bool) -> sa.Engine:
    try:
        import psycopg  # noqa: F401
    except ImportError as error:
        message = "PostgreSQL needs the extra “server”: install drainwright[server]"
        raise StorageError(message) from error
    timeout = {} if "connect_timeout" in url.query else {"connect_timeout": int(WAIT)}
    return sa.create_engine(
        url,
        connect_args=timeout,
        max_overflow=40,
        pool_pre_ping=True,
        execution_options={"postgresql_readonly": True} if read_only else {},
    )


def take_turn(connection: sa.Connection) -> None:
    """Wait until no other writer is at work in this store; held to the transaction's end.

    SQLite has done it with BEGIN IMMEDIATE. On PostgreSQL a lock per schema does the same,
    so that both databases behave alike; readers wait on neither.
    """
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{int(WAIT * 1000)}ms'")
        connection.exec_driver_sql(
            "SELECT pg_advisory_xact_lock(hashtextextended('drainwright ' || current_schema(), 0))"
        )


@contextmanager
def told(location: Location) -> Iterator[None]:
    """Turn a driver's error into a `StorageError` that names the store and keeps its cause."""
    try:
        yield
    except DBAPIError as error:
        cause = error.orig or error
        raise StorageError(f"{location}: {_meaning(cause)}") from cause
    except (SQLAlchemyError, sqlite3.Error, OSError) as error:
        raise StorageError(f"{location}: {_meaning(error)}") from error


def _meaning(error: BaseException) -> str:
    text = str(error)
    for said, meaning in _MEANINGS:
        if said in text:
            return meaning
    first = text.strip().splitlines()[0] if text.strip() else type(error).__name__
    return f"the database refused: {first}"
