"""What a file is, told from its content; and what a still tells of time and place."""

from __future__ import annotations

import datetime as dt
import struct
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from drainwright.errors import Fault, InputError

LARGEST = 64 * 2**20
"""Bytes; a video is named, not kept."""
UNKNOWN = "application/octet-stream"
_BEGINNINGS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"%PDF-", "application/pdf"),
    (b"II*\x00", "image/tiff"),
    (b"MM\x00*", "image/tiff"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
)
_PROGRAMS = (b"MZ", b"\x7fELF", b"#!", b"\xca\xfe\xba\xbe", b"\xfe\xed\xfa", b"\xcf\xfa\xed\xfe")
_SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True, slots=True)
class Still:
    """What the camera wrote into a still; empty where it wrote nothing."""

    taken: str = ""
    latitude: float | None = None
    longitude: float | None = None


def media_of(content: bytes, name: str) -> str:
    """The media type of a content; `InputError` for none, too much, or a program."""
    if not content:
        raise InputError(Fault("file", "is empty", name))
    if len(content) > LARGEST:
        size = f"{len(content) / 2**20:.0f} MiB"
        raise InputError(Fault("file", f"is too large, {size}; {LARGEST // 2**20} at most", name))
    if content.startswith(_PROGRAMS):
        raise InputError(Fault("file", "is a program; programs are not kept", name))
    for beginning, media in _BEGINNINGS:
        if content.startswith(beginning):
            return media
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return "image/webp"
    if content[4:8] == b"ftyp" and content[8:12] in (b"heic", b"heix", b"mif1"):
        return "image/heic"
    if content[:4] == b"PK\x03\x04":
        return _SHEET if b"xl/workbook.xml" in content else "application/zip"
    return "text/plain" if _is_text(content) else UNKNOWN


def _is_text(content: bytes) -> bool:
    """Text in UTF-8 or an older single-byte code, as logger files are."""
    return not any(byte < 32 and byte not in b"\t\n\f\r\x1a" for byte in content)


def still_of(content: bytes) -> Still:
    """Time and place from a JPEG's EXIF block; a damaged block tells nothing."""
    try:
        block = _exif_block(content)
        return _read(block) if block else Still()
    except (struct.error, IndexError, ValueError, ZeroDivisionError, UnicodeDecodeError):
        return Still()


def _exif_block(content: bytes) -> bytes:
    """The TIFF structure in a JPEG's first APP1 segment that holds one."""
    place = 2
    while content[:2] == b"\xff\xd8" and content[place : place + 1] == b"\xff":
        marker = content[place + 1]
        if marker in (0xDA, 0xD9):  # pixels begin, or the end
            return b""
        (length,) = struct.unpack_from(">H", content, place + 2)
        segment = content[place + 4 : place + 2 + length]
        if marker == 0xE1 and segment.startswith(b"Exif\x00\x00"):
            return segment[6:]
        place += 2 + length
    return b""


def _read(block: bytes) -> Still:
    order = {b"II": "<", b"MM": ">"}[block[:2]] if block[:2] in (b"II", b"MM") else ""
    if not order:
        return Still()
    (first,) = struct.unpack_from(order + "I", block, 4)
    main = _directory(block, order, first)
    camera = _directory(block, order, main[0x8769]) if 0x8769 in main else {}
    place = _directory(block, order, main[0x8825]) if 0x8825 in main else {}
    return Still(
        _time(camera.get(0x9003, main.get(0x0132, "")), camera.get(0x9011, camera.get(0x9010, ""))),
        _degrees(place.get(2), place.get(1), "NS", 90),
        _degrees(place.get(4), place.get(3), "EW", 180),
    )


def _directory(block: bytes, order: str, place: int) -> dict[int, Any]:
    """The tags of one directory that are text, a number, or fractions."""
    (count,) = struct.unpack_from(order + "H", block, place)
    tags: dict[int, Any] = {}
    for index in range(min(count, 512)):
        at = place + 2 + 12 * index
        tag, kind, size = struct.unpack_from(order + "HHI", block, at)
        (offset,) = struct.unpack_from(order + "I", block, at + 8)
        if kind == 2:
            start = at + 8 if size <= 4 else offset
            tags[tag] = block[start : start + size].split(b"\x00")[0].decode("ascii").strip()
        elif kind == 4 and size == 1:
            tags[tag] = offset
        elif kind == 5 and size <= 3:
            parts = struct.unpack_from(f"{order}{2 * size}I", block, offset)
            tags[tag] = [Fraction(*parts[2 * one : 2 * one + 2]) for one in range(size)]
    return tags


def _time(text: object, offset: object) -> str:
    """`2026:05:04 09:31:05` as ISO 8601, with the offset where the camera knew it."""
    if not isinstance(text, str) or len(text) != 19:
        return ""
    zone = offset if isinstance(offset, str) else ""
    date, time = text[:10].replace(":", "-"), text[11:]
    return dt.datetime.fromisoformat(f"{date}T{time}{zone}").isoformat()


def _degrees(parts: object, side: object, sides: str, most: int) -> float | None:
    if not isinstance(parts, list) or len(parts) != 3 or side not in tuple(sides):
        return None
    degrees = float(parts[0] + parts[1] / 60 + parts[2] / 3600)
    if degrees > most:
        return None
    return -degrees if side == sides[1] else degrees
