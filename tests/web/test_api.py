from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from drainwright.operations.calculate import TOPICS, calculate
from drainwright.operations.calculators.base import answer_json
from drainwright.operations.example_inputs import example_inputs
from drainwright.units import UnitSystem
from drainwright.web.guard import foreign

WALL: dict[str, Any] = tomllib.loads(example_inputs("wall"))


def assert_problem(answer: Any, status: int) -> dict[str, Any]:
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    body: dict[str, Any] = answer.json()
    assert body["status"] == status
    assert body["title"]
    return body


@pytest.mark.parametrize("name", ["wall", "flow", "wetout", "launch"])
@pytest.mark.parametrize("units", list(UnitSystem))
def test_a_calculator_answers_as_on_the_command_line(
    client: TestClient, name: str, units: UnitSystem
) -> None:
    inputs = tomllib.loads(example_inputs(name))
    answer = client.post(f"/api/calculators/{name}", params={"units": units}, json=inputs)
    assert answer.status_code == 200
    assert answer.json() == answer_json(calculate(name, inputs, Path())[0], units)


def test_the_list_of_calculators_is_complete(client: TestClient) -> None:
    assert [one["name"] for one in client.get("/api/calculators").json()] == list(TOPICS)


def test_every_fault_of_the_inputs_comes_in_one_problem(client: TestClient) -> None:
    wrong = WALL | {"ovality": "40 %", "host_diameter": "8 psi", "color": "blue"}
    body = assert_problem(client.post("/api/calculators/wall", json=wrong), 422)
    assert {row["key"] for row in body["errors"]} == {"ovality", "host_diameter", "color"}
    assert all(row["message"] for row in body["errors"])


@pytest.mark.parametrize("body", ["[]", "1", '"x"', "{", ""])
def test_a_body_that_is_no_table_is_a_problem(client: TestClient, body: str) -> None:
    headers = {"content-type": "application/json"}
    answer = client.post("/api/calculators/wall", content=body, headers=headers)
    assert_problem(answer, 422)


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/api/calculators/poem", 405),
        ("/api/laterals/Z-99", 404),
        ("/api/laterals?page=0", 422),
        ("/api/laterals?page=x", 422),
        ("/api/nowhere", 404),
    ],
)
def test_errors_have_one_shape(client: TestClient, address: str, status: int) -> None:
    assert_problem(client.get(address), status)


def test_a_calculator_that_is_not_there(client: TestClient) -> None:
    assert_problem(client.post("/api/calculators/poem", json={}), 404)


def test_laterals_page_and_lateral(client: TestClient) -> None:
    page = client.get("/api/laterals", params={"segment": "A"}).json()
    assert page["total"] == len(page["items"])
    assert {one["segment"] for one in page["items"]} == {"A"}
    one = client.get("/api/laterals/A-07", params={"units": "si"}).json()
    figures = {figure["key"]: figure for figure in one["figures"]}
    # 39 ft 11 in to 39 ft 11.8 in are the demo's two measurements of A-07, see its lists
    assert figures["length.measured"]["value"]["unit"] == "m"
    us = client.get("/api/laterals/A-07", params={"units": "us"}).json()
    feet = {f["key"]: f for f in us["figures"]}["length.measured"]["value"]
    assert feet["unit"] == "ft"
    assert feet["value"] * 0.3048 == pytest.approx(figures["length.measured"]["value"]["value"])


def test_the_description_names_every_route_of_the_api(client: TestClient) -> None:
    paths = client.get("/api/openapi.json").json()["paths"]
    assert set(paths) == {
        "/api/calculators", "/api/calculators/{name}", "/api/laterals", "/api/laterals/{key}",
        "/api/waiting", "/api/map", "/api/specification", "/api/read", "/api/papers",
        "/api/papers/{job}", "/api/papers/{job}/zip", "/api/schedule",
    }  # fmt: skip


def test_no_calculator_reads_files_by_a_name_from_the_network(
    client: TestClient, tmp_path: Path
) -> None:
    secret = tmp_path / "curve.csv"
    secret.write_text("deflection [mm],load [N]\n0,0\n1,53\n2,107\n3,160\n")
    inputs = {
        "standard": "ISO 178",
        "span": "96 mm",
        "width": "25 mm",
        "depth": "6 mm",
        "csv": str(secret),
    }
    answer = client.post("/api/calculators/flexure", json=inputs)
    assert answer.status_code == 422
    assert "files can't be read here" in answer.text


# ---------------------------------------------------------------- who may write


@pytest.mark.parametrize(
    ("origin", "site", "refused"),
    [
        (None, None, False),
        ("http://testserver", "same-origin", False),
        (None, "same-origin", False),
        ("http://elsewhere.example", "cross-site", True),
        ("http://testserver:81", None, True),
        ("null", None, True),
        (None, "cross-site", True),
        (None, "same-site", True),
    ],
)
def test_only_our_own_pages_and_programs_write(
    client: TestClient, origin: str | None, site: str | None, refused: bool
) -> None:
    headers = {"origin": origin, "sec-fetch-site": site}
    sent = {name: value for name, value in headers.items() if value is not None}
    answer = client.post("/api/calculators/wall", json=WALL, headers=sent)
    assert foreign(origin, site, "testserver") is refused
    if refused:
        assert_problem(answer, 403)
    else:
        assert answer.status_code == 200


def test_a_foreign_name_is_not_answered(demo_store: Path) -> None:
    from drainwright.operations.stores import existing
    from drainwright.web.app import make_app
    from tests.web.conftest import clock

    with existing(str(demo_store)) as (store, project):
        app = make_app(store, project, now=clock, hosts=("localhost", "127.0.0.1", "::1"))
        for host, status in (
            ("localhost:8417", 200), ("127.0.0.1", 200), ("[::1]:8417", 200),
            ("rebound.example", 400), ("localhost.rebound.example:8417", 400), ("", 400),
        ):  # fmt: skip
            client = TestClient(app, headers={"host": host})
            assert client.get("/specification").status_code == status, host


def test_too_much_at_once_is_refused(client: TestClient) -> None:
    answer = client.post("/api/calculators/wall", content=b" " * (4 * 1024 * 1024 + 1))
    assert_problem(answer, 413)


def test_a_fault_of_the_program_is_told_without_its_inside(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from drainwright.web import specification_page

    def broken(*_: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(specification_page, "show_specification", broken)
    answer = client.get("/specification")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "A fault in the program" in answer.text
    assert answer.headers["content-security-policy"]
