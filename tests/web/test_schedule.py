"""The schedule: from crews to a plan in the browser, its papers, and the same as JSON."""

from __future__ import annotations

from fastapi.testclient import TestClient

HERE = {"Origin": "http://testserver"}


def test_the_demo_shows_its_shifts(client: TestClient) -> None:
    page = client.get("/schedule").text
    assert "proven best" in page
    assert "dw-shift" in page
    assert "roots cut and filmed" in page
    assert "waits on" in page
    plan = client.get("/api/schedule").json()
    assert plan["revision"] >= 1
    shift = plan["turns"][0]
    assert shift["look"] < shift["mix"] < shift["load"] < shift["restored"]
    assert {one["lateral"] for one in plan["left_out"]} >= {"B-06", "C-05"}
    address = f"/schedule/sheets/{shift['day']}/{shift['crew']}.pdf"
    assert address in page
    assert client.get(address).content.startswith(b"%PDF")
    assert client.get("/schedule/call-off.pdf").content.startswith(b"%PDF")
    assert client.get("/schedule/sheets/2020-01-01/north.pdf").status_code == 404
    assert "scheduled" in client.get("/?stage=scheduled").text


def test_an_empty_project_says_how_to_begin(empty: TestClient) -> None:
    assert "There is no shift plan yet" in empty.get("/schedule").text
    assert "[[crews]]" in empty.get("/schedule/crews.toml").text
    assert empty.get("/schedule/call-off.pdf").status_code == 404
    sent = {"by": "Ada", "reason": "start"}
    file = {"file": ("crews.toml", b'[[crews]]\nkey = "a"\nrigs = []', "text/plain")}
    answer = empty.post(
        "/schedule/crews", data=sent, files=file, headers=HERE, follow_redirects=False
    )
    assert answer.status_code == 303
    days = {"first": "2026-11-30", "until": "2026-12-18"}
    answer = empty.post("/schedule/plan", data=sent | days, headers=HERE, follow_redirects=False)
    assert answer.status_code == 303
    assert "Every lateral that is still to be lined has a day" in empty.get("/schedule").text
    wrong = empty.post("/schedule/plan", data=sent | days | {"first": "soon"}, headers=HERE)
    assert wrong.status_code in {400, 422}
    assert "is not a day" in wrong.text
    answer = empty.post("/api/schedule", json={"first": "2026-11-30", "by": "", "reason": "x"})
    assert answer.status_code in {400, 403, 422}
