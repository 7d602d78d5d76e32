"""Ids of field entries: UUIDv7, made where the entry is made."""

from __future__ import annotations

import datetime as dt
import uuid


def entry_id(at: dt.datetime, random: bytes) -> str:
    """A UUIDv7 (RFC 9562, 5.7) of an instant and ten random bytes, in lower case.

    >>> import datetime as dt
    >>> entry_id(dt.datetime(2022, 2, 22, 19, 22, 22, tzinfo=dt.UTC), bytes(10))
    '017f22e2-79b0-7000-8000-000000000000'
    """
    milliseconds = int(at.timestamp() * 1000)
    number = milliseconds << 80 | int.from_bytes(random[:10].ljust(10, b"\0"), "big")
    number = number & ~(0xF << 76) | 7 << 76
    return str(uuid.UUID(int=number & ~(0x3 << 62) | 2 << 62))
