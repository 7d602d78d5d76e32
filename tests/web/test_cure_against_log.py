"""A log laid over the planned cure on the page of the cure."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from drainwright.checks import at_least
from drainwright.operations.cure_against_log import cure_against_log
from drainwright.records.cure_log import Channel, CureLog, Reads
from drainwright.records.cure_verdict import CureVerdict
from drainwright.sources import cite
from tests.acceptance.logs import EXHAUST, GAS, PRESSURE, log, plain
from tests.web.conftest import NOW
from tests.web.test_lateral_sheets import Opened, opened

__all__ = ["opened"]
LATERAL = "A-01"
"""Planned to be cured; the demo logs nothing of it."""
WALL = Channel("T3", Reads.WALL_TOP, 1.0)
BEYOND = Channel("T4", Reads.WALL_BOTTOM, 99.0)


def of_it(made: CureLog) -> CureLog:
    return dataclasses.replace(made, lateral=LATERAL)


def kept(opened: Opened, **changes: object) -> None:
    _, store, project = opened
    times, series = plain(200.0)
    wall = np.interp(times / 60.0, [0.0, 5.0, 60.0, 200.0], [288.0, 288.0, 350.0, 355.0])
    made: CureLog = of_it(log(200.0, {**series, WALL: wall, BEYOND: wall}))
    with store.write(by="test", at=NOW, origin="logger.csv", reason="read") as session:
        session.put(project.key, dataclasses.replace(made, **changes), expected=None)  # type: ignore[arg-type]  # a field's value


def test_without_a_log_the_page_says_so(opened: Opened) -> None:
    client, store, project = opened
    assert cure_against_log(store, project, "A-07") == ()
    assert (
        "No temperature log of this lateral is on record" in client.get("/laterals/A-07/cure").text
    )


def test_each_sensor_the_plan_knows_is_laid_over_it(opened: Opened) -> None:
    client, store, project = opened
    kept(opened)
    (found,) = cure_against_log(store, project, LATERAL)
    assert found.why_not == ""
    named = dict(found.facts)
    # steam on at minute 5, shut at minute 100 in tests/acceptance/logs.py
    flowed, planned = re.findall(r"\d+", named["steam flowed"])
    assert float(flowed) == pytest.approx(95, abs=2)
    assert float(planned) > 100
    drawn = [name for name in named if name != "steam flowed"]
    assert [name.split(",")[0] for name in drawn] == ["exhaust", "wall"]
    assert "3.3 ft from the tap" in drawn[1]
    assert found.svg.count(">measured</text>") == 2
    text = client.get(f"/laterals/{LATERAL}/cure").text
    assert "attempt 1, logged from" in text.lower()
    assert "measured less planned" in text


@pytest.mark.analytic
def test_a_log_that_reads_what_was_planned_differs_by_nothing(opened: Opened) -> None:
    from drainwright.operations.cure_view import planned_run
    from drainwright.operations.planned_site import behind_sheet
    from drainwright.records.work_sheet import WorkSheet

    _, store, project = opened
    with store.read() as session:
        sheet = session.get(project.key, WorkSheet, LATERAL)
        behind = behind_sheet(session, project.key, sheet.record)
    run = planned_run(sheet.revision.sha256, behind)
    assert not isinstance(run, str)
    # the logger starts five minutes before the steam, and reads the planned exhaust
    seconds = np.arange(0.0, 300.0 + run.hold, 5.0)
    planned = run.result.log
    gas = np.interp(seconds - 300.0, planned.time, planned.exhaust)
    made = of_it(log(float(seconds[-1]) / 60.0, {GAS: gas, EXHAUST: gas}, every=5.0))
    with store.write(by="test", at=NOW, origin="", reason="read") as session:
        session.put(project.key, made, expected=None)
    (found,) = cure_against_log(store, project, LATERAL)
    words = next(text for name, text in found.facts if name.startswith("exhaust"))
    low, high = (float(n) for n in re.findall(r"-?\d+", words)[:2])
    assert abs(low) <= 1  # °F; the start of steam is read off the log to half a minute
    assert abs(high) <= 1


def test_the_verdict_on_record_stands_beside_the_log(opened: Opened) -> None:
    client, store, project = opened
    kept(opened)
    assert "Verdict on record" not in client.get(f"/laterals/{LATERAL}/cure").text
    check = at_least("cure at the last point", 0.93, 0.9, "share", cite("cure-model"))
    with store.write(by="test", at=NOW, origin="", reason="judged") as session:
        session.put(project.key, CureVerdict(LATERAL, 1, (check,)), expected=None)
    text = client.get(f"/laterals/{LATERAL}/cure").text
    assert "Verdict on record: met." in text
    assert "cure at the last point: met" in text


def test_a_log_without_steam_is_told(opened: Opened) -> None:
    _, store, project = opened
    cold = of_it(log(60.0, {GAS: np.full(361, 288.0), PRESSURE: np.full(361, 48e3)}))
    with store.write(by="test", at=NOW, origin="", reason="read") as session:
        session.put(project.key, cold, expected=None)
    (found,) = cure_against_log(store, project, LATERAL)
    assert "does not show when steam came on" in found.why_not
