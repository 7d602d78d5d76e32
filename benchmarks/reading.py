"""20,000 laterals and 200,000 observations: read, checked and stored, against a bare loader.

The bare loader takes the same two files apart with python-calamine and csv and makes the same
inserts (the rows of the finished store, copied table by table) without any check.
Run: python benchmarks/reading.py writes the page; with a number of laterals it only prints.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
import platform
import random
import resource
import sqlite3
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

LATERALS = 20_000
OBSERVATIONS = 10  # of each lateral
MOST_SECONDS = 20.0
ABOUT = (
    "They are read, checked and stored by the operation that the command and the pages call, from "
    "a CSV of segments, a spreadsheet of laterals and the exchange text of EN 13508-2. The bare "
    "loader takes the same files apart with python-calamine and csv and makes the same inserts, "
    "the rows of the finished store, without one check."
)
ABOUT_LOAD = (
    "Above 1, other work ran beside: wall time tells nothing, processor time is too long as well, "
    "and only the ratio of processor times holds."
)
AT = dt.datetime(2026, 4, 2, 12, tzinfo=dt.UTC)
TODAY = dt.date(2026, 4, 2)


def segments_csv(count: int) -> bytes:
    """A main for every 20 laterals."""
    rows = ["Segment,From MH,To MH,Dia (in),Length (ft),Mat"]
    rows += [f"M{n},MH{n},MH{n + 1},8,400,VCP" for n in range(-(-count // 20))]
    return "\n".join(rows).encode()


def laterals_xlsx(count: int) -> bytes:
    """An owner's list as a spreadsheet, fifteen columns."""
    from xlsxwriter import Workbook

    pick = random.Random(3)
    buffer = io.BytesIO()
    book = Workbook(buffer, {"in_memory": True})
    page = book.add_worksheet("Laterals")
    page.write_row(0, 0, ["Lateral ID", "Main", "Tap footage (ft)", "Clock", "Address", "Street",
                          "Dia (in)", "Mat", "Length (ft)", "Depth at main (ft)",
                          "Depth at house (ft)", "Tap type", "Cleanout", "Live",
                          "Notes"])  # fmt: skip
    for n in range(count):
        house, street = 100 + n % 900, f"Street {n // 20}"
        row = [f"L-{n}", f"M{n // 20}", 5 + 19.5 * (n % 20), pick.randint(1, 12),
               f"{house} {street} {n}", street, pick.choice([4, 6]),
               pick.choice(["VCP", "PVC", "CI", "clay"]), round(pick.uniform(20, 80), 1),
               round(pick.uniform(6, 14), 1), 4.5, pick.choice(["wye", "tee", "hammer tap"]),
               pick.choice(["Y", "N"]), "yes", "by the owner's list"]  # fmt: skip
        page.write_row(n + 1, 0, row)
    book.close()
    return buffer.getvalue()


def surveys_text(count: int) -> bytes:
    """A survey of each lateral in the exchange text of EN 13508-2."""
    pick = random.Random(4)
    lines = ["#A1=UTF-8", "#A2=en", "#A3=,", "#A4=.", '#A5="', "#A6=2010"]
    for n in range(count):
        day = f"2026-03-{n % 28 + 1:02d}"
        lines += ["#B01=AAA,AAK,ABF,ABG,ABH,ABQ,ACD", f"L-{n},B,{day},09:30,Ruiz,25,AE",
                  "#C=I,A,B,C,D,E,F,G,H,J,K,M,N", "0.00,BCD,,,,,,,,,,,00:00:01"]  # fmt: skip
        at = 0.5
        for k in range(OBSERVATIONS - 2):
            at += pick.uniform(0.2, 2.5)
            code = pick.choice(["BBA,A,,15,,fine roots", "BBF,B,,,,", "BAJ,B,,12,,", "BCC,A,A,22,,",
                                "BAB,C,,2,,", "BBC,A,,10,,"])  # fmt: skip
            lines.append(f"{at:.2f},{code},6,,,,,00:0{k}:30")
        lines += [f"{at + 1:.2f},BCE,,,,,,,,,,,00:09:00", "#Z"]
    return "\n".join([*lines, ""]).encode()


def ours(store: str, files: list[tuple[str, bytes]]) -> dict[str, float]:
    """Read, check and store with the program's own operation; seconds by file, and CPU's."""
    from drainwright.operations.read_files import ReadRequest, read_file
    from drainwright.operations.start_project import start_project
    from drainwright.operations.stores import create
    from drainwright.records.project import Project

    taken = {}
    busy = time.process_time()
    with create(store) as opened:
        start_project(opened, Project("town", "Town"), by="bench", at=AT)
        for name, data in files:
            start = time.perf_counter()
            done = read_file(
                opened, "town", ReadRequest(data, name), by="bench", at=AT, today=TODAY
            )
            taken[name] = time.perf_counter() - start
            if not done.stored or done.faults:
                raise SystemExit(f"{name}: {[str(fault) for fault in done.faults[:5]]}")
    return taken | {"cpu": time.process_time() - busy}


