"""Every page of a project with 50,000 laterals: server time, against a bare FastAPI page.

The bare page runs the very SQL statements that our page ran, with sqlite3, and loops over their
rows in a Jinja template with escaping until it has as many bytes, behind the same compression. Both
are called in this process, without a network. Run: python benchmarks/pages.py [LATERALS]
"""

from __future__ import annotations

import asyncio
import datetime as dt
import importlib.util
import os
import platform
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from fastapi import FastAPI, Request
from jinja2 import Environment
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import HTMLResponse

LATERALS = 50_000
ROUNDS = 40
MOST_MS = 40.0
MOST_RATIO = 2.0
AT = dt.datetime(2026, 4, 2, 12, tzinfo=dt.UTC)
HERE = Path(__file__).resolve().parent
PAGE = HERE.parent / "docs" / "benchmarks" / "pages.md"
BARE = """<!doctype html><title>bare</title><table>{% for _ in range(times) %}
{% for rows in found %}
{% for row in rows %}<tr>{% for cell in row %}<td class="cell">{{ cell }}</td>{% endfor %}</tr>
{% endfor %}{% endfor %}{% endfor %}</table><pre>{{ filler }}</pre>"""

WHERE = """Machine: {machine}, {date}. Load average {load:.1f} at the end: with other work on the
machine the wall time says little, the processor time more."""
HOW = """One work sheet for every fifth lateral. Each page is called 40 times, with other addresses
each time. *First* is the first call, which may lay out the map or count. The bare page runs the
same SQL with sqlite3 and renders as many bytes from its rows; *ratio* is the middle of ours over
its processor time."""


@dataclass(frozen=True, slots=True)
class Page:
    """A page by name; `address` gives the address of a round, so that none is asked twice."""

    name: str
    address: Callable[[int], str]


def pages(count: int) -> list[Page]:
    """Every kind of page, with addresses spread over the project."""
    last, mains = count // 50, count // 20
    return [
        Page("list, one page after another", lambda n: f"/?page={1 + n * last // ROUNDS}"),
        Page("list, a search", lambda n: f"/?q={100 + n * 997 % count}"),
        Page("list, a broad search", lambda n: f"/?q=street&page={1 + n}"),
        Page("list of a segment", lambda n: f"/?segment=M-{n * 37 % mains}"),
        Page("list of a street", lambda n: f"/?street=Alder Street {n % (mains // 50)}"),
        Page("list, stage and outcome", lambda n: f"/?stage=designed&outcome=line&page={1 + n}"),
        Page("list, who waits on the engineer", lambda n: f"/?waits=engineer&page={1 + n}"),
        Page("map, a neighborhood", lambda n: f"/api/map?box={box(n, 600)}"),
        Page("map, the whole town", lambda n: f"/api/map?box=-9,-9,{13000 + n},{3000 + n}"),
        Page("lateral", lambda n: f"/laterals/L-{n * 605 % count // 5 * 5}"),
        Page("papers", lambda n: f"/papers?page={1 + n * last // ROUNDS}"),
        Page("specification", lambda n: f"/specification?saved={n}"),
        Page("read a file", lambda n: f"/read?kind={n}"),
        Page("calculators", lambda n: f"/calculators?n={n}"),
    ]


def box(n: int, size: int) -> str:
    """A box of so many meters somewhere in the town."""
    west, south = n * 271 % 9000, n * 97 % 900
    return f"{west},{south},{west + size},{south + size // 2}"


def town(count: int) -> Iterator[Any]:
    """Project, specification, mains, laterals, and a work sheet for every fifth."""
    spec = importlib.util.spec_from_file_location("record_town", HERE / "record_town.py")
    if spec is None or spec.loader is None:
        raise SystemExit("benchmarks/record_town.py is missing")
    made = importlib.util.module_from_spec(spec)
    sys.modules["record_town"] = made
    spec.loader.exec_module(made)
    outcomes = list(made.Fitness)
    mains = list(made.segments(count))
    yield made.project(), 0
    yield made.default_specification(), 0
    yield from ((main, 0) for main in mains)
    yield from ((made.lateral(n), 0) for n in range(count))
    for n in range(0, count, 5):
        yield made.sheet(n, mains[n // 20], outcomes[n // 5 % len(outcomes)]), 0


# ---------------------------------------------------------------- calling and measuring


def call(app: Any, address: str) -> int:
    """One GET, as a browser asks; returns the bytes of the answer, compressed."""
    path, _, query = address.partition("?")
    status, size = 0, 0

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, Any]) -> None:
        nonlocal status, size
        status = message.get("status", status)
        size += len(message.get("body", b""))

    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "GET",
        "scheme": "http", "path": path, "raw_path": path.encode(), "root_path": "",
        "query_string": query.replace(" ", "+").encode(), "client": ("127.0.0.1", 1),
        "server": ("127.0.0.1", 8417),
        "headers": [(b"host", b"127.0.0.1"), (b"accept-encoding", b"gzip")],
    }  # fmt: skip
    LOOP.run_until_complete(app(scope, receive, send))
    if status != 200:
        raise SystemExit(f"{address} answered {status}")
    return size


LOOP = asyncio.new_event_loop()


def measured(app: Any, addresses: list[str]) -> tuple[list[float], list[float]]:
    """Milliseconds of wall and of processor time for each address."""
    wall, busy = [], []
    for address in addresses:
        start, worked = time.perf_counter(), time.process_time()
        call(app, address)
        wall.append((time.perf_counter() - start) * 1000)
        busy.append((time.process_time() - worked) * 1000)
    return wall, busy


