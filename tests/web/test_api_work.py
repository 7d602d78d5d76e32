"""The work as JSON: specification, files, papers; and schemathesis over all of the description."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from starlette.types import ASGIApp

from drainwright.operations.run_demo import run_demo
from drainwright.operations.stores import existing
from drainwright.units import UnitSystem
from drainwright.web.app import make_app
from tests.web.conftest import clock
from tests.web.test_api import assert_problem

SEGMENTS = b"segment,from manhole,to manhole,inside diameter [in],length [ft]\nQ,MH 1,MH 2,8,300\n"
EACH = 5


@pytest.fixture(scope="module")
def own_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ASGIApp]:
    """A demo town of its own, since what is written here would show elsewhere."""
    folder = tmp_path_factory.mktemp("api")
    store_file = run_demo(folder, UnitSystem.US, by="test", papers=False).store
    with existing(str(store_file)) as (store, project):
        yield make_app(store, project, now=clock)


@pytest.fixture
def own(own_app: ASGIApp) -> TestClient:
    return TestClient(own_app)


def test_limits_are_read_and_saved(own: TestClient) -> None:
    before = own.get("/api/specification").json()
    limits = {one["name"]: one for one in before["limits"]}
    assert limits["safety_factor"]["typed"] == "2"
    assert limits["cover"]["unit"] == "ft"
    body = {
        "expected": before["revision"],
        "by": "R. Vale",
        "reason": "letter of May 4",
        "limits": {"safety_factor": {"value": "2.5", "source": "owner", "place": "4.2"}},
    }
    saved = own.post("/api/specification", json=body)
    assert saved.json() == {"revision": before["revision"] + 1}
    after = {one["name"]: one for one in own.get("/api/specification").json()["limits"]}
    assert (after["safety_factor"]["typed"], after["safety_factor"]["place"]) == ("2.5", "4.2")
    assert after["enhancement"] == limits["enhancement"]
    body["limits"] = {"safety_factor": {"value": "3"}}
    assert_problem(own.post("/api/specification", json=body), 409)
    assert_problem(own.post("/api/specification", json=body | {"by": " "}), 422)


def test_a_file_is_looked_at_and_stored(own: TestClient) -> None:
    headers = {"content-type": "application/octet-stream"}
    query: dict[str, str | bool] = {"file": "segments.csv"}
    seen = own.post("/api/read", params=query, content=SEGMENTS, headers=headers).json()
    assert (seen["kind"], seen["stored"], seen["new"]) == ("segments", False, ["Q"])
    query |= {"store": True, "by": "R. Vale", "reason": "new main"}
    assert own.post("/api/read", params=query, content=SEGMENTS).json()["stored"] is True
    again = own.post("/api/read", params={"file": "segments.csv"}, content=SEGMENTS).json()
    assert again["unchanged"] == 1
    wrong = SEGMENTS.replace(b",300", b",long")
    faults = own.post("/api/read", params={"file": "x.csv"}, content=wrong).json()["faults"]
    assert [(one["row"], one["column"]) for one in faults] == [(2, "length [ft]")]
    assert_problem(own.post("/api/read", params=query | {"by": ""}, content=SEGMENTS), 422)


def test_papers_are_made_and_taken(own: TestClient) -> None:
    body = {"laterals": ["A-04"], "papers": ["mix ticket"]}
    job = own.post("/api/papers", json=body).json()
    while job["state"] in ("waiting", "making"):
        time.sleep(0.05)
        job = own.get(f"/api/papers/{job['job']}").json()
    assert (job["state"], job["papers"]) == ("ready", ["A-04 mix ticket"])
    content = own.get(f"/api/papers/{job['job']}/zip").content
    assert zipfile.ZipFile(io.BytesIO(content)).namelist() == ["A-04 mix ticket.pdf"]
    assert_problem(own.get("/api/papers/none"), 404)
    assert_problem(own.post("/api/papers", json=body | {"papers": []}), 422)


def checked(own_app: ASGIApp, examples: int) -> None:
    """Call every operation with generated input; no answer may be a server error."""
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", own_app)
    from schemathesis.checks import not_a_server_error
    from schemathesis.specs.openapi.checks import response_schema_conformance

    quiet = settings(
        max_examples=examples, deadline=None, database=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck), derandomize=True,
    )  # fmt: skip
    for found in schema.get_all_operations():
        operation = found.ok()  # type: ignore[union-attr]  # every path is a path

        @quiet
        @given(case=operation.as_strategy())
        def call(case: schemathesis.Case[Any]) -> None:
            case.call_and_validate(checks=[not_a_server_error, response_schema_conformance])

        call()


def test_no_generated_request_is_a_server_error(own_app: ASGIApp) -> None:
    checked(own_app, EACH)


@pytest.mark.slow
def test_no_generated_request_is_a_server_error_deep(own_app: ASGIApp) -> None:
    checked(own_app, 200)