def bare(source: str, target: str, files: list[tuple[str, bytes]]) -> tuple[float, float]:
    """Take the files apart and insert the same rows, without a check; seconds, and CPU's."""
    from python_calamine import CalamineWorkbook

    old = sqlite3.connect(source)
    query = "select name, sql from sqlite_master where sql is not null and name not like 'sqlite_%'"
    tables = list(old.execute(query))
    # documents carry their content as JSON text, which a loader has to make, too
    contents = {name: [tuple(_content(cell) for cell in row)
                       for row in old.execute(f"select * from {name}")]
                for name, sql in tables if sql.upper().startswith("CREATE TABLE")}  # fmt: skip
    start, busy = time.perf_counter(), time.process_time()
    for name, data in files:
        if name.endswith(".xlsx"):
            book = CalamineWorkbook.from_filelike(io.BytesIO(data))
            list(map(tuple, book.get_sheet_by_index(0).to_python()))
        else:
            list(csv.reader(io.StringIO(data.decode())))
    new = sqlite3.connect(target)
    new.execute("pragma journal_mode=wal")
    for _, sql in tables:
        new.execute(sql)
    for name, rows in contents.items():
        if rows:
            made = [tuple(_text(cell) for cell in row) for row in rows]
            marks = ",".join("?" * len(rows[0]))
            new.executemany(f"insert into {name} values ({marks})", made)
    new.commit()
    new.close()
    return time.perf_counter() - start, time.process_time() - busy


def _content(cell: object) -> object:
    return json.loads(cell) if isinstance(cell, str) and cell[:1] == "{" else cell


def _text(cell: object) -> object:
    if isinstance(cell, dict):
        return json.dumps(cell, ensure_ascii=False, separators=(",", ":"))
    return cell


def measured(count: int = LATERALS) -> dict[str, Any]:
    """Run both and tell the figures."""
    files = [("segments.csv", segments_csv(count)), ("laterals.xlsx", laterals_xlsx(count)),
             ("surveys.txt", surveys_text(count))]  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        store = str(Path(folder) / "ours.drainwright")
        taken = ours(store, files)
        peak = peak_bytes()
        loader, loader_cpu = bare(store, str(Path(folder) / "bare.sqlite"), files)
    cpu = taken.pop("cpu")
    return {
        "laterals": count,
        "observations": count * OBSERVATIONS,
        "seconds by file": {name: round(value, 2) for name, value in taken.items()},
        "wall": (sum(taken.values()), loader),
        "processor": (cpu, loader_cpu),
        "peak": peak,
    }


def peak_bytes() -> int:
    """Most memory this process has held."""
    held = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return held if sys.platform == "darwin" else held * 1024


def page(found: dict[str, Any]) -> str:
    """The page; a missed target is said, not hidden."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    rows = ["| | drainwright, s | bare loader, s | ratio (at most 3) |", "|---|---|---|---|"]
    for words, name in (("processor time", "processor"), ("wall time", "wall")):
        mine, loader = found[name]
        rows.append(f"| {words} | {mine:.1f} | {loader:.1f} | {mine / loader:.2f} |")
    files = ", ".join(f"{name} {value:.1f} s" for name, value in found["seconds by file"].items())
    laterals, observations = found["laterals"], found["observations"]
    seconds = found["processor"][0]
    met = "met" if seconds < MOST_SECONDS else "not met in this run"
    date = time.strftime("%Y-%m-%d")
    machine = f"Machine: {platform.machine()}, {os.cpu_count()} cores, "
    machine += f"Python {platform.python_version()}, {date}. Load average {load:.1f} at the end."
    said = [
        f"{laterals:,} laterals and {observations:,} observations. {ABOUT}",
        f"{machine} {ABOUT_LOAD}",
        "\n".join(rows),
        f"By file: {files}. Peak memory {found['peak'] / 2**20:.0f} MiB (at most 1024).",
        f"Target: under 20 s on an idle machine. Processor time here: {seconds:.1f} s, {met}.",
    ]
    return "\n\n".join(["# Reading lists and surveys", *said, ""])


def main() -> None:
    """Write docs/benchmarks/reading.md."""
    target = Path(__file__).resolve().parent.parent / "docs" / "benchmarks" / "reading.md"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(page(measured()), encoding="utf-8")
    print(f"wrote {target}")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        print(json.dumps(measured(int(sys.argv[1])), indent=1))
    else:
        main()
