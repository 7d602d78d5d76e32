"""Two revisions in plain words."""

from __future__ import annotations

import datetime as dt
import types
import typing
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any, get_args, get_type_hints

import pytest

from drainwright.records.lateral import AddressProof, FarAccess, Lateral, LengthMeasurement
from drainwright.records.lateral import MeasuringWay as Way
from drainwright.records.specification import default_specification
from drainwright.records.standing import Knowledge, Standing
from drainwright.records.survey import Observation, ObservationKind
from drainwright.sources import cite
from drainwright.storage import Record, RecordStore
from drainwright.storage.compare import compare, compare_revisions
from drainwright.storage.field_words import CLOCK, kind_of_number
from drainwright.storage.kinds import KINDS
from drainwright.units import KINDS as NUMBER_KINDS
from drainwright.units import UnitSystem
from tests.storage.samples import ONE_OF_EACH, hours, lateral, project, survey, writing

US, SI = UnitSystem.US, UnitSystem.SI
FOOT, INCH = 0.3048, 0.0254
MAY = dt.date(2026, 5, 4)


def told(old: Record, new: Record, system: UnitSystem = US) -> list[str]:
    return [str(change) for change in compare(old, new, system)]


@pytest.mark.parametrize(
    ("fields_now", "us", "si"),
    [
        ({"inside_diameter": 4 * INCH}, "inside diameter: not known → 4.00 in", "102 mm"),
        ({"tap_distance": 100 * FOOT}, "tap distance: 90.0 ft → 100.0 ft", "27.43 m → 30.48 m"),
        ({"tap_distance": 90.001 * FOOT}, "tap distance: 90.000 ft → 90.001 ft", "27.4320 m"),
        ({"tap_clock": 2.0}, "clock position of the tap: not known → 2 o’clock", "2 o’clock"),
        ({"remark": "by the oak"}, "remark: empty → “by the oak”", "“by the oak”"),
        ({"in_use": False}, "in use: not known → no", "no"),
        (
            {"far_access": FarAccess.OUTDOORS},
            "access at the far end: unknown → cleanout outdoors",
            "cleanout outdoors",
        ),
        ({"foreign_pipes": (10 * FOOT,)}, "foreign pipe 1: added 10.0 ft", "added 3.05 m"),
        ({"premises": ("P-1",)}, "premises 1: added “P-1”", "“P-1”"),
        (
            {"lengths": (LengthMeasurement(Way.SONDE, 40 * FOOT, by="Ann", on=MAY),)},
            "length 1: added sonde above ground, reading 40.0 ft, by “Ann”, date 2026-05-04",
            "reading 12.19 m",
        ),
        (
            {"proof": AddressProof("dye", "Ann", MAY)},
            "proof of the address: not known → “dye”, by “Ann”, date 2026-05-04",
            "dye",
        ),
        (
            {"standing": {"tap_depth": Standing(Knowledge.ASSUMED)}},
            "standing, tap depth: added assumed",
            "added assumed",
        ),
        ({"geometry": ((1.0, 2.0),)}, "geometry: 0 points → 1 points, moved or other ones", "1"),
    ],
    ids=lambda one: next(iter(one)) if isinstance(one, dict) else "",
)
def test_a_changed_field_in_words(fields_now: dict[str, Any], us: str, si: str) -> None:
    old = lateral("L-1", tap_distance=90 * FOOT)
    new = replace(old, **fields_now)
    assert told(old, new) == [us]
    (in_si,) = told(old, new, SI)
    assert si in in_si
    assert len(told(new, old)) == 1


def test_what_is_equal_is_not_told() -> None:
    for record in ONE_OF_EACH:
        assert told(record, record) == []


