"""The cure engine: closed forms, balances, orders, and general solvers on the same equations."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import erfc

from drainwright.engineering import cure
from drainwright.engineering.cure_model import Collar, CureCase, Grid, Host, Liner, Schedule, Soil
from drainwright.engineering.cure_vent import vent_steam
from drainwright.engineering.kinetics import Kinetics
from drainwright.errors import InputError
from tests.check_rows import record
from tests.engineering.cure_cases import CLAY, LATENT, SIX, case, supply
from tests.engineering.cure_oracle import solve

INERT = Kinetics("kamal", (0.0, 0.0), (0.0, 0.0))
SLOW = Kinetics("kamal", (1e-5, 0.0), (0.0, 0.0))


QUICK = ("ample steam", "stalled front, pure", "blind end")
MARKED = [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in SIX]


@pytest.mark.independent
@pytest.mark.parametrize("name", MARKED)
def test_general_solver_agrees(name: str) -> None:
    """LSODA with tight tolerances on a plain numpy right-hand side."""
    given = SIX[name]
    times = [300.0, 600.0, 1200.0, 1800.0, 2400.0, 2700.0]
    T, a = solve(given, times, 2400.0)
    ours = cure.simulate(given, times=times, tolerance=0.005).fields
    assert np.sqrt(np.mean((ours.temperature - T) ** 2)) < 0.03
    assert np.abs(ours.temperature - T).max() < 0.5
    assert np.abs(ours.conversion - a).max() < 5e-3


@pytest.mark.analytic
@pytest.mark.parametrize("name", SIX)
def test_energy_closes(name: str) -> None:
    assert cure.simulate(SIX[name]).energy_error < 1e-3


@pytest.mark.analytic
@pytest.mark.parametrize("name", ["ample steam", "stalled front, mixture"])
def test_second_order_in_time(name: str) -> None:
    """The error falls as the square of the step."""
    times = [float(t) for t in range(300, 2401, 300)]
    exact = cure.simulate(SIX[name], times=times, tolerance=1e-4).fields.temperature
    errors, steps = [], []
    for tolerance in (0.08, 0.02, 0.005):
        run = cure.simulate(SIX[name], times=times, tolerance=tolerance)
        errors.append(float(np.sqrt(np.mean((run.fields.temperature - exact) ** 2))))
        steps.append(run.steps)
    order = math.log(errors[0] / errors[2]) / math.log(steps[2] / steps[0])
    assert order > 1.6
    assert errors[2] < 0.01


@pytest.mark.analytic
def test_grids_converge() -> None:
    """Halving the cells across and along changes the hold less and less."""
    holds = []
    for factor in (1, 2, 4):
        grid = Grid(4 * factor, 3 * factor, 10 * factor, 6 * factor)
        found = cure.hold_time(case(gas=supply(14e3), grid=grid), tolerance=0.01)
        assert found is not None
        holds.append(found)
    assert abs(holds[2] - holds[1]) < 0.7 * abs(holds[1] - holds[0])
    assert abs(holds[2] - holds[1]) < 0.08 * holds[2]


# ---------------------------------------------------------------- conduction, closed forms


def hot_pipe(soil: Soil, grid: Grid, **changes: object) -> CureCase:
    """An inert thin liner in a thin, well conducting host: a hot cylinder in the ground."""
    thin = Host(0.0006, 300.0, 100.0, 100.0)
    liner = Liner(0.0006, 5.0, 300.0, 300.0, 0.0)
    given = {
        "host": thin, "liner": liner, "host_diameter": 2 * 0.0652, "kinetics": SLOW,
        "heat_of_reaction": 0.0, "soil": soil, "grid": grid, "length": 1.0,
        "gas": supply(film_steam=1e5),
    }  # fmt: skip
    return case(**(given | changes))


@pytest.mark.published
def test_cylinder_in_soil() -> None:
    """Heat flow from a cylinder suddenly hot, radius 65.8 mm: W/m/K at three times."""
    soil = Soil(1.2, 2.2e6, 288.15, 2.0)
    given = hot_pipe(soil, Grid(2, 1, 160, 1), schedule=Schedule(0.0, 14_400.0, 300.0))
    log = cure.simulate(given, tolerance=1e-3).log
    source = "Carslaw & Jaeger 13.5"
    rise = cure.simulate(given).saturation_temperature - 288.15
    on = log.steam_on
    for time, printed in ((600.0, "19.00"), (3600.0, "9.618"), (14_400.0, "6.207")):
        heat = float(np.interp(time, log.time[on], log.heat[on]))
        name = f"hot cylinder in soil after {time:g} s"
        ours = heat / rise
        record("cure", name, printed, ours, "W/m/K", 0.006 * float(printed), source, "S2",
               "soil cells and a thin wall between")  # fmt: skip


@pytest.mark.published
def test_radial_steady() -> None:
    """Three layers, 1 m outer radius, 111.268 to 15 °C: heat and the two faces."""
    from drainwright.engineering.cure_probes import Probe, probe_rows

    soil = Soil(1.2, 5e5, 288.15, 1.0)
    host = Host(0.015, 1.0, 100.0, 100.0)
    given = case(
        host=host, liner=Liner(0.006, 0.2, 300.0, 300.0, 0.0), soil=soil, kinetics=SLOW,
        heat_of_reaction=0.0, length=1.0, grid=Grid(8, 8, 60, 1),
        gas=supply(film_steam=1e5), schedule=Schedule(0.0, 600_000.0, 300.0),
    )  # fmt: skip
    run = cure.simulate(given, times=[600_000.0])
    on = run.log.steam_on
    scale = (111.268 - 15.0) / (run.saturation_temperature - 288.15)
    source = "Incropera, chapter 3"
    heat = float(run.log.heat[on][-1]) * scale
    record("cure", "three layers, heat", "191.73", heat, "W/m", 0.4, source, "S2")
    for depth, printed in (("liner outer", "92.09"), ("host outer", "84.20")):
        probe = Probe(0.5, depth, "top", (600_000.0,))
        T = probe_rows(given, run.fields, probe)[0][0]
        assert T is not None
        face = 15.0 + (T - 288.15) * scale
        record("cure", f"three layers, {depth}", printed, face, "degC", 0.2, source, "S2")


@pytest.mark.published
def test_half_space() -> None:
    """Heat flux into a half-space, step of 50 K: a wide pipe, less its curvature."""
    k, rho_c, radius = 1.2, 2.2e6, 1.0
    soil = Soil(k, rho_c, 288.15, 2.1)
    given = hot_pipe(
        soil, Grid(2, 1, 200, 1), host_diameter=2 * radius - 0.0012,
        schedule=Schedule(0.0, 14_400.0, 300.0),
    )  # fmt: skip
    run = cure.simulate(given, tolerance=1e-3)
    rise = run.saturation_temperature - 288.15
    heat = float(run.log.heat[run.log.steam_on][-1])
    flux = heat / (2 * math.pi * radius) / rise * 50
    spread = math.sqrt(k / rho_c * 14_400.0 / math.pi) / radius
    curved = k * 50 / radius * (0.5 - 0.25 * spread)  # short-time series of the cylinder
    source = "Carslaw & Jaeger 2.4"
    record("cure", "half-space, flux at 14,400 s", "382.0", flux - curved, "W/m^2", 4.0, source,
           "S2", "a cylinder of 1 m radius, less its curvature (short-time series)")  # fmt: skip
    depth = 2.53 / 50
    assert erfc(0.05 / (2 * math.sqrt(k / rho_c * 600))) == pytest.approx(depth, rel=2e-3)


@pytest.mark.analytic
def test_adiabatic_rise_in_the_engine() -> None:
    """A liner that keeps its heat rises by H w / c, and then no more."""
    film = {"film_steam": 1.0, "film_dry": 0.1, "film_air": 0.1}
    given = case(
        kinetics=Kinetics("kamal", (5e-2, 0.0), (0.0, 0.0)), heat_of_reaction=1e5,
        liner=Liner(0.02, 0.2, 1180.0, 1400.0, 0.85, gap=0.02), length=1.0,
        gas=supply(**film), schedule=Schedule(300.0, 300.0, 295.0, 0.5), grid=Grid(6, 3, 8, 1),
    )  # fmt: skip
    run = cure.simulate(given, times=[120.0], tolerance=0.005)
    middle = run.fields.temperature[0, 2, 0] - 288.15
    assert middle == pytest.approx(1e5 * 0.85 / 1400.0, rel=0.03)


# ---------------------------------------------------------------- what the answers mean


def test_short_supply_leaves_a_cold_tail_and_more_power_reaches_farther() -> None:
    reach = []
    for power in (1e3, 2e3, 3e3, 5e3, 10e3):
        given = case(gas=supply(power, mixture=False), grid=Grid(10, 6, 26, 60))
        reach.append(float(cure.simulate(given, times=[1860.0]).log.front.max()))
    log = cure.simulate(case(gas=supply(5e3, mixture=False), grid=Grid(10, 6, 26, 60))).log
    at = [float(np.interp(1860.0, log.time, log.front))]
    assert reach == sorted(reach)
    assert 9.0 < at[0] < 13.0  # prototype: 11.0 m at 31 min, qualitative
    assert reach[-1] == pytest.approx(20.0)


def test_collar_behind_its_bladder_cures_last() -> None:
    """TRADE 17: the bladder insulates the collar, and water in the main cools its edge."""
    bare = case(schedule=Schedule(600.0, None, 311.0, 0.7))
    dry = replace(bare, collar=Collar(0.4, 0.003, 0.2032))
    wet = replace(bare, collar=Collar(0.4, 0.003, 0.2032, water_in_main=True))
    runs = [cure.simulate(x) for x in (bare, dry, wet)]
    holds = [run.hold for run in runs]
    assert holds[0] is not None
    assert holds[1] is not None
    assert holds[2] is not None
    assert holds[0] < holds[1] < holds[2]
    assert runs[0].last_place.part == "lateral"
    assert runs[2].last_place.part == "collar edge"


def test_hold_is_one_run_with_steam_on() -> None:
    """The event doesn't depend on when steam was really shut; cooling earns no credit."""
    auto = cure.simulate(case(schedule=Schedule(600.0, None, 311.0, 0.8)))
    short = cure.simulate(case(schedule=Schedule(600.0, 1200.0, 311.0, 0.8)))
    long = cure.simulate(case(schedule=Schedule(600.0, 9000.0, 311.0, 0.8)))
    assert auto.hold is not None
    assert auto.steam_end == pytest.approx(auto.hold, rel=1e-6)
    assert short.hold == pytest.approx(auto.hold, rel=1e-3)
    assert long.hold == pytest.approx(auto.hold, rel=1e-3)
    assert short.conversion_at_end < 0.8 < long.conversion_at_end


