"""The exchange text of EN 13508-2 as lines, settings and blocks, before any meaning.

References
----------
EN 13508-2, exchange format, after public files that reproduce it (S2).
"""

from __future__ import annotations

import codecs
import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from drainwright.errors import Fault

_LINE = re.compile(r"^#([A-Z])(\d*)(?:=(.*))?$", re.DOTALL)
_FIELD = re.compile(r"^[A-Z][A-Z0-9]{2}$")
_COLUMN = re.compile(r"^[A-Z]$")
_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
SETTINGS = ("A1", "A2", "A3", "A4", "A5", "A6")
_NO_TEXT = {"unicode_escape", "raw_unicode_escape", "utf-7", "undefined", "mbcs", "oem", "idna"}
FALLBACKS = ("utf-8", "windows-1252")


@dataclass
class Row:
    """One observation line: its line number and the fields by key (`N`, `N.2`, ...)."""

    line: int
    fields: dict[str, str]


@dataclass
class Block:
    """One survey as text: header lines, columns, rows, and what was wrong with them."""

    line: int
    settings: dict[str, str]
    header_lines: list[tuple[str, ...]] = field(default_factory=list)
    header: dict[str, str] = field(default_factory=dict)
    places: dict[str, int] = field(default_factory=dict)
    """Line on which each header field has its value."""
    columns: tuple[str, ...] = ()
    keys: tuple[str, ...] = ()
    rows: list[Row] = field(default_factory=list)
    lines: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)


@dataclass
class Text:
    """A whole file: its blocks, and faults that belong to none of them."""

    encoding: str
    blocks: list[Block] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    notices: list[Fault] = field(default_factory=list)
    stray: list[str] = field(default_factory=list)
    """Lines that belong to no survey."""

    @property
    def unreadable(self) -> bool:
        """Whether a wrong setting puts the whole file in doubt."""
        return any(fault.name in SETTINGS for fault in self.faults)


def split_text(data: bytes) -> Text:
    """Take the file apart into surveys; nothing is dropped without a fault or a notice."""
    encoding, content, faults, notices = _decoded(data)
    text = Text(encoding, faults=faults, notices=notices)
    if content is None:
        return text
    newline = "\r\n" if "\r\n" in content else "\n"
    reader = _Reader(text, _form(data, encoding, newline))
    for number, line in enumerate(_lines(content), 1):
        reader.take(number, line)
    reader.close()
    if not text.blocks and not text.faults:
        text.faults.append(Fault("file", "holds no survey: there is no line that begins #B01="))
    return text


def _form(data: bytes, encoding: str, newline: str) -> dict[str, str]:
    """What the settings lines don't tell, needed to write the same bytes again."""
    form = {} if newline == "\n" else {"newline": newline}
    marked = any(data.startswith(bom) for bom, _ in _BOMS)
    if marked or b"#A1=" not in data[:4096]:
        form["encoding"] = encoding
    return form


def _lines(content: str) -> Sequence[str]:
    return content.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _decoded(data: bytes) -> tuple[str, str | None, list[Fault], list[Fault]]:
    faults: list[Fault] = []
    notices: list[Fault] = []
    named = re.search(rb"^#A1=([^\r\n]*)", data[:4096], re.MULTILINE)
    name = named[1].decode("ascii", "replace").strip() if named else ""
    line = data[: named.start()].count(b"\n") + 1 if named else 1
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            return _attempt(data, "utf-8-sig" if encoding == "utf-8" else encoding)
    if not name:
        notices.append(Fault("A1", "the file announces no encoding; it was found by trial", row=1))
        return _trial(data, notices)
    encoding = re.sub(r":\d{4}$", "", name)
    try:
        known = codecs.lookup(encoding).name
        plain = known not in _NO_TEXT and "#A".encode(known) == b"#A"
    except (LookupError, UnicodeError, ValueError, AttributeError, TypeError):
        plain = False
        known = ""
    if not plain:
        words = "is not a text encoding known here, such as ISO-8859-1 or UTF-8"
        faults.append(Fault("A1", words, name, row=line))
        return "", None, faults, notices
    return _attempt(data, known)


def _attempt(data: bytes, encoding: str) -> tuple[str, str | None, list[Fault], list[Fault]]:
    try:
        return encoding, data.decode(encoding), [], []
    except UnicodeDecodeError as error:
        row = data[: error.start].count(b"\n") + 1
        words = f"the file is not in the encoding it announces, {encoding}"
        return encoding, None, [Fault("A1", words, data[error.start : error.end], row=row)], []
    except (UnicodeError, ValueError, LookupError, TypeError) as error:
        return encoding, None, [Fault("A1", f"can't be read as {encoding}: {error}", row=1)], []


