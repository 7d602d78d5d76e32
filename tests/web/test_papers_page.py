"""Papers made as a job: progress, one file, a ZIP, what was left out, stopping, and refusals."""

from __future__ import annotations

import io
import re
import threading
import time
import zipfile
from collections.abc import Callable, Iterator

import pytest
from fastapi.testclient import TestClient

from drainwright.errors import NotFoundError, PaperError
from drainwright.operations.print_papers import MadePaper
from drainwright.web.paper_jobs import PaperJob, PaperJobs, count


def until(true: Callable[[], bool]) -> None:
    """Wait for what a thread does; 20 s at most."""
    for _ in range(2000):
        if true():
            return
        time.sleep(0.01)
    raise AssertionError


def states(*jobs: PaperJob) -> list[str]:
    return [job.state for job in jobs]


def wait_for(client: TestClient, address: str) -> str:
    """The page of a job once it is over; a minute at most."""
    text = ""
    for _ in range(600):
        text = client.get(address).text
        if "every 700ms" not in text:
            return text
        time.sleep(0.1)
    raise AssertionError(text)


def test_a_choice_becomes_a_job_whose_papers_can_be_taken(client: TestClient) -> None:
    sent = {"lateral": ["A-04", "B-06"], "paper": ["survey sheet", "mix ticket"]}
    answer = client.post("/papers/make", data=sent, follow_redirects=False)
    assert answer.status_code == 303
    address = answer.headers["location"]
    text = wait_for(client, address)
    assert "3 papers are ready" in text
    assert "B-06 mix ticket: " in text
    packed = zipfile.ZipFile(io.BytesIO(client.get(f"{address}/zip").content))
    assert packed.testzip() is None
    assert set(packed.namelist()) == {
        "A-04 survey sheet.pdf", "A-04 mix ticket.pdf", "B-06 survey sheet.pdf", "left out.txt",
    }  # fmt: skip
    links = re.findall(rf'href="({address}/pdf[^"]+)"', text)
    assert len(links) == 3
    for link in links:
        assert client.get(link).content.startswith(b"%PDF-")
    assert client.get(f"{address}/pdf?paper=poem").status_code == 404


@pytest.mark.parametrize(
    ("sent", "status", "words"),
    [
        ({}, 422, "choose at least one"),
        ({"lateral": "A-04"}, 422, "choose at least one"),
        ({"lateral": "A-04", "paper": "poem"}, 422, "poem"),
        ({"lateral": "Z-1", "paper": "work sheet"}, 404, "Z-1"),
        ({"lateral": [f"Z-{n}" for n in range(501)], "paper": "work sheet"}, 422, "500 at most"),
        ({"all": "yes", "q": "zebra", "paper": "work sheet"}, 422, "choose at least one"),
    ],
)
def test_a_choice_that_gives_no_job_is_told(
    client: TestClient, sent: dict[str, str], status: int, words: str
) -> None:
    answer = client.post("/papers/make", data=sent)
    assert answer.status_code == status
    assert words in answer.text


def test_all_that_fit_a_search_can_be_asked_for(client: TestClient) -> None:
    sent = {"all": "yes", "segment": "C", "paper": "tube order"}
    address = client.post("/papers/make", data=sent, follow_redirects=False).headers["location"]
    text = wait_for(client, address)
    assert "1 paper is ready" in text


def test_a_job_is_told_while_it_runs_can_be_stopped_and_keeps_its_turn() -> None:
    jobs, go = PaperJobs(), threading.Event()

    def slowly() -> Iterator[MadePaper]:
        yield MadePaper("one", "A", b"%PDF-1")
        go.wait(20)
        yield MadePaper("two", "A", b"%PDF-2")

    first = PaperJob(("A",), ("work sheet", "mix ticket"), "papers")
    second = PaperJob(("B",), ("work sheet",), "papers")
    jobs.start(first, slowly)
    jobs.start(second, lambda: [MadePaper("three", "B", why_not="no survey")])
    until(lambda: first.done == 1 and first.now == "one")
    assert states(first, second) == ["making", "waiting"]
    assert first.total == 2
    assert not first.over
    first.stop.set()
    go.set()
    until(lambda: first.over and second.over)
    assert states(first, second) == ["stopped", "failed"]
    assert first.paper("one") == b"%PDF-1"
    with pytest.raises(NotFoundError):
        first.paper("two")
    assert second.left_out == ["three: no survey"]


def test_a_job_that_breaks_says_so_and_lets_the_next_one_go() -> None:
    def broken() -> list[MadePaper]:
        raise PaperError("the printer's font is gone")

    def wrong() -> list[MadePaper]:
        raise RuntimeError("secret detail")

    jobs = PaperJobs()
    told = [PaperJob(("A",), ("work sheet",), "papers") for _ in range(2)]
    for job, maker in zip(told, (broken, wrong), strict=True):
        jobs.start(job, maker)
    until(lambda: all(job.over for job in told))
    assert told[0].told == "the printer's font is gone"
    assert "secret" not in told[1].told
    with pytest.raises(NotFoundError):
        jobs.get("nothing")


def test_papers_are_counted_beforehand() -> None:
    assert count(3, ["work sheet", "mix ticket"]) == 6
    assert count(3, ["tube order", "work sheet", "work sheet"]) == 4
