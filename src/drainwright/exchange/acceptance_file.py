"""Tests, inspections and follow-up of finished laterals as a TOML form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from typing import Any, TypeAlias

from drainwright.errors import Fault, raise_if_any
from drainwright.exchange import toml_table as table
from drainwright.exchange.toml_table import choice, date, each, quantity, text, whole, yes_no
from drainwright.records.acceptance import Claim, NonConformity, Submittal, SubmittalStep
from drainwright.records.post_inspection import (
    Looked,
    PlaceSeen,
    PostInspection,
    TvPlace,
    VideoFit,
    VideoState,
)
from drainwright.records.specimen import (
    CouponTest,
    CustodyStep,
    SamplingPlan,
    WallReading,
    WallReadings,
)
from drainwright.records.tightness_report import (
    Plug,
    TestedSection,
    TestReading,
    TestScope,
    TightnessReport,
)

AcceptanceRecord: TypeAlias = (
    TightnessReport
    | PostInspection
    | WallReadings
    | CouponTest
    | SamplingPlan
    | NonConformity
    | Claim
    | Submittal
)

EXAMPLE = """\
# Tests and inspections of finished laterals: drainwright accept record STORE FILE
# Every number with its unit, as text. A time without offset is on the project's clock.

[sampling]                          # fixed before lining
on = 2026-10-01
by = "engineer's name"
share = "25 %"                      # of the laterals that give coupons
seed = 7
specimens = 5

[[tightness]]
lateral = "A-04"
number = 1
at = 2026-11-18T09:12:00
by = "crew lead's name"
method = "hold"                     # ncpi, astm-c828, astm-f1417, en1610-la … -ld, en1610-w,
                                    # hold, water-level, exfiltration
sections = [{ diameter = "4 in", length = "44.1 ft" }]
plugs = [{ place = "main, upstream of the tap" }, { place = "cleanout" }]
inside = "collar and lateral to the cleanout"
water_above_pipe = "3 ft"
start_pressure = "5.3 psi"
allowed_drop = "0.5 psi"
test_time = "5 min"
readings = [["0 min", "5.4 psi", "56 degF"], ["5 min", "5.3 psi", "56 degF"]]
gauge = "test gauge"
gauge_due = 2027-06-15
# not_isolated = "why the lateral could not be isolated"
# scope = "collar between packers"

[[post_inspection]]
lateral = "A-04"
number = 1
on = 2026-11-17
by = "camera operator's name"
groundwater = "5.9 ft"              # below ground that day
delivered = 2026-11-18
places = [
  { place = "collar, upstream edge", looked = "sound" },
  { place = "collar, downstream edge", looked = "sound" },
  { place = "hole rim", looked = "sound" },
  { place = "invert along the liner", looked = "wrinkle", wrinkle = "3 mm", distance = "21 ft" },
  { place = "bends", looked = "none there" },
  { place = "far end", looked = "sound" },
]
[post_inspection.video]
file = "A-04 post.mp4"
identity = true                     # true, false; leave out what nobody looked at
zeroed = true
tap_panned = true
lens_clear = true
speed = "0.5 ft/s"
water_level = "0 %"

[[wall_readings]]
lateral = "A-04"
number = 1
on = 2026-11-17
by = "name"
how = "caliper at the trimmed end"
readings = [{ wall = "3.1 mm", clock = 12 }, { wall = "3.0 mm", clock = 6 }]

[[coupon]]
lateral = "A-04"
number = 1
sample = "A-04/P1"
taken_on = 2026-11-17
taken_from = "plate cast with the batch"
standard = "ASTM D790"
span = "96 mm"
width = "25 mm"
depth = "6 mm"
curve = "A-04-1.csv"                # the machine's own file, beside this one
custody = [{ on = 2026-11-18, by = "crew lead", to = "laboratory", words = "sealed bag" }]

[[non_conformity]]
key = "NC-1"
lateral = "A-05"
on = 2026-11-17
by = "name"
what = "wrinkle at the invert"
limit = "2 % of the bore or 6 mm"
distance = "12 ft"

[[claim]]
key = "C-1"
lateral = "A-05"
on = 2026-11-20
by = "resident"
what = "odor in the cellar"