def _trial(data: bytes, notices: list[Fault]) -> tuple[str, str, list[Fault], list[Fault]]:
    for encoding in FALLBACKS:
        try:
            return encoding, data.decode(encoding), [], notices
        except UnicodeDecodeError:
            continue
    return "latin-1", data.decode("latin-1"), [], notices


class _Reader:
    """Takes lines one by one and sorts them into blocks."""

    def __init__(self, text: Text, settings: dict[str, str]) -> None:
        self.text = text
        self.settings = settings
        self.block: Block | None = None
        self.waiting: tuple[str, ...] | None = None
        self.separator = ","
        self.quote = '"'

    def take(self, number: int, line: str) -> None:
        if self.block is not None:
            self.block.lines.append(line)
        if line.startswith("#"):
            self._mark(number, line)
        elif self.waiting is not None:
            self._values(number, line)
        elif line.strip():
            self._row(number, line)

    def close(self) -> None:
        """End the survey that is open, if any."""
        if self.block is None:
            return
        if self.waiting is not None:
            words = "the header line has no data line below it"
            self._fault(Fault("header", words, row=self.block.line))
            self.waiting = None
        if not self.block.columns and not self.block.faults:
            words = "the survey has no line of observation columns (#C=)"
            self._fault(Fault("#C", words, row=self.block.line))
        self.block = None

    def _fault(self, fault: Fault) -> None:
        (self.text.faults if self.block is None else self.block.faults).append(fault)

    def _notice(self, fault: Fault) -> None:
        (self.text.notices if self.block is None else self.block.notices).append(fault)

    def _mark(self, number: int, line: str) -> None:
        match = _LINE.match(line)
        if match is None:
            words = "is not one of #A1=, #B01=, #C=, #Z"
            self._fault(Fault("line", words, line.strip()[:60], row=number))
            return
        letter, digits, value = match[1], match[2], match[3] or ""
        if letter == "A":
            self._setting(number, f"A{digits}", value)
        elif letter == "B":
            self._header(number, digits, value)
        elif letter == "C":
            self._columns(number, value)
        elif letter == "Z":
            if self.block is None:
                self._notice(Fault("#Z", "ends a survey that never began", row=number))
            self.close()
        else:
            words = "this line is not known here; it is kept with the settings"
            self._notice(Fault(f"#{letter}{digits}", words, value[:60], row=number))
            target = self.settings if self.block is None else self.block.settings
            target[letter + digits] = value

    def _setting(self, number: int, key: str, value: str) -> None:
        if self.block is not None:
            self.block.lines.pop()
            self.close()
        self.settings = {**self.settings, key: value}
        if key == "A3":
            if len(value) != 1 or value.isalnum() or value == "#":
                words = "the column separator is one character that is no letter and no digit"
                self._fault(Fault(key, words, value, row=number))
            else:
                self.separator = value
        elif key == "A4":
            if value not in (".", ","):
                self._fault(Fault(key, "the decimal sign is . or ,", value, row=number))
        elif key == "A5":
            if len(value) > 1 or value.isalnum():
                words = "the text delimiter is one character that is no letter and no digit"
                self._fault(Fault(key, words, value, row=number))
            else:
                self.quote = value
        elif key not in ("A1", "A2", "A6"):
            words = "this setting is not known here; it is kept"
            self._notice(Fault(f"#{key}", words, value[:60], row=number))

    def _header(self, number: int, digits: str, value: str) -> None:
        block = self.block
        if block is None or block.columns or digits.lstrip("0") == "1":
            line = ""
            if block is not None:
                line = block.lines.pop()
                self.close()
            else:
                line = f"#B{digits}={value}"
            block = self.block = Block(number, dict(self.settings), lines=[line])
            self.text.blocks.append(block)
            if "A3" not in self.settings:
                self._guess_separator(number, value)
        elif self.waiting is not None:
            self._fault(Fault("header", "the header line above has no data line", row=number))
        names = tuple(name.strip() for name in self._split(number, value))
        for name in names:
            if not _FIELD.match(name):
                words = "is not a header field: these are three capital letters, such as AAA"
                self._fault(Fault(f"#B{digits}", words, name, row=number))
        self.waiting = names

    def _guess_separator(self, number: int, value: str) -> None:
        found = re.search(r"[^A-Z0-9\s]|\t", value)
        self.separator = found[0] if found else ","
        words = f"the file announces no separator (#A3=); “{self.separator}” was taken"
        self._notice(Fault("A3", words, row=number))

    def _values(self, number: int, line: str) -> None:
        names, self.waiting = self.waiting or (), None
        block = self.block
        if block is None:
            return
        values = self._split(number, line)
        block.header_lines.append(names)
        if not self._fits(number, names, values, "header fields"):
            return
        for name, value in zip(names, values, strict=False):
            if name in block.header and block.header[name] != value:
                words = f"stands twice, with “{block.header[name]}” and “{value}”"
                self._fault(Fault(name, words, value, row=number, column=name))
            block.header[name] = value
            block.places[name] = number

    def _fits(self, number: int, names: Sequence[str], values: list[str], what: str) -> bool:
        while len(values) > len(names) and not values[-1].strip():
            values.pop()
        if len(values) == len(names):
            return True
        words = f"has {len(values)} fields, the {what} above are {len(names)}"
        self._fault(Fault("row", words, self.separator.join(values)[:60], row=number))
        return False

    def _columns(self, number: int, value: str) -> None:
        block = self.block
        if block is None:
            self._fault(Fault("#C", "stands before the header of a survey (#B01=)", row=number))
            return
        if self.waiting is not None:
            self.waiting = None
            self._fault(Fault("header", "the header line above has no data line", row=number))
        if block.columns:
            words = "stands twice in one survey; #B01= begins another"
            self._fault(Fault("#C", words, row=number))
            return
        letters = tuple(letter.strip() for letter in self._split(number, value))
        for letter in letters:
            if not _COLUMN.match(letter):
                words = "is not an observation column: these are single capital letters"
                self._fault(Fault("#C", words, letter, row=number))
        for needed, name in (("A", "main code"), ("I", "distance")):
            if needed not in letters:
                words = f"the column {needed} ({name}) is missing"
                self._fault(Fault("#C", words, value[:60], row=number))
        block.columns, block.keys = letters, column_keys(letters)
        for letter in sorted(set(letters) - set("ABCDEFGHIJKLMN")):
            if _COLUMN.match(letter):
                words = "this column is not known here; its values are kept"
                self._notice(Fault(f"column {letter}", words, row=number, column=letter))

    def _row(self, number: int, line: str) -> None:
        block = self.block
        if block is None or not block.columns:
            if block is None:
                self.text.stray.append(line)
            words = "an observation stands outside of a survey (below #C=, above #Z)"
            self._fault(Fault("row", words, line[:60], row=number))
            return
        values = self._split(number, line)
        if self._fits(number, block.columns, values, "columns"):
            fields = {key: value for key, value in zip(block.keys, values, strict=True) if value}
            block.rows.append(Row(number, fields))

    def _split(self, number: int, line: str) -> list[str]:
        quote = self.quote
        if not quote or quote not in line:
            return line.split(self.separator)
        if quote == self.separator:
            self._fault(Fault("A5", "separator and text delimiter are the same", row=number))
            return [line]
        try:
            reader = csv.reader([line], delimiter=self.separator, quotechar=quote, strict=True)
            return next(reader, [""])
        except (csv.Error, ValueError, TypeError):
            pass
        try:  # a delimiter within a field, such as 6" pipe, is text
            reader = csv.reader([line], delimiter=self.separator, quotechar=quote)
            values = next(reader, [""])
        except (csv.Error, ValueError, TypeError) as error:
            self._fault(Fault("row", f"can't be taken apart: {error}", line[:60], row=number))
            return [line]
        if any("\n" in value for value in values) or line.count(quote) % 2:
            words = f"the text delimiter {quote} is opened and not closed on this line"
            self._fault(Fault("row", words, line[:60], row=number))
        return values


def column_keys(letters: Sequence[str]) -> tuple[str, ...]:
    """Keys of the columns: the letter, with `.2` and so on where it stands again."""
    seen: dict[str, int] = {}
    keys = []
    for letter in letters:
        seen[letter] = seen.get(letter, 0) + 1
        keys.append(letter if seen[letter] == 1 else f"{letter}.{seen[letter]}")
    return tuple(keys)


def join_fields(values: Sequence[str], separator: str, quote: str) -> str:
    """One line of text, fields put between delimiters only where that is needed."""
    return separator.join(_joined(values, separator, quote))


def _joined(values: Sequence[str], separator: str, quote: str) -> Iterator[str]:
    for index, value in enumerate(values):
        plain = " ".join(re.split(r"[\r\n]+", value))
        if not quote:
            yield plain.replace(separator, " ")
        elif quote in plain or separator in plain or (index == 0 and plain.startswith("#")):
            yield quote + plain.replace(quote, quote * 2) + quote
        else:
            yield plain
