"""Table files as sheets of cells: CSV, XLSX and GeoJSON, before any meaning."""

from __future__ import annotations

import codecs
import csv
import datetime as dt
import io
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from drainwright.errors import Fault

Cell = str | int | float | bool | dt.date | dt.datetime | dt.time | dt.timedelta | None
DELIMITERS = (",", ";", "\t", "|")
# single-byte encodings that lists come in; the first that fits best is taken
_LEGACY = ["cp1252", "cp1250", "mac_roman", "cp850"]
GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True)
class Form:
    """In what form a file came, so that it can be written back in the same."""

    kind: str
    """csv, xlsx or geojson."""
    delimiter: str = ","
    encoding: str = "utf-8"
    newline: str = "\n"


@dataclass(slots=True)
class Sheet:
    """Rows of cells; `numbers` holds each row's number in the file (a feature's in GeoJSON)."""

    name: str
    rows: list[list[Cell]]
    numbers: Sequence[int]
    features: list[object] = field(default_factory=list)


@dataclass(slots=True)
class Opened:
    """A file taken apart."""

    form: Form
    sheets: list[Sheet] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)


Judge = Callable[[Sequence[Sequence[Cell]]], tuple[int, int]]


def open_form(data: bytes, judge: Judge) -> Opened:
    """Take a file apart by what it holds, not by its name.

    `judge` counts how many columns it recognizes in one of the first rows, and tells which
    row that is; it decides between delimiters.
    """
    if data[:4] == b"PK\x03\x04" or data[:8] == b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1":
        from drainwright.exchange.workbook import open_workbook

        return open_workbook(data)
    head = data.lstrip(codecs.BOM_UTF8 + b" \t\r\n")[:1]
    if head == b"{":
        return _open_geojson(data)
    return _open_csv(data, judge)


# ---------------------------------------------------------------- CSV


