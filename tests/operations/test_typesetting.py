"""Papers set in two processes come in order, whole, and also where there is no second one."""

from __future__ import annotations

import datetime as dt
from functools import partial

import pytest

from drainwright.operations import typesetting
from drainwright.operations.typesetting import set_papers
from drainwright.papers.paper import make_pdf

AT = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
MANY = [partial(str.encode, str(number)) for number in range(30)]
WANTED = [str(number).encode() for number in range(30)]


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """What was made in this process."""
    seen: list[object] = []
    plain = typesetting.made

    def made(make: typesetting.Make) -> typesetting.Made:
        seen.append(make)
        return plain(make)

    monkeypatch.setattr(typesetting, "made", made)
    monkeypatch.setattr("os.cpu_count", lambda: 2)
    return seen


def test_half_of_them_is_set_elsewhere_and_all_come_in_order(here: list[object]) -> None:
    assert list(set_papers(MANY)) == WANTED
    assert 10 <= len(here) < 20


def test_a_paper_that_can_t_be_had_says_why_on_either_side() -> None:
    bad = partial(make_pdf, "invented", {}, AT)
    made = list(set_papers([bad, *MANY, bad]))
    assert made[0] == made[-1] == "there is no paper “invented”"
    assert made[1:-1] == WANTED


def test_few_are_set_here(here: list[object]) -> None:
    assert list(set_papers(MANY[:5])) == WANTED[:5]
    assert len(here) == 5


def test_all_are_set_here_where_there_is_no_second_process(
    here: list[object], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    local = [lambda number=number: str(number).encode() for number in range(30)]
    assert list(set_papers(local)) == WANTED  # can't be handed over
    monkeypatch.setattr("sys.executable", "/nowhere")
    assert list(set_papers(MANY)) == WANTED
    assert len(here) == 60
    assert [one.name for one in caplog.records] == ["drainwright.typesetting"] * 2
    assert "/nowhere" in caplog.text
