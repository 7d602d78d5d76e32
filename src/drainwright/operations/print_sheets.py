"""Print work sheets as PDF files (read; writes the files)."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

from drainwright.errors import PaperError
from drainwright.papers.work_sheet import work_sheet_pdf
from drainwright.records.work_sheet import WorkSheet
from drainwright.storage.protocol import RecordStore


def print_sheets(
    store: RecordStore,
    project: str,
    keys: Sequence[str] = (),
    *,
    folder: Path,
    progress: Callable[[str], None] | None = None,
) -> list[Path]:
    """Write the current work sheet of each lateral in `keys`, or of all that are planned.

    Raises `NotFoundError` for a lateral that is not planned and `PaperError` where the folder
    can't be written.
    """
    with store.read() as session:
        if keys:
            stored = [session.get(project, WorkSheet, key) for key in keys]
        else:
            stored = list(session.every(project, WorkSheet))
    made = []
    for item in stored:
        path = folder / f"{file_name(item.record.lateral.key)} work sheet.pdf"
        write_file(path, work_sheet_pdf(item.record, revision=item.revision.number))
        made.append(path)
        if progress:
            progress(item.record.lateral.key)
    return made


def file_name(key: str) -> str:
    """An owner's id as a file name on any system."""
    return re.sub(r'[<>:"/\\|?*\x00-\x1f]', "_", key).strip(" .") or "_"


def write_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; `PaperError` where that can't be done."""
    draft = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.write_bytes(content)
        draft.replace(path)
    except OSError as error:
        raise PaperError(f"{path} can't be written: {error.strerror or error}") from error