def test_more_of_what_chills_takes_longer() -> None:
    def hold(**changes: object) -> float:
        found = cure.hold_time(case(**changes))
        return math.inf if found is None else found

    base = hold()
    assert hold(soil=Soil(2.4)) > base
    assert hold(soil=Soil(temperature=281.15)) > base
    assert hold(liner=Liner(0.006, gap=0.0005)) < base  # still air keeps the liner warm
    assert hold(liner=Liner(0.006, coating=0.0008)) > base
    assert hold(gas=supply(14e3, air_supply=20 / 3600)) > base
    assert hold(schedule=Schedule(1800.0, None, 311.0, 0.8)) > base
    assert hold(heat_of_reaction=3e5) > base
    assert hold(grid=Grid(4, 3, 8, 5, invert=True)) > base


def test_condensate_and_vent_make_the_steam_used() -> None:
    """Energy from the gas over the latent heat, and the vent's flow times the time."""
    blind = cure.simulate(case(gas=supply(vent_diameter=None)))
    vented = cure.simulate(case())
    on = blind.log.steam_on
    heat = float(np.trapezoid(blind.log.heat[on].clip(0.0), blind.log.time[on]))
    assert blind.steam_used == pytest.approx(heat / LATENT, rel=2e-3)
    through = vent_steam(case().gas) * 2400.0
    assert vented.steam_used - blind.steam_used == pytest.approx(through, rel=1e-3)


