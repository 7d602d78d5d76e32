"""A lateral file, and the closeout book of 500 laterals: seconds and memory.

The laterals are the four that were lined in the demo town, over and over under other keys,
with all their entries, tests, coupons and stills. Run: python benchmarks/closeout.py [LATERALS]
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
import platform
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

LATERALS = 500
MOST_FILE, MOST_BOOK = 0.5, 60.0
MOST_BYTES = 600 << 20
AT = dt.datetime(2026, 11, 25, 18, tzinfo=dt.UTC)
PAGE = Path(__file__).resolve().parent.parent / "docs" / "benchmarks" / "closeout.md"


def town(folder: Path, count: int) -> str:
    """A store with `count` lined laterals."""
    from drainwright.operations.run_demo import PROJECT, run_demo
    from drainwright.operations.stores import existing
    from drainwright.units import UnitSystem

    place = str(run_demo(folder, UnitSystem.US, by="bench", papers=False).store)
    with existing(place, PROJECT) as (store, _):
        with store.read() as session:
            patterns = [_of(session, PROJECT, key) for key in ("A-04", "A-05", "B-02", "B-04")]
        with store.write(by="bench", at=AT, origin="bench", reason="") as session:
            for number in range(count):
                records, texts = patterns[number % 4]
                key = f"L-{number:04}"
                session.put_many(PROJECT, ((_named(one, key), None) for one in records))
                session.journal.append(PROJECT, _entries(texts, key, number))
    return place


def _of(session: Any, project: str, key: str) -> tuple[list[Any], list[str]]:
    """Documents of a lateral and the texts of its entries."""
    from drainwright.records.cure_verdict import CureVerdict
    from drainwright.records.lateral import Lateral
    from drainwright.records.post_inspection import PostInspection
    from drainwright.records.specimen import CouponTest, WallReadings
    from drainwright.records.tightness_report import TightnessReport
    from drainwright.records.work_sheet import WorkSheet
    from drainwright.storage.protocol import Filters

    found = [session.get(project, kind, key).record for kind in (Lateral, WorkSheet)]
    for kind in (CureVerdict, PostInspection, CouponTest, WallReadings, TightnessReport):
        found += [one.record for one in session.every(project, kind, Filters(lateral=key))]
    texts = [one.entry.text for one in session.journal.of_lateral(project, key)]
    return found, texts


def _named(record: Any, key: str) -> Any:
    from drainwright.records.lateral import Lateral
    from drainwright.records.work_sheet import WorkSheet

    if isinstance(record, Lateral):
        return replace(record, key=key)
    if isinstance(record, WorkSheet):
        return replace(record, lateral=replace(record.lateral, key=key))
    return replace(record, lateral=key)


def _entries(texts: list[str], key: str, number: int) -> Iterator[Any]:
    from drainwright.storage.protocol import FieldEntry

    before = ""
    for place, text in enumerate(texts, 1):
        told = json.dumps(json.loads(text) | {"lateral": key}, ensure_ascii=False)
        before = hashlib.sha256((before + told).encode()).hexdigest()
        bits = (0x01A1E99C5860 + number) << 80 | 7 << 76 | 2 << 62 | number << 16 | place
        yield FieldEntry(str(uuid.UUID(int=bits)), f"bench-{number}", place, told, before)


def files(place: str) -> tuple[float, float]:
    """Median seconds and processor seconds of ten lateral files, after a first one."""
    from drainwright.operations.lateral_file import lateral_file
    from drainwright.operations.stores import existing

    taken, busy = [], []
    with existing(place) as (store, project):
        for number in range(11):
            start, cpu = time.perf_counter(), time.process_time()
            lateral_file(store, project.key, f"L-{number:04}", by="bench", at=AT)
            taken.append(time.perf_counter() - start)
            busy.append(time.process_time() - cpu)
    return statistics.median(taken[1:]), statistics.median(busy[1:])


def book(place: str, folder: Path) -> dict[str, float]:
    """The book, in a process of its own so that its peak is its own."""
    code = "import sys; from benchmarks import closeout; closeout.bind(*sys.argv[1:])"
    root = Path(__file__).resolve().parent.parent
    paths = os.pathsep.join(filter(None, (str(root), os.environ.get("PYTHONPATH", ""))))
    done = subprocess.run(
        [sys.executable, "-c", code, place, str(folder)], capture_output=True, text=True,
        check=True, env=os.environ | {"PYTHONPATH": paths},
    )  # fmt: skip
    return dict(json.loads(done.stdout))


def bind(place: str, folder: str) -> None:
    """Bind the book and print what it took."""
    from drainwright.operations.closeout_book import closeout_book
    from drainwright.operations.stores import existing

    start = time.perf_counter()
    with existing(place) as (store, project):
        bound = closeout_book(store, project.key, Path(folder), by="bench", at=AT)
    taken = time.perf_counter() - start
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    held = held if sys.platform == "darwin" else held * 1024
    size = sum(path.stat().st_size for path in bound.files)
    told = {"wall": taken, "cpu": time.process_time(), "peak": held, "size": size,
            "laterals": bound.laterals}  # fmt: skip
    print(json.dumps(told))


def main(count: int = LATERALS) -> None:
    """Measure and write the page, which tells the targets missed by processor time or memory."""
    before = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as name:
        place = town(Path(name), count)
        one, cpu = files(place)
        found = book(place, Path(name) / "closeout")
    machine = (
        f"Machine: {platform.machine()}, {os.cpu_count()} cores, Python "
        f"{platform.python_version()}, {dt.datetime.now(tz=dt.UTC):%Y-%m-%d}. Load average "
        f"{before:.1f} before: above 1, other work ran beside, and processor time means more "
        "than the clock.\n"
    )
    what = (
        f"{found['laterals']:.0f} laterals, the four of the demo town over and over, with all "
        "entries, tests, coupons and stills.\n"
    )
    row = (
        f"| the book, {found['size'] / 1e6:.0f} MB | {found['wall']:.1f} | {found['cpu']:.1f} | "
        f"{MOST_BOOK:.0f} | {found['peak'] / (1 << 20):.0f} | {MOST_BYTES >> 20} |"
    )
    lines = [
        "# Lateral file and closeout book\n",
        machine,
        what,
        "| what | wall s | processor s | target s | peak MiB | target MiB |",
        "|---|---|---|---|---|---|",
        f"| one lateral file | {one:.2f} | {cpu:.2f} | {MOST_FILE} | | |",
        row,
    ]
    targets = (
        ("processor time of a lateral file", cpu <= MOST_FILE),
        ("processor time of the book", found["cpu"] <= MOST_BOOK),
        ("memory of the book", found["peak"] <= MOST_BYTES),
    )
    missed = [name for name, met in targets if not met]
    lines.append(f"\nMissed in this run: {', '.join(missed) or 'nothing'}.")
    text = "\n".join(lines) + "\n"
    print(text)
    if count == LATERALS:
        PAGE.write_text(text, "utf-8")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else LATERALS)
