"""Warranty terms, dates and the second look, as a person types them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.records.acceptance import Acceptance, AcceptanceStep
from drainwright.records.survey import Observation, ObservationKind, SurveyPurpose
from drainwright.storage import open_store
from tests.storage.samples import lateral, project, survey, work_sheet, writing


def run(*words: str | Path, code: int = 0) -> str:
    """What a command prints; its exit code must be `code`."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Two accepted laterals, one refused; post-lining TV and a warranty survey of L-1."""
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    night = dt.datetime(2026, 11, 21, 3, 0, tzinfo=dt.UTC)  # 20 November in Chicago
    crack = Observation(ObservationKind.CRACK, 2.0)
    post = replace(survey("L-1", 1), purpose=SurveyPurpose.POST_LINING)
    later = replace(survey("L-1", 2), purpose=SurveyPurpose.WARRANTY, observations=(crack,))
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        for key, step in (("L-1", "accepted"), ("L-2", "closed"), ("L-3", "refused")):
            session.put("oak", lateral(key), expected=0)
            signed = Acceptance(key, AcceptanceStep(step), "A. Bell", "engineer", night)
            session.put("oak", signed, expected=0)
        session.put("oak", work_sheet(lateral("L-1")), expected=0)
        session.put("oak", post, expected=0)
        session.put("oak", later, expected=0)
    store.close()
    return file


def test_dates_and_calendar(job: Path, tmp_path: Path) -> None:
    run("warranty", "terms", job, "--years", "3", "--share", "1", "--reason", "contract 7.2")
    calendar = tmp_path / "warranty.ics"
    shown = run("warranty", "dates", job, "--out", calendar)
    assert "2 accepted, 2 in the sample" in shown
    assert "2029-11-20" in shown
    assert "2029-03-01 to 2029-05-31" in shown
    assert "L-3" not in shown
    assert calendar.read_bytes().count(b"BEGIN:VEVENT") == 4


def test_the_second_look(job: Path) -> None:
    shown = run("warranty", "look", job, "L-1", "--shift", "1 ft")
    assert "7.6 ft: crack, new since post-lining TV: repair under warranty" in shown
    assert "no survey" in run("warranty", "look", job, "L-2", code=1)


def test_bad_terms_are_told(job: Path) -> None:
    told = run(
        "warranty", "terms", job, "--years", "0", "--share", "2", "--wet", "13", "--reason", "x",
        code=2,
    )  # fmt: skip
    assert all(word in told for word in ("years", "share", "wet"))
