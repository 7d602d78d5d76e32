"""A resin's law from runs: kept with the resin, one law for clock and engine."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from drainwright.cli.app import app
from drainwright.engineering.resin_data import isothermal_time
from drainwright.planning.cure_case import resin_kinetics
from drainwright.records.material import Resin
from drainwright.records.standing import Knowledge
from drainwright.storage import open_store
from tests.operations.calculators.test_resin_fit import write
from tests.storage.samples import project, writing


def run(*words: str | Path, code: int = 0) -> str:
    """What a command prints; its exit code must be `code`."""
    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result.output


def test_the_law_is_kept_and_serves_clock_and_engine(tmp_path: Path) -> None:
    job = tmp_path / "job.drainwright"
    store = open_store(job, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", Resin("R-1"), expected=0)
    entries = [
        write(tmp_path, "hold.csv", 333.15, 0.0, 6000.0),
        write(tmp_path, "heating.csv", 293.15, 10 / 60, 1300.0),
    ]
    file = tmp_path / "fit.toml"
    file.write_text(f"dsc = [{', '.join(entries)}]\ngel_conversion = 0.577\n")
    picture = tmp_path / "fit.svg"
    told = run("fit-resin", job, "R-1", file, "--reason", "DSC", "--picture", picture)
    assert "R-1: revision 2" in told
    assert picture.read_text().count("what is left, mW</text>") == 2
    with store.read() as session:
        resin = session.get("oak", Resin, "R-1").record
    store.close()
    assert resin.standing["kinetics"].knowledge is Knowledge.MEASURED
    law = resin_kinetics(resin)
    clock = np.array([one.time for one in resin.gel_times])
    engine = isothermal_time(0.577, [one.temperature for one in resin.gel_times], law)
    assert clock == pytest.approx(engine, rel=1e-9)
    assert len(clock) >= 2


def test_one_run_is_refused(tmp_path: Path) -> None:
    job = tmp_path / "job.drainwright"
    store = open_store(job, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", Resin("R-1"), expected=0)
    store.close()
    entry = write(tmp_path, "hold.csv", 333.15, 0.0, 6000.0)
    file = tmp_path / "fit.toml"
    file.write_text(f'dsc = [{entry}]\nheat_of_reaction = "420 kJ/kg"\n')
    told = run("fit-resin", job, "R-1", file, "--reason", "DSC", code=2)
    assert "two runs" in told
