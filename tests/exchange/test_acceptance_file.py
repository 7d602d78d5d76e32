"""The acceptance form: its example reads, and every fault is told at once with its place."""

from __future__ import annotations

import datetime as dt

import pytest

from drainwright.errors import InputError
from drainwright.exchange.acceptance_file import EXAMPLE, read_acceptance
from drainwright.records.post_inspection import Looked, PostInspection, TvPlace
from drainwright.records.specimen import CouponTest, SamplingPlan
from drainwright.records.tightness_report import TightnessReport
from drainwright.units import FOOT, PSI

ZONE = "America/Chicago"


def test_the_example_reads() -> None:
    found = read_acceptance(EXAMPLE.encode(), "form.toml", ZONE)
    by_kind = {type(one): one for one in found}
    test = by_kind[TightnessReport]
    assert isinstance(test, TightnessReport)
    assert test.at == dt.datetime(2026, 11, 18, 15, 12, tzinfo=dt.UTC)  # 9:12 in Chicago
    assert [round(one.pressure / PSI, 6) for one in test.readings] == [5.4, 5.3]
    assert test.readings[1].time == 300.0
    assert test.readings[0].temperature == pytest.approx(286.483, abs=1e-3)
    seen = by_kind[PostInspection]
    assert isinstance(seen, PostInspection)
    (invert,) = seen.seen(TvPlace.INVERT)
    assert invert.looked is Looked.WRINKLE
    assert invert.wrinkle == pytest.approx(0.003)
    assert invert.distance == pytest.approx(21 * FOOT)
    coupon = by_kind[CouponTest]
    assert isinstance(coupon, CouponTest)
    assert coupon.curve_name == "A-04-1.csv"
    plan = by_kind[SamplingPlan]
    assert isinstance(plan, SamplingPlan)
    assert plan.share == 0.25


def test_every_fault_is_told_at_once() -> None:
    text = """
[[tightness]]
lateral = "A-1"
number = 0
at = 2026-11-18T09:12:00
by = "x"
method = "hold"
start_pressure = 4
readings = [["0 min"]]
color = "red"

[[wall_readings]]
lateral = "A-1"
number = 1
on = 2026-11-17
readings = [{ wall = "3 psi" }]

[walls]
"""
    with pytest.raises(InputError) as caught:
        read_acceptance(text.encode(), "form.toml", ZONE)
    told = "\n".join(str(fault) for fault in caught.value.faults)
    for words in (
        "form.toml: tightness 1: number",
        "tightness 1: start_pressure",
        "tightness 1: readings",
        "tightness 1: color",
        "wall_readings 1: by: is missing",
        "wall_readings 1: readings",
        "walls",
    ):
        assert words in told, told


def test_the_same_test_twice_is_a_fault() -> None:
    one = '[[claim]]\nkey = "C-1"\nlateral = "A"\non = 2026-11-17\nby = "x"\nwhat = "y"\n'
    with pytest.raises(InputError, match="there twice"):
        read_acceptance((one + one).encode(), "form.toml", ZONE)


@pytest.mark.parametrize("text", ["[[tightness", "\xff"])
def test_what_is_no_form(text: str) -> None:
    with pytest.raises(InputError):
        read_acceptance(text.encode("latin-1"), "form.toml", ZONE)
