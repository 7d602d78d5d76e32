"""The job estimate as a person asks for it, on the demo's costs and contract."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from python_calamine import CalamineWorkbook
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.operations.estimate_job import contract_value
from drainwright.operations.run_demo import demo_folder
from drainwright.records.contract import Contract, PayItem, PayRule, Work
from drainwright.records.work_sheet import Fitness, WorkSheet
from drainwright.storage import open_store
from drainwright.units import FOOT
from tests.planning.test_estimate import sheet
from tests.storage.samples import project, writing

COSTS = demo_folder() / "costs.toml"


def run(*words: str | Path, code: int = 0) -> str:
    """What a command prints; its exit code must be `code`."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result.output


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A store with two planned laterals."""
    file = tmp_path / "job.drainwright"
    store = open_store(file, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        for key in ("L-1", "L-2"):
            session.put("oak", sheet(key, "A"), expected=0)
    store.close()
    return file


def test_the_command_prints_and_writes_the_estimate(job: Path, tmp_path: Path) -> None:
    out = tmp_path / "papers"
    told = run("estimate", job, COSTS, "--out", out)
    # 2 × 40 ft × 1.05 × 13.80, by hand
    assert "84.00 ft, 1,159.20 USD" in told
    assert "for 2 laterals" in told
    assert (out / "job estimate.pdf").read_bytes().startswith(b"%PDF")
    rows = CalamineWorkbook.from_path(out / "job estimate.xlsx").get_sheet_by_name("costs")
    amounts = {row[0]: row[-1] for row in rows.to_python()[1:]}
    assert amounts["7"] == 1159.2
    lines = sum(Decimal(str(value)) for key, value in amounts.items() if str(key).isdigit())
    assert Decimal(str(amounts["all costs"])) == lines


def test_nothing_of_the_costs_enters_the_project(job: Path) -> None:
    before = job.read_bytes()
    run("estimate", job, COSTS)
    assert job.read_bytes() == before


def test_faults_of_the_file_are_told_at_once(job: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('[[lines]]\nkey = "1"\nprice = "x"\n')
    told = run("estimate", job, bad, code=2)
    for words in ("name", "lines 1: words", "lines 1: price", "lines 1: per"):
        assert words in told


def test_the_example_is_printed_without_a_file(job: Path) -> None:
    assert '[[lines]]\nkey = "1"' in run("estimate", job)


@pytest.mark.analytic
def test_what_the_contract_pays_for_the_same_laterals_by_hand() -> None:
    def item(key: str, work: Work, rule: PayRule, price: int, quantity: str = "") -> PayItem:
        first = 20 * FOOT if rule is PayRule.BEYOND else 0.0
        unit = "ft" if rule is PayRule.BEYOND else "each"
        return PayItem(key, key, unit, price, work, rule, first, quantity)

    contract = Contract(
        "invented",
        (
            item("in", Work.OTHER, PayRule.AMOUNT, 500_000, quantity="1"),
            item("set", Work.LINED, PayRule.SEGMENT, 100_000),
            item("line", Work.LINED, PayRule.EACH, 400_000),
            item("more", Work.LINED, PayRule.BEYOND, 10_000),
            item("root", Work.ROOTS, PayRule.AMOUNT, 20_000),
            item("test", Work.TEST, PayRule.EACH, 15_000),
        ),
    )
    sheets = [flat_one("A-1"), flat_one("A-2"), flat_one("B-1", Fitness.ASK)]
    found = contract_value(contract, sheets, dt.date(2026, 11, 25))
    # 38 ft lined, 18 of them beyond the first 20: 5,000 + 1,000 + 2 (4,000 + 18 × 100 + 150)
    assert found.amount == 500_000 + 100_000 + 2 * (400_000 + 180_000 + 15_000)
    assert (found.by_quantity, found.not_foreseen) == (("in",), ("root",))


def flat_one(key: str, outcome: Fitness = Fitness.LINE) -> WorkSheet:
    """A work sheet of a lateral without slope and riser, 38 ft lined."""
    made = sheet(key, "A", outcome)
    flat = replace(made.lateral, slope=0.0, riser=0.0, property_line=None, segment="A")
    return replace(made, lateral=flat)


def test_an_unplanned_project_says_so(tmp_path: Path) -> None:
    file = tmp_path / "empty.drainwright"
    store = open_store(file, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    store.close()
    assert "no lateral is planned yet" in run("estimate", file, COSTS, code=1)
