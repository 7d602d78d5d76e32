"""The page of a lateral's acceptance: verdicts, what is missing, its three forms, the paper."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from drainwright.operations.stores import existing
from drainwright.records.acceptance import Acceptance, AcceptanceStep
from drainwright.records.post_inspection import PostInspection
from drainwright.records.specimen import CouponTest
from drainwright.records.tightness_report import TightnessReport
from drainwright.units import PSI
from drainwright.web.app import make_app
from tests.web.conftest import clock

TEST = {
    "method": "hold", "scope": "lined length", "at": "2026-11-24 09:00", "by": "Ann",
    "sections": "7.6 in × 1 ft; 4 in × 30.2 ft", "plugs": "main; cleanout",
    "inside": "collar and lateral", "water_above_pipe": "0 ft", "gauge": "g",
    "readings": "0 min, 4.2 psi\n5 min, 4.0 psi\n",
}  # fmt: skip


@pytest.fixture
def copy(demo_store: Path, tmp_path: Path) -> Iterator[TestClient]:
    """A demo town of its own, to be written to."""
    place = tmp_path / "job.drainwright"
    shutil.copy(demo_store, place)
    shutil.copytree(
        demo_store.with_name(demo_store.name + ".attachments"),
        place.with_name(place.name + ".attachments"),
        dirs_exist_ok=True,
    )
    with existing(str(place)) as (store, project):
        client = TestClient(make_app(store, project, now=clock))
        client.headers["place"] = str(place)
        yield client


def test_the_page_tells_verdicts_and_what_is_missing(client: TestClient) -> None:
    text = client.get("/laterals/B-04/acceptance").text
    for words in (
        "Incomplete", "What is missing", "cannot be isolated", "no coupon test",
        "Coupons", "Post-lining TV", "Lateral file (PDF)", "Nobody has signed",
    ):  # fmt: skip
        assert words in text, words
    signed = client.get("/laterals/A-04/acceptance").text
    assert "accepted by T. Rowan" in signed


def test_the_paper_is_one_step_away(client: TestClient) -> None:
    answer = client.get("/laterals/A-05/acceptance/lateral-file")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")


def test_a_lateral_that_was_never_planned_is_not_found(client: TestClient) -> None:
    assert client.get("/laterals/Z-1/acceptance").status_code == 404


def test_a_tightness_test_is_kept_with_method_drop_and_time(copy: TestClient) -> None:
    answer = copy.post("/laterals/B-04/acceptance/tightness", data=TEST, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    with existing(str(copy.headers["place"])) as (store, project), store.read() as session:
        kept = session.get(project.key, TightnessReport, "B-04 3").record
    assert kept.readings[1].pressure == pytest.approx(4.0 * PSI)
    assert [round(one.length, 4) for one in kept.sections] == [0.3048, 9.205]
    assert kept.at == dt.datetime(2026, 11, 24, 15, tzinfo=dt.UTC)
    text = copy.get("/laterals/B-04/acceptance").text
    assert "cannot be isolated" not in text


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"at": "yesterday"}, "2026-11-18 09:12"),
        ({"readings": "0 min, 4 psi\nlater, 3.9 psi"}, "readings"),
        ({"sections": "4 in by 30 ft"}, "4 in × 44.1 ft"),
        ({"start_pressure": "4 ft"}, "start_pressure"),
        ({"by": " "}, "name is needed"),
    ],
)
def test_a_refused_form_keeps_what_was_typed(
    copy: TestClient, change: dict[str, str], words: str
) -> None:
    answer = copy.post("/laterals/B-04/acceptance/tightness", data=TEST | change)
    assert answer.status_code == 422
    assert words in answer.text
    assert "collar and lateral" in answer.text


def test_an_inspection_is_asked_place_by_place(copy: TestClient) -> None:
    answers = {f"looked-{number}": "sound" for number in (1, 2, 3, 6)}
    answers |= {"looked-4": "wrinkle", "wrinkle-4": "4 mm", "distance-4": "12 ft"}
    given = answers | {"on": "2026-11-24", "by": "Hale", "groundwater": "5 ft", "file": "b.mp4",
                       "identity": "yes", "tap_panned": "no"}  # fmt: skip
    answer = copy.post("/laterals/B-04/acceptance/inspection", data=given, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    with existing(str(copy.headers["place"])) as (store, project), store.read() as session:
        kept = session.get(project.key, PostInspection, "B-04 2").record
    assert kept.video.identity is True
    assert kept.video.tap_panned is False
    assert kept.video.zeroed is None
    text = copy.get("/laterals/B-04/acceptance").text
    assert "bends: nobody answered" in text
    assert "tap panned" in text


def test_a_signature_sets_the_stage(copy: TestClient) -> None:
    sign = {"step": "accepted", "by": "Eve", "role": "engineer"}
    refused = copy.post("/laterals/B-04/acceptance/signature", data=sign)
    assert refused.status_code == 422
    assert "say why" in refused.text
    answer = copy.post(
        "/laterals/B-04/acceptance/signature",
        data=sign | {"reason": "collar tested instead"},
        follow_redirects=False,
    )
    assert answer.status_code == 303
    with existing(str(copy.headers["place"])) as (store, project), store.read() as session:
        made = session.get(project.key, Acceptance, "B-04").record
    assert (made.step, made.by) == (AcceptanceStep.ACCEPTED, "Eve")
    assert "Tightness" in made.left_open


CURVE = Path("examples/alder_ferry/acceptance/A-04-1.csv").read_bytes()
COUPON = b"""[[coupon]]
lateral = "B-04"
number = 1
sample = "B-04/P1"
taken_on = 2026-11-19
taken_from = "plate cast with the batch"
standard = "ASTM D790"
span = "96 mm"
width = "25.1 mm"
depth = "6.02 mm"
tested_on = 2026-11-24
laboratory = "Millrace testing bench"
curve = "B-04-1.csv"
"""


def test_a_coupon_is_kept_with_the_machines_file(copy: TestClient) -> None:
    address = "/laterals/B-04/acceptance/files"
    form = ("form", ("b-04.toml", COUPON))
    refused = copy.post(address, files=[form], data={"by": "Iris Moe"})
    assert refused.status_code == 422
    assert "B-04-1.csv" in refused.text
    nobody = copy.post(address, files=[form], data={"by": " "})
    assert "name is needed" in nobody.text
    files = [form, ("files", ("B-04-1.csv", CURVE))]
    answer = copy.post(address, files=files, data={"by": "Iris Moe"}, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    with existing(str(copy.headers["place"])) as (store, project), store.read() as session:
        kept = session.get(project.key, CouponTest, "B-04 1").record
        assert session.attachments.content(project.key, kept.curve) == CURVE
    text = copy.get("/laterals/B-04/acceptance").text
    assert "no coupon test is on record" not in text
    assert "[[coupon]]" in copy.get("/laterals/B-04/acceptance/form.toml").text
