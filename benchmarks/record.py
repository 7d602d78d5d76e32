"""The record at size: list pages, search, map and bundle, on SQLite and PostgreSQL.

The peer is hand-written SQL by the bare drivers on the same tables in the same run: the page's
rows, what its work sheets and segments tell, the number of laterals that pass, and laterals by
stage. It counts anew each time; the program counts once for each change of the project, so that
both the first page after a change and the usual one are told.

Run: python benchmarks/record.py [LATERALS [LATERALS ON POSTGRESQL [FILLED SQLITE STORE]]]
"""

from __future__ import annotations

import json
import os
import platform
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "benchmarks")]

LATERALS = 50_000
RUNS = 25
LAST = "\U0010ffff"
PAGE_MS, SEARCH_MS, MOST_RATIO, MAP_S, BUNDLE_MIB = 10.0, 50.0, 2.0, 2.0, 500.0
SEARCHES = ("L-43{n}", "{n} elm", "14{k}", "elm", "street", "owner elm")
Ask = Callable[[str, str, int], Any]


class Timed(NamedTuple):
    """Milliseconds: wall and processor, medians, and the least wall."""

    wall: float
    cpu: float
    least: float

    def __str__(self) -> str:
        """A cell of the table."""
        return f"{self.wall:.1f} ({self.cpu:.1f} CPU, least {self.least:.1f})"


def timed(ask: Callable[[int], object], runs: int = RUNS) -> Timed:
    """Medians over calls that all ask something else."""
    ask(0)
    walls, cpus = [], []
    for n in range(1, runs + 1):
        wall, cpu = time.perf_counter(), time.process_time()
        ask(n)
        cpus.append((time.process_time() - cpu) * 1e3)
        walls.append((time.perf_counter() - wall) * 1e3)
    return Timed(statistics.median(walls), statistics.median(cpus), min(walls))


# ---------------------------------------------------------------- the program


def listed(store: Any, words: str = "", segment: str = "", page: int = 1) -> object:
    """The project sheet as the page shows it, with its sketch."""
    from benchmarks.record_town import project
    from drainwright.operations.list_project import ProjectFilters, list_project

    filters = ProjectFilters(words=words, segment=segment)
    return list_project(store, project(), filters, page=page, href=lambda key: f"/l/{key}")


def read(store: Any, words: str = "", segment: str = "", page: int = 1) -> object:
    """The same records without words and sketch: what the peer reads."""
    from drainwright.records.lateral import Lateral
    from drainwright.records.project import MainSegment
    from drainwright.records.work_sheet import WorkSheet
    from drainwright.storage import Filters

    with store.read() as session:
        found = session.brief_page("town", Lateral, Filters(words=words, segment=segment), page)
        sheets = session.briefs("town", WorkSheet, [one.key for one in found.items])
        mains = session.briefs("town", MainSegment, sorted({one.segment for one in found.items}))
        return found, sheets, mains, session.stages("town")


def change(store: Any) -> None:
    """One document changed, so that counts are counted anew."""
    from benchmarks.record_town import AT, project

    with store.write(by="bench", at=AT, origin="bench", reason="changed") as session:
        town = session.get("town", type(project()), "town").record
        new = type(town)(**{**{f: getattr(town, f) for f in town.__slots__},
                            "elevation": town.elevation + 1.0})  # fmt: skip
        session.put("town", new, expected=None)


# ---------------------------------------------------------------- the peer


class Peer:
    """Hand-written SQL by a bare driver; one connection, kept open."""

    def __init__(self, connection: Any, mark: str) -> None:
        self._connection = connection
        self._mark = mark
        self.in_process = mark == "?"
        (self._town,) = self._rows("SELECT id FROM project WHERE key = ?", "town")[0]

    def _rows(self, sql: str, *values: object) -> list[Any]:
        return list(self._connection.execute(sql.replace("?", self._mark), values).fetchall())

    def page(self, words: str = "", segment: str = "", page: int = 1) -> object:
        """The page's rows, its sheets and mains, the number that pass, and stages."""
        live = "withdrawn = false" if self._mark == "%s" else "withdrawn = 0"
        where, values = f"project_id = ? AND kind = 'lateral' AND {live}", [self._town]
        for word in words.lower().replace("-", "").split():
            where += (
                " AND id IN (SELECT document_id FROM word WHERE project_id = ?"
                " AND kind = 'lateral' AND word >= ? AND word < ?)"
            )
            values += [self._town, word, word + LAST]
        if segment:
            where, values = where + " AND segment = ?", [*values, segment]
        rows = self._rows(
            f"SELECT key, revision, segment, stage, fitness, brief FROM document WHERE {where}"
            f" ORDER BY sort_key, key, id LIMIT 50 OFFSET {50 * (page - 1)}", *values,
        )  # fmt: skip
        total = self._rows(f"SELECT count(*) FROM document WHERE {where}", *values)[0][0]
        told = [(*row[:5], json.loads(row[5])) for row in rows]
        sheets = self._by_key("work_sheet", [row[0] for row in rows])
        mains = self._by_key("segment", sorted({row[2] for row in rows}))
        stages = self._rows(
            "SELECT stage, fitness, count(*) FROM document WHERE project_id = ?"
            f" AND kind = 'lateral' AND {live} GROUP BY withdrawn, stage, fitness", self._town,
        )  # fmt: skip
        return told, total, sheets, mains, stages

    def _by_key(self, kind: str, keys: list[str]) -> dict[str, Any]:
        if not keys:
            return {}
        marks = ", ".join("?" for _ in keys)
        sql = "SELECT key, brief FROM document WHERE project_id = ? AND kind = ?"
        sql += f" AND key IN ({marks})"
        return {row[0]: json.loads(row[1]) for row in self._rows(sql, self._town, kind, *keys)}


