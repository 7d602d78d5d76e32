"""What was counted in a project, remembered until the project changes.

Every transaction that changes documents raises its project's number of changes, which a reader
sees in its own view of the store: a number of changes stands for one state of the project.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import Any, TypeVar

T = TypeVar("T")
MOST = 2048


class Counts:
    """Counts by project, number of changes, and what was counted; of one open store."""

    def __init__(self) -> None:
        self._known: OrderedDict[Any, Any] = OrderedDict()
        self._newest: dict[int, int] = {}
        self._lock = Lock()

    def of(self, home: tuple[int, int], what: Any, count: Callable[[], T]) -> T:
        """The count of `what` in this state of the project, counted where it is not known."""
        key = (home, what)
        with self._lock:
            if key in self._known:
                self._known.move_to_end(key)
                known: T = self._known[key]
                return known
        counted = count()
        with self._lock:
            self._forget_older(home)
            self._known[key] = counted
            while len(self._known) > MOST:
                self._known.popitem(last=False)
        return counted

    def _forget_older(self, home: tuple[int, int]) -> None:
        """Let go of what was known of a project before its newest change."""
        project, changes = home
        if changes <= self._newest.get(project, -1):
            return
        self._newest[project] = changes
        for key in [key for key in self._known if key[0][0] == project]:
            del self._known[key]
