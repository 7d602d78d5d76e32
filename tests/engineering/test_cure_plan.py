"""The steam plan, the confidence, and the kernels' cache."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drainwright.engineering import _compiled, cure
from drainwright.engineering.cure_confidence import Spreads, draw_case, hold_at_confidence
from drainwright.engineering.cure_model import Collar, Grid, Host, Schedule
from drainwright.engineering.cure_plan import let_down, plan, smallest_vent
from drainwright.engineering.cure_vent import vent_steam
from drainwright.errors import InputError
from tests.engineering.cure_cases import case, supply

AUTO = Schedule(600.0, None, 311.0, 0.75)
NOTHING = Spreads(*[0.0] * 10)


@pytest.mark.analytic
def test_no_spread_gives_the_nominal_hold() -> None:
    given = case(schedule=AUTO)
    nominal = cure.hold_time(given, tolerance=0.2)
    found = hold_at_confidence(given, draws=20, spreads=NOTHING)
    assert found.hold == pytest.approx(nominal, rel=1e-9)
    assert found.never == 0


@pytest.mark.analytic
def test_seed_and_level() -> None:
    given = case(schedule=AUTO)
    one = hold_at_confidence(given, level=0.95, draws=60, seed=7)
    same = hold_at_confidence(given, level=0.95, draws=60, seed=7)
    other = hold_at_confidence(given, level=0.95, draws=60, seed=8)
    half = hold_at_confidence(given, level=0.5, draws=60, seed=7)
    np.testing.assert_array_equal(one.holds, same.holds)
    assert not np.array_equal(one.holds, other.holds)
    assert one.hold is not None
    assert half.hold is not None
    assert one.hold > half.hold
    assert one.hold == one.holds[math.ceil(0.95 * 60) - 1]


def test_each_spread_moves_its_input() -> None:
    given = case(gas=supply(10e3))
    for n in range(10):
        z = [0.0] * 10
        assert draw_case(given, Spreads(), z) == given
        z[n] = 1.0
        assert draw_case(given, Spreads(), z) != given
    with pytest.raises(InputError):
        hold_at_confidence(given, level=1.0)
    with pytest.raises(InputError):
        hold_at_confidence(given, draws=3)
    with pytest.raises(InputError):
        hold_at_confidence(given, spreads=Spreads(resin_rate=-0.1))


def test_printed_time_is_the_longer() -> None:
    given = case(schedule=AUTO, gas=supply(20e3))
    short = plan(given, maker_hold=600.0, draws=20)
    assert short.governed_by == "simulation"
    assert short.hold_printed == short.hold_confident
    assert short.hold_nominal is not None
    long = plan(given, maker_hold=20_000.0, level=None)
    assert (long.governed_by, long.hold_printed) == ("maker", 20_000.0)
    assert long.hold_confident is None
    assert long.hold_nominal == pytest.approx(short.hold_nominal)


def test_crew_form_counts_from_a_steady_exhaust() -> None:
    made = plan(case(schedule=AUTO, gas=supply(15e3)), level=None)
    assert made.exhaust_time is not None
    assert made.hold_printed is not None
    assert made.wait_after_exhaust == pytest.approx(made.hold_printed - made.exhaust_time)
    log = made.simulated.log
    at = [float(np.interp(made.exhaust_time - dt, log.time, log.exhaust)) for dt in (0.0, 300.0)]
    assert at[0] >= made.exhaust_temperature
    assert at[0] - at[1] < 2 * 5 / 9
    assert made.trouble_after is not None
    assert made.trouble_after > made.exhaust_time


@pytest.mark.analytic
def test_below_the_stall_supply_the_front_falls_short() -> None:
    given = case(schedule=AUTO)
    made = plan(given, level=None)
    assert made.hold_printed is not None
    for share, reaches in ((0.6, False), (2.0, True)):
        gas = supply(mixture=False, steam_supply=share * made.stall_supply)
        run = cure.simulate(case(gas=gas, schedule=Schedule(600.0, made.hold_printed, 311.0, 0.7)))
        front = float(run.log.front[run.log.steam_on][-1])
        assert (front > 19.99) is reaches
    through = vent_steam(given.gas)
    assert made.boiler_power == pytest.approx(made.load_peak + through * 2.2264e6, rel=1e-3)


def test_smallest_vent_grows_with_the_tube() -> None:
    assert smallest_vent(case(length=40.0)) == pytest.approx(
        math.sqrt(2) * smallest_vent(case(length=20.0))
    )


def test_let_down_waits_until_the_wall_stays_cold() -> None:
    """TRADE 18: below the limit, below Tg less the margin, and still so 10 min after."""
    fast = supply(film_air=800.0, air_supply=1.0)
    thick = Host(0.05, 1.75, 2300.0, 920.0)
    hours = Schedule(600.0, 20_000.0, 311.0, 0.7)
    given = case(host=thick, schedule=hours, gas=fast, grid=Grid(6, 5, 14, 3))
    found = let_down(given, 20_000.0)
    assert found.cool_down is not None
    assert found.first_below is not None
    assert found.soak_rise > 0
    assert found.cool_down > found.first_below
    strict = let_down(given, 20_000.0, below_glass=60.0)
    assert strict.limit < found.limit
    assert strict.cool_down is None or strict.cool_down > found.cool_down


def test_collar_can_govern_the_plan() -> None:
    wet = Collar(0.4, 0.003, 0.2032, water_in_main=True)
    made = plan(case(schedule=AUTO, collar=wet), level=None)
    assert made.last_place.part == "collar edge"


# ---------------------------------------------------------------- compiled kernels


def test_cache_folder_changes_with_what_a_kernel_uses_only(tmp_path: Path) -> None:
    (tmp_path / "_kernels.py").write_text("from _compiled import kernel\nfrom a import x\n")
    (tmp_path / "a.py").write_text("import b\nx = 1\n")
    (tmp_path / "b.py").write_text("y = 1\n")
    (tmp_path / "other.py").write_text("z = 1\n")
    before = _compiled.source_hash(tmp_path)
    (tmp_path / "other.py").write_text("z = 2\n")
    assert _compiled.source_hash(tmp_path) == before
    (tmp_path / "b.py").write_text("y = 2\n")
    assert _compiled.source_hash(tmp_path) != before


PROGRAM = """
import sys
sys.path.insert(0, sys.argv[1])
import kernels
print(kernels.outer(2.0))
"""


@pytest.mark.slow
@pytest.mark.parametrize("edit", ["1.0", "7.0"])
def test_an_edited_callee_shows_the_new_number(tmp_path: Path, edit: str) -> None:
    """A kernel in one file calls a function of another; the callee is edited between runs."""
    folder = tmp_path / "floor"
    folder.mkdir()
    shutil.copy(Path(_compiled.__file__), folder / "_compiled.py")
    (folder / "callee.py").write_text(
        "from _compiled import inner\n\n@inner\ndef add(x):\n    return x + 1.0\n"
    )
    (folder / "kernels.py").write_text(
        "from _compiled import kernel\nfrom callee import add\n\n"
        "@kernel\ndef outer(x):\n    return 10.0 * add(x)\n"
    )
    environment = os.environ | {"DRAINWRIGHT_CACHE": str(tmp_path / "cache")}

    def run() -> float:
        command = [sys.executable, "-c", PROGRAM, str(folder)]
        done = subprocess.run(
            command, env=environment, capture_output=True, text=True, check=True, timeout=300
        )
        return float(done.stdout)

    assert run() == 30.0
    text = (folder / "callee.py").read_text().replace("x + 1.0", f"x + {edit}")
    (folder / "callee.py").write_text(text)
    assert run() == 10.0 * (2.0 + float(edit))


def test_a_blind_end_widens_the_band() -> None:
    """TRADE 4: no far sensor, so the supply is known half as well again."""
    z = [1.0] * 10
    spread = replace(NOTHING, steam_supply=0.1)
    shares = []
    for vent in (0.00635, None):
        given = case(gas=supply(10e3, vent_diameter=vent))
        drawn = draw_case(given, spread, z).gas.steam_supply
        assert drawn is not None
        assert given.gas.steam_supply is not None
        shares.append(math.log(drawn / given.gas.steam_supply))
    assert shares == pytest.approx([0.1, 0.15])