def test_changes_inside_of_what_a_survey_saw() -> None:
    def seen(at: float, share: float, **more: Any) -> Observation:
        return Observation(ObservationKind.ROOTS, at * FOOT, share, "share", **more)

    old = survey("L-1", observations=(seen(3, 0.1), seen(12, 0.2), seen(20, 0.3)))
    new = replace(old, observations=(seen(3, 0.1), seen(12, 0.25, clock_from=6.0), seen(30, 0.3)))
    assert told(old, new) == [
        "observation 2, measure: 20.0 % → 25.0 %",
        "observation 2, clock from: not known → 6 o’clock",
        "observation 3, distance: 20.0 ft → 30.0 ft",
    ]
    fewer = replace(old, observations=old.observations[1:])
    assert told(old, fewer) == [
        "observation 1: removed roots, distance 3.0 ft, measure 10.0 %, measure kind “share”"
    ]
    assert told(fewer, old)[0].startswith("observation 1: added roots, distance 3.0 ft")


def test_a_measure_of_another_kind_is_shown_by_its_own() -> None:
    old = survey("L-1", observations=(Observation(ObservationKind.OFFSET, 1.0, 0.1, "share"),))
    new = survey(
        "L-1", observations=(Observation(ObservationKind.OFFSET, 1.0, INCH, "small_length"),)
    )
    assert told(old, new)[0] == "observation 1, measure: 10.0 % → 1.00 in"


def test_a_changed_limit_names_itself_and_its_source() -> None:
    old = default_specification()
    new = old.with_limits({"offset_most": (1.25 * INCH, cite("owner", "clause 4"))})
    assert told(old, new) == [
        "limits, largest joint offset, value: 1.00 in → 1.25 in",
        f"limits, largest joint offset, source: {cite('memory')} → {cite('owner', 'clause 4')}",
    ]
    without = old.with_limits({"offset_most": (None, cite("owner"))})
    assert told(old, without)[0] == "limits, largest joint offset, value: 1.00 in → not known"


def test_two_revisions_from_the_store(store: RecordStore) -> None:
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("oak", lateral("L-1"), expected=0)
    with writing(store, hours(1), by="Ben", reason="dug up") as session:
        session.put("oak", lateral("L-1", material="clay"), expected=1)
        session.withdraw("oak", Lateral, "L-1", expected=2)
    with store.read() as view:
        first = compare_revisions(view, "oak", Lateral, "L-1", (1, 2), US)
        second = compare_revisions(view, "oak", Lateral, "L-1", (2, 3), US)
        back = compare_revisions(view, "oak", Lateral, "L-1", (3, 1), US)
    assert (first.old.by, first.new.by, first.new.reason) == ("Ann", "Ben", "dug up")
    assert [str(change) for change in first.changes] == ["material: empty → “clay”"]
    assert [str(change) for change in second.changes] == ["document: in use → withdrawn"]
    assert [str(change) for change in back.changes] == [
        "document: withdrawn → in use",
        "material: “clay” → empty",
    ]


def numbers(kind: Any, owner: Any = None, field: str = "") -> Iterator[tuple[Any, str]]:
    """Every field of the records of the store that holds a number with a fraction."""
    if isinstance(kind, type) and is_dataclass(kind):
        hints = get_type_hints(kind)
        for one in fields(kind):
            yield from numbers(hints[one.name], kind, one.name)
    elif kind is float:
        yield owner, field
    elif typing.get_origin(kind) is not None or isinstance(kind, types.UnionType):
        for inner in get_args(kind):
            yield from numbers(inner, owner, field)


@pytest.mark.parametrize("name", KINDS)
def test_every_number_of_a_record_has_its_kind(name: str) -> None:
    """A new field with a number gets its kind in storage/field_words.py."""
    for owner, field in numbers(KINDS[name].record):
        kind = kind_of_number(owner, field)
        assert kind is not None, f"{owner.__name__}.{field}: add it to storage/field_words.py"
        if kind.startswith("."):
            assert kind[1:] in get_type_hints(owner)
        else:
            assert kind in NUMBER_KINDS or kind == CLOCK
