"""A running cure from a logger's file as it stands: being written, or pasted in (read)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from drainwright.errors import InputError, StorageError
from drainwright.exchange.mqtt_log import listen
from drainwright.operations.live_cure import live_cure
from drainwright.operations.read_log import LoggerFile, LogRequest, preview_log
from drainwright.operations.stores import OpenStore
from drainwright.records.cure_log import CureLog
from drainwright.records.live_cure import LiveCure
from drainwright.records.project import Project
from drainwright.units import UnitSystem, show

_MOST = 64 * 1024 * 1024


Logger = Callable[[], bytes | None]
"""Gives the logger's file as it stands; None where nothing was logged yet."""


@contextmanager
def open_logger(source: str, now: Callable[[], dt.datetime]) -> Iterator[Logger]:
    """A logger by the path of the file it writes, or by mqtt://HOST[:PORT]/TOPIC.

    Raises `InputError` for an address that is none. The file may come later.
    """
    if not source.startswith("mqtt:"):
        yield partial(_file, Path(source))
        return
    log, stop = listen(source, now)
    try:
        yield log.content
    finally:
        stop()


def _file(path: Path) -> bytes | None:
    try:
        if path.stat().st_size > _MOST:
            raise StorageError(f"{path} is too large for a logger's file")
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StorageError(f"{path} can't be read: {error.strerror or error}") from error


def watch_cure(
    store: OpenStore, project: Project, lateral: str, attempt: int, content: bytes, now: dt.datetime
) -> dict[str, Any]:
    """State of the cure as texts for the crew, and the log's series for a chart; keeps nothing.

    Raises `InputError` with the faults of a log that can't be used, `NotFoundError` for a
    lateral without a work sheet.
    """
    request = LogRequest(lateral, (LoggerFile("live.csv", content),), attempt)
    with store.read() as session:
        seen = preview_log(session, project.key, request, at=now)
        if seen.log is None or seen.faults:
            raise InputError(*seen.faults)
        state = live_cure(session, project.key, lateral, seen.log, now)
    return {
        "at": seen.log.end.isoformat(),
        "lines": lines_of(state),
        "alarms": [{"key": one.key, "words": one.words} for one in state.alarms],
        "series": _series(seen.log, project.units),
        "unit": show(300.0, "temperature", project.units).unit_text,
        "state": {name: value for name, value in asdict(state).items() if name != "along"},
    }


def lines_of(state: LiveCure) -> list[str]:
    """What is still needed, by what, and what the estimate leaves out."""
    lines = []
    if state.done:
        lines.append("Nothing is left by maker, exhaust and estimate. A person decides.")
    elif state.left is not None:
        lines.append(f"Steam on for {_minutes(state.left)} more: {state.governed_by} rules.")
    parts = (
        ("maker", state.maker_left),
        ("exhaust", state.exhaust_left),
        ("estimate", state.cure_left),
        ("estimate, 95 % sure", state.cure_left_sure),
    )
    known = [f"{name} {_minutes(value)}" for name, value in parts if value is not None]
    if known:
        lines.append("Left: " + ", ".join(known) + ".")
    if state.never:
        lines.append("As steam stands, the least cured place does not reach its target in a day.")
    if state.cure_now is not None:
        best, low, high = (round(share * 100) for share in state.cure_now)
        lines.append(f"Least cured: {state.least_place}, {best} % ({low} to {high} %).")
    return [*lines, *state.shorten, *state.leaves_out]


def _minutes(seconds: float) -> str:
    return f"{max(round(seconds / 60), 0)} min"


def _series(log: CureLog, system: UnitSystem) -> list[dict[str, Any]]:
    """Temperatures in the reader's unit, thinned to some 300 points each."""
    every = max(len(log.seconds) // 300, 1)
    times = [round(log.at(second).timestamp() * 1000) for second in log.seconds[::every]]
    return [
        {
            "name": str(one.channel.name),
            "times": times,
            "values": [
                None if value is None else show(value, one.kind, system).value
                for value in one.values[::every]
            ],
        }
        for one in log.series
        if one.kind == "temperature"
    ]
