"""Writers killed in the middle: what was acknowledged is there, what is there is whole.

100 kills on each database. This tests the death of the process, not the loss of power: the
operating system stays alive and writes what it was given.
"""

from __future__ import annotations

import os
import random
import select
import signal
from typing import NoReturn

import pytest

from drainwright.records.lateral import Lateral
from drainwright.records.survey import Observation, ObservationKind, Survey
from drainwright.storage import open_store
from tests.storage.samples import lateral, project, survey, writing

KILLS = 100
SEEN = tuple(Observation(ObservationKind.ROOTS, at / 10, remark=f"place {at}") for at in range(30))


def work(place: str, life: int, pipe: int) -> NoReturn:
    """Store a lateral and its survey in one transaction, tell the parent, and so on."""
    try:
        store = open_store(place)
        for number in range(10_000):
            key = f"L-{life}-{number}"
            with writing(store) as session:
                session.put("oak", lateral(key), expected=0)
                session.put("oak", survey(key, observations=SEEN), expected=0)
            os.write(pipe, f"{key}\n".encode())
    finally:
        os._exit(1)


def acknowledged(place: str, life: int, patience: float) -> list[str]:
    """Start a writer, kill it after its first word and some milliseconds; what it said."""
    reading, telling = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        work(place, life, telling)
    os.close(telling)
    ready, _, _ = select.select([reading], [], [], 60)
    assert ready, "the writer says nothing"
    select.select([], [], [], patience)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as pipe:
        return pipe.read().decode().split()


@pytest.mark.slow
def test_nothing_acknowledged_is_lost_and_nothing_is_half_there(place: str) -> None:
    store = open_store(place, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
    store.close()  # no connection is open while the test forks
    chance = random.Random(20260504)
    told: set[str] = set()
    for life in range(KILLS):
        told |= set(acknowledged(place, life, chance.uniform(0.0, 0.03)))
    assert len(told) > KILLS
    store = open_store(place)
    with store.read() as view:
        laterals = {one.key for one in view.every("oak", Lateral)}
        surveys = {one.record.lateral for one in view.every("oak", Survey)}
        stages = {one.stage for one in view.every("oak", Lateral)}
        assert told - laterals == set(), "lost after it was acknowledged"
        assert laterals == surveys, "half of a transaction"
        assert stages == {"surveyed"}
        assert len(laterals) - len(told) <= KILLS  # at most the last one of each life unheard
        assert view.verify("oak") == ()
    store.close()
