"""Things a page has made and will ask for again: files to be read, papers that are ready.

They are kept in memory for a while and let go when there is no room; nothing is on disk.
"""

from __future__ import annotations

import secrets
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

from drainwright.errors import NotFoundError

T = TypeVar("T")
ROOM = 256 * 1024 * 1024
LONGEST = 3600.0


@dataclass(frozen=True, slots=True)
class _Entry(Generic[T]):
    thing: T
    size: int
    since: float


class Kept(Generic[T]):
    """Things by a name that can't be guessed; the oldest go when there is no room."""

    def __init__(
        self,
        what: str,
        room: int = ROOM,
        longest: float = LONGEST,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._what = what
        self._room = room
        self._longest = longest
        self._clock = clock
        self._entries: OrderedDict[str, _Entry[T]] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, thing: T, size: int) -> str:
        """Keep a thing; return the name to ask for it by."""
        name = secrets.token_urlsafe(12)
        with self._lock:
            self._entries[name] = _Entry(thing, size, self._clock())
            self._let_go()
        return name

    def get(self, name: str) -> T:
        """The thing of that name; `NotFoundError` where it is gone."""
        with self._lock:
            self._let_go()
            entry = self._entries.get(name)
        if entry is None:
            raise NotFoundError(f"{self._what} is no longer kept; choose it again")
        return entry.thing

    def _let_go(self) -> None:
        late = self._clock() - self._longest
        total = sum(entry.size for entry in self._entries.values())
        for name, entry in list(self._entries.items()):
            alone = len(self._entries) == 1
            if entry.since > late and (total <= self._room or alone):
                break
            del self._entries[name]
            total -= entry.size
