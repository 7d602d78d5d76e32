"""Field entries are read as they were written, and make up attempts."""

import datetime as dt
import json
from dataclasses import replace

import pytest

from drainwright.errors import InputError
from drainwright.records.attempt import attempts_of
from drainwright.records.field_entry import (
    AttemptEnd,
    EntryKind,
    FieldEvent,
    FieldValue,
    event_text,
    read_event,
)
from drainwright.records.field_step import START_STEPS
from drainwright.units import KINDS

AT = dt.datetime(2026, 6, 1, 12, 0, tzinfo=dt.UTC)
STEP = FieldEvent(EntryKind.STEP, "L-1", AT, "Ada", step="steam_on", id="1")
READ = FieldEvent(
    EntryKind.READING,
    "L-1",
    AT + dt.timedelta(minutes=5),
    "Ada",
    step="steam_on",
    read_by="Bo",
    values=(FieldValue("tube_pressure", 48_263.3, "pressure", "7 psi"),),
    words=(("gauge", "G-2"),),
    id="2",
)


def test_an_event_survives_its_text() -> None:
    assert read_event(event_text(READ), "2") == READ


def test_every_fault_of_a_text_is_told() -> None:
    text = {"form": 1, "kind": "stepp", "at": "2026-06-01T12:00:00", "values": [{"name": "x"}]}
    with pytest.raises(InputError) as caught:
        read_event(json.dumps(text))
    assert {fault.name for fault in caught.value.faults} == {
        "kind", "at", "values", "lateral", "entered_by",
    }  # fmt: skip


def test_a_newer_form_is_refused() -> None:
    with pytest.raises(InputError, match="newer"):
        read_event('{"form": 2}')


def test_a_correction_replaces_its_entry() -> None:
    value = FieldValue("tube_pressure", 50_000.0, "pressure", "50 kPa")
    mended = replace(READ, values=(value,), corrects="2", id="3")
    (attempt,) = attempts_of([mended, READ, STEP])["L-1"]
    assert attempt.last("tube_pressure") == 50_000.0
    assert attempt.corrected == (READ,)
    assert attempt.time_of("steam_on") == AT


def test_attempts_are_numbered_and_end() -> None:
    end = FieldEvent(
        EntryKind.END, "L-1", AT, "Ada", 1, answer="pulled before gel", reason="cap blown", id="4"
    )
    first, second = attempts_of([end, replace(STEP, attempt=2)])["L-1"]
    assert (first.end, first.cause) == (AttemptEnd.PULLED, "cap blown")
    assert (second.number, second.end) == (2, None)


def test_steps_have_names_of_their_own_and_known_kinds() -> None:
    keys = [step.key for step in START_STEPS]
    assert len(keys) == len(set(keys))
    asked = [reading for step in START_STEPS for reading in step.readings]
    assert {reading.kind for reading in asked if reading.kind} <= KINDS.keys()


@pytest.mark.parametrize("answer", ["cured", "pulled before gel", "left in place", "dug up"])
def test_attempts_end_in_four_ways_with_cause_and_payer(answer: str) -> None:
    # TRADE 19: with cause, material lost, hours, who pays
    end = replace(
        READ, kind=EntryKind.END, answer=answer, reason="cap blown", words=(("payer", "owner"),),
        values=(FieldValue("hours", 9000.0, "time", "2.5 h"),),
    )  # fmt: skip
    (attempt,) = attempts_of([replace(STEP, id="9"), end])["L-1"]
    assert attempt.end is not None
    assert (attempt.end.value, attempt.cause, attempt.payer) == (answer, "cap blown", "owner")
    assert attempt.last("hours") == 9000.0