def test_cool_down_ends_at_the_limit() -> None:
    given = case(schedule=Schedule(600.0, 2400.0, 311.0, 0.5))
    run = cure.simulate(given)
    assert run.cool_down is not None
    assert run.log.warmest_liner[-1] == pytest.approx(311.0, abs=0.05)
    assert run.log.time[-1] == pytest.approx(2400.0 + run.cool_down, rel=1e-9)


# ---------------------------------------------------------------- faults


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"gas": supply(-5e3)}, "gas.steam_supply"),
        ({"gas": supply(vent_diameter=0.2)}, "gas.vent_diameter"),
        ({"liner": Liner(0.049)}, "liner.wall"),
        ({"soil": Soil(outer_radius=0.1)}, "soil.outer_radius"),
        ({"schedule": Schedule(600.0, 300.0)}, "schedule.heat_up"),
        ({"schedule": Schedule(cool_to=285.0)}, "schedule.cool_to"),
        ({"start_conversion": 0.85}, "schedule.target_conversion"),
        ({"length": -1.0}, "length"),
        ({"grid": Grid(1, 3, 8, 5)}, "model.liner_cells"),
        ({"collar": Collar(0.4, 0.003, 0.2, bladder_fill="milk")}, "collar.bladder_fill"),
    ],
)
def test_bad_inputs_are_named(changes: dict[str, object], name: str) -> None:
    with pytest.raises(InputError) as caught:
        case(**changes)
    assert name in {fault.name for fault in caught.value.faults}


