"""The store: many projects in one SQLite file or one PostgreSQL database.

`open_store` is the way in. Nothing heavy is imported before it is called.
"""

from __future__ import annotations

from pathlib import Path

from drainwright.storage.protocol import (
    Attachment,
    FieldEntry,
    Filters,
    Finding,
    Page,
    ReadSession,
    ReceivedEntry,
    Record,
    RecordStore,
    Revision,
    Saved,
    Stage,
    Stored,
    WriteSession,
)

__all__ = [
    "Attachment",
    "FieldEntry",
    "Filters",
    "Finding",
    "Page",
    "ReadSession",
    "ReceivedEntry",
    "Record",
    "RecordStore",
    "Revision",
    "Saved",
    "Stage",
    "Stored",
    "WriteSession",
    "open_store",
]


def open_store(
    location: str | Path,
    *,
    create: bool = False,
    read_only: bool = False,
    attachments: Path | None = None,
) -> RecordStore:
    """Open the store at a path (SQLite) or at a `postgresql://` URL.

    `create` makes an empty store where there is none; without it a missing one is an error.
    An older store is brought to this program's schema first, a file after copying it aside;
    `StorageError` for a newer one, for something that is no store, and for driver errors.
    `attachments` is the folder of attachments: beside a file by default, none for a server.
    """
    from drainwright.storage.store import Store

    return Store(location, create=create, read_only=read_only, attachments=attachments)
