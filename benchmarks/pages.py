"""Every page of a project with 50,000 laterals: server time, against a bare FastAPI page.

`bare_page.py` tells what the bare page is. Both are called in this process, without a network,
address by address in turn, each address of ours for the first time.
Run: python benchmarks/pages.py [LATERALS [STORE, FILLED OR TO BE FILLED]]
"""

from __future__ import annotations

import asyncio
import datetime as dt
import gzip
import os
import platform
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bare_page import Asked, BareApp, Counting, Listener
from page_paint import VISITS, Painted, painted
from page_town import WHOLE, fill

LATERALS = 50_000
ROUNDS = 20
MOST_MS = 40.0
MOST_RATIO = 2.0
AT = dt.datetime(2026, 4, 2, 12, tzinfo=dt.UTC)
PAGE = Path(__file__).resolve().parent.parent / "docs" / "benchmarks" / "pages.md"

WHERE = """Machine: {machine}, {date}. Load average {load:.1f} at the end. Processor time counts
all threads of the process."""
PAINT_MS, LATER_KIB, MOST_FIRST_MS = 500.0, 60.0, 1000.0
HOW = """One work sheet for every fifth lateral, every fiftieth as large as planning makes them
(56 kB) and with its survey; these are opened. Each page is called {rounds} times, with other
addresses each time. *First* is the first call of all, after the warm-up that `serve` begins with.

The bare page is a FastAPI app with a plain `def` route: it runs every statement that ours ran for
the same address, in one connection of SQLAlchemy's pool, and fills a Jinja template with escaping
that shows as many expressions, every fourth in an `if`, with our own text between them, so that as
many bytes are written and they compress alike. Map data it answers as JSON, as many bytes. It has
no guard, no classes for records, no units, no links that keep filters, no drawings, and none of
the counts that ours had remembered. Both are called in this process, address by address in turn;
*ratio* is the middle of ours over the bare page's processor time.

*p95* is by the wall clock, *CPU* and *bare CPU* are p95 of processor time, *SQL* counts statements,
*KiB* is the page compressed. *Paint* is the first contentful paint in headless Chromium on this
machine, which visited the program before: least and middle of {visits} visits to one address."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page by name; `address` gives the address of a round, so that none is asked twice."""

    name: str
    address: Callable[[int], str]


def pages(count: int) -> list[Page]:
    """Every kind of page, with addresses spread over the project."""
    last, mains = count // 50, count // 20
    return [
        Page("list, one page after another", lambda n: f"/?page={1 + n * last // (ROUNDS + 1)}"),
        Page("list, a search", lambda n: f"/?q={100 + n * 997 % count}"),
        Page("list, a broad search", lambda n: f"/?q=street&page={1 + n}"),
        Page("list of a segment", lambda n: f"/?segment=M-{n * 37 % mains}"),
        Page("list of a street", lambda n: f"/?street=Alder Street {n % (mains // 50)}"),
        Page("list, stage and outcome", lambda n: f"/?stage=designed&outcome=line&page={1 + n}"),
        Page("list, who waits on the engineer", lambda n: f"/?waits=engineer&page={1 + n}"),
        Page("map, a neighborhood", lambda n: f"/api/map?box={box(n, 600)}"),
        Page("map, the whole town", lambda n: f"/api/map?box=-9,-9,{13000 + n},{3000 + n}"),
        Page("lateral, never opened", lambda n: f"/laterals/{opened(n, count)}"),
        Page("lateral, opened before", lambda n: f"/laterals/{opened(n, count)}"),
        Page("papers", lambda n: f"/papers?page={1 + n * last // (ROUNDS + 1)}"),
        Page("specification", lambda n: f"/specification?saved={n}"),
        Page("read a file", lambda n: f"/read?kind={n}"),
        Page("calculators", lambda n: f"/calculators?n={n}"),
    ]


def opened(n: int, count: int) -> str:
    """A lateral with a whole work sheet."""
    return f"L-{n * 1250 % count // WHOLE * WHOLE}"


def box(n: int, size: int) -> str:
    """A box of so many meters somewhere in the town."""
    west, south = n * 271 % 9000, n * 97 % 900
    return f"{west},{south},{west + size},{south + size // 2}"


# ---------------------------------------------------------------- calling and measuring


class Caller:
    """Calls an app as a browser does, in this process."""

    def __init__(self, app: Any) -> None:
        self._app = app
        self._loop = asyncio.new_event_loop()

    def get(self, address: str) -> bytes:
        """The answer to one GET, as it was sent."""
        path, _, query = address.partition("?")
        parts: list[bytes] = []
        status = 0

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: dict[str, Any]) -> None:
            nonlocal status
            status = message.get("status", status)
            parts.append(message.get("body", b""))

        scope = {
            "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
            "scheme": "http", "path": path, "raw_path": path.encode(), "root_path": "",
            "query_string": query.replace(" ", "+").encode(), "client": ("127.0.0.1", 1),
            "server": ("127.0.0.1", 8417),
            "headers": [(b"host", b"127.0.0.1"), (b"accept-encoding", b"gzip")],
        }  # fmt: skip
        self._loop.run_until_complete(self._app(scope, receive, send))
        if status != 200:
            raise SystemExit(f"{address} answered {status}")
        return b"".join(parts)

    def timed(self, address: str) -> tuple[float, float, bytes]:
        """Milliseconds of wall and of processor time, and the answer."""
        start, worked = time.perf_counter(), time.process_time()
        answer = self.get(address)
        took = time.perf_counter() - start, time.process_time() - worked
        return took[0] * 1000, took[1] * 1000, answer


