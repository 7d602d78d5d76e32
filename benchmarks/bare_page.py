"""The peer of a page: a bare FastAPI page with the same SQL and a template of the same size.

The bare app has one plain `def` route with typed parameters. It takes a connection of SQLAlchemy's
pool, runs in one transaction every statement that our page ran for that address, as ready text,
and fills a Jinja template with escaping. The template shows as many expressions as ours did, every
fourth in an `if`; its fixed text is cut from our own answer, so that as many bytes are written and
they compress alike. What it shows are cells of the rows it read, cut to 60 letters. Where we answer
JSON, it answers its rows as JSON, as many bytes. Both apps compress alike. What it does without:
guard, classes for records, units, links that keep filters, counting what was counted before,
drawings.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from fastapi import FastAPI, Response
from jinja2 import Environment, Template
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import HTMLResponse, JSONResponse

LONGEST = 60
_GROUP = 4


@dataclass(frozen=True, slots=True)
class Asked:
    """What one of our pages ran, how many expressions it showed, and what it answered."""

    statements: tuple[tuple[str, Any], ...]
    values: int
    """0 where the answer is JSON."""
    text: str


class Listener:
    """Keeps the statements that run."""

    def __init__(self) -> None:
        self._ran: list[tuple[str, Any]] = []
        sa.event.listen(sa.Engine, "before_cursor_execute", self._note)

    def _note(self, _c: Any, _cursor: Any, statement: str, values: Any, *_: Any) -> None:
        self._ran.append((statement, values))

    def ran(self) -> tuple[tuple[str, Any], ...]:
        """Those that ran since this was last asked; the pool's BEGIN is not among them."""
        found = tuple(one for one in self._ran if one[0].lstrip().startswith("SELECT"))
        self._ran.clear()
        return found


class Counting:
    """Our templates, counting the expressions they show."""

    def __init__(self, templates: Environment) -> None:
        self.shown = 0
        self.templates = templates.overlay(finalize=self._count)

    def _count(self, value: Any) -> Any:
        self.shown += 1
        return value


class BareApp:
    """The bare app; `prepare` tells it what an address is to run and to show."""

    def __init__(self, store: str) -> None:
        self._engine = sa.create_engine(f"sqlite:///{store}")
        self._asked: dict[str, tuple[Asked, Template]] = {}
        self.app = FastAPI()
        self.app.get("/{rest:path}")(self.page)
        self.app.add_middleware(GZipMiddleware, minimum_size=800, compresslevel=5)

    def prepare(self, name: str, asked: Asked) -> None:
        """Make the template of an address, not timed."""
        cells = self._cells(asked)
        self._asked[name] = asked, template_of(asked, sum(map(len, cells)))

    def page(self, rest: str, name: str, page: int = 1, q: str = "") -> Response:
        """The page of an address that was prepared under `name`."""
        del rest, page, q
        asked, template = self._asked[name]
        cells = self._cells(asked)
        if not asked.values:
            return JSONResponse({"rows": cells})
        return HTMLResponse(template.render(cells=cells))

    def _cells(self, asked: Asked) -> list[str]:
        """As many cells as are shown, or as fill the answer."""
        with self._engine.connect() as connection:
            found = [connection.exec_driver_sql(*one).all() for one in asked.statements]
        cells = [str(cell)[:LONGEST] for rows in found for row in rows for cell in row] or ["none"]
        if asked.values:
            return list(itertools.islice(itertools.cycle(cells), asked.values))
        each = sum(map(len, cells)) + 3 * len(cells)
        return (cells * (len(asked.text) // each + 1))[: len(cells) * len(asked.text) // each]


def template_of(asked: Asked, shown: int) -> Template:
    """A template of as many expressions, with our own text between them."""
    text = asked.text[: max(len(asked.text) - shown, 0)]
    step = -(-len(text) // (asked.values + 1))
    parts = []
    for n in range(asked.values):
        cell = f"{{{{ cells[{n}] }}}}"
        if n % _GROUP == 0:
            cell = f"{{% if cells[{n}] %}}{cell}{{% endif %}}"
        parts.append(f"{{% raw %}}{text[n * step : (n + 1) * step]}{{% endraw %}}{cell}")
    parts.append(f"{{% raw %}}{text[asked.values * step :]}{{% endraw %}}")
    return Environment(autoescape=True).from_string("".join(parts))
