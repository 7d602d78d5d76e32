"""Run the whole way on the demo town: start, read, plan, line, accept, print (write)."""

from __future__ import annotations

import datetime as dt
import shutil
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

from drainwright.errors import Fault, InputError, NotFoundError, StorageError
from drainwright.operations.demo_acceptance import Finished, finish_demo, print_finished
from drainwright.operations.file_reading import ReadRequest
from drainwright.operations.plan_laterals import Planned, plan_laterals
from drainwright.operations.print_papers import (
    PAPERS,
    TUBE_ORDER,
    WORK_SHEET,
    print_papers,
    write_file,
)
from drainwright.operations.read_files import read_file
from drainwright.operations.schedule import Days, make_schedule, take_crews
from drainwright.operations.shift_papers import call_off_sheet, shift_sheets
from drainwright.operations.start_project import start_project
from drainwright.operations.stores import create
from drainwright.records.project import Project
from drainwright.storage.protocol import RecordStore
from drainwright.units import UnitSystem

PROJECT = "alder-ferry"
FILES = (
    "segments.csv",
    "premises.csv",
    "laterals.csv",
    "measurements.csv",
    "tubes.csv",
    "resins.csv",
    "collars.csv",
    "rigs.csv",
    "surveys.txt",
    "surveys_second.txt",
)
TODAY = dt.date(2026, 11, 25)
"""The demo's day: its survey dates are near it, whenever the demo is run."""
SHOWCASE = ("A-04", "A-07", "B-02")
"""Laterals printed with all their papers."""


@dataclass(frozen=True, slots=True)
class DemoRun:
    """What the demo made."""

    store: Path
    folder: Path
    read: tuple[tuple[str, int, int], ...]
    """File, records, notices."""
    planned: tuple[Planned, ...]
    papers: int
    finished: tuple[Finished, ...] = ()
    """The lined laterals, judged."""

    @property
    def outcomes(self) -> Mapping[str, int]:
        """How many laterals came to which outcome."""
        return Counter(item.sheet.outcome.value for item in self.planned if item.sheet)


def demo_folder() -> Path:
    """Where the demo's files lie: in the checkout, or inside the installed package."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "examples", package.parents[1] / "examples"):
        if (folder / "alder_ferry").is_dir():
            return folder / "alder_ferry"
    raise NotFoundError("the demo's files are not installed with this program")


def run_demo(out: Path, units: UnitSystem, *, by: str, papers: bool = True) -> DemoRun:
    """Make a store of the demo town in `out`, and its papers in `out/papers`.

    A store of an earlier demo there is replaced; without `papers` it ends there. Raises
    `InputError` with every fault of the demo's files.
    """
    at = dt.datetime.combine(TODAY, dt.time(18), dt.UTC)
    path = out / "alder-ferry.drainwright"
    _clear(path)
    with create(str(path)) as store:
        project = Project(
            PROJECT, "Alder Ferry laterals", town="Alder Ferry", units=units, demo=True
        )
        start_project(store, project, by=by, at=at)
        read = []
        for name in FILES:
            request = ReadRequest((demo_folder() / name).read_bytes(), name)
            seen = read_file(store, PROJECT, request, by=by, at=at, today=TODAY)
            if seen.faults:
                raise InputError(*seen.faults)
            read.append((name, seen.records, len(seen.notices)))
        planned = plan_laterals(store, PROJECT, by=by, at=at)
        finished = finish_demo(store, PROJECT, demo_folder(), by=by, at=at)
        planned_days = _schedule(store, by=by, at=at)
        folder = out / "papers"
        printed = _print(store, folder, by, at) if papers else 0
        printed += _print_shifts(store, folder, by, at) if papers and planned_days else 0
        if papers:
            printed += print_finished(store, PROJECT, demo_folder(), out, by=by, at=at)
    return DemoRun(path, folder, tuple(read), tuple(planned), printed, finished)


def _schedule(store: RecordStore, *, by: str, at: dt.datetime) -> bool:
    """Crews, calendar and stock, and the shift plan of what is still to be lined.

    Without OR-Tools there is no plan, and it says False.
    """
    content = (demo_folder() / "crews.toml").read_bytes()
    take_crews(store, PROJECT, content, "crews.toml", by=by, at=at)
    if find_spec("ortools") is None:
        return False
    first = TODAY + dt.timedelta(days=5)
    days = Days(first, first + dt.timedelta(weeks=8))
    make_schedule(store, PROJECT, days, by=by, at=at)
    return True


def _print_shifts(store: RecordStore, folder: Path, by: str, at: dt.datetime) -> int:
    """Each crew's shift sheets and the material call-off."""
    count = 0
    for name, content in shift_sheets(store, PROJECT, by=by, at=at):
        write_file(folder / f"{name}.pdf", content)
        count += 1
    write_file(folder / "material call-off.pdf", call_off_sheet(store, PROJECT, by=by, at=at))
    return count + 1


def _print(store: RecordStore, folder: Path, by: str, at: dt.datetime) -> int:
    """Every work sheet, all papers of a few laterals, and the tube order."""
    more = [paper for paper in PAPERS if paper not in (WORK_SHEET, TUBE_ORDER)]
    wanted: list[tuple[Sequence[str], Sequence[str]]] = [
        ((), (WORK_SHEET, TUBE_ORDER)),
        (SHOWCASE, more),
    ]
    count = 0
    for keys, papers in wanted:
        printed = print_papers(store, PROJECT, keys, papers, folder=folder, by=by, at=at)
        if printed.left_out:
            raise InputError(*(Fault("demo", words) for words in printed.left_out))
        count += len(printed.files)
    return count


def _clear(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        for old in path.parent.glob(path.name + "*"):
            if old.is_dir():
                shutil.rmtree(old)
            else:
                old.unlink()
    except OSError as error:
        raise StorageError(f"{path.parent} can't be written: {error.strerror}") from error