# ---------------------------------------------------------------- one database


@contextmanager
def server() -> Iterator[str]:
    """A PostgreSQL of the tests, in a folder of its own."""
    from tests import postgres_server

    with tempfile.TemporaryDirectory() as folder, postgres_server.shared(Path(folder)) as url:
        yield url


def measure(place: str, count: int, peer: Peer | None) -> list[str]:
    """The table's lines for one database; fills the store first where it is new."""
    from benchmarks.record_town import fill
    from drainwright.operations.bundle import write_bundle  # noqa: F401  loaded before timing
    from drainwright.storage import open_store

    store = open_store(place, create=True)
    start = time.perf_counter()
    with store.read() as session:
        filled = "town" in session.project_keys()
    if not filled:
        fill(store, count)
        print(f"filled in {time.perf_counter() - start:.0f} s", flush=True)
    peer = peer or _peer(place)
    lines = []
    deep = max(1, count // 50 // (RUNS + 2))
    cases: list[tuple[str, Callable[[int], dict[str, Any]], float]] = [
        ("list, pages from the first on", lambda n: {"page": 1 + n}, PAGE_MS),
        ("list, pages far apart", lambda n: {"page": 1 + n * deep}, PAGE_MS),
        ("one segment", lambda n: {"segment": f"M-{n * 20 % (count // 20)}"}, PAGE_MS),
    ]
    cases += [
        (f"search “{words.format(n=21, k=2)}”", _searched(words), SEARCH_MS) for words in SEARCHES
    ]
    for name, asked, most in cases:
        lines.append(_line(store, peer, name, asked, most))
        print(lines[-1], flush=True)
    first = timed(lambda n: _after_change(store, n), 7)
    lines.append(f"| first page after a change, with the change itself | | {first} | | | |")
    print(lines[-1], flush=True)
    store.close()
    return lines


def _searched(words: str) -> Callable[[int], dict[str, Any]]:
    return lambda n: {"words": words.format(n=20 + n, k=n % 10)}


def _after_change(store: Any, n: int) -> object:
    change(store)
    return read(store, page=1 + n)


def _line(
    store: Any, peer: Peer, name: str, asked: Callable[[int], dict[str, Any]], most: float
) -> str:
    whole = timed(lambda n: listed(store, **asked(n)))
    own = timed(lambda n: read(store, **asked(n + RUNS + 1)))
    bare = timed(lambda n: peer.page(**asked(n + RUNS + 1)))
    good = "yes" if whole.cpu <= most else "**no**"
    ratio = own.cpu / bare.cpu if peer.in_process else own.wall / bare.wall
    return f"| {name} | {whole} | {own} | {bare} | {ratio:.2f} | {good} |"


def _peer(place: str) -> Peer:
    if "://" not in place:
        return Peer(sqlite3.connect(place), "?")
    import psycopg

    return Peer(psycopg.connect(place), "%s")


# ---------------------------------------------------------------- map and bundle


def map_lines(count: int, folder: Path) -> list[str]:
    """GeoPackage of the laterals alone, and of every layer."""
    from benchmarks.record_town import lateral, segments
    from drainwright.exchange.gis_writing import Placed, write_gis

    mains = list(segments(count))
    bare = [Placed(lateral(n), "listed", "", collar=False) for n in range(count)]
    every = [
        Placed(lateral(n), "designed", "line" if n % 5 == 0 else "prepare first", n % 5 == 0)
        for n in range(count)
    ]
    write_gis(folder / "warm.gpkg", mains, bare[:10], "EPSG:26915")
    lines = [
        "| GeoPackage | features | s | s CPU |",
        "|---|---|---|---|",
    ]
    for name, what in (("segments, laterals, taps, access points", bare), ("all layers", every)):
        wall, cpu = time.perf_counter(), time.process_time()
        found = write_gis(folder / f"{len(lines)}.gpkg", mains, what, "EPSG:26915")
        took = time.perf_counter() - wall, time.process_time() - cpu
        lines.append(f"| {name} | {sum(found.values())} | {took[0]:.1f} | {took[1]:.1f} |")
        print(lines[-1], flush=True)
    lines.append(_bare_lines(count, folder))
    print(lines[-1], flush=True)
    return lines


def _bare_lines(count: int, folder: Path) -> str:
    """The layer of laterals alone, as `write_gis` writes it."""
    from benchmarks.record_town import lateral
    from drainwright.exchange import gis_writing

    layer = gis_writing.Layer([], [])
    for n in range(count):
        own = lateral(n)
        layer.add(own.geometry, (own.key, own.segment, own.street, own.address, "", "", 18.0))
    wall, cpu = time.perf_counter(), time.process_time()
    gis_writing.write_layer(folder / "lines.gpkg", "GPKG", "laterals", layer, "EPSG:26915")
    took = time.perf_counter() - wall, time.process_time() - cpu
    good = "" if took[1] <= MAP_S else ", **over the limit**"
    return f"| laterals alone{good} | {count} | {took[0]:.1f} | {took[1]:.1f} |"


BUNDLE = """
import datetime as dt, resource, sys, time
from pathlib import Path
from drainwright.operations.bundle import write_bundle
from drainwright.storage import open_store
store = open_store(sys.argv[1])
start = time.perf_counter()
made = write_bundle(store, "town", Path(sys.argv[2]), at=dt.datetime.now(dt.UTC))
print(time.perf_counter() - start, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def bundle_line(place: str, folder: Path) -> str:
    """Time and memory of a process of its own that writes the bundle."""
    words = [sys.executable, "-c", BUNDLE, place, str(folder / "town.zip")]
    done = subprocess.run(words, check=True, capture_output=True, text=True)
    seconds, peak = map(float, done.stdout.split())
    size = (folder / "town.zip").stat().st_size / 2**20
    good = "within" if peak <= BUNDLE_MIB else "**over**"
    return (
        f"Bundle of the town: {size:.0f} MiB in {seconds:.0f} s, peak memory {peak:.0f} MiB"
        f" ({good} {BUNDLE_MIB:.0f} MiB)."
    )


# ---------------------------------------------------------------- the page


HEAD = [
    "| what | page, ms | its records, ms | hand-written SQL, ms | ratio | in time |",
    "|---|---|---|---|---|---|",
]


class Found(NamedTuple):
    """What was measured: laterals and lines of each database, of maps, and of the bundle."""

    lite_count: int
    lite: list[str]
    post_count: int
    post: list[str]
    maps: list[str]
    bundle: str
    load: tuple[float, float]


def page(count: int, kept: str = "", server_count: int = 0) -> str:
    """Measure everything; `kept` is a filled SQLite store to use instead of a new one."""
    load = os.getloadavg()[0]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        place = kept or str(folder / "town.drainwright")
        lite = measure(place, count, None)
        bundle = bundle_line(place, folder)
        print(bundle, flush=True)
        maps = map_lines(count, folder)
    other = server_count or count
    with server() as url:
        post = measure(url, other, None)
    return text_of(Found(count, lite, other, post, maps, bundle, (load, os.getloadavg()[0])))


def text_of(found: Found) -> str:
    """The page."""
    before, after = found.load
    machine = (
        f"Machine: {platform.machine()}, {os.cpu_count()} cores, Python "
        f"{platform.python_version()}, {time.strftime('%Y-%m-%d')}. Load average {before:.1f} "
        f"before, {after:.1f} after: above 1, other work ran beside, wall times are too long, and "
        "the processor's time of this process (CPU) is nearer to a quiet machine."
    )
    limits = (
        f"Medians of {RUNS} calls, no two alike. Limits: a list page {PAGE_MS:.0f} ms, a search "
        f"{SEARCH_MS:.0f} ms (told by CPU, with words and sketch), records at most "
        f"{MOST_RATIO:.0f} times the hand-written SQL of the same run: ratio by CPU on SQLite, by "
        "wall on PostgreSQL, whose server is another process. The SQL counts anew each time, the "
        "program once a change."
    )
    parts = ["# The record at size", "", machine, "", limits, ""]
    for name, count, lines in (
        ("SQLite", found.lite_count, found.lite), ("PostgreSQL", found.post_count, found.post),
    ):  # fmt: skip
        size = (
            f"{count:,} laterals, {count * 40:,} observations, {count // 5:,} work sheets, "
            f"{count // 20:,} segments."
        )
        parts += [f"## {name}", "", size, "", *HEAD, *lines, ""]
    parts += ["## Map and bundle", "", f"{found.lite_count:,} laterals.", "", *found.maps, ""]
    return "\n".join([*parts, found.bundle, ""])


def main(count: int = LATERALS, kept: str = "", server_count: int = 0) -> None:
    """Write docs/benchmarks/record.md."""
    target = ROOT / "docs" / "benchmarks" / "record.md"
    text = page(count, kept, server_count)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(text, encoding="utf-8")
    print(f"wrote {target}")


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:3]]
    main(
        numbers[0] if numbers else LATERALS,
        sys.argv[3] if len(sys.argv) > 3 else "",
        numbers[1] if len(numbers) > 1 else 0,
    )
