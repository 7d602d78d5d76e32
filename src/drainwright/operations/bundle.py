"""A whole project as one file that outlives this program (read), and back (write)."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import IO, Any

from drainwright.errors import StorageError
from drainwright.sources import MARKS, SOURCES
from drainwright.storage.protocol import RecordStore

FORMAT = 1
RECORD, MANIFEST, README, FOLDER = "record.jsonl", "manifest.json", "README.txt", "attachments/"


@dataclass(frozen=True, slots=True)
class Bundled:
    """What a bundle holds."""

    project: str
    sha256: str
    """Of its record: the same record gives the same hash."""
    lines: Mapping[str, int]
    """Lines by what they are: revision, entry, attachment."""


def write_bundle(store: RecordStore, project: str, file: Path, *, at: dt.datetime) -> Bundled:
    """Write a project with every revision and attachment; the file appears when it is whole."""
    if file.exists():
        raise StorageError(f"{file}: it is there already; a bundle replaces nothing")
    part = file.with_name(file.name + ".part")
    try:
        with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as bundle:
            made = _write(store, project, bundle, at)
        _check_whole(part)
        part.replace(file)
    except OSError as error:
        raise StorageError(f"{file}: the bundle can't be written: {error}") from error
    finally:
        part.unlink(missing_ok=True)
    return made


def _write(store: RecordStore, project: str, bundle: zipfile.ZipFile, at: dt.datetime) -> Bundled:
    digest, lines, hashes = hashlib.sha256(), dict[str, int](), list[str]()
    with store.read() as session:
        with bundle.open(RECORD, "w", force_zip64=True) as out:
            for line in session.dump(project):
                content = _text(line)
                digest.update(content)
                out.write(content)
                lines[line["line"]] = lines.get(line["line"], 0) + 1
                if line["line"] == "attachment":
                    hashes.append(line["sha256"])
        for sha256 in hashes:
            content = session.attachments.content(project, sha256)
            bundle.writestr(FOLDER + sha256, content, zipfile.ZIP_STORED)
    made = Bundled(project, digest.hexdigest(), lines)
    manifest = {"format": FORMAT, "project": project, "sha256": made.sha256, "lines": lines}
    manifest["made_at"] = at.isoformat()
    bundle.writestr(MANIFEST, json.dumps(manifest, indent=1))
    bundle.writestr(README, _readme())
    return made


def _readme() -> str:
    """How to read the bundle without this program, and the title of every source by its key."""
    told = files("drainwright.operations").joinpath("bundle_readme.txt")
    marks = "; ".join(f"{mark} {words}" for mark, words in MARKS.items())
    titles = "\n".join(f"  {one.key}: {one.title} [{one.mark}]" for one in SOURCES.values())
    head = f"Sources by their key, with the mark of how they are known ({marks}):"
    return f"{told.read_text(encoding='utf-8')}\n{head}\n\n{titles}\n"


def _text(line: Mapping[str, Any]) -> bytes:
    return (json.dumps(line, ensure_ascii=False, allow_nan=False) + "\n").encode()


def _check_whole(path: Path) -> None:
    with zipfile.ZipFile(path) as bundle:
        damaged = bundle.testzip()
    if damaged:
        raise StorageError(f"{path}: {damaged} did not reach the disk as it was written")


def read_bundle(store: RecordStore, file: Path, *, by: str, at: dt.datetime) -> Bundled:
    """Take a bundle's project into a store; all of it is checked before any of it is kept."""
    try:
        with zipfile.ZipFile(file) as bundle:
            return _read(store, bundle, by=by, at=at)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, EOFError) as error:
        raise StorageError(f"{file}: it is no bundle, or it is damaged: {error}") from error
    except OSError as error:
        raise StorageError(f"{file}: the bundle can't be read: {error}") from error


def _read(store: RecordStore, bundle: zipfile.ZipFile, *, by: str, at: dt.datetime) -> Bundled:
    manifest = _manifest(bundle)
    with store.write(by=by, at=at, origin=bundle.filename or "bundle", reason="restore") as session:
        with _member(bundle, RECORD) as lines:
            project = session.load(_lines(lines), lambda sha256: _content(bundle, sha256))
        digest, counts = hashlib.sha256(), dict[str, int]()
        for line in session.dump(project):
            digest.update(_text(line))
            counts[line["line"]] = counts.get(line["line"], 0) + 1
        if digest.hexdigest() != manifest["sha256"] or counts != manifest["lines"]:
            raise StorageError(
                "the restored record is not the one that was bundled; nothing was stored"
            )
    return Bundled(project, digest.hexdigest(), counts)


def _manifest(bundle: zipfile.ZipFile) -> dict[str, Any]:
    try:
        with _member(bundle, MANIFEST) as file:
            found = json.loads(file.read(1 << 20))
        version, _ = int(found["format"]), (found["sha256"], found["lines"])
    except (ValueError, KeyError, TypeError) as error:
        raise StorageError(f"{bundle.filename}: its manifest can't be read") from error
    if version > FORMAT:
        raise StorageError(
            f"{bundle.filename}: a newer drainwright made it (format {version}); update drainwright"
        )
    return dict(found)


def _member(bundle: zipfile.ZipFile, name: str) -> IO[bytes]:
    try:
        return bundle.open(name)
    except KeyError as error:
        raise StorageError(f"{bundle.filename}: {name} is missing in it") from error


def _content(bundle: zipfile.ZipFile, sha256: str) -> bytes:
    with _member(bundle, FOLDER + sha256) as file:
        return file.read()


def _lines(file: Iterable[bytes]) -> Iterator[dict[str, Any]]:
    for number, line in enumerate(file, 1):
        try:
            found = json.loads(line)
        except ValueError as error:
            raise StorageError(f"{RECORD}, line {number}: it can't be read") from error
        if not isinstance(found, dict):
            raise StorageError(f"{RECORD}, line {number}: it can't be read")
        yield found
