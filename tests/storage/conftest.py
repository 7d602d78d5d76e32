"""Both databases for every test of the contract; PostgreSQL missing is a failure, not a skip."""

from __future__ import annotations

import itertools
import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from urllib.parse import quote

import psycopg
import pytest
from psycopg import sql

from drainwright.storage import RecordStore, open_store
from drainwright.storage.schema import metadata
from tests import postgres_server

_NUMBER = itertools.count(1)


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a PostgreSQL that is shared by all workers of this run."""
    folder = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        folder = folder.parent
    with postgres_server.shared(folder) as url:
        yield url


@contextmanager
def _schema(server: str) -> Iterator[str]:
    name = f"test_{os.getpid()}_{next(_NUMBER)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(sql.SQL("CREATE SCHEMA {}").format(sql.Identifier(name)))
        joint = "&" if "?" in server else "?"
        yield f"{server}{joint}options={quote(f'-csearch_path={name}')}"
        connection.execute(sql.SQL("DROP SCHEMA {} CASCADE").format(sql.Identifier(name)))


@pytest.fixture
def schema_url(server: str) -> Iterator[str]:
    """The address of an empty schema of its own in that server."""
    with _schema(server) as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest) -> str:
    """Where a new store can be made: a path, or the address of an empty schema."""
    if request.param == "postgresql":
        return str(request.getfixturevalue("schema_url"))
    folder: Path = request.getfixturevalue("tmp_path")
    return str(folder / "job.drainwright")


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty store in a file, to be copied: making one takes longer than most tests."""
    file = tmp_path_factory.mktemp("empty") / "job.drainwright"
    open_store(file, create=True).close()
    return file


@pytest.fixture(scope="session")
def lent_schema(server: str) -> Iterator[str]:
    """The address of a schema with a store in it, lent to one test after the other."""
    with _schema(server) as url:
        open_store(url, create=True).close()
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def store_place(request: pytest.FixtureRequest) -> str:
    """Where an empty store is: a path, or the address of a schema."""
    if request.param == "postgresql":
        url = str(request.getfixturevalue("lent_schema"))
        tables = sql.SQL(", ").join(map(sql.Identifier, metadata.tables))
        with psycopg.connect(url) as connection:
            connection.execute(sql.SQL("TRUNCATE {}").format(tables))
        return url
    folder: Path = request.getfixturevalue("tmp_path")
    return str(shutil.copy(request.getfixturevalue("empty_file"), folder / "job.drainwright"))


@pytest.fixture
def store(store_place: str) -> Iterator[RecordStore]:
    """An empty store."""
    opened = open_store(store_place)
    yield opened
    opened.close()


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def lasting_store(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[RecordStore]:
    """A store for a whole module, filled once and then only read."""
    with ExitStack() as stack:
        if request.param == "postgresql":
            place = stack.enter_context(_schema(request.getfixturevalue("server")))
        else:
            place = str(tmp_path_factory.mktemp("lasting") / "job.drainwright")
        opened = open_store(place, create=True)
        stack.callback(opened.close)
        yield opened
