"""Lengths from what was measured."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from drainwright.checks import Outcome
from drainwright.errors import InputError
from drainwright.planning.cut_length import plan_cut, plan_length, to_zero
from drainwright.records.lateral import EndForm, FarAccess, LengthMeasurement, MeasuringWay
from drainwright.records.material import Tube
from tests.planning.sites import FOOT, INCH, lateral, site, survey


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("measurement", "feet"),
    [
        (LengthMeasurement(MeasuringWay.MAIN_CAMERA, 41 * FOOT, offset=1.5 * FOOT), 39.5),
        (LengthMeasurement(MeasuringWay.CLEANOUT_CAMERA, 47 * FOOT, offset=6 * FOOT), 41.0),
        (LengthMeasurement(MeasuringWay.SONDE, 40 * FOOT, rise=9 * FOOT), 41.0),  # 9-40-41
        (LengthMeasurement(MeasuringWay.SONDE, 42 * FOOT, 2 * FOOT, 9 * FOOT), 41.0),  # riser apart
        (LengthMeasurement(MeasuringWay.TAPE, 40 * FOOT), 40.0),
    ],
)
def test_each_way_has_its_conversion(measurement: LengthMeasurement, feet: float) -> None:
    assert to_zero(measurement).length == pytest.approx(feet * FOOT)


def test_two_ways_agree_within_the_larger_allowance() -> None:
    near = plan_length(site())
    assert near.agreement.outcome is Outcome.MET
    assert near.length == pytest.approx((41 + math.hypot(40.6, 4)) / 2 * FOOT)
    assert near.uncertainty == pytest.approx((41 - math.hypot(40.6, 4)) / 2 * FOOT)
    far = site(lateral=lateral(lengths=(LengthMeasurement(MeasuringWay.SONDE, 40.3 * FOOT),)))
    assert plan_length(far).agreement.outcome is Outcome.NOT_MET


def test_one_way_alone_is_not_assessed() -> None:
    plan = plan_length(site(lateral=lateral(lengths=())))
    assert plan.agreement.outcome is Outcome.NOT_ASSESSED
    assert plan.uncertainty == pytest.approx(0.5 * FOOT)


def test_the_list_is_no_measurement() -> None:
    listed = (LengthMeasurement(MeasuringWay.LISTED, 35 * FOOT),)
    plan = plan_length(site(lateral=lateral(lengths=listed)))
    assert plan.length == pytest.approx(41 * FOOT)


def test_the_gap_to_the_cleanout() -> None:
    short = plan_length(site(lateral=lateral(lined_length=38 * FOOT)))
    assert short.gap == pytest.approx(short.length - 38 * FOOT)
    none = plan_length(site(lateral=lateral(far_access=FarAccess.NONE)))
    assert none.gap is None


def test_lining_beyond_the_pipe_is_refused() -> None:
    with pytest.raises(InputError, match="lined_length"):
        plan_length(site(lateral=lateral(lined_length=50 * FOOT)))
    with pytest.raises(InputError, match="length"):
        plan_length(site(lateral=lateral(lengths=(), cleanout_distance=None), survey=None))
    assert survey().length is not None


@pytest.mark.analytic
def test_cut_length_by_hand() -> None:
    tube = Tube("T", 4 * INCH, 0.003, cutting_factor=1.02, length_change=-0.01)
    where = site(lateral=lateral(end_form=EndForm.TRIMMED))
    cut = plan_cut(where, 40 * FOOT, tube)
    # (40 ft + 3 in + 9 in) = 41 ft, × 1.02 / 0.99
    assert cut.cut == pytest.approx(41 * FOOT * 1.02 / 0.99)
    blind = plan_cut(site(), 40 * FOOT, replace(tube, cutting_factor=1.0, length_change=0.0))
    assert blind.cut == pytest.approx(40.25 * FOOT)
