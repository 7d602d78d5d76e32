"""The page of the proof report: what a file of storms shows, faults, and the paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from drainwright.operations.calculate import calculate

STORMS = Path("examples/calculators/storms.csv")


def send(client: TestClient, content: bytes, **fields: str) -> tuple[int, str]:
    data = {"by": "R. Vale", "confidence": "95"} | fields
    answer = client.post("/proof", files={"file": ("storms.csv", content)}, data=data)
    return answer.status_code, answer.text


def test_a_file_shows_its_reduction_and_gives_the_report(client: TestClient) -> None:
    status, text = send(client, STORMS.read_bytes(), annual="12", price="4100", years="20")
    assert status == 200
    answer, _ = calculate("reduction", {"storms": "storms.csv"}, STORMS.parent)
    said: Any = answer.results["methods"]
    methods = said.value
    shown = [float(one) for one in re.findall(r"<b>(-?[\d.]+) %</b>", text)]
    assert shown == pytest.approx([100 * one["reduction"].value for one in methods], abs=0.06)
    assert "(reported)" in text
    (address,) = re.findall(r'href="(/proof/[^"]+\.pdf)"', text)
    report = client.get(address)
    assert report.headers["content-type"] == "application/pdf"
    assert report.content.startswith(b"%PDF")


@pytest.mark.parametrize(
    ("content", "fields", "words"),
    [
        (b"period,rain\nbefore,1\n", {}, "treated"),
        (STORMS.read_bytes(), {"by": " "}, "your name"),
        (STORMS.read_bytes(), {"price": "4"}, "or neither"),
        (STORMS.read_bytes(), {"annual": "12", "price": "much"}, "is not a number"),
        (STORMS.read_bytes(), {"confidence": "sure"}, "is not a number"),
    ],
)
def test_what_is_wrong_is_told(
    client: TestClient, content: bytes, fields: dict[str, str], words: str
) -> None:
    status, text = send(client, content, **fields)
    assert status == 422
    assert words in text


def test_the_page_is_reached_from_the_papers(client: TestClient) -> None:
    assert 'href="/proof"' in client.get("/papers").text
    assert "How the file reads" in client.get("/proof").text
    assert client.get("/proof/none.pdf").status_code == 404
