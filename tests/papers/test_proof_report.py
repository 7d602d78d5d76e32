"""The proof report from a file of storms."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from pathlib import Path

import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.errors import InputError
from drainwright.operations.prove import MoneyAsked, prove
from drainwright.records.project import Project
from drainwright.storage import open_store
from tests.papers.pdf_reading import pages, text
from tests.storage.samples import project, writing

STORMS = Path(__file__).resolve().parents[2] / "examples" / "calculators" / "storms.csv"
AT = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
OAK = Project("oak", "Oak Street", currency="USD")


def test_the_report_says_what_was_compared() -> None:
    made = prove(OAK, STORMS, by="Ann", at=AT)
    told = text(made.pdf)
    assert len(pages(made.pdf)) <= 2
    assert "control log ancova (reported)" in told
    best = next(one for one in made.proof.methods if one.method == made.proof.reported)
    assert f"Rain-derived flow fell by {100 * best.reduction:.1f} %" in told
    assert f"{100 * best.low:.1f} % to {100 * best.high:.1f} %" in told
    for words in ("rain slope", "57.9", "double mass", "never the only evidence", "storms.csv"):
        assert words in told
    assert "Money" not in told


@pytest.mark.analytic
def test_money_is_the_user_s_own_figure() -> None:
    money = MoneyAsked(100.0, "Mgal", Decimal(1500), 50, 0.03)
    made = prove(OAK, STORMS, by="Ann", at=AT, money=money)
    best = next(one for one in made.proof.methods if one.method == made.proof.reported)
    saved = best.reduction * 100.0 * 1500
    told = text(made.pdf)
    assert f"{saved:,.0f} USD" in told
    # annuity of 50 years at 3 %: 25.7298 (reference/infiltration.md, C)
    worth = int(told.split("over 50 years at 3 %: ")[1].split(" USD")[0].replace(",", ""))
    assert worth == pytest.approx(saved * 25.7298, rel=1e-5)


def test_without_a_control_nothing_is_proved(tmp_path: Path) -> None:
    lines = [line.rpartition(",")[0] for line in STORMS.read_text("utf-8").splitlines()]
    file = tmp_path / "rain.csv"
    file.write_text("\n".join(lines), "utf-8")
    made = prove(OAK, file, by="Ann", at=AT)
    assert made.proof.reported == ""
    assert "No reduction is reported: there is no control basin." in text(made.pdf)
    file.write_text("period,rain,treated\nbefore,1,0\n", "utf-8")
    with pytest.raises(InputError, match="at least 3"):
        prove(OAK, file, by="Ann", at=AT)


def test_the_command(tmp_path: Path) -> None:
    place = tmp_path / "job.drainwright"
    store = open_store(place, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    store.close()
    out = tmp_path / "proof.pdf"
    done = CliRunner().invoke(app, ["prove", str(place), str(STORMS), str(out)])
    assert done.exit_code == 0, done.output
    assert "control log ancova: 54.6 %  (reported)" in done.output
    assert out.read_bytes()[:5] == b"%PDF-"
    half = CliRunner().invoke(app, ["prove", str(place), str(STORMS), str(out), "--price", "5"])
    assert half.exit_code == 2
    assert "together" in half.output
