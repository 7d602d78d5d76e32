"""Sample statistics against a general library; enclosed air against the gas law; curved pieces."""

from __future__ import annotations

import math
import statistics

import pytest

from drainwright.engineering.air_cooling import drop_by_cooling, pressures_without_cooling
from drainwright.engineering.sample_statistics import sample_statistics
from drainwright.engineering.wall_readings import rise_of_curved_piece, wall_summary
from drainwright.errors import InputError, OutOfRangeError
from drainwright.units import PSI
from tests.check_rows import record

# EPA/600/R-12/004 Table 4-18 (S), psi
FIELD = (276920.0, 187218.0, 369998.0, 270265.0, 214134.0)


@pytest.mark.published
def test_field_samples_of_the_epa() -> None:
    found = sample_statistics(FIELD)
    source = "EPA/600/R-12/004 Table 4-18"
    record("flexure", "mean of five moduli", "263707", found.mean, "psi", None, source, "S")
    record("flexure", "their deviation", "70398", found.deviation, "psi", None, source, "S")


@pytest.mark.independent
@pytest.mark.parametrize("confidence", [0.90, 0.95, 0.99])
def test_the_interval_is_that_of_scipy(confidence: float) -> None:
    from scipy import stats

    found = sample_statistics(FIELD, confidence)
    mean, error = statistics.mean(FIELD), statistics.stdev(FIELD) / math.sqrt(len(FIELD))
    low, high = stats.t.interval(confidence, len(FIELD) - 1, loc=mean, scale=error)
    assert (found.mean_low, found.mean_high) == pytest.approx((low, high))


@pytest.mark.published
@pytest.mark.parametrize(("count", "most"), [(3, 1.1543), (5, 1.7150), (8, 2.1266), (10, 2.2900)])
def test_grubbs_critical_values(count: int, most: float) -> None:
    """Two-sided, 5 %: Grubbs and Beck, Technometrics 14:847 (1972), from memory (M)."""
    # n − 1 equal values and one at a distance x scatter so that G is (n − 1)/sqrt(n) for any x;
    # a sample with G just below and just above the printed value tells the limit
    for step, flagged in ((-0.004, ()), (0.004, (count - 1,))):
        values = _with_distance(count, most + step)
        assert sample_statistics(values).outliers == flagged


def _with_distance(count: int, g: float) -> list[float]:
    """A sample whose last value lies g standard deviations from the mean."""
    rest = [(-1.0) ** place * (1.0 if place else 0.0) for place in range(count - 1)]
    low, high = 0.0, 1e4
    for _ in range(200):
        middle = (low + high) / 2
        values = [*rest, middle]
        away = abs(middle - statistics.mean(values)) / statistics.stdev(values)
        low, high = (middle, high) if away < g else (low, middle)
    return [*rest, (low + high) / 2]


def test_few_values() -> None:
    assert math.isnan(sample_statistics([1.0]).deviation)
    assert sample_statistics([1.0, 2.0]).outliers == ()
    assert sample_statistics([2.0, 2.0, 2.0]).outliers == ()
    with pytest.raises(InputError):
        sample_statistics([])
    with pytest.raises(OutOfRangeError):
        sample_statistics([1.0, 2.0], 1.0)


@pytest.mark.published
def test_cooling_costs_half_a_psi() -> None:
    # TRADE 21 (C): 14.5 °F cost 0.5 psi at 3.5 psig
    drop = drop_by_cooling(3.5 * PSI, 293.15, 14.5 * 5 / 9, 101_325.0) / PSI
    record("tightness", "drop by 14.5 degF at 3.5 psi", "0.5", drop, "psi", None,
           "the trade's figure, computed", "C")  # fmt: skip


@pytest.mark.analytic
def test_taking_the_cooling_off_gives_the_first_pressure_back() -> None:
    first, start = 24_000.0, 293.15
    for cooling in (-10.0, 0.0, 3.0, 12.0):
        fallen = first - drop_by_cooling(first, start, cooling, 90_000.0)
        kept = pressures_without_cooling([first, fallen], [start, start - cooling], 90_000.0)
        assert kept == pytest.approx([first, first])


def test_each_pressure_needs_its_temperature() -> None:
    with pytest.raises(InputError):
        pressures_without_cooling([1.0, 2.0], [290.0], 1e5)


@pytest.mark.analytic
def test_rise_of_a_piece_of_the_circle() -> None:
    # a piece as wide as the radius: r (1 − cos 30°)
    assert rise_of_curved_piece(0.05, 0.05) == pytest.approx(0.05 * (1 - math.cos(math.pi / 6)))
    with pytest.raises(OutOfRangeError):
        rise_of_curved_piece(0.11, 0.05)


@pytest.mark.published
@pytest.mark.parametrize(
    ("read", "specified", "printed"), [(14.2, 18.0, "78.9"), (11.9, 15.0, "79.3")]
)
def test_walls_of_the_epa(read: float, specified: float, printed: str) -> None:
    share = 100 * wall_summary([read / 1e3], specified / 1e3).mean_share
    record("wall", f"{read} of {specified} mm", printed, share, "%", None,
           "EPA/600/R-12/004", "S")  # fmt: skip
    assert share < 87.5  # ASTM D5813 (M)