def p95(values: list[float]) -> float:
    """The value that 95 % do not exceed."""
    return statistics.quantiles(values, n=20, method="inclusive")[-1]


# ---------------------------------------------------------------- the run and its page


@dataclass(frozen=True, slots=True)
class Row:
    """A page's figures in ms: ours wall and processor time, the bare page's processor time."""

    name: str
    first: float
    wall: float
    busy: float
    bare: float
    middle: float
    """Middle of the ratios of processor time, address by address."""
    statements: int
    values: int
    size: int
    sent: int


class Bench:
    """Our app and the bare one over the same store."""

    def __init__(self, app: Any, path: Path) -> None:
        from drainwright.web import desk

        self._bare = BareApp(str(path))
        self._ours, self._other = Caller(app), Caller(self._bare.app)
        self._listener, self._counting = Listener(), Counting(desk.environment())

    def row(self, page: Page) -> Row:
        """One page: its first call, then address by address ours and the bare page."""
        first = self._ours.timed(page.address(0))[0]
        walls, busy, others, asked = [], [], [], []
        for n in range(1, ROUNDS + 1):
            address = page.address(n)
            self._listener.ran()
            wall, cpu, answer = self._ours.timed(address)
            found = Asked(self._listener.ran(), self._shown(address), _unpacked(answer).decode())
            self._bare.prepare(page.name, found)
            name = f"/bare?name={page.name}&page={n}"
            self._other.get(name)
            walls.append(wall)
            busy.append(cpu)
            others.append(self._other.timed(name)[1])
            asked.append(found)
        ratios = [mine / theirs for mine, theirs in zip(busy, others, strict=True)]
        usual = sorted(asked, key=lambda one: len(one.text))[ROUNDS // 2]
        return Row(
            page.name, first, p95(walls), p95(busy), p95(others), statistics.median(ratios),
            len(usual.statements), usual.values, len(usual.text.encode()),
            len(gzip.compress(usual.text.encode(), 5)),
        )  # fmt: skip

    def _shown(self, address: str) -> int:
        """How many expressions the page shows, called again for it."""
        from drainwright.web import desk

        usual = desk.environment
        desk.environment = lambda: self._counting.templates  # type: ignore[assignment]
        try:
            self._ours.get(address)
            self._counting.shown = 0  # some were counted when templates were compiled
            self._ours.get(address)
        finally:
            desk.environment = usual
        return self._counting.shown


def _unpacked(answer: bytes) -> bytes:
    return gzip.decompress(answer) if answer[:2] == b"\x1f\x8b" else answer


def run(count: int, path: Path) -> list[Row]:
    """Call every page, and the bare pages."""
    from drainwright.operations.stores import existing
    from drainwright.operations.warm_up import warm_up
    from drainwright.web.app import make_app

    rows = []
    with existing(str(path)) as (store, project):
        warm_up(store, project, AT.date())
        bench = Bench(make_app(store, project, now=lambda: AT), path)
        for one in pages(count):
            rows.append(bench.row(one))
            print(rows[-1], flush=True)
    return rows


def text_of(rows: list[Row], paints: dict[str, Painted], count: int) -> str:
    """The page; a missed target is said, not hidden."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    machine = f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    table = [
        "| page | first, ms | p95, ms | CPU, ms | bare CPU, ms | ratio | SQL | KiB | paint, ms |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for r in rows:
        paint = paints.get(r.name)
        told = f"{paint.least:.0f} ({paint.middle:.0f})" if paint else ""
        table.append(
            f"| {r.name} | {r.first:.0f} | {r.wall:.1f} | {r.busy:.1f} | {r.bare:.1f} |"
            f" {r.middle:.2f} | {r.statements} | {r.sent / 1024:.1f} | {told} |"
        )
    painted_rows = [row for row in rows if row.name in paints]

    def slow_paint(row: Row) -> bool:
        return paints[row.name].least > PAINT_MS

    said = [
        f"# Pages with {count:,} laterals",
        WHERE.format(machine=machine, date=time.strftime("%Y-%m-%d"), load=load),
        HOW.format(rounds=ROUNDS, visits=VISITS),
        "\n".join(table),
        _target("Server time p95 of 40 ms, by processor time", rows, lambda r: r.busy > MOST_MS),
        _target("2 times the bare page", rows, lambda r: r.middle > MOST_RATIO),
        _target("60 KiB sent", rows, lambda r: r.sent > LATER_KIB * 1024),
        _target("1 s for the first call of all", rows, lambda r: r.first > MOST_FIRST_MS),
        _target("First paint within 0.5 s, least of the visits", painted_rows, slow_paint),
    ]
    return "\n\n".join([*said, ""])


def _target(words: str, rows: list[Row], missed: Callable[[Row], bool]) -> str:
    names = [row.name for row in rows if missed(row)]
    return f"{words}: " + (f"missed by {', '.join(names)}." if names else "met by every page.")


def main(count: int = LATERALS, kept: str = "") -> None:
    """Run and write the page."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(kept or f"{folder}/town.drainwright")
        if not path.exists():
            fill(path, count)
        rows = run(count, path)
        seen = [one for one in pages(count) if not one.address(0).startswith("/api/")]
        paints = painted(path, {one.name: one.address(ROUNDS) for one in seen})
        text = text_of(rows, paints, count)
    PAGE.write_text(text, encoding="utf-8")
    print(f"wrote {PAGE}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else LATERALS, "".join(sys.argv[2:3]))
