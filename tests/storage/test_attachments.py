"""Attachments: once each, unaltered, checked on reading; on both databases."""

from __future__ import annotations

import hashlib
import io
import struct
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from drainwright.errors import InputError, NotFoundError, StorageError
from drainwright.records.lateral import Lateral
from drainwright.storage import RecordStore, open_store
from drainwright.storage.media import LARGEST, Still, media_of, still_of
from tests.storage.samples import NOON, hours, lateral, project, writing

LOGGER = "time;°C\r\n09:00;61,5\r\n".encode("cp1252")


@pytest.fixture
def folder(place: str, tmp_path: Path) -> Path:
    return tmp_path / "kept" if "://" in place else Path(f"{place}.attachments")


@pytest.fixture
def oak(place: str, folder: Path) -> Iterator[RecordStore]:
    """A store with a folder: beside the file, or named for a server."""
    store = open_store(place, create=True, attachments=folder if "://" in place else None)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        session.put("elm", project("elm"), expected=0)
    yield store
    store.close()


def add(store: RecordStore, content: bytes, name: str = "log.csv", hour: float = 0) -> str:
    with writing(store, hours(hour)) as session:
        return session.attachments.add("oak", content, name).sha256


def files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def test_a_file_is_kept_unaltered_under_its_hash(oak: RecordStore, folder: Path) -> None:
    sha256 = add(oak, LOGGER)
    assert sha256 == hashlib.sha256(LOGGER).hexdigest()
    (kept,) = files(folder)
    assert (kept.name, kept.read_bytes()) == (sha256, LOGGER)
    with oak.read() as session:
        assert session.attachments.content("oak", sha256) == LOGGER
        known = session.attachments.get("oak", sha256)
        assert session.verify("oak") == ()
    assert (known.size, known.media, known.name) == (len(LOGGER), "text/plain", "log.csv")
    assert (known.at, known.by, known.origin) == (NOON, "Ann", "list.csv")


def test_the_same_content_is_kept_once(oak: RecordStore, folder: Path) -> None:
    sha256 = add(oak, LOGGER)
    assert add(oak, LOGGER, "again.csv", 1) == sha256
    with writing(oak, hours(2)) as session:
        session.attachments.add("elm", LOGGER, "of elm.csv")
    assert len(files(folder)) == 1
    with oak.read() as session:
        assert [one.name for one in session.attachments.all("oak")] == ["log.csv"]
        assert [one.name for one in session.attachments.all("elm")] == ["of elm.csv"]
        with pytest.raises(NotFoundError, match="no attachment"):
            session.attachments.content("oak", "0" * 64)
        with pytest.raises(NotFoundError, match="no attachment"):
            session.attachments.content("oak", "../../etc/passwd")


@pytest.mark.parametrize(
    ("damage", "told"),
    [
        (lambda path: path.write_bytes(LOGGER + b"x"), "was changed"),
        (lambda path: path.unlink(), "can't be read"),
    ],
)
def test_a_changed_or_missing_file_is_noticed_and_mended_by_adding_it_again(
    oak: RecordStore, folder: Path, damage: object, told: str
) -> None:
    assert callable(damage)
    sha256 = add(oak, LOGGER)
    damage(files(folder)[0])
    with oak.read() as session:
        with pytest.raises(StorageError, match=told):
            session.attachments.content("oak", sha256)
        (finding,) = session.verify("oak")
        assert finding.where == f"attachment log.csv ({sha256})"
        assert told in finding.what
    add(oak, LOGGER)
    with oak.read() as session:
        assert session.verify("oak") == ()


def test_a_failed_transaction_names_no_file(oak: RecordStore) -> None:
    with pytest.raises(ZeroDivisionError), writing(oak) as session:  # noqa: PT012
        session.attachments.add("oak", LOGGER, "log.csv")
        session.put("oak", lateral("L-1", tap_distance=1 / 0), expected=0)
    with oak.read() as session:
        assert session.attachments.all("oak") == ()
        assert session.revision_of("oak", Lateral, "L-1") == 0


def test_a_server_without_a_folder_says_so(schema_url: str) -> None:
    store = open_store(schema_url, create=True)
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        with pytest.raises(StorageError, match="has no folder"):
            session.attachments.add("oak", LOGGER, "log.csv")
    store.close()


def test_a_folder_that_can_not_be_written_is_told(tmp_path: Path) -> None:
    place = tmp_path / "job.drainwright"
    store = open_store(place, create=True)
    Path(f"{place}.attachments").write_text("in the way", "utf-8")
    with writing(store) as session:
        session.put("oak", project(), expected=0)
        with pytest.raises(StorageError, match="can't be written") as caught:
            session.attachments.add("oak", LOGGER, "log.csv")
    assert isinstance(caught.value.__cause__, OSError)
    store.close()


# ------------------------------------------------------------ what a file is


def workbook() -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as file:
        file.writestr("xl/workbook.xml", "<workbook/>")
    return packed.getvalue()


