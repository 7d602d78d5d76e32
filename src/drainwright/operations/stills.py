"""Stills of a survey: kept beside the store (write), and shown (read)."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from drainwright.errors import Fault, InputError
from drainwright.storage.media import media_of
from drainwright.storage.protocol import Attachment, RecordStore

PICTURES = ("image/jpeg", "image/png", "image/webp", "image/gif")
"""What a browser shows and what can't hold a script."""


@dataclass(frozen=True, slots=True)
class Still:
    """A still with its content."""

    media: str
    content: bytes


@dataclass(frozen=True, slots=True)
class SentStill:
    """A still of a lateral as it came in, with its file's name."""

    lateral: str
    name: str
    content: bytes


def keep_still(
    store: RecordStore, project: str, sent: SentStill, *, by: str, at: dt.datetime
) -> Attachment:
    """Keep a still under the hash of its content; `InputError` for what is no picture."""
    media = media_of(sent.content, sent.name)
    if media not in PICTURES:
        raise InputError(Fault("still", "is no picture (JPEG, PNG, WebP or GIF)", sent.name))
    reason = f"still of {sent.lateral}"
    with store.write(by=by, at=at, origin="survey entry", reason=reason) as session:
        return session.attachments.add(project, sent.content, sent.name)


def show_still(store: RecordStore, project: str, sha256: str) -> Still:
    """A still by its hash; `NotFoundError` where there is none."""
    with store.read() as session:
        found = session.attachments.get(project, sha256)
        if found.media not in PICTURES:
            raise InputError(Fault("still", "is no picture", found.name))
        return Still(found.media, session.attachments.content(project, sha256))