def p95(values: list[float]) -> float:
    """The value that 95 % do not exceed."""
    return statistics.quantiles(values, n=20, method="inclusive")[-1]


# ---------------------------------------------------------------- the bare page


@dataclass(frozen=True, slots=True)
class Asked:
    """What one of our pages asked of the database, and how many bytes it answered."""

    statements: tuple[tuple[str, Any], ...]
    size: int
    times: int = 1
    """How often the bare page goes through the rows, to have as much to render."""
    filler: int = 0


def listened(app: Any, addresses: list[str], sizes: list[int]) -> dict[str, Asked]:
    """The statements of each address, as they ran."""
    found: dict[str, Asked] = {}
    ran: list[tuple[str, Any]] = []

    def note(_c: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        if statement.lstrip()[:6].upper() == "SELECT":
            ran.append((statement, parameters))

    sa.event.listen(sa.Engine, "before_cursor_execute", note)
    for address, size in zip(addresses, sizes, strict=True):
        ran.clear()
        call(app, address)
        found[address] = Asked(tuple(ran), size)
    sa.event.remove(sa.Engine, "before_cursor_execute", note)
    return found


def bare_app(store: str, asked: dict[str, Asked]) -> FastAPI:
    """A page that runs the same statements and answers as many bytes."""
    app = FastAPI()
    template = Environment(autoescape=True).from_string(BARE)
    database = sqlite3.connect(store, check_same_thread=False)
    asked = {address: _sized(one, template, database) for address, one in asked.items()}

    def page(request: Request) -> HTMLResponse:
        query = request.url.query.replace("+", " ")
        wanted = asked[request.url.path + (f"?{query}" if query else "")]
        found = [database.execute(*one).fetchall() for one in wanted.statements]
        text = template.render(found=found, times=wanted.times, filler=" " * wanted.filler)
        return HTMLResponse(text)

    app.get("/{rest:path}")(page)
    app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=5)
    return app


def _sized(one: Asked, template: Any, database: sqlite3.Connection) -> Asked:
    """Rows as often as fit into the size, and blanks for the rest."""
    found = [database.execute(*each).fetchall() for each in one.statements]
    empty, once = (len(template.render(found=found, times=n, filler="")) for n in (0, 1))
    times = max(1, (one.size - empty) // max(once - empty, 1)) if once > empty else 1
    full = len(template.render(found=found, times=times, filler=""))
    return replace(one, times=times, filler=max(one.size - full, 0))


def bytes_of(app: Any, addresses: list[str]) -> list[int]:
    """Bytes of each answer without compression."""
    from fastapi.testclient import TestClient

    client = TestClient(app, headers={"accept-encoding": "identity", "host": "127.0.0.1"})
    return [len(client.get(address).content) for address in addresses]


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
    """Middle of the ratios of processor time, round by round."""


def run(count: int) -> list[Row]:
    """Fill a store, call every page, and the bare pages."""
    from drainwright.operations.stores import create, existing
    from drainwright.web.app import make_app

    rows = []
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "town.drainwright")
        with create(path) as store, store.write(
            by="bench", at=AT, origin="bench", reason="filled"
        ) as session:  # fmt: skip
            session.put_many("town", town(count))
        with existing(path) as (store, project):
            app = make_app(store, project, now=lambda: AT)
            for one in pages(count):
                rows.append(_row(app, path, one))
                print(rows[-1], flush=True)
    return rows


def _row(app: Any, path: str, one: Page) -> Row:
    addresses = [one.address(n) for n in range(ROUNDS)]
    first = measured(app, addresses[:1])[0][0]
    wall, busy = measured(app, addresses)
    asked = listened(app, addresses, bytes_of(app, addresses))
    bare = bare_app(path, asked)
    measured(bare, addresses[:2])
    _, others = measured(bare, addresses)
    ratios = [mine / max(other, 0.05) for mine, other in zip(busy, others, strict=True)]
    return Row(one.name, first, p95(wall), p95(busy), p95(others), statistics.median(ratios))


def text_of(rows: list[Row], count: int) -> str:
    """The page; a missed target is said, not hidden."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    machine = f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}"
    table = ["| page | first, ms | p95 wall, ms | p95 processor, ms | bare p95, ms | ratio |",
             "|---|---|---|---|---|---|"]  # fmt: skip
    table += [
        f"| {r.name} | {r.first:.0f} | {r.wall:.1f} | {r.busy:.1f} | {r.bare:.1f} |"
        f" {r.middle:.2f} |"
        for r in rows
    ]
    slow = [r.name for r in rows if r.busy > MOST_MS]
    heavy = [r.name for r in rows if r.middle > MOST_RATIO]
    said = [
        "# Pages with 50,000 laterals" if count == LATERALS else f"# Pages with {count} laterals",
        WHERE.format(machine=machine, date=time.strftime("%Y-%m-%d"), load=load),
        HOW,
        "\n".join(table),
        f"Target p95 of at most {MOST_MS:.0f} ms: "
        + (f"missed by {', '.join(slow)}." if slow else "met by every page (processor time)."),
        f"Target of at most {MOST_RATIO:.0f} times the bare page: "
        + (f"missed by {', '.join(heavy)}." if heavy else "met by every page."),
    ]
    return "\n\n".join([*said, ""])


def main(count: int = LATERALS) -> None:
    """Run and write the page."""
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(text_of(run(count), count), encoding="utf-8")
    print(f"wrote {PAGE}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else LATERALS)