def test_target_above_what_vitrification_allows() -> None:
    high = case(schedule=Schedule(600.0, None, 311.0, 0.9985), grid=Grid(3, 2, 5, 1),
                gas=replace(supply(), gauge_pressure=0.0, barometer=70e3))  # fmt: skip
    with pytest.raises(InputError) as caught:
        cure.simulate(high)
    fault = caught.value.faults[0]
    assert fault.name == "schedule.target_conversion"
    assert "vitrifies" in fault.message
    assert fault.high is not None
    assert fault.high < 0.9985


def test_a_ceiling_below_the_target_is_refused() -> None:
    capped = Kinetics("kamal", (1e-3, 1e-3), (0.0, 0.0), 1.0, 1.5, 0.75)
    with pytest.raises(InputError):
        case(kinetics=capped)


def test_clay_is_the_host_of_the_cases() -> None:
    assert case().host is CLAY
    assert INERT.A == (0.0, 0.0)


@pytest.mark.independent
@pytest.mark.slow
@pytest.mark.parametrize("name", ["glass", "plain", "jump", "ceiling"])
def test_compiled_rates_are_the_formulas(name: str) -> None:
    """Vector exponentials and logarithms against `reaction_rate`, within 1e-6 of the largest."""
    from drainwright.engineering import _cure_steps
    from drainwright.engineering._cure_run import Runner
    from drainwright.engineering.kinetics import reaction_rate

    laws = {
        "glass": case().kinetics,
        "plain": replace(case().kinetics, glass=None),
        "jump": Kinetics(
            "lee-loos-springer",
            (2.101e9 / 60, -2.014e9 / 60, 1.96e5 / 60),
            (80.7e3, 77.8e3, 56.6e3),
        ),
        "ceiling": Kinetics("kamal", (1.4e-3, 5.84e-3), (1e3, 1e3), 0.93, 1.477, 0.9294),
    }
    law = laws[name]
    runner = Runner(case(kinetics=law), (), 0.05)
    rng = np.random.default_rng(5)
    T = rng.uniform(275.0, 420.0, runner.state.T.shape)
    a = rng.uniform(0.002, 0.92, runner.state.a.shape)
    _cure_steps.right_hand_side(
        runner.mesh.wall, runner.law, runner.steam_gas(), 0.0, T, a, runner.scratch, runner.marched
    )
    exact = reaction_rate(a, T[: a.shape[0]], law)
    assert np.abs(runner.scratch.small[0] - exact).max() < 1e-6 * exact.max()
