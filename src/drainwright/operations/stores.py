"""Open a store for a face: a new one, or an existing one with its project chosen."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from drainwright.errors import NotFoundError, StorageError
from drainwright.records.project import Project
from drainwright.storage.protocol import RecordStore

OpenStore = RecordStore
"""A store that is open, for a face that hands it on."""


def _is_file(location: str) -> bool:
    return "://" not in location


@contextmanager
def create(location: str, attachments: Path | None = None) -> Iterator[RecordStore]:
    """A store, made if it is not there yet, closed at the end."""
    from drainwright.storage import open_store

    store = open_store(location, create=True, attachments=attachments)
    try:
        yield store
    finally:
        store.close()


@contextmanager
def opened(location: str, attachments: Path | None = None) -> Iterator[RecordStore]:
    """A store that must be there, whatever it holds, closed at the end."""
    if _is_file(location) and not Path(location).is_file():
        raise NotFoundError(f"there is no store at {location}; `drainwright new` makes one")
    from drainwright.storage import open_store

    store = open_store(location, attachments=attachments)
    try:
        yield store
    finally:
        store.close()


@contextmanager
def existing(
    location: str, project: str = "", attachments: Path | None = None
) -> Iterator[tuple[RecordStore, Project]]:
    """A store that must be there, and the project named, or its only one.

    Raises `NotFoundError` where the file, the project, or a choice between several is missing.
    """
    with opened(location, attachments) as store:
        yield store, _choose(store, project)


def _choose(store: RecordStore, key: str) -> Project:
    with store.read() as session:
        if key:
            return session.get(key, Project, key).record
        found = [stored.record for stored in session.every("", Project)]
    if len(found) == 1:
        return found[0]
    if not found:
        raise StorageError(f"{store.location} holds no project")
    names = ", ".join(project.key for project in found)
    raise NotFoundError(f"the store holds several projects ({names}); name one with --project")
