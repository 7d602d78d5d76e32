"""Warranty dates, the sample, and the second look."""

from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.acceptance.warranty import (
    DefectClass,
    sample,
    second_look,
    warranty_plans,
    years_later,
)
from drainwright.errors import InputError
from drainwright.records.survey import Observation, ObservationKind, Survey, SurveyMethod
from drainwright.records.warranty_terms import WarrantyTerms

KEYS = st.lists(st.text(min_size=1, max_size=6), min_size=1, max_size=40, unique=True)


@settings(max_examples=50, deadline=None)
@given(KEYS, st.floats(0.01, 1.0), st.integers(0, 99))
def test_a_sample_depends_on_seed_and_keys_alone(keys: list[str], share: float, seed: int) -> None:
    chosen = sample(keys, share, seed)
    assert chosen == sample(reversed(keys), share, seed)
    assert set(chosen) <= set(keys)
    assert 1 <= len(chosen) <= len(keys)
    assert len(chosen) >= share * len(keys) - 1e-6


def test_another_seed_chooses_others() -> None:
    keys = [f"L-{n}" for n in range(40)]
    assert len({sample(keys, 0.2, seed) for seed in range(8)}) > 1
    with pytest.raises(InputError, match="above 0"):
        sample(keys, 0.0, 1)


def test_the_window_is_the_last_wet_season_before_the_end() -> None:
    terms = WarrantyTerms(years=3, wet_months=(3, 4, 5), days_before_end=30)
    (plan,) = warranty_plans({"A-1": dt.date(2026, 11, 20)}, terms)
    assert plan.ends == dt.date(2029, 11, 20)
    assert (plan.window_from, plan.window_to) == (dt.date(2029, 3, 1), dt.date(2029, 5, 31))
    assert plan.in_wet_season


def test_a_window_without_a_wet_month_says_so() -> None:
    (plan,) = warranty_plans({"A-1": dt.date(2026, 6, 5)}, WarrantyTerms(1, wet_months=()))
    assert not plan.in_wet_season
    assert plan.window_to == dt.date(2027, 5, 6)


def test_a_leap_day_has_its_anniversary() -> None:
    assert years_later(dt.date(2028, 2, 29), 1) == dt.date(2029, 2, 28)


def seen(*observations: Observation) -> Survey:
    """A survey that saw this."""
    day = dt.date(2027, 4, 2)
    return Survey("A-1", day, None, SurveyMethod.MAIN, "up", observations=observations)


def test_new_grown_and_known_findings() -> None:
    wrinkle = Observation(ObservationKind.LINING_DEFECT, 3.0, 0.005, "small_length")
    post = seen(wrinkle, Observation(ObservationKind.INFILTRATION, 7.0))
    later = seen(
        Observation(ObservationKind.LINING_DEFECT, 2.1, 0.008, "small_length"),
        Observation(ObservationKind.INFILTRATION, 6.1),
        Observation(ObservationKind.CRACK, 5.0),
        Observation(ObservationKind.CRACK, 20.0),
    )
    found = second_look(post, later, lined=12.0, shift=1.0)
    assert [(one.defect, one.words) for one in found] == [
        (DefectClass.WATCH, "grown since post-lining TV"),
        (DefectClass.NOTE, "as at post-lining TV"),
        (DefectClass.REPAIR, "new since post-lining TV"),
    ]
