"""Reduction by paired basins: the constructed set, the table of storms, and general libraries."""

from __future__ import annotations

import math

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.power import TTestIndPower

from drainwright.engineering.paired_basins import (
    CONTROL_LOG,
    DOUBLE_MASS,
    LOG_RATIO,
    RAIN_SLOPE,
    Storms,
    control_adjusted_slope,
    control_log_ancova,
    double_mass,
    interaction_p_value,
    log_ratio,
    prove_reduction,
    rain_log,
    rain_slope,
    storms_of,
)
from drainwright.engineering.ratio_interval import fieller_interval, slope_through_origin
from drainwright.engineering.storms_needed import smallest_change, storms_needed
from drainwright.errors import InputError, OutOfRangeError
from tests.check_rows import record

PAGE = "infiltration"
SOURCE = "constructed six-storm set"
BEFORE = storms_of(
    [0.8, 1.2, 1.5, 2.0, 2.6, 3.1],
    [0.09, 0.15, 0.20, 0.27, 0.37, 0.44],
    [0.10, 0.16, 0.21, 0.29, 0.39, 0.47],
)
AFTER = storms_of(
    [0.9, 1.1, 1.6, 1.9, 2.4, 3.0],
    [0.045, 0.060, 0.090, 0.110, 0.140, 0.180],
    [0.11, 0.14, 0.21, 0.26, 0.33, 0.42],
)


def made(cut: float, count: int, spread: float, seed: int, slope: float = 1.0) -> Storms:
    """Storms whose treated basin brings `1 - cut` of the control to a power."""
    pick = np.random.default_rng(seed)
    rain = pick.uniform(0.01, 0.08, count)
    control = 1e4 * rain * np.exp(pick.normal(0.0, 0.3, count))
    noise = np.exp(pick.normal(0.0, spread, count))
    return storms_of(rain, (1.0 - cut) * control**slope * noise, control)


@pytest.mark.published
def test_slopes_of_the_constructed_set() -> None:
    assert BEFORE.control is not None
    assert AFTER.control is not None
    for name, printed, x, y in (
        ("treated, before", "0.13838", BEFORE.rain, BEFORE.treated),
        ("treated, after", "0.05819", AFTER.rain, AFTER.treated),
        ("control, before", "0.14729", BEFORE.rain, BEFORE.control),
        ("control, after", "0.13660", AFTER.rain, AFTER.control),
    ):
        record(PAGE, f"slope on rain, {name}", printed, slope_through_origin(x, y), "Mgal/in",
               None, SOURCE, "C")  # fmt: skip


@pytest.mark.published
def test_cuts_of_the_constructed_set() -> None:
    raw = 100 * rain_slope(BEFORE, AFTER).reduction
    record(PAGE, "raw cut of the slope", "57.95", raw, "%", None, SOURCE, "C")
    adjusted = 100 * control_adjusted_slope(BEFORE, AFTER)
    record(PAGE, "cut less the control's", "54.66", adjusted, "%", None, SOURCE, "C")


@pytest.mark.published
@pytest.mark.parametrize(
    ("spread", "cut", "printed"),
    [(0.25, 0.5, "4"), (0.25, 0.3, "9"), (0.25, 0.2, "21"),
     (0.40, 0.5, "7"), (0.40, 0.3, "21"), (0.40, 0.2, "52")],
)  # fmt: skip
def test_storms_needed(spread: float, cut: float, printed: str) -> None:
    name = f"storms for a cut of {cut:.0%}, spread {spread:g}"
    record(PAGE, name, printed, storms_needed(cut, spread), "1", 0.4, "noncentral t", "C")


@pytest.mark.independent
@pytest.mark.parametrize(("spread", "cut"), [(0.25, 0.3), (0.40, 0.2), (0.6, 0.15)])
def test_storms_needed_by_a_general_library(spread: float, cut: float) -> None:
    effect = -math.log1p(-cut) / spread
    wanted = TTestIndPower().solve_power(effect, power=0.8, alpha=0.05, ratio=1.0)
    assert storms_needed(cut, spread) == math.ceil(wanted)


def fitted(before: Storms, after: Storms, *, rain: bool, interaction: bool = False):  # type: ignore[no-untyped-def]
    """The same model by a general library's least squares."""
    beside = [
        np.log(one.rain if rain else one.control if one.control is not None else one.rain)
        for one in (before, after)
    ]
    is_after = np.repeat([0.0, 1.0], [before.rain.size, after.rain.size])
    x = np.concatenate(beside)
    terms = [np.ones_like(x), x, is_after]
    if interaction:
        terms.append(is_after * x)
    y = np.log(np.concatenate([before.treated, after.treated]))
    return sm.OLS(y, np.column_stack(terms)).fit()


PAIRS = [(BEFORE, AFTER), (made(0.0, 8, 0.3, 1), made(0.35, 11, 0.3, 2))]


@pytest.mark.independent
@pytest.mark.parametrize(("before", "after"), PAIRS)
@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_common_slope_by_a_general_library(
    before: Storms, after: Storms, confidence: float
) -> None:
    for method, rain in ((rain_log, True), (control_log_ancova, False)):
        found, fit = method(before, after, confidence), fitted(before, after, rain=rain)
        low, high = fit.conf_int(1 - confidence)[2]
        assert found.reduction == pytest.approx(1 - math.exp(fit.params[2]), rel=1e-9)
        assert found.low == pytest.approx(1 - math.exp(high), rel=1e-9)
        assert found.high == pytest.approx(1 - math.exp(low), rel=1e-9)
        assert found.p_value == pytest.approx(fit.pvalues[2], rel=1e-6)
        assert found.spread == pytest.approx(math.sqrt(fit.mse_resid), rel=1e-9)


