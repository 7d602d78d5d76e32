"""Night flow, R-value and unit triangles against reference/infiltration.md."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from drainwright.engineering.rdii import (
    MGD,
    Triangle,
    annual_infiltration,
    annuity_factor,
    minimum_flow_factor,
    rain_response,
    rain_share,
    stevens_schutzbach,
    triangle_ordinates,
    triangle_run_off,
    wastewater_production,
)
from drainwright.errors import InputError, OutOfRangeError
from drainwright.units import FOOT, GALLON, INCH
from tests.check_rows import record

HOUR = 3600.0
ACRE = 43560.0 * FOOT**2
EXAMPLE = [Triangle(0.02, HOUR, 2.0), Triangle(0.03, 3 * HOUR, 2.0), Triangle(0.05, 8 * HOUR, 4.0)]
PAGE = "infiltration"


@pytest.mark.published
def test_an_inch_on_an_acre() -> None:
    ours = float(rain_response([1.0], [INCH], ACRE)[0]) / GALLON
    record(PAGE, "1 in of rain on 1 acre", "27154.29", ours, "gal", None, "geometry", "C")
    assert rain_share(ours * GALLON, INCH, ACRE) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.published
@pytest.mark.parametrize(
    ("least", "average", "printed"), [(0.5, 1.0, "0.285714"), (0.0, 1.0, "0"), (2.0, 2.0, "2.0")]
)
def test_stevens_schutzbach(least: float, average: float, printed: str) -> None:
    ours = stevens_schutzbach(least * MGD, average * MGD) / MGD
    name = f"Stevens-Schutzbach, {least:g} of {average:g} mgd"
    tolerance = 5e-7 if "." in printed and len(printed) > 3 else 1e-9
    record(PAGE, name, printed, ours, "Mgal/d", tolerance, "values from the formula", "C")


@pytest.mark.published
@pytest.mark.parametrize(
    ("hour", "printed"),
    [(0, "0.007934"), (1, "0.013802"), (2, "0.009670"), (3, "0.007205"), (4, "0.006406"),
     (5, "0.005608")],
)  # fmt: skip
def test_interval_averages_of_the_example(hour: int, printed: str) -> None:
    ours = float(triangle_ordinates(EXAMPLE, HOUR)[hour]) * HOUR
    record(PAGE, f"three triangles, hour {hour + 1}", printed, ours, "1/h", None, "computed", "C")


@pytest.mark.published
def test_volume_of_the_example() -> None:
    rain = np.array([0.2, 0.6, 0.3, 0.0, 0.1]) * INCH
    flow = rain_response(triangle_ordinates(EXAMPLE, HOUR), rain, 100 * ACRE)
    ours = float(flow.sum()) * HOUR / FOOT**3
    record(PAGE, "three triangles, 1.2 in on 100 acre", "43560.0", ours, "ft^3", None, "R P A", "C")


@pytest.mark.published
@pytest.mark.parametrize(
    ("year", "average", "january", "volume", "share"),
    [(2004, 4.033, 3.573, "167.90", "11.41"), (2005, 3.890, 3.770, "43.80", "3.08"),
     (2006, 3.807, 3.712, "34.67", "2.50")],
)  # fmt: skip
def test_night_minimum_sheet(
    year: int, average: float, january: float, volume: str, share: str
) -> None:
    source = "City of Roseville MN, 2004-07"
    mg = annual_infiltration(average * MGD, january * MGD) / GALLON / 1e6
    # 34.675 prints as 34.67 there: half a digit and the noise of the division
    record(PAGE, f"Roseville, row {year}", volume, mg, "Mgal", 0.0051, source, "S")
    percent = 100.0 * (average - january) / average
    record(PAGE, f"Roseville, share, row {year}", share, percent, "%", None, source, "S")


@pytest.mark.published
def test_money_of_the_night_minimum_sheet() -> None:
    rows = ((4.033, 3.573), (3.890, 3.770), (3.807, 3.712))
    total = sum(annual_infiltration(a * MGD, b * MGD) for a, b in rows) / GALLON / 1e6
    source = "City of Roseville MN, 2004-07"
    # the sheet adds its own rounded rows: 167.90 + 43.80 + 34.67 = 246.37 or, unrounded, 246.375
    record(PAGE, "Roseville, three years", "246.38", total, "Mgal", 0.0051, source, "S")
    record(PAGE, "Roseville, money", "380157", total * 1543, "USD", 10.0, source, "S",
           "the sheet multiplies the rounded volume")  # fmt: skip


@pytest.mark.published
@pytest.mark.parametrize(
    ("rate", "printed"), [(0.02, "31.4236"), (0.03, "25.7298"), (0.07, "13.8007")]
)
def test_annuity(rate: float, printed: str) -> None:
    ours = annuity_factor(rate, 50)
    record(PAGE, f"annuity, 50 years at {rate:.0%}", printed, ours, "1", None, "computed", "C")
    assert ours == pytest.approx(sum((1 + rate) ** -n for n in range(1, 51)), rel=1e-12)


triangles = st.builds(
    Triangle, st.floats(0.0, 0.2), st.floats(60.0, 40 * HOUR), st.floats(0.05, 12.0)
)


@pytest.mark.analytic
@settings(max_examples=60, deadline=None)
@given(st.lists(triangles, min_size=1, max_size=4), st.floats(300.0, 6 * HOUR))
def test_no_water_is_made_or_lost(some: list[Triangle], step: float) -> None:
    ordinates = triangle_ordinates(some, step)
    assert (ordinates >= -1e-18).all()
    assert float(ordinates.sum()) * step == pytest.approx(sum(one.share for one in some), abs=1e-12)


@pytest.mark.independent
@pytest.mark.parametrize("one", EXAMPLE)
def test_the_run_off_is_the_integral_of_a_triangle(one: Triangle) -> None:
    def height(t: float) -> float:
        """The triangle by its peak, 2R/(T(1 + K)), not by its area."""
        if t < one.rise:
            return one.peak * t / one.rise
        return one.peak * max(one.end - t, 0.0) / (one.end - one.rise)

    for time in np.linspace(0.1, 1.0, 7) * one.end:
        area, _ = quad(height, 0.0, time, points=[min(one.rise, time)])
        assert float(triangle_run_off(one, time)) == pytest.approx(area, rel=1e-9)


@pytest.mark.analytic
def test_a_peak_without_the_recession_would_make_water() -> None:
    one = EXAMPLE[2]
    wrong_peak = 2 * one.share / one.rise
    assert wrong_peak * one.end / 2 == pytest.approx(one.share * (1 + one.recession))
    assert one.peak * one.end / 2 == pytest.approx(one.share)


@pytest.mark.analytic
def test_night_flow_of_a_made_basin() -> None:
    # wastewater of 0.02 that falls by 70 % at night beside infiltration of 0.005
    average, least = 0.025, 0.005 + 0.3 * 0.02
    assert wastewater_production(least, average, 0.7) == pytest.approx(0.005, rel=1e-12)
    assert wastewater_production(average, average, 1.0) == pytest.approx(average)
    assert minimum_flow_factor(0.01, 0.85) == pytest.approx(0.0085)
    # the size of the basin counts: ADF is an exponent
    small = stevens_schutzbach(0.05 * MGD, 0.1 * MGD) / MGD
    assert small / 0.1 != pytest.approx(stevens_schutzbach(0.5 * MGD, 1.0 * MGD) / MGD, rel=0.01)


def test_what_is_out_of_range() -> None:
    with pytest.raises(OutOfRangeError, match="minimum_flow"):
        stevens_schutzbach(2.0, 1.0)
    with pytest.raises(OutOfRangeError, match="factor"):
        wastewater_production(0.1, 1.0, 0.5)
    with pytest.raises(OutOfRangeError, match="sum of R"):
        triangle_ordinates([Triangle(0.6, HOUR, 1.0)] * 2, HOUR)
    with pytest.raises(InputError, match="at least one"):
        triangle_ordinates([], HOUR)
    with pytest.raises(OutOfRangeError, match="K"):
        triangle_run_off(Triangle(0.1, HOUR, 0.0), [1.0])
    with pytest.raises(OutOfRangeError, match="rain"):
        rain_response([1.0], [-0.1], 1.0)
    with pytest.raises(OutOfRangeError, match="step"):
        triangle_ordinates(EXAMPLE, 0.0)
