"""Attempts: what the field entries of a lateral tell, put together; nothing of it is stored."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from drainwright.records.field_entry import AttemptEnd, EntryKind, FieldEvent


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt to line a lateral, with its entries in the order of their times.

    Entries that a later one corrects are left out of `events` and kept in `corrected`.
    """

    lateral: str
    number: int
    events: tuple[FieldEvent, ...]
    corrected: tuple[FieldEvent, ...] = ()

    @property
    def ending(self) -> FieldEvent | None:
        """The entry that ended it, the last one where there are several."""
        return self._last(EntryKind.END)

    @property
    def end(self) -> AttemptEnd | None:
        """How it ended; None while it runs."""
        ending = self.ending
        known = {one.value: one for one in AttemptEnd}
        return None if ending is None else known.get(ending.answer)

    @property
    def cause(self) -> str:
        """Why it ended as it did."""
        return self.ending.reason if self.ending else ""

    @property
    def payer(self) -> str:
        """Who pays for a failed attempt."""
        return self.ending.word("payer") if self.ending else ""

    @property
    def begun(self) -> dt.datetime:
        """Time of its first entry."""
        return self.events[0].at

    def time_of(self, step: str) -> dt.datetime | None:
        """When a step was done; None where it was not."""
        done = [one.at for one in self.events if one.kind is EntryKind.STEP and one.step == step]
        return done[-1] if done else None

    def readings(self, name: str) -> Iterator[tuple[FieldEvent, float]]:
        """Each entry that read a value under `name`, with the SI value."""
        for event in self.events:
            value = event.value(name)
            if value is not None:
                yield event, value

    def last(self, name: str) -> float | None:
        """The last SI value read under `name`."""
        found = [value for _, value in self.readings(name)]
        return found[-1] if found else None

    def word(self, name: str) -> str:
        """The last words read under `name`."""
        found = [text for event in self.events if (text := event.word(name))]
        return found[-1] if found else ""

    def _last(self, kind: EntryKind) -> FieldEvent | None:
        found = [event for event in self.events if event.kind is kind]
        return found[-1] if found else None


def attempts_of(events: Iterable[FieldEvent]) -> Mapping[str, tuple[Attempt, ...]]:
    """The attempts of each lateral, by number; entries of a device may come in any order."""
    given = list(events)
    replaced = {event.corrects for event in given if event.corrects}
    groups: dict[tuple[str, int], tuple[list[FieldEvent], list[FieldEvent]]] = {}
    for event in sorted(given, key=lambda one: (one.at, one.id)):
        kept, corrected = groups.setdefault((event.lateral, event.attempt), ([], []))
        (corrected if event.id and event.id in replaced else kept).append(event)
    found: dict[str, list[Attempt]] = {}
    for (lateral, number), (kept, corrected) in sorted(groups.items()):
        if kept:
            attempt = Attempt(lateral, number, tuple(kept), tuple(corrected))
            found.setdefault(lateral, []).append(attempt)
    return {lateral: tuple(attempts) for lateral, attempts in found.items()}