def decode(data: bytes) -> tuple[str, str]:
    """Text and encoding: by its mark, else UTF-8, else the legacy encoding that fits."""
    if data.startswith(codecs.BOM_UTF8):
        return data.decode("utf-8-sig", "replace"), "utf-8-sig"
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", "replace"), "utf-16"
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        pass
    half = data[: len(data) // 2 * 2]
    zeros = half[1::2].count(0), half[0::2].count(0)
    if max(zeros) > len(half) * 0.3:
        encoding = "utf-16-le" if zeros[0] > zeros[1] else "utf-16-be"
        return data.decode(encoding, "replace"), encoding
    encoding = _legacy(data)
    return data.decode(encoding, "replace"), encoding


def _legacy(data: bytes) -> str:
    from charset_normalizer import from_bytes

    found = from_bytes(data[:200_000], cp_isolation=_LEGACY)
    best = found.best()
    if best is None:
        return "latin-1"
    # Windows-1252 is what spreadsheets write; another encoding has to fit clearly better
    usual = [match for match in found if "cp1252" in (match.encoding, *match.could_be_from_charset)]
    near = usual and usual[0].chaos <= best.chaos + 0.02
    return "cp1252" if near else best.encoding


def _open_csv(data: bytes, judge: Judge) -> Opened:
    text, encoding = decode(data)
    newline = "\r\n" if "\r\n" in text else "\n"
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    opened = Opened(Form("csv", ",", encoding, newline))
    if encoding not in ("utf-8", "utf-8-sig"):
        words = f"the file is not UTF-8; it was read as {encoding}"
        opened.notices.append(Fault("encoding", words))
    skip = 0
    if text[:4].lower() == "sep=" and text[5:6] in ("\n", ""):
        delimiter, skip = text[4], 1
        text = text[6:]
    else:
        delimiter = _delimiter(text, judge)
    if delimiter in ('"', "\n", "\x00") or not text.strip():
        opened.faults.append(Fault("file", "is empty" if not text.strip() else "has no delimiter"))
        return opened
    opened.form = Form("csv", delimiter, encoding, newline)
    rows, numbers, faults = _rows(text, delimiter)
    opened.faults += faults
    opened.sheets.append(Sheet("", rows, [number + skip for number in numbers]))
    return opened


def _delimiter(text: str, judge: Judge) -> str:
    head = text[:40_000]
    if len(text) > len(head):
        head = head[: head.rfind("\n") + 1] or head
    best, score = ",", (0, 0, 0)
    for delimiter in DELIMITERS:
        if delimiter not in head:
            continue
        rows, _, faults = _rows(head, delimiter)
        widths = [len(row) for row in rows if len(row) > 1]
        usual = max(widths.count(width) for width in set(widths)) if widths else 0
        known, header = judge(rows[:40])
        # a list of one column has no delimiter in its header, whatever stands in its cells
        several = int(not known or len(rows[header]) > 1)
        found = (known - len(faults) if several else 0, several, usual if several else 0)
        if found > score:
            best, score = delimiter, found
    return best


def _rows(text: str, delimiter: str) -> tuple[list[list[Cell]], list[int], list[Fault]]:
    faults: list[Fault] = []
    rows: list[list[Cell]] = []
    numbers: list[int] = []
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    start = 1
    while True:
        try:
            row = next(reader)
        except StopIteration:
            break
        except csv.Error as error:
            faults.append(Fault("row", f"can't be taken apart: {error}", row=start))
            start = reader.line_num + 1
            continue
        if row:
            rows.append(list(row))
            numbers.append(start)
        start = reader.line_num + 1
    return rows, numbers, faults + _open_quotes(rows, numbers, text, delimiter)


def _open_quotes(
    rows: Sequence[Sequence[Cell]], numbers: Sequence[int], text: str, delimiter: str
) -> list[Fault]:
    """The row whose quotation mark is never closed, which swallows what follows."""
    if not rows or not any(isinstance(cell, str) and "\n" in cell for cell in rows[-1]):
        return []
    tail = "\n".join(text.split("\n")[numbers[-1] - 1 :])
    try:
        list(csv.reader(io.StringIO(tail), delimiter=delimiter, strict=True))
    except csv.Error:
        words = "a quotation mark is opened here and not closed"
        return [Fault("row", words, tail[:60], row=numbers[-1])]
    return []


# ---------------------------------------------------------------- GeoJSON


def _open_geojson(data: bytes) -> Opened:
    opened = Opened(Form("geojson"))
    try:
        content = json.loads(data.decode("utf-8-sig"))
        features = _features(content)
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        opened.faults.append(Fault("file", f"is not GeoJSON: {error}"))
        return opened
    header: dict[str, int] = {}
    for feature in features:
        for name in _properties(feature):
            header.setdefault(str(name), len(header))
    shapes = any(_shape(feature) for feature in features)
    names: list[Cell] = [*header, GEOMETRY] if shapes and GEOMETRY not in header else [*header]
    rows = [names]
    for feature in features:
        cells: list[Cell] = [None] * len(names)
        for name, value in _properties(feature).items():
            cells[header[str(name)]] = _cell(value)
        if len(names) > len(header) and _shape(feature):
            cells[-1] = json.dumps(_shape(feature))
        rows.append(cells)
    opened.sheets.append(Sheet("", rows, [*range(len(rows))], [None, *features]))
    return opened


def _features(content: object) -> list[object]:
    if not isinstance(content, Mapping):
        raise ValueError("it is no object")  # noqa: TRY004  told as a fault of the file
    if content.get("type") == "Feature":
        return [content]
    features = content.get("features")
    if content.get("type") != "FeatureCollection" or not isinstance(features, list):
        raise ValueError("it is no FeatureCollection")
    return features


def _properties(feature: object) -> Mapping[str, object]:
    found = feature.get("properties") if isinstance(feature, Mapping) else None
    return found if isinstance(found, Mapping) else {}


def _shape(feature: object) -> object:
    found = feature.get("geometry") if isinstance(feature, Mapping) else None
    return found or None


def _cell(value: object) -> Cell:
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else str(value)
    return json.dumps(value)


def geojson_of(features: Sequence[object]) -> bytes:
    """Features as a file of the same form."""
    content = {"type": "FeatureCollection", "features": list(features)}
    return json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8")


def csv_of(rows: Sequence[Sequence[Cell]], form: Form) -> bytes:
    """Rows of cells as CSV of the same form."""
    text = io.StringIO()
    out = csv.writer(text, delimiter=form.delimiter, lineterminator=form.newline)
    out.writerows([["" if cell is None else cell for cell in row] for row in rows])
    return text.getvalue().encode(form.encoding, "replace")
