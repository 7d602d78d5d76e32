"""What `serve` loads before anybody asks."""

from __future__ import annotations

import datetime as dt
import logging
from pathlib import Path

import pytest

from drainwright.errors import Fault, InputError
from drainwright.operations.calculate import TOPICS
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.operations.warm_up import warm_up
from drainwright.records.project import Project
from drainwright.storage.protocol import RecordStore


def test_an_example_without_its_file_keeps_no_other_calculator_from_being_loaded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    tried: list[str] = []

    def note(name: str, *_: object) -> None:
        tried.append(name)
        raise InputError(Fault("storms", "can't be read"))

    monkeypatch.setattr("drainwright.operations.warm_up.calculate", note)
    at = dt.datetime(2026, 11, 25, tzinfo=dt.UTC)
    project = Project("bare", "Bare")
    store: RecordStore
    with caplog.at_level(logging.WARNING), create(str(tmp_path / "bare.drainwright")) as store:
        start_project(store, project, by="test", at=at)
        warm_up(store, project, at.date())
    assert set(tried) == set(TOPICS)
    assert not caplog.records