@pytest.mark.independent
@pytest.mark.parametrize(("before", "after"), PAIRS)
def test_interaction_by_a_general_library(before: Storms, after: Storms) -> None:
    fit = fitted(before, after, rain=False, interaction=True)
    assert interaction_p_value(before, after) == pytest.approx(fit.pvalues[3], rel=1e-6)


@pytest.mark.independent
@pytest.mark.parametrize(("before", "after"), PAIRS)
def test_log_ratio_by_a_general_library(before: Storms, after: Storms) -> None:
    assert before.control is not None
    assert after.control is not None
    found = log_ratio(before, after)
    test = stats.ttest_ind(
        np.log(after.treated / after.control), np.log(before.treated / before.control)
    )
    low, high = test.confidence_interval(0.95)
    assert found.p_value == pytest.approx(test.pvalue, rel=1e-9)
    assert found.low == pytest.approx(1 - math.exp(high), rel=1e-9)
    assert found.high == pytest.approx(1 - math.exp(low), rel=1e-9)


@pytest.mark.independent
@pytest.mark.parametrize(("before", "after"), PAIRS)
def test_rain_slope_by_a_general_library(before: Storms, after: Storms) -> None:
    zeros = np.zeros_like
    design = np.column_stack(
        [
            np.concatenate([before.rain, zeros(after.rain)]),
            np.concatenate([zeros(before.rain), after.rain]),
        ]
    )
    fit = sm.OLS(np.concatenate([before.treated, after.treated]), design).fit()
    found = rain_slope(before, after)
    assert found.reduction == pytest.approx(1 - fit.params[1] / fit.params[0], rel=1e-9)
    assert found.p_value == pytest.approx(float(fit.t_test([-1.0, 1.0]).pvalue), rel=1e-6)
    # at the ends of the interval the contrast b2 - rho b1 is just significant
    for end in (found.low, found.high):
        assert float(fit.t_test([-(1 - end), 1.0]).pvalue) == pytest.approx(0.05, rel=1e-6)


@pytest.mark.independent
def test_fieller_covers_the_ratio_as_often_as_it_says() -> None:
    pick = np.random.default_rng(7)
    inside = 0
    for _ in range(2000):
        a, b = pick.normal(1.0, 0.2), pick.normal(2.0, 0.3)
        low, high = fieller_interval(a, b, (0.04, 0.09), 1.959964)
        inside += low <= 0.5 <= high
    assert inside / 2000 == pytest.approx(0.95, abs=0.015)
    assert math.isnan(fieller_interval(1.0, 0.1, (0.04, 0.09), 2.0)[0])


@pytest.mark.analytic
def test_an_exact_cut_is_found_exactly() -> None:
    before, after = made(0.0, 6, 1e-9, 3), made(0.4, 6, 1e-9, 4)
    for method in (control_log_ancova, log_ratio):
        assert method(before, after).reduction == pytest.approx(0.4, abs=1e-7)
    assert double_mass(before, after).reduction == pytest.approx(0.4, abs=1e-7)
    assert math.isnan(double_mass(before, after).low)


@pytest.mark.independent
def test_the_interval_covers_a_known_cut() -> None:
    inside = 0
    for seed in range(300):
        before, after = made(0.0, 8, 0.25, 2 * seed), made(0.3, 8, 0.25, 2 * seed + 1)
        found = control_log_ancova(before, after)
        inside += found.low <= 0.3 <= found.high
    assert inside / 300 == pytest.approx(0.95, abs=0.04)


def test_what_is_reported() -> None:
    proof = prove_reduction(BEFORE, AFTER)
    assert proof.reported == CONTROL_LOG
    assert [one.method for one in proof.methods] == [
        "rain slope", "rain log", "control log ancova", "log ratio", "double mass",
    ]  # fmt: skip
    apart = prove_reduction(made(0.0, 12, 0.05, 5), made(0.3, 12, 0.05, 6, slope=0.6))
    assert apart.reported == LOG_RATIO
    assert apart.interaction < 0.05
    alone = prove_reduction(Storms(BEFORE.rain, BEFORE.treated), Storms(AFTER.rain, AFTER.treated))
    assert alone.reported == ""
    assert "never the only evidence" in alone.why
    assert {one.method for one in alone.methods} == {RAIN_SLOPE, "rain log"}
    assert DOUBLE_MASS not in {one.method for one in alone.methods}


def test_what_can_t_be_compared() -> None:
    with pytest.raises(InputError, match="at least three"):
        storms_of([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(OutOfRangeError, match="treated"):
        storms_of([1.0, 2.0, 3.0], [1.0, 0.0, 2.0])
    with pytest.raises(InputError, match="as many"):
        storms_of([1.0, 2.0, 3.0], [1.0, 2.0])
    same = storms_of([1.0] * 3, [1.0, 2.0, 3.0], [1.0] * 3)
    with pytest.raises(InputError, match="too alike"):
        control_log_ancova(same, same)
    with pytest.raises(InputError, match="control"):
        log_ratio(Storms(BEFORE.rain, BEFORE.treated), AFTER)
    with pytest.raises(OutOfRangeError):
        storms_needed(0.0, 0.25)
    with pytest.raises(OutOfRangeError, match="confidence"):
        rain_log(BEFORE, AFTER, 1.0)


@pytest.mark.analytic
def test_smallest_change() -> None:
    # t(10) at 97.5 % is 2.228139 (any table); 2.228139 x 0.3 x sqrt(1/6 + 1/6) = 0.385925
    assert smallest_change((0.3, 0.3), (6, 6)) == pytest.approx(1 - math.exp(-0.385925), rel=1e-5)