[[submittal]]
key = "S-1"
title = "Resin data sheet"
section = "33 01 30.74"
steps = [{ on = 2026-09-01, by = "contractor", state = "submitted" }]
"""


def _test_readings(value: Any) -> tuple[TestReading, ...]:
    """Rows of time, pressure and, where it was read, temperature of the air."""
    if not isinstance(value, list):
        raise TypeError('must be rows such as ["5 min", "3.9 psi", "56 degF"]')
    found = []
    for row in value:
        if not isinstance(row, list) or not 2 <= len(row) <= 3:
            raise ValueError("each row has a time, a pressure and, if read, a temperature")
        warm = quantity("temperature", "temperature")(row[2]) if len(row) == 3 else None
        time, pressure = quantity("time", "time")(row[0]), quantity("pressure", "pressure")(row[1])
        found.append(TestReading(time, pressure, warm))
    return tuple(found)


def _video(value: Any) -> VideoFit:
    faults: list[Fault] = []
    found = table.record_of(
        VideoFit,
        {
            "file": text,
            "identity": yes_no,
            "zeroed": yes_no,
            "tap_panned": yes_no,
            "lens_clear": yes_no,
            "speed": quantity("velocity"),
            "water_level": quantity("share"),
        },
        value,
        "video",
        faults,
    )
    raise_if_any(faults)
    return found or VideoFit()


_LENGTH, _SMALL, _PRESSURE = quantity("length"), quantity("small_length"), quantity("pressure")
_STEP = {"on": date, "by": text, "to": text, "words": text}
_PLACE = {
    "place": choice(TvPlace),
    "looked": choice(Looked),
    "distance": _LENGTH,
    "clock": table.number,
    "wrinkle": _SMALL,
    "words": text,
    "still": text,
    "still_before": text,
}
_READING = {"wall": quantity("wall"), "distance": _LENGTH, "clock": table.number, "remark": text}
_TIGHTNESS: Mapping[str, table.Reader] = {
    "lateral": text,
    "number": whole,
    "by": text,
    "method": lambda value: text(value) if value else "",
    "scope": choice(TestScope),
    "sections": each(TestedSection, {"diameter": quantity("diameter"), "length": _LENGTH}),
    "plugs": each(Plug, {"place": text, "distance": _LENGTH, "pressure": _PRESSURE}),
    "inside": text,
    "start_pressure": _PRESSURE,
    "allowed_drop": _PRESSURE,
    "test_time": quantity("time"),
    "readings": _test_readings,
    "water_above_pipe": _LENGTH,
    "water_added": quantity("volume"),
    "gauge": text,
    "gauge_due": date,
    "not_isolated": text,
    "remark": text,
}
_OTHERS: Mapping[str, tuple[type[Any], Mapping[str, table.Reader]]] = {
    "post_inspection": (
        PostInspection,
        {
            "lateral": text, "number": whole, "on": date, "by": text, "video": _video,
            "places": each(PlaceSeen, _PLACE), "state": choice(VideoState), "state_reason": text,
            "delivered": date, "groundwater": _LENGTH, "main_reduced": quantity("share"),
            "remark": text,
        },
    ),
    "wall_readings": (
        WallReadings,
        {
            "lateral": text, "number": whole, "on": date, "by": text, "how": text, "gauge": text,
            "gauge_due": date, "readings": each(WallReading, _READING),
            "ovality": quantity("share"), "water_above_invert": _LENGTH,
        },
    ),
    "coupon": (
        CouponTest,
        {
            "lateral": text, "number": whole, "sample": text, "taken_on": date, "taken_from": text,
            "standard": text, "span": _SMALL, "width": _SMALL, "depth": _SMALL, "tested_on": date,
            "laboratory": text, "curve": text, "modulus": quantity("modulus"),
            "strength": quantity("strength"), "custody": each(CustodyStep, _STEP),
            "curved": _SMALL, "remark": text,
        },
    ),
    "non_conformity": (
        NonConformity,
        {
            "key": text, "lateral": text, "on": date, "by": text, "what": text, "limit": text,
            "distance": _LENGTH, "remedy": text, "remedied_on": date, "remedied_by": text,
            "retest": text, "closed_on": date, "closed_by": text,
        },
    ),
    "claim": (
        Claim,
        {
            "key": text, "lateral": text, "on": date, "by": text, "what": text, "answer": text,
            "settled_on": date,
        },
    ),
    "submittal": (
        Submittal,
        {
            "key": text, "title": text, "section": text,
            "steps": each(SubmittalStep, {"on": date, "by": text, "state": text, "words": text}),
        },
    ),
}  # fmt: skip
_SAMPLING: Mapping[str, table.Reader] = {
    "on": date,
    "by": text,
    "share": quantity("share"),
    "seed": whole,
    "specimens": whole,
}


def read_acceptance(data: bytes, file: str, zone: str) -> tuple[AcceptanceRecord, ...]:
    """Every record of an acceptance form; `InputError` with every fault of it.

    `zone` is the project's. A coupon's curve and the stills are named by their files.
    """
    return acceptance_records(table.read_toml(data, file), file, zone)


def acceptance_records(
    given: Mapping[str, Any], file: str, zone: str
) -> tuple[AcceptanceRecord, ...]:
    """Every record of tables that are read already, as a form or a page gives them."""
    faults: list[Fault] = []
    made: list[Any] = []
    tight = {**_TIGHTNESS, "at": table.moment(zone)}
    for name, (kind, readers) in {"tightness": (TightnessReport, tight), **_OTHERS}.items():
        rows = given.get(name, [])
        if not isinstance(rows, list):
            faults.append(Fault(name, f"must be written as [[{name}]]", str(rows)[:60]))
            continue
        read = partial(table.record_of, kind, readers, faults=faults)
        made += [read(row, f"{name} {place}") for place, row in enumerate(rows, 1)]
    if "sampling" in given:
        made.append(table.record_of(SamplingPlan, _SAMPLING, given["sampling"], "sampling", faults))
    faults += [
        Fault(key, "is not a table of an acceptance form", "")
        for key in sorted(given.keys() - {"tightness", "sampling", *_OTHERS})
    ]
    found = tuple(_named(one) for one in made if one is not None)
    faults += _double(found)
    raise_if_any(fault.placed(file=file) for fault in faults)
    return found


def _named(record: AcceptanceRecord) -> AcceptanceRecord:
    if isinstance(record, CouponTest) and record.curve:
        return replace(record, curve_name=record.curve)
    return record


def _double(found: tuple[AcceptanceRecord, ...]) -> list[Fault]:
    seen: set[tuple[str, str]] = set()
    faults = []
    for one in found:
        name = (type(one).__name__, one.key)
        if name in seen:
            faults.append(Fault(name[0], "is there twice", one.key))
        seen.add(name)
    return faults
