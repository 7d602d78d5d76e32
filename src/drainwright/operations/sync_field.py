"""Bring two stores' field entries and photos together over HTTP, both ways (write).

Nothing is overwritten on either side. What was broken off is gone on with at the next run;
a second run changes nothing. A device whose entries differ under one number is told and left.
"""

from __future__ import annotations

import datetime as dt
import http.client
import json
import ssl
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote, urlsplit

from drainwright.errors import ConflictError, Fault, InputError, StorageError
from drainwright.operations.field_journal import (
    Head,
    entries_after,
    entry_json,
    heads_of,
    photo,
    photos_of,
    read_entry,
    receive_entries,
    receive_photo,
)
from drainwright.operations.stores import OpenStore
from drainwright.storage.protocol import FieldEntry

WAIT = 30.0
"""Seconds to wait for an answer."""
Ask = Callable[[str, str, bytes | None, str], bytes]
"""Method, path, body and its media type to the body of the answer."""


@dataclass(frozen=True, slots=True)
class Synced:
    """What a run moved, and what it could not."""

    sent: int
    fetched: int
    photos_sent: int
    photos_fetched: int
    conflicts: tuple[str, ...]


def asker(address: str) -> Ask:
    """Ask a server at `address`, such as http://truck:8417; `StorageError` where it fails."""
    parts = urlsplit(address)
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise InputError(Fault("address", "must be like http://truck:8417", address))

    def ask(method: str, path: str, body: bytes | None, media: str) -> bytes:
        try:
            with _connected(parts.scheme, parts.hostname or "", parts.port) as connection:
                headers = {"Content-Type": media} if body is not None else {}
                connection.request(method, parts.path.rstrip("/") + path, body, headers)
                answer = connection.getresponse()
                content = answer.read()
        except (OSError, http.client.HTTPException) as error:
            raise StorageError(f"{address} does not answer: {error}") from error
        if answer.status == 409:
            raise ConflictError(_detail(content))
        if answer.status != 200:
            raise StorageError(f"{address}{path}: {answer.status} {_detail(content)}")
        return content

    return ask


class _Closing:
    def __init__(self, connection: http.client.HTTPConnection) -> None:
        self._connection = connection

    def __enter__(self) -> http.client.HTTPConnection:
        return self._connection

    def __exit__(self, *_: object) -> None:
        self._connection.close()


def _connected(scheme: str, host: str, port: int | None) -> _Closing:
    if scheme == "https":
        context = ssl.create_default_context()
        return _Closing(http.client.HTTPSConnection(host, port, timeout=WAIT, context=context))
    return _Closing(http.client.HTTPConnection(host, port, timeout=WAIT))


def _detail(content: bytes) -> str:
    try:
        found = json.loads(content)
        return str(found.get("detail") or found.get("title"))
    except (ValueError, AttributeError):
        return content[:200].decode("utf-8", "replace")


@dataclass(frozen=True, slots=True)
class Sides:
    """This store's project, and how to ask the other side."""

    store: OpenStore
    project: str
    ask: Ask
    by: str
    at: dt.datetime


def sync_field(sides: Sides) -> Synced:
    """Send what the other side lacks, fetch what this one lacks: entries, then photos.

    Raises `StorageError` where the other side fails or breaks off, `ConflictError` where it
    holds another project; what was moved until then stays.
    """
    told = _json(sides.ask("GET", "/field/-/heads", None, ""))
    if told["project"] != sides.project:
        words = f"the other side holds project “{told['project']}”, not “{sides.project}”"
        raise ConflictError(words)
    theirs = {name: Head(one["number"], one["sha256"]) for name, one in told["heads"].items()}
    mine = heads_of(sides.store, sides.project)
    conflicts: list[str] = []
    sent = fetched = 0
    for device in sorted({*theirs, *mine}):
        here, there = mine.get(device, Head(0, "")), theirs.get(device, Head(0, ""))
        try:
            if not _agree(sides, device, here, there):
                words = "both sides have entries of it that differ; nothing of it was moved"
                conflicts.append(f"{device}: {words}")
            elif here.number > there.number:
                sent += _send(sides, device, there.number)
            elif there.number > here.number:
                fetched += _fetch(sides, device, here.number)
        except ConflictError as error:
            conflicts.append(f"{device}: {error}")
    return Synced(sent, fetched, *_photos(sides), tuple(conflicts))


def _agree(sides: Sides, device: str, here: Head, there: Head) -> bool:
    """Whether the shorter chain is the beginning of the longer one."""
    at = min(here.number, there.number)
    if at == 0:
        return True
    mine, theirs = here.sha256, there.sha256
    if here.number > at:
        mine = entries_after(sides.store, sides.project, device, at - 1, 1)[0].sha256
    if there.number > at:
        theirs = next(_ask_entries(sides.ask, device, at - 1)).sha256
    return mine == theirs


def _ask_entries(ask: Ask, device: str, after: int) -> Iterator[FieldEntry]:
    path = f"/field/-/entries?device={quote(device, safe='')}&after={after}"
    yield from (read_entry(one) for one in _json(ask("GET", path, None, "")))


def _send(sides: Sides, device: str, after: int) -> int:
    sent = 0
    while found := entries_after(sides.store, sides.project, device, after):
        body = json.dumps({"entries": [entry_json(one) for one in found]}, ensure_ascii=False)
        told = _json(sides.ask("POST", "/field/-/upload", body.encode(), "application/json"))
        sent += told["new"]
        after = found[-1].number
    return sent


def _fetch(sides: Sides, device: str, after: int) -> int:
    fetched = 0
    while found := list(_ask_entries(sides.ask, device, after)):
        done = receive_entries(sides.store, sides.project, found, by=sides.by, at=sides.at)
        fetched += done.new
        after = found[-1].number
    return fetched


def _photos(sides: Sides) -> tuple[int, int]:
    store, project = sides.store, sides.project
    mine, theirs = photos_of(store, project), _json(sides.ask("GET", "/field/-/photos", None, ""))
    sent = fetched = 0
    for sha256 in sorted(set(mine) - set(theirs)):
        content, name, _ = photo(store, project, sha256)
        path = f"/field/-/photo?name={quote(name, safe='')}"
        sides.ask("PUT", path, content, "application/octet-stream")
        sent += 1
    for sha256 in sorted(set(theirs) - set(mine)):
        content = sides.ask("GET", f"/field/-/photo/{sha256}", None, "")
        kept = receive_photo(store, project, content, theirs[sha256], by=sides.by, at=sides.at)
        if kept != sha256:
            raise StorageError(f"photo {theirs[sha256]} came in damaged")
        fetched += 1
    return sent, fetched


def _json(content: bytes) -> Any:
    try:
        return json.loads(content)
    except ValueError as error:
        raise StorageError(f"the other side did not answer as drainwright does: {error}") from error
