"""A store of the demo town, and the app over it; nothing is installed or asked of the network."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from fastapi.testclient import TestClient
from starlette.types import ASGIApp

from drainwright.operations.run_demo import run_demo
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create, existing
from drainwright.records.project import Project
from drainwright.units import UnitSystem
from drainwright.web.app import make_app

NOW = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)


def clock() -> dt.datetime:
    return NOW


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return run_demo(tmp_path_factory.mktemp("web"), UnitSystem.US, by="test", papers=False).store


@pytest.fixture(scope="session")
def demo_app(demo_store: Path) -> Iterator[ASGIApp]:
    with existing(str(demo_store)) as (store, project):
        yield make_app(store, project, now=clock)


@pytest.fixture
def client(demo_app: ASGIApp) -> TestClient:
    return TestClient(demo_app)


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """A project without anything in it."""
    project = Project("bare", "Bare", units=UnitSystem.SI)
    with create(str(tmp_path / "bare.drainwright")) as store:
        start_project(store, project, by="test", at=NOW)
        yield TestClient(make_app(store, project, now=clock))


@pytest.fixture(scope="session")
def served(demo_app: ASGIApp) -> Iterator[str]:
    """The address of the app on a real port."""
    config = uvicorn.Config(demo_app, host="127.0.0.1", port=0, log_level="error")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        thread.join(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="session")
def chromium() -> str:
    """Chromium's path; without it browser tests are skipped unless REQUIRE_BROWSER is set."""
    found = shutil.which("chromium")
    if found is None:
        if os.environ.get("REQUIRE_BROWSER"):
            pytest.fail("REQUIRE_BROWSER is set and there is no chromium")
        pytest.skip("no chromium")
    return found
