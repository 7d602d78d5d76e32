"""Steam: the check values of the reference, the nozzle's closed forms, the kernels' fit."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from drainwright.engineering import orifice, steam
from drainwright.errors import OutOfRangeError
from drainwright.units import PSI
from tests.check_rows import record

BAROMETER = 14.696 * PSI
LB_H = 0.45359237 / 3600
QUARTER = 0.00635
IF97 = "IAPWS-IF97"


@pytest.mark.published
@pytest.mark.parametrize(
    ("gauge", "celsius", "latent"), [(5, "108.391", "2234.06"), (10, "115.198", "2215.49")]
)
def test_saturation_at_gauge_pressure(gauge: float, celsius: str, latent: str) -> None:
    state = steam.saturated(gauge * PSI + BAROMETER)
    ours = state.temperature - 273.15
    record("steam", f"{gauge} psig, temperature", celsius, ours, "degC", 0.001, IF97, "S")
    heat = state.latent_heat / 1e3
    record("steam", f"{gauge} psig, latent heat", latent, heat, "kJ/kg", 0.01, IF97, "S")


@pytest.mark.published
@pytest.mark.parametrize(("gauge", "fahrenheit"), [(8, "234"), (15, "250")])
def test_trade_figures_of_saturation(gauge: float, fahrenheit: str) -> None:
    ours = steam.saturated(gauge * PSI + BAROMETER).temperature * 9 / 5 - 459.67
    record("steam", f"{gauge} psig, trade", fahrenheit, ours, "degF", 1.0, "trade press", "S2")


@pytest.mark.published
def test_boiler_horsepower() -> None:
    latent = steam.saturated(101_325.0).latent_heat
    ours = steam.boiler_power(34.5 * LB_H, latent) / 1e3
    record("steam", "34.5 lb/h from and at 212 °F", "9.809", ours, "kW", 0.003, "ABMA", "S")
    assert pytest.approx(9.809, abs=6e-4) == steam.BOILER_HORSEPOWER / 1e3


@pytest.mark.published
@pytest.mark.parametrize(
    ("gauge", "printed", "tolerance", "source", "mark"),
    [
        (50, "98", 3.0, "engineering handbook chart", "S"),
        (50, "100.8", 0.06, "isentropic × Cd 0.61", "C"),
        (5, "29.4", 0.06, "isentropic × Cd 0.61", "C"),
        (10, "39.6", 0.06, "isentropic × Cd 0.61", "C"),
        (7, "34", 0.5, "isentropic × Cd 0.61", "C"),
    ],
)
def test_quarter_inch_vent_on_steam(
    gauge: float, printed: str, tolerance: float, source: str, mark: str
) -> None:
    state = steam.saturated(gauge * PSI + BAROMETER)
    flow = orifice.nozzle_flow(
        state.pressure, state.specific_volume, BAROMETER, 1.135, diameter=QUARTER
    )
    name = f"1/4 in vent, steam, {gauge} psig"
    ours = flow.flow / LB_H
    record("steam", name, printed, ours, "lb/h", tolerance, source, mark)  # type: ignore[arg-type]
    assert flow.choked is (gauge > 10.8)


@pytest.mark.published
def test_choked_above_the_printed_pressure() -> None:
    ours = (1 / orifice.critical_ratio(1.135) - 1) * BAROMETER / PSI
    record("steam", "steam is choked above", "10.8", ours, "psi", 0.06, "closed form", "C")


@pytest.mark.published
@pytest.mark.parametrize(("gauge", "printed"), [(5, "19.8"), (15, "33.6")])
def test_quarter_inch_vent_on_air(gauge: float, printed: str) -> None:
    p = gauge * PSI + BAROMETER
    flow = orifice.nozzle_flow(p, 287.055 * 293.15 / p, BAROMETER, 1.4, diameter=QUARTER)
    name = f"1/4 in vent, air at 20 °C, {gauge} psig"
    ours = flow.flow * 3600
    record("steam", name, printed, ours, "kg/h", 0.06, "isentropic × Cd 0.61", "C")


@pytest.mark.published
@pytest.mark.parametrize(("fahrenheit", "share"), [(180, "0.35"), (200, "0.53")])
def test_share_for_a_wanted_temperature(fahrenheit: float, share: str) -> None:
    ours = steam.steam_share(7 * PSI + BAROMETER, (fahrenheit + 459.67) / 1.8)
    name = f"steam share at {fahrenheit} °F, 7 psig"
    record("steam", name, share, ours, "1", None, "Dalton, IAPWS-IF97", "C")


@pytest.mark.published
def test_pure_steam_at_seven_psig() -> None:
    ours = steam.saturated(7 * PSI + BAROMETER).temperature * 1.8 - 459.67
    record(
        "steam",
        "pure steam at 7 psig",
        "232",
        ours,
        "degF",
        0.6,
        "trade notes of the project, item 16",
        "C",
    )


@pytest.mark.independent
def test_the_fit_keeps_its_stated_error() -> None:
    """Against IF97: 0.001 K in temperature, 0.02 % in latent heat, over the stated range."""
    T = np.linspace(274.0, steam.FIT_HIGH, 97)
    p = steam.saturation_fit(T)
    exact = np.array([steam.saturated(float(v)).temperature for v in p])
    assert np.abs(exact - T).max() < 0.001
    latent = np.array([steam.saturated(float(v)).latent_heat for v in p])
    assert np.abs(steam.latent_heat_fit(T) / latent - 1).max() < 2e-4
    for pressure in (1e3, 20e3, 101_325.0, 150e3, 400e3, 1e6):
        fit, exactly = steam.saturated_by_fit(pressure), steam.saturated(pressure)
        assert fit.temperature == pytest.approx(exactly.temperature, abs=1e-3)
        assert fit.latent_heat == pytest.approx(exactly.latent_heat, rel=2e-4)
        assert fit.specific_volume == pytest.approx(exactly.specific_volume, rel=5e-4)


@pytest.mark.independent
def test_saturation_by_another_formulation() -> None:
    """IAPWS-95 (Helmholtz energy) against the industrial formulation."""
    from CoolProp.CoolProp import PropsSI

    for p in (60e3, 101_325.0, 150e3, 300e3):
        assert steam.saturated(p).temperature == pytest.approx(
            PropsSI("T", "P", p, "Q", 1, "Water"), abs=0.01
        )


@pytest.mark.analytic
def test_mixture_is_the_inverse_of_the_share() -> None:
    p = 150e3
    for celsius in (60.0, 85.0, 110.0):
        x = steam.steam_share(p, celsius + 273.15)
        assert steam.mixture_temperature(p, x) - 273.15 == pytest.approx(celsius, abs=2e-3)
        ratio = steam.air_per_steam(p, celsius + 273.15)
        assert 1 / (1 + ratio * 287.055 / 461.526) == pytest.approx(x, rel=1e-12)


@pytest.mark.analytic
def test_hose_in_series() -> None:
    state = steam.saturated(7 * PSI + BAROMETER)
    p, v = state.pressure, state.specific_volume
    given: dict[str, Any] = {"barometer": BAROMETER, "diameter": QUARTER}
    free = orifice.vent_flow(p, v, 1.135, **given)
    wide = orifice.vent_flow(p, v, 1.135, **given, hose=orifice.Hose(1.0, 0.3))
    thin_hose = orifice.Hose(15.0, 0.0095)
    thin = orifice.vent_flow(p, v, 1.135, **given, hose=thin_hose)
    assert wide.flow == pytest.approx(free.flow, rel=1e-4)
    assert thin.flow < 0.8 * free.flow
    left = orifice.hose_flow(thin.back_pressure, v * p / thin.back_pressure, BAROMETER, thin_hose)
    assert thin.flow == pytest.approx(left, rel=1e-5)
    assert orifice.vent_flow(BAROMETER, 1.67, 1.135, **given).flow == 0.0


@pytest.mark.published
def test_barometer() -> None:
    ours = steam.barometer_at(2000.0) / 100
    record("steam", "barometer at 2,000 m", "794.95", ours, "hPa", 0.05, "ISO 2533:1975", "M")


def test_out_of_range() -> None:
    with pytest.raises(OutOfRangeError):
        steam.saturated(10.0)
    with pytest.raises(OutOfRangeError):
        steam.saturation_pressure(200.0)
    with pytest.raises(OutOfRangeError):
        steam.steam_share(150e3, 420.0)
    with pytest.raises(OutOfRangeError):
        steam.mixture_temperature(150e3, 1.2)
    with pytest.raises(OutOfRangeError):
        orifice.nozzle_flow(150e3, 1.1, 1e5, 1.135, diameter=-0.01)
    with pytest.raises(OutOfRangeError):
        steam.barometer_at(9000.0)
    with pytest.raises(OutOfRangeError):
        steam.boiler_power(-1.0, 2e6)
    with pytest.raises(OutOfRangeError):
        orifice.hose_flow(150e3, 1.0, 1e5, orifice.Hose(1.0, 0.0))
