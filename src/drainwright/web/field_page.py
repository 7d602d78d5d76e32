"""The field pages: list of the shift, the page of a lateral, and what devices ask and send."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import os
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Any, ClassVar
from urllib.parse import quote
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Body, Query, Response

from drainwright.errors import Fault, InputError
from drainwright.operations import field_journal as journal
from drainwright.operations.days_in_words import day_words
from drainwright.operations.field_plan import FieldLine, field_list, field_plan
from drainwright.operations.watch_cure import Logger, watch_cure
from drainwright.records.entry_id import entry_id
from drainwright.web.desk import Desk, asset_address, assets

SCRIPTS = ("field_store.js", "field_clock.js", "field_state.js", "field_cards.js", "field.js",
           "field_live.js")  # fmt: skip
_FILES = (*SCRIPTS, "field_list.js", "field.css", "mark.svg", "DrainwrightSans-Regular.woff2",
          "DrainwrightSans-Bold.woff2")  # fmt: skip
BY = "field page"


@dataclass(frozen=True, slots=True)
class Line:
    """A lateral on the list, with the time of its last entry as text."""

    key: str
    address: str
    segment: str
    tap: str
    attempt: int
    state: str
    when: str


@dataclass(frozen=True, slots=True)
class ListPage:
    """The list of the shift."""

    template: ClassVar[str] = "field.html"
    lines: tuple[Line, ...]
    day: str


@dataclass(frozen=True, slots=True)
class ShellPage:
    """The page of any lateral: the device fills it from what it keeps."""

    template: ClassVar[str] = "field_lateral.html"
    scripts: tuple[str, ...] = SCRIPTS


def new_id(at: dt.datetime) -> str:
    """An id for an entry made here."""
    return entry_id(at, os.urandom(10))


@lru_cache(maxsize=1)
def _worker() -> bytes:
    """The service worker with the list of files it keeps; it changes when any of them does."""
    files = [asset_address(name) for name in _FILES]
    version = hashlib.sha256("".join(files).encode()).hexdigest()[:12]
    head = (
        f"const VERSION = {json.dumps(version)};\nconst ASSETS = {json.dumps(files)};\n"
        'const SHELL = "/field/-/shell";\n'
    )
    return head.encode() + assets()["field_sw.js"].content


def routes(desk: Desk, logger: Logger | None = None) -> APIRouter:
    """The routes of the field pages; what devices ask lies under /field/-/.

    `logger` gives what the truck's logger has written so far, where there is one.
    """
    router = APIRouter(prefix="/field", include_in_schema=False)
    _add_pages(router, desk)
    _add_exchange(router, desk)
    _add_photos(router, desk)
    _add_cure(router, desk, logger)

    @router.get("/{key:path}")
    def lateral(key: str) -> Response:  # last: any other name is a lateral's  # noqa: ARG001
        return desk.page(ShellPage())

    return router


def _add_pages(router: APIRouter, desk: Desk) -> None:
    @router.get("")
    def shift() -> Response:
        found = field_list(desk.store, desk.project, desk.today)
        lines = tuple(_line(one, desk) for one in found)
        return desk.page(ListPage(lines, f"{desk.today:%a} {day_words(desk.today, desk.system)}"))

    @router.get("/sw.js")
    def worker() -> Response:
        headers = {"Service-Worker-Allowed": "/field", "Cache-Control": "no-cache"}
        return Response(_worker(), media_type="text/javascript", headers=headers)

    @router.get("/-/shell")
    def shell() -> Response:
        return desk.page(ShellPage())


def _add_exchange(router: APIRouter, desk: Desk) -> None:
    key, store = desk.project.key, desk.store

    def now() -> str:
        return desk.now().isoformat()

    @router.get("/-/plan")
    def plan(lateral: str) -> dict[str, Any]:
        return field_plan(store, desk.project, lateral)

    @router.get("/-/heads")
    def heads() -> dict[str, Any]:
        return {"project": key, "now": now(), "heads": journal.heads_of(store, key)}

    @router.get("/-/entries")
    def entries(device: str, after: Annotated[int, Query(ge=0)] = 0) -> list[dict[str, Any]]:
        found = journal.entries_after(store, key, device, after)
        return [journal.entry_json(one) for one in found]

    @router.post("/-/upload")
    def upload(given: Annotated[dict[str, Any], Body()]) -> dict[str, Any]:
        listed = given.get("entries")
        if not isinstance(listed, list):
            raise InputError(Fault("entries", "must be a list of entries"))
        read = [journal.read_entry(one) for one in listed]
        if not read:
            return {"new": 0, "waiting": 0, "heads": journal.heads_of(store, key), "now": now()}
        done = journal.receive_entries(store, key, read, by=BY, at=desk.now())
        return {"new": done.new, "waiting": done.waiting, "heads": done.heads, "now": now()}

    @router.post("/-/since")
    def since(given: Annotated[dict[str, Any], Body()]) -> dict[str, Any]:
        reached, lateral = given.get("reached", {}), given.get("lateral", "")
        right = isinstance(reached, dict) and all(type(n) is int for n in reached.values())
        if not right or not isinstance(lateral, str):
            raise InputError(Fault("reached", "must give a number for each device"))
        found = journal.entries_since(store, key, reached, lateral)
        shown = [journal.entry_json(one) for one in found.entries]
        return {"entries": shown, "reached": found.reached, "more": found.more}


def _add_photos(router: APIRouter, desk: Desk) -> None:
    key, store = desk.project.key, desk.store

    @router.get("/-/photos")
    def photos() -> dict[str, str]:
        return dict(journal.photos_of(store, key))

    @router.get("/-/photo/{sha256}")
    def photo(sha256: str) -> Response:
        content, name, media = journal.photo(store, key, sha256)
        told = f"attachment; filename*=UTF-8''{quote(name, safe='')}"
        return Response(content, media_type=media, headers={"Content-Disposition": told})

    @router.put("/-/photo")
    def keep(
        name: str, content: Annotated[bytes, Body(media_type="application/octet-stream")]
    ) -> dict[str, str]:
        kept = journal.receive_photo(store, key, content, name, by=BY, at=desk.now())
        return {"sha256": kept}


def _add_cure(router: APIRouter, desk: Desk, logger: Logger | None) -> None:
    pasted: dict[tuple[str, int], bytes] = {}

    def look(lateral: str, attempt: int, content: bytes) -> dict[str, Any]:
        return watch_cure(desk.store, desk.project, lateral, attempt, content, desk.now())

    @router.get("/-/live")
    def live(lateral: str, attempt: int = 1) -> dict[str, Any]:
        content = pasted.get((lateral, attempt))
        if content is None and logger is not None:
            content = logger()
        return {"lines": None} if content is None else look(lateral, attempt, content)

    @router.post("/-/log")
    def log(
        lateral: str, content: Annotated[bytes, Body(media_type="text/csv")], attempt: int = 1
    ) -> dict[str, Any]:
        told = look(lateral, attempt, content)
        pasted[lateral, attempt] = content
        return told


def _line(one: FieldLine, desk: Desk) -> Line:
    local = one.at.astimezone(ZoneInfo(desk.project.zone)) if one.at else None
    when = f"{local:%a} {day_words(local.date(), desk.system)}, {local:%H:%M}" if local else ""
    return Line(one.key, one.address, one.segment, one.tap, one.attempt, one.state, when)
