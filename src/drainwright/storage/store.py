"""The one implementation of a store, on SQLite and on PostgreSQL."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from drainwright.storage.attachments import Folder
from drainwright.storage.counts import Counts
from drainwright.storage.driver import locate, make_engine, take_turn, told
from drainwright.storage.protocol import ReadSession, WriteSession
from drainwright.storage.reading import Reading
from drainwright.storage.stamp import stamp
from drainwright.storage.upgrade import ready
from drainwright.storage.writing import Writing

_SNAPSHOT = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}


class Store:
    """An open store; safe to share between threads, a session is not."""

    def __init__(
        self,
        location: str | Path,
        *,
        create: bool = False,
        read_only: bool = False,
        attachments: Path | None = None,
    ) -> None:
        self._location = locate(location)
        self._folder = Folder(attachments or self._location.attachments)
        ready(self._location, create=create, read_only=read_only)
        self._engine = make_engine(self._location, read_only=read_only)
        self._counts = Counts()
        self._reading = {} if self._location.file is not None else _SNAPSHOT
        self._read_only = read_only

    @property
    def location(self) -> str:
        """Where it is, without a password."""
        return str(self._location)

    @contextmanager
    def read(self) -> Iterator[ReadSession]:
        """A view of the store as it is now; waits for nobody."""
        with told(self._location):
            connection = self._engine.connect()
        with connection:
            with told(self._location):
                connection = connection.execution_options(**self._reading)
                connection.begin()
            yield Reading(connection, self._location, self._folder, self._counts)

    @contextmanager
    def write(
        self, *, by: str, at: dt.datetime, origin: str, reason: str
    ) -> Iterator[WriteSession]:
        """A transaction; an error inside leaves the store as it was."""
        written = stamp(by=by, at=at, origin=origin, reason=reason)
        with told(self._location):
            connection = self._engine.connect()
        with connection:
            with told(self._location):
                connection = connection.execution_options(writes=True)
                transaction = connection.begin()
                take_turn(connection)
            session = Writing(connection, self._location, self._folder, written)
            yield session
            session.finish()
            with told(self._location):
                transaction.commit()

    def close(self) -> None:
        """Let go of every connection."""
        self._engine.dispose()
