"""TRADE 14: one batch for several liners, split by weight, weighed back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.checks import Outcome
from drainwright.cli.app import app
from drainwright.errors import InputError, NotFoundError, PaperError
from drainwright.operations.mix_batch import Weighed, check_weighed, plan_batch, print_batch
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage.protocol import RecordStore
from drainwright.units import POUND
from tests.papers import pdf_reading
from tests.papers.sheets import RESIN, sheet

AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
RUN = CliRunner()
KEYS = ("A-07", "A-08")
# density of part A 72 lb/ft³; ratio 4 : 1 by weight
MIX = replace(RESIN, ratio_a=4, ratio_b=1, density_a=1150.0, density_b=990.0)


def of(key: str, **changes: object) -> WorkSheet:
    return sheet(lateral=replace(sheet().lateral, key=key), resin=MIX, **changes)


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "t.drainwright"


@pytest.fixture
def store(place: Path) -> Iterator[RecordStore]:
    with create(str(place)) as opened:
        start_project(opened, replace(sheet().project, key="demo"), by="Ann", at=AT)
        with opened.write(by="Ann", at=AT, origin="", reason="planned") as session:
            for key in KEYS:
                session.put("demo", of(key, go_no_go=("Witness cup ready",)), expected=None)
            session.put("demo", of("A-09", outcome=Fitness.STOP), expected=None)
            other = replace(of("A-10"), resin=replace(MIX, key="another"))
            session.put("demo", other, expected=None)
        yield opened


@pytest.mark.analytic
def test_masses_add_up_and_split_by_the_ratio(store: RecordStore) -> None:
    found = plan_batch(store, "demo", KEYS)
    single = plan_batch(store, "demo", KEYS[:1]).batch
    assert found.batch.mass == pytest.approx(2 * single.mass)
    assert found.batch.part_a == pytest.approx(4 * found.batch.part_b)
    assert found.batch.volume_a == pytest.approx(found.batch.part_a / 1150.0)
    assert [one.revision for one in found.orders] == [1, 1]


def test_the_ticket_names_each_liner_with_its_share_and_clock(store: RecordStore) -> None:
    batch = plan_batch(store, "demo", KEYS).batch
    pdf = print_batch(store, "demo", KEYS, by="Ann", at=AT)
    (text,) = pdf_reading.pages(pdf)
    for words in (*KEYS, "one batch for 2 liners", "4 : 1 by weight", "back: pail, rollers",
                  f"{batch.mass / POUND:.2f} lb", f"{batch.shares[0].mass / POUND:.2f} lb",
                  "2 h 15 =", "Witness cup ready"):  # fmt: skip
        assert words in text, words
    grams = f"{round(batch.part_a * 1000)}|{round(batch.part_b * 1000)}"
    assert f"DWB1|demo|A-07+A-08|{grams}" in text.replace("\n", "").replace(" ", "")


@pytest.mark.parametrize(
    ("parts", "outcomes"),
    [
        ((4.0, 1.0, 0.0), ["met", "met", "met"]),
        ((4.0, 1.0, 4.0), ["met", "met", "not met"]),
        ((4.0, 0.97, 0.0), ["not met", "met", "met"]),  # 3 % off: over 2 %, under 5 %
        ((4.0, 1.06, 0.0), ["not met", "not met", "met"]),
    ],
)
def test_what_the_scale_said_is_held_against_letter_and_sheet(
    store: RecordStore, parts: tuple[float, float, float], outcomes: list[str]
) -> None:
    fifth = plan_batch(store, "demo", KEYS).batch.mass / 5
    checks = check_weighed(store, "demo", KEYS, Weighed(*(part * fifth for part in parts)))
    assert [str(check.outcome) for check in checks] == outcomes
    assert checks[0].outcome in Outcome


def test_what_can_be_no_batch_is_refused(store: RecordStore) -> None:
    with pytest.raises(NotFoundError):
        plan_batch(store, "demo", ["A-07", "Z-9"])
    with pytest.raises(InputError, match="named twice"):
        plan_batch(store, "demo", ["A-07", "A-07"])
    with pytest.raises(InputError, match="same resin"):
        plan_batch(store, "demo", ["A-07", "A-10"])
    with pytest.raises(PaperError, match="not lined"):
        print_batch(store, "demo", ["A-07", "A-09"], by="Ann", at=AT)
    with pytest.raises(InputError, match="positive mass"):
        check_weighed(store, "demo", KEYS, Weighed(1.0, 0.0))


def test_the_command_weighs_prints_and_refuses(store: RecordStore, place: Path) -> None:
    out = place.with_name("batch.pdf")
    done = RUN.invoke(app, ["batch", str(place), *KEYS, "--out", str(out)])
    assert (done.exit_code, out.read_bytes()[:4]) == (0, b"%PDF")
    assert "A + B: " in done.output
    off = RUN.invoke(app, ["batch", str(place), *KEYS, "--poured-a", "40 lb", "--poured-b", "9 lb"])
    assert off.exit_code == 1
    assert "ratio by weight, refuse beyond: not met" in off.output


def test_the_batch_ticket_follows_the_order_of_work(store: RecordStore) -> None:
    text = pdf_reading.text(print_batch(store, "demo", KEYS, by="Ann", at=AT))
    heads = ("1 Release", "released by", "2 Weigh", "3 Shared out", "4 Clock")
    places = [text.index(words) for words in heads]
    assert places == sorted(places)
    assert "NOT RELEASED: works first" in text
