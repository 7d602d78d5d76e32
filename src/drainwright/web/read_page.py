"""Reading files: choose or drop, see what was recognized, mend the mapping, then store."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response

from drainwright.errors import Fault, InputError
from drainwright.operations.file_columns import (
    READ_KINDS,
    TABLE_KINDS,
    FieldLine,
    sample_cells,
    table_fields,
)
from drainwright.operations.read_files import (
    FilePreview,
    ReadRequest,
    mapping_text,
    preview_file,
    read_file,
)
from drainwright.operations.template import template
from drainwright.records.list_reading import ColumnRule, ListMapping
from drainwright.units import UnitSystem, fault_text
from drainwright.web.desk import Desk
from drainwright.web.forms import SentForm, keep_name, name_of, sent_form, signed
from drainwright.web.kept import Kept
from drainwright.web.papers_page import download

MOST_FAULTS = 300
"""Faults shown; the rest are counted."""
MOST_KEYS = 12
_SHEET_MEDIA = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_MEDIA = {"csv": "text/csv", "xlsx": _SHEET_MEDIA, "txt": "text/plain", "geojson": "text/plain"}
Sent = Annotated[SentForm, Depends(sent_form)]


@dataclass(frozen=True, slots=True)
class _File:
    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class FaultLine:
    """A fault where it stands; empty parts are not known."""

    place: str
    column: str
    words: str


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """A column of the file: what it was taken for, its unit, and some of its cells."""

    header: str
    field: str
    unit: str
    quantity: bool
    samples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """A file as it would be read, or as it was."""

    preview: FilePreview
    token: str
    left_out: str
    """Name under which the rows with faults are kept; "" for none."""
    columns: tuple[ColumnLine, ...]
    fields: tuple[FieldLine, ...]
    faults: tuple[FaultLine, ...]
    more_faults: int
    notices: tuple[FaultLine, ...]
    new: str
    changed: str
    vanished: str
    by_mapping: bool
    reason: str


@dataclass(frozen=True, slots=True)
class ReadPage:
    """What the page for reading files shows."""

    template: ClassVar[str] = "read.html"
    kinds: tuple[str, ...]
    tables: tuple[str, ...]
    kind: str
    seen: Seen | None
    told: tuple[str, ...]
    by: str


def routes(desk: Desk) -> APIRouter:
    """Choosing a file, what was recognized, storing, templates and rows with faults."""
    router = APIRouter(include_in_schema=False)
    files: Kept[_File] = Kept("the file")

    @router.get("/read")
    def choose(request: Request, kind: str = "") -> Response:
        return desk.page(_page(kind=kind, by=name_of(request)))

    @router.post("/read/preview")
    def preview(request: Request, sent: Sent) -> Response:
        try:
            token, asked = _asked(files, sent, desk.today)
            found = preview_file(desk.store, desk.project.key, asked, today=desk.today)
        except InputError as error:
            return _refused(desk, request, sent, error)
        seen = _seen(files, found, asked, token, desk.system)
        return desk.page(_page(seen, kind=found.kind, by=name_of(request)))

    @router.post("/read/store")
    def store(request: Request, sent: Sent) -> Response:
        try:
            token, asked = _asked(files, sent, desk.today)
            writer = signed(sent)
            found = read_file(
                desk.store, desk.project.key, asked, by=writer.by, at=desk.now(),
                today=desk.today, reason=writer.reason,
            )  # fmt: skip
        except InputError as error:
            return _refused(desk, request, sent, error)
        seen = replace(_seen(files, found, asked, token, desk.system), reason=writer.reason)
        response = desk.page(_page(seen, kind=found.kind, by=writer.by))
        keep_name(response, writer.by)
        return response

    @router.get("/read/left-out/{token}")
    def left_out(token: str) -> Response:
        kept = files.get(token)
        return download(kept.content, _media(kept.name), kept.name)

    @router.get("/read/template/{name}")
    def empty(name: str) -> Response:
        kind, _, form = name.rpartition(".")
        content = template(kind, form=form, units=desk.system)
        return download(content, _MEDIA[form], name)

    return router


def _page(
    seen: Seen | None = None, *, kind: str = "", by: str = "", told: tuple[str, ...] = ()
) -> ReadPage:
    return ReadPage(READ_KINDS, TABLE_KINDS, kind if kind in READ_KINDS else "", seen, told, by)


def _refused(desk: Desk, request: Request, sent: SentForm, error: InputError) -> Response:
    told = tuple(fault_text(fault, desk.system) for fault in error.faults)
    page = _page(kind=sent.one("kind"), by=sent.one("by") or name_of(request), told=told)
    return desk.page(page, 422)


def _media(name: str) -> str:
    return _MEDIA.get(name.rpartition(".")[2], "text/plain")


# ---------------------------------------------------------------- what the form said


def _asked(files: Kept[_File], sent: SentForm, today: dt.date) -> tuple[str, ReadRequest]:
    """The file, kept under its token, and what is known about it."""
    given = sent.file("file")
    if given is not None:
        token = files.keep(_File(given.name, given.content), len(given.content))
        return token, ReadRequest(
            given.content, given.name, kind=_kind(sent), use_kept=not sent.one("anew")
        )
    token = sent.one("token")
    if not token:
        raise InputError(Fault("file", "choose one"))
    kept = files.get(token)
    mapping = _mapping(sent)
    return token, ReadRequest(
        kept.content,
        kept.name,
        kind=_kind(sent),
        mapping=None if mapping is None else mapping_text(mapping, today),
        mapping_file="these columns",
        use_kept=not sent.one("anew"),
        accept_clean_rows=bool(sent.one("clean")),
    )


def _kind(sent: SentForm) -> str:
    kind = sent.one("kind")
    if kind and kind not in READ_KINDS:
        raise InputError(Fault("kind", f"“{kind}” is nothing that is read from files", kind))
    return kind


def _mapping(sent: SentForm) -> ListMapping | None:
    """The columns as the form has them; None where they are to be recognized."""
    headers = sent.all("header")
    if not headers or sent.one("anew"):
        return None
    fields, units = sent.all("field"), sent.all("unit")
    if not len(headers) == len(fields) == len(units):
        raise InputError(Fault("columns", "did not come in whole"))
    rules = {
        header: ColumnRule(field, unit.strip() if field else "")
        for header, field, unit in zip(headers, fields, units, strict=True)
    }
    return ListMapping(
        kind=sent.one("kind"),
        columns=rules,
        words=dict(_words(sent.one("words"))),
        decimal=sent.one("decimal"),
        dates=sent.one("dates"),
        sheet=sent.one("sheet"),
    )


def _words(text: str) -> Iterator[tuple[str, str]]:
    """Lines such as `vit clay = VCP`."""
    for line in text.splitlines():
        word, is_said, meaning = line.partition("=")
        if is_said and word.strip() and meaning.strip():
            yield word.strip(), meaning.strip()
        elif line.strip():
            raise InputError(Fault("words", f"“{line.strip()}” is not: word = meaning", line))


# ---------------------------------------------------------------- what is shown


def _seen(
    files: Kept[_File], found: FilePreview, asked: ReadRequest, token: str, system: UnitSystem
) -> Seen:
    fields = table_fields(found.kind, system)
    samples = {} if found.stored else sample_cells(asked.data, found.mapping.columns)
    left_out = ""
    if found.left_out and found.faults:
        stem = asked.file.rpartition(".")[0] or asked.file
        name = f"{stem} left out{found.ending}"
        left_out = files.keep(_File(name, found.left_out), len(found.left_out))
    return Seen(
        preview=found,
        token=token,
        left_out=left_out,
        columns=tuple(_columns(found.mapping, fields, samples)),
        fields=fields,
        faults=tuple(_line(f, found, system) for f in found.faults[:MOST_FAULTS]),
        more_faults=max(len(found.faults) - MOST_FAULTS, 0),
        notices=tuple(_line(n, found, system) for n in found.notices[:MOST_FAULTS]),
        new=_some(found.new),
        changed=_some(found.changed),
        vanished=_some(found.vanished),
        by_mapping=asked.mapping is not None,
        reason="",
    )


def _columns(
    mapping: ListMapping, fields: tuple[FieldLine, ...], samples: Mapping[str, tuple[str, ...]]
) -> Iterator[ColumnLine]:
    quantities = {one.name for one in fields if one.quantity}
    for header, rule in mapping.columns.items():
        known = rule.field in quantities
        yield ColumnLine(header, rule.field, rule.unit, known, samples.get(header, ()))


def _line(fault: Fault, found: FilePreview, system: UnitSystem) -> FaultLine:
    bare = replace(fault, file=None, sheet=None, row=None, column=None)
    parts = [fault.sheet and f"sheet {fault.sheet}"]
    parts += [f"row {fault.row}" if fault.row is not None else None]
    place = ", ".join(part for part in parts if part)
    return FaultLine(place or "the file", fault.column or "", fault_text(bare, system, found.kinds))


def _some(keys: tuple[str, ...]) -> str:
    """The first keys, and how many there are besides."""
    text = ", ".join(keys[:MOST_KEYS])
    return f"{text} and {len(keys) - MOST_KEYS} more" if len(keys) > MOST_KEYS else text
