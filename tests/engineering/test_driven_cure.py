"""The wall driven by a measured gas: against the cure engine, against scipy, limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from drainwright.engineering.cure import simulate
from drainwright.engineering.cure_model import (
    Collar,
    CureCase,
    Grid,
    Host,
    Liner,
    Schedule,
    Soil,
    Supply,
)
from drainwright.engineering.cure_probes import field_view
from drainwright.engineering.driven_cure import Drive, Unknowns, follow
from drainwright.errors import InputError
from tests.acceptance.draws import SET_C, case
from tests.acceptance.synthetic_logs import Truth, make

NOTHING = Unknowns(contact=0.0, collar_water=0.0)
CLAY = Host(0.015, 1.4, 2500.0, 840.0)


def engine_case(supply: float | None) -> CureCase:
    return CureCase(
        13.0, 0.1016, CLAY, Liner(0.003), SET_C, 4.2e5, Supply(48_263.3, steam_supply=supply),
        schedule=Schedule(heat_up=600.0, steam=7200.0, target_conversion=0.85),
        grid=Grid(liner_cells=8, invert=True, axial_cells=40), collar=Collar(0.4064, 0.003, 0.2032),
    )  # fmt: skip


def drive(top: float, end: float = 7200.0, start: float = 288.15) -> Drive:
    times = np.concatenate([np.arange(0.0, 2400.0, 20.0), np.arange(2400.0, end + 1.0, 60.0)])
    gas = np.interp(times, [0.0, 600.0], [start, top])
    return Drive(times, gas, gas, np.full(times.size, 48_263.3 + 101_325.0), times >= 0.0)


@pytest.mark.independent
def test_ample_steam_as_the_cure_engine() -> None:
    """The engine: 8 liner and 26 soil cells, Rosenbrock steps; here 8 and 11, BDF2."""
    given, times = engine_case(None), (600.0, 1200.0, 2400.0, 7200.0)
    engine = simulate(given, times=times)
    found = follow(given, drive(engine.saturation_temperature), replace(NOTHING, supply=0.1))
    for line in ("top", "invert"):
        view = field_view(given, line)
        own = [n for n, one in enumerate(found.columns) if one.line == line]
        for n, at in enumerate(times):
            cure = engine.fields.conversion[n][:, view.columns].min(axis=0)
            k = int(np.searchsorted(found.times, at))
            assert found.least[k, own[0]] == pytest.approx(cure[0], abs=0.008), (line, at)
    collar = float(engine.fields.conversion[-1][:, 0].min())
    assert found.least[-1, 0] == pytest.approx(collar, abs=0.004)


@pytest.mark.independent
def test_a_short_supply_stalls_where_the_engine_stalls() -> None:
    given = engine_case(0.0022)
    engine = simulate(given, times=(3600.0,))
    found = follow(given, drive(engine.saturation_temperature), replace(NOTHING, supply=0.0022))
    view = field_view(given, "top")
    cure = engine.fields.conversion[0][:, view.columns].min(axis=0)
    front = float(np.interp(-0.5, -cure, view.positions))
    own = [n for n, one in enumerate(found.columns) if one.line == "top"]
    k = int(np.searchsorted(found.times, 3600.0))
    where = np.array([found.columns[n].position for n in own])
    ours = float(np.interp(-0.5, -found.least[k][own], where))
    assert ours == pytest.approx(front, abs=1.3)  # a cell


@pytest.mark.independent
def test_temperatures_and_cure_as_scipy_on_the_written_equations() -> None:
    truth = Truth(steam_time=7200.0, supply=0.02)
    made = make(truth)
    times = drive(384.0).times
    inlet = np.interp(times, made.times, made.inlet)
    pressure = np.full(times.size, truth.gauge + truth.barometer)
    seen = Drive(times, inlet, inlet, pressure, times >= 0.0)
    found = follow(case(), seen, Unknowns(supply=0.02))
    for line, part in (("top", "lateral"), ("invert", "lateral"), ("", "collar middle")):
        n = next(
            k for k, one in enumerate(found.columns) if one.part == part and one.line in ("", line)
        )
        key = (line, 0) if line else ("collar", 0)
        late = times > 600.0
        face = np.interp(times, made.times, made.face[key])
        cure = np.interp(times, made.times, made.cure[key])
        assert np.abs(found.face[late, n] - face[late]).max() < 1.2, part
        assert np.abs(found.least[:, n] - cure).max() < 0.03, part  # while it rises
        assert abs(found.least[-1, n] - cure[-1]) < 0.004, part


@pytest.mark.analytic
def test_a_wall_without_reaction_ends_at_the_steady_profile() -> None:
    """Layers between a gas and the soil's outer radius: series of resistances."""
    resin = replace(SET_C, A=(0.0, 0.0), glass=None)
    thin = Soil(1.4, 5e5, 288.15, outer_radius=0.15)
    given = replace(case(), kinetics=resin, soil=thin, collar=None)
    found = follow(given, drive(384.0, 200_000.0), replace(NOTHING, supply=1.0))
    radius, wall = given.host_diameter / 2, given.liner.wall
    inside = radius - wall
    parts = [
        1 / (given.gas.film_steam * inside) + given.liner.coating / (0.25 * inside),
        np.log(radius / inside) / given.liner.conductivity,
        np.log((radius + 0.015) / radius) / 1.4,
        np.log(0.15 / (radius + 0.015)) / 1.4,
    ]
    expected = 384.0 - (parts[0] + parts[1]) / sum(parts) * (384.0 - 288.15)
    assert found.face[-1, 0] == pytest.approx(expected, abs=0.05)


def test_a_blind_end_with_still_air_stays_cold() -> None:
    found = follow(case(blind=True), drive(384.0), Unknowns(supply=0.02, plug=0.2))
    lateral = [n for n, one in enumerate(found.columns) if one.line == "top"]
    cure = found.least[-1, lateral]
    assert cure[-1] < 0.5
    assert cure[0] > 0.85


def test_times_must_rise() -> None:
    good = drive(384.0)
    with pytest.raises(InputError, match="must rise"):
        follow(case(), replace(good, times=good.times[::-1]), Unknowns())
    with pytest.raises(InputError, match="as many values"):
        follow(case(), replace(good, inlet=good.inlet[1:]), Unknowns())
