"""`calc resin-fit` on files as a laboratory sends them."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tests.engineering.synthetic_dsc import Machine, dsc, kamal
from tests.operations.calculators.calls import answer_of, run

LAW = kamal(1.02e5, 57e3, 1.53e5, 50e3, 0.9, 1.8)


def write(folder: Path, name: str, start: float, heating: float, end: float) -> str:
    """A run as a file: minutes, Celsius, milliwatts, heat downward, semicolons."""
    machine = Machine(noise=0.003, drift=0.02, samples=400)
    columns = dsc(LAW, start, heating, end, machine, len(name))
    rows = [
        f"{t / 60:.5f};{T - 273.15:.4f};{-1e3 * q:.6f}" for t, T, q in zip(*columns, strict=True)
    ]
    text = "Time [min];Temperature [degC];Heat flow [mW]\n" + "\n".join(rows) + "\n"
    (folder / name).write_text(text)
    return f'{{file = "{name}", mass = "{1e6 * machine.mass:.3f} mg"}}'


def test_two_runs_and_a_gel_time(tmp_path: Path) -> None:
    entries = [
        write(tmp_path, "hold.csv", 333.15, 0.0, 6000.0),
        write(tmp_path, "heating.csv", 293.15, 10 / 60, 1300.0),
    ]
    file = tmp_path / "fit.toml"
    file.write_text(
        f"dsc = [{', '.join(entries)}]\ngel_conversion = 0.577\n"
        'gel_times = [["25 degC", "243.06 min"]]\n'
    )
    found = answer_of("resin-fit", run("calc", "resin-fit", str(file), "--json", "--units", "si"))
    results = found["results"]
    constants = {one["name"]: one for one in results["constants"]}
    energy, unit = constants["E2"]["value"].split()
    assert float(energy) == pytest.approx(50.0, rel=0.03)
    assert unit == "kJ/mol"
    assert float(constants["n"]["standard_error"]) < 0.1
    assert [one["suspicious"] for one in results["runs"]] == ["no", "no"]
    predicted = {round(one["temperature"]["value"]): one for one in results["predicted_gel_times"]}
    assert sorted(predicted) == list(range(5, 65, 5))
    # set C to 0.577 at 25 °C by the same law, integrated by a general solver: 243.06 min
    assert predicted[25]["time"]["value"] == pytest.approx(243.06, rel=0.03)
    assert predicted[25]["standing"] == "within the data"
    assert predicted[5]["standing"] == "refused: beyond the margin"
    assert predicted[5]["time"]["value"] is None


@pytest.mark.published
def test_gel_times_alone(tmp_path: Path) -> None:
    """Gel 45 min at 52 °C, 7 h at 13 °C: 44.3 kJ/mol (trade press, second-hand)."""
    file = tmp_path / "fit.toml"
    file.write_text('gel_times = [["52 degC", "45 min"], ["13 degC", "7 h"]]\n')
    found = answer_of("resin-fit", run("calc", "resin-fit", str(file), "--json"))
    (energy,) = found["results"]["constants"]
    assert float(energy["value"].split()[0]) == pytest.approx(44.3, abs=0.05)
    assert energy["standard_error"] == "not known"
    assert any("standard error" in words for words in found["cautions"])


def test_one_gel_time_is_taken_on_the_safe_side(tmp_path: Path) -> None:
    file = tmp_path / "fit.toml"
    file.write_text('gel_times = [["25 degC", "100 min"]]\n')
    found = answer_of("resin-fit", run("calc", "resin-fit", str(file), "--json", "--units", "si"))
    times = {
        round(one["temperature"]["value"]): one["time"]["value"]
        for one in found["results"]["predicted_gel_times"]
    }
    assert times[25] == pytest.approx(100.0)
    for warm, energy in ((15, 44e3), (35, 57e3)):
        factor = math.exp(energy / 8.314462618 * (1 / (warm + 273.15) - 1 / 298.15))
        assert times[warm] == pytest.approx(100.0 * factor, rel=1e-6)


def test_every_fault_of_a_file_has_its_row(tmp_path: Path) -> None:
    good = write(tmp_path, "good.csv", 333.15, 0.0, 6000.0)
    lines = (tmp_path / "good.csv").read_text().splitlines()
    lines[5] = "abc;60;-0.1"
    lines[9] = "0.4;60"
    (tmp_path / "bad.csv").write_text("\n".join(lines))
    (tmp_path / "bare.csv").write_text("Time;Temperature [degC]\n1;2\n")
    file = tmp_path / "fit.toml"
    file.write_text(
        f'dsc = [{good}, {{file = "bad.csv", mass = "8 mg"}}, {{file = "bare.csv", mass = "8"}},'
        ' {file = "none.csv", mass = "8 mg"}]\n'
    )
    result = run("calc", "resin-fit", str(file))
    assert result.code == 2
    for words in (
        "row 6, column time", "row 10, column heat flow", "column time has no unit",
        "no column heat flow", "none.csv", "dsc[3].mass",
    ):  # fmt: skip
        assert words in result.err, words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "give gel times"),
        ('gel_times = [["25 degC", "0 min"]]', "above 0"),
        ('gel_times = [["13 degC", "1 h"], ["52 degC", "7 h"]]', "shorter in the cold"),
    ],
)
def test_bad_inputs_are_told(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "fit.toml"
    file.write_text(text)
    result = run("calc", "resin-fit", str(file))
    assert result.code == 2
    assert words in result.err