@pytest.mark.parametrize(
    ("content", "media"),
    [
        (b"\xff\xd8\xff\xe0\x00\x10JFIF", "image/jpeg"),
        (b"\x89PNG\r\n\x1a\n....", "image/png"),
        (b"%PDF-1.7\n", "application/pdf"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", "image/webp"),
        (b"\x00\x00\x00\x18ftypheic", "image/heic"),
        (b"II*\x00", "image/tiff"),
        (workbook(), "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        (LOGGER, "text/plain"),
        (b"\x01\x00\x07", "application/octet-stream"),
    ],
)
def test_the_type_is_told_from_the_content(content: bytes, media: str) -> None:
    assert media_of(content, "innocent.txt") == media


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"MZ\x90\x00", "program"),
        (b"\x7fELF\x02", "program"),
        (b"#!/bin/sh\n", "program"),
        (bytes(LARGEST + 1), "64 MiB; 64 at most"),
    ],
    ids=["empty", "windows", "linux", "script", "large"],
)
def test_what_is_not_kept(content: bytes, told: str) -> None:
    with pytest.raises(InputError, match=told):
        media_of(content, "still.jpg")


# ------------------------------------------------------------ time and place of a still


def directory(order: str, start: int, tags: list[tuple[int, int, int, bytes]]) -> bytes:
    """A TIFF directory (TIFF 6.0, section 2) whose longer values follow it."""
    head = struct.pack(order + "H", len(tags))
    values = b""
    place = start + 2 + 12 * len(tags) + 4
    for tag, kind, count, value in tags:
        head += struct.pack(order + "HHI", tag, kind, count)
        if len(value) <= 4:
            head += value.ljust(4, b"\x00")
        else:
            head += struct.pack(order + "I", place + len(values))
            values += value
    return head + struct.pack(order + "I", 0) + values


def photo(order: str, camera: bool = True, place: bool = True, offset: str = "") -> bytes:
    """A JPEG with an EXIF block: 2026-05-04 09:31:05 at 41°30′36″ N, 90°15′18″ W."""

    def text(tag: int, value: str) -> tuple[int, int, int, bytes]:
        return tag, 2, len(value) + 1, value.encode("ascii") + b"\x00"

    def degrees(tag: int, *parts: int) -> tuple[int, int, int, bytes]:
        numbers = [number for part in parts for number in (part, 1)]
        return tag, 5, 3, struct.pack(order + "6I", *numbers)

    camera_at, place_at = 100, 300
    main = [text(0x0132, "2001:01:01 00:00:00")]
    main += [(0x8769, 4, 1, struct.pack(order + "I", camera_at))] if camera else []
    main += [(0x8825, 4, 1, struct.pack(order + "I", place_at))] if place else []
    block = (b"II*\x00" if order == "<" else b"MM\x00*") + struct.pack(order + "I", 8)
    block += directory(order, 8, main)
    when = [text(0x9003, "2026:05:04 09:31:05"), *([text(0x9011, offset)] if offset else [])]
    block = block.ljust(camera_at, b"\x00") + directory(order, camera_at, when)
    where = [text(1, "N"), degrees(2, 41, 30, 36), text(3, "W"), degrees(4, 90, 15, 18)]
    block = block.ljust(place_at, b"\x00") + directory(order, place_at, where)
    body = b"Exif\x00\x00" + block
    app1 = b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body
    return b"\xff\xd8\xff\xe0\x00\x04ab" + app1 + b"\xff\xda\x00\x02pixels\xff\xd9"


@pytest.mark.parametrize("order", ["<", ">"])
def test_time_and_place_of_a_still(order: str) -> None:
    still = still_of(photo(order, offset="-05:00"))
    assert still.taken == "2026-05-04T09:31:05-05:00"
    assert still.latitude == pytest.approx(41 + 30 / 60 + 36 / 3600, abs=1e-12)
    assert still.longitude == pytest.approx(-(90 + 15 / 60 + 18 / 3600), abs=1e-12)
    assert still_of(photo(order)).taken == "2026-05-04T09:31:05"
    assert still_of(photo(order, place=False)).latitude is None
    assert still_of(photo(order, camera=False)).taken == "2001-01-01T00:00:00"


def test_a_damaged_or_missing_block_tells_nothing_and_harms_nothing() -> None:
    whole = photo("<")
    for end in range(len(whole)):
        still_of(whole[:end])
    for place in range(len(whole)):
        still_of(whole[:place] + b"\xff" + whole[place + 1 :])
    assert still_of(b"\xff\xd8\xff\xd9") == Still()
    assert still_of(b"\x89PNG") == Still()


def test_a_stills_time_and_place_are_stored(oak: RecordStore) -> None:
    sha256 = add(oak, photo(">", offset="+02:00"), "tap.jpg")
    with oak.read() as session:
        known = session.attachments.get("oak", sha256)
    assert (known.media, known.taken) == ("image/jpeg", "2026-05-04T09:31:05+02:00")
    assert known.latitude == pytest.approx(41.51, abs=1e-12)
    assert known.longitude == pytest.approx(-90.255, abs=1e-12)
