"""A small job for tests of the field: one project, two laterals with work sheets given outright."""

from __future__ import annotations

import atexit
import datetime as dt
import hashlib
import itertools
import json
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from drainwright.operations.start_project import start_project
from drainwright.operations.stores import OpenStore, create, opened
from drainwright.records.entry_id import entry_id
from drainwright.records.field_entry import EntryKind, FieldEvent, FieldValue, event_text
from drainwright.records.material import GelTime, Resin
from drainwright.records.project import Project
from drainwright.records.work_sheet import Figure, FigureInput, Fitness, WorkSheet
from drainwright.sources import cite
from drainwright.storage.protocol import FieldEntry
from drainwright.units import to_si
from tests.papers.sheets import sheet

FOOT, PSI, POUND = 0.3048, 6894.757293168361, 0.45359237
KEY = "weaver"
PROJECT = Project(KEY, "Weaver Hill, phase 1", town="Weaver Hill", demo=True)
AT = dt.datetime(2026, 11, 19, 15, 0, tzinfo=dt.UTC)
STEAM = 4.4 * PSI
GO = ("Looked through today, after cleaning", "Boiler hot; standby air runs", "Water off: 14 Row")
RESIN = Resin("R-30", ratio_a=4.0, gel_times=(GelTime(293.15, 10800.0), GelTime(283.15, 21600.0)))
"""Three hours at 20 °C and six at 10 °C."""


def _figure(
    key: str, value: float | str, kind: str, label: str = "", *inputs: FigureInput
) -> Figure:
    return Figure(key, label or key, value, kind, "", cite("memory"), inputs)


_WATER = FigureInput("water above the lowest point", 6 * FOOT, "length")
FIGURES = (
    _figure("length.measured", 40.0 * FOOT, "length"),
    _figure("length.lined", 39.8 * FOOT, "length"),
    _figure("cut.length", 40.5 * FOOT, "length"),
    _figure("wetout.mass", 35.0 * POUND, "mass"),
    _figure("wetout.part_a", 28.0 * POUND, "mass"),
    _figure("wetout.part_b", 7.0 * POUND, "mass"),
    _figure("launch.minimum", 4.6 * PSI, "pressure", "at least", _WATER),
    _figure("launch.maximum", 9.0 * PSI, "pressure", "… at most (tube)"),
    _figure("launch.bladder_most", 18.0 * PSI, "pressure", "bladder, at most"),
    _figure("launch.cable_half", 39.8 * FOOT, "length"),
    _figure("launch.cable_seated", 79.6 * FOOT, "length"),
    _figure("pressure.steam_least", STEAM, "pressure", "at least", _WATER),
    _figure("pressure.steam_most", 9.0 * PSI, "pressure", "… at most (tube)"),
    _figure("pressure.cool_least", STEAM, "pressure", "at least", _WATER),
    _figure("pressure.cool_most", 9.0 * PSI, "pressure", "… at most (tube)"),
    _figure("steam.exhaust", to_si(212.0, "degF"), "temperature"),
    _figure("steam.trouble", 1200.0, "time", "trouble card if not by"),
    _figure("steam.after_exhaust", 3600.0, "time"),
    _figure("steam.hold", 4500.0, "time"),
    _figure("steam.cool", 1800.0, "time"),
    _figure("steam.gas_limit", to_si(250.0, "degF"), "temperature"),
    _figure("steam.letdown", to_si(100.0, "degF"), "temperature", "let down below"),
    _figure("steam.trap_seal", 0.07 * PSI, "pressure", "a 2 in trap seal holds only"),
)


def field_sheet(key: str = "A-07", **changes: Any) -> WorkSheet:
    """A work sheet that says “line”, with the figures above."""
    plain = sheet()
    made = replace(
        plain, project=PROJECT, lateral=replace(plain.lateral, key=key, premises=()),
        resin=RESIN, outcome=Fitness.LINE, reasons=(), figures=FIGURES, go_no_go=GO, made_from=(),
    )  # fmt: skip
    return replace(made, **changes)


@contextmanager
def field_store(path: Path) -> Iterator[OpenStore]:
    """A store with the project, its segment, and laterals A-07 and A-08 with work sheets."""
    shutil.copy(_made(), path)
    with opened(str(path)) as store:
        yield store


@lru_cache(maxsize=1)
def _made() -> Path:
    """That store, made once a run."""
    path = Path(tempfile.mkdtemp(prefix="field-job-")) / "job.drainwright"
    atexit.register(shutil.rmtree, path.parent, ignore_errors=True)
    with create(str(path)) as store:
        start_project(store, PROJECT, by="test", at=AT)
        with store.write(by="test", at=AT, origin="", reason="") as session:
            for key in ("A-07", "A-08"):
                made = field_sheet(key)
                if key == "A-07":
                    session.put(KEY, made.segment, expected=0)
                session.put(KEY, made.lateral, expected=0)
                session.put(KEY, made, expected=0)
    return path


def event(kind: str, minutes: float = 0.0, **parts: Any) -> FieldEvent:
    """An event on A-07, so many minutes after `AT`."""
    at = AT + dt.timedelta(minutes=minutes)
    usual: dict[str, Any] = {"lateral": "A-07", "entered_by": "Ada Lund", "read_by": "Bo Ek"}
    return FieldEvent(EntryKind(kind), at=at, **(usual | parts))


def step(key: str, minutes: float, **readings: float) -> FieldEvent:
    """A step done, with SI readings."""
    return event("step", minutes, step=key, values=values(**readings))


def values(**readings: float) -> tuple[FieldValue, ...]:
    """Readings by name; the kind follows from the name."""
    kinds = {
        "pressure": "pressure",
        "temperature": "temperature",
        "part": "mass",
        "cable": "length",
    }
    return tuple(
        FieldValue(name, value, next((k for n, k in kinds.items() if n in name), "length"), "typed")
        for name, value in readings.items()
    )


def chain(
    device: str, events: Sequence[FieldEvent | str], after: tuple[int, str] = (0, "")
) -> list[FieldEntry]:
    """Entries of a device as it would write them, behind number and hash `after`."""
    number, previous = after
    made = []
    for one in events:
        text = one if isinstance(one, str) else event_text(one)
        number += 1
        previous = hashlib.sha256((previous + text).encode()).hexdigest()
        seed = hashlib.sha256(f"{device} {number} {text}".encode()).digest()
        made.append(FieldEntry(entry_id(AT, seed), device, number, text, previous))
    return made


def remarks(count: int, start: int = 0) -> list[FieldEvent]:
    """Remarks that differ."""
    return [event("remark", n, reason=f"remark {n} “°F”") for n in range(start, start + count)]


_COUNT = itertools.count()


def fresh_id(at: dt.datetime) -> str:
    """An id that no other call gives."""
    return entry_id(at, hashlib.sha256(str(next(_COUNT)).encode()).digest())


def lines(entries: Sequence[FieldEntry]) -> bytes:
    """An outbox file."""
    keys = ("id", "device", "number", "text", "sha256")
    shown = ({key: getattr(one, key) for key in keys} for one in entries)
    return "".join(json.dumps(one, ensure_ascii=False) + "\n" for one in shown).encode()
