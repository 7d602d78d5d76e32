"""What a page's form sent: fields and files, and who sent it.

Forms come url-encoded or, with files, as multipart (RFC 7578). Nothing is written to disk.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from email import policy
from email.parser import BytesParser
from urllib.parse import parse_qsl, quote, unquote

from fastapi import Request, Response

from drainwright.errors import Fault, InputError

MOST_FIELDS = 5_000
LONGEST_NAME = 80
_COOKIE = "drainwright-name"
_A_YEAR = 365 * 86400


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file with the name it had on the sender's machine, without its folder."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class SentForm:
    """Fields and files by name; a name may come more than once."""

    fields: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    files: Mapping[str, tuple[SentFile, ...]] = field(default_factory=dict)

    def one(self, name: str) -> str:
        """The first value of a field without blanks around it; "" where it was not sent."""
        return self.all(name)[0].strip() if self.all(name) else ""

    def all(self, name: str) -> tuple[str, ...]:
        """Every value of a field."""
        return self.fields.get(name, ())

    def file(self, name: str) -> SentFile | None:
        """The first file of that name which has a name of its own."""
        return next((one for one in self.files.get(name, ()) if one.name), None)


async def sent_form(request: Request) -> SentForm:
    """The form in a request's body, as a dependency of a route; the guard limits its size."""
    return read_form(request.headers.get("content-type", ""), await request.body())


def read_form(media: str, body: bytes) -> SentForm:
    """The form of this media type; `InputError` where it is none."""
    kind = media.partition(";")[0].strip().lower()
    fields: dict[str, list[str]] = {}
    files: dict[str, list[SentFile]] = {}
    if kind == "multipart/form-data":
        for name, file, content in _parts(media, body):
            if file is None:
                fields.setdefault(name, []).append(_text(name, content))
            else:
                files.setdefault(name, []).append(SentFile(_base_name(file), content))
    elif kind == "application/x-www-form-urlencoded" or not body:
        for name, value in _pairs(body):
            fields.setdefault(name, []).append(value)
    else:
        raise InputError(Fault("form", "is not what a page of this program sends", media[:80]))
    return SentForm(
        {name: tuple(values) for name, values in fields.items()},
        {name: tuple(values) for name, values in files.items()},
    )


def _pairs(body: bytes) -> list[tuple[str, str]]:
    try:
        return parse_qsl(
            body.decode("utf-8"),
            keep_blank_values=True,
            errors="strict",
            max_num_fields=MOST_FIELDS,
        )
    except ValueError as error:
        raise InputError(Fault("form", f"can’t be read: {error}")) from error


def _parts(media: str, body: bytes) -> Iterator[tuple[str, str | None, bytes]]:
    """Name, file name and content of each part."""
    found = re.search(r'boundary="?([^";]+)"?', media)
    if found is None:
        raise InputError(Fault("form", "can’t be read: it names no boundary"))
    mark = b"--" + found[1].strip().encode("latin-1", "replace")
    pieces = (b"\r\n" + body).split(b"\r\n" + mark)
    if len(pieces) < 2 or not pieces[-1].startswith(b"--"):
        raise InputError(Fault("form", "can’t be read: it did not come in whole"))
    if len(pieces) > MOST_FIELDS:
        raise InputError(Fault("form", f"has more than {MOST_FIELDS} fields"))
    for piece in pieces[1:-1]:
        head, parted, content = piece.removeprefix(b"\r\n").partition(b"\r\n\r\n")
        if not parted:
            raise InputError(Fault("form", "can’t be read: a part has no head"))
        about = BytesParser(policy=policy.HTTP).parsebytes(head + b"\r\n\r\n", headersonly=True)
        name = about.get_param("name", header="content-disposition")
        file = about.get_param("filename", header="content-disposition")
        yield str(name or ""), None if file is None else _file_name(head, str(file)), content


def _file_name(head: bytes, parsed: str) -> str:
    """Browsers send a file's name as plain UTF-8 between quotes."""
    found = re.search(rb'filename="([^"]*)"', head)
    return parsed if found is None else found[1].decode("utf-8", "replace")


def _base_name(name: str) -> str:
    last = re.split(r"[\\/]", unquote(name))[-1]
    return "".join(sign for sign in last if sign.isprintable()).strip()[:200]


def _text(name: str, content: bytes) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError(Fault(name or "form", "is no text")) from error


# ---------------------------------------------------------------- who writes


@dataclass(frozen=True, slots=True)
class Signed:
    """Who changes something, and why."""

    by: str
    reason: str


def signed(form: SentForm) -> Signed:
    """Name (`by`) and `reason` of a form that saves; `InputError` where one is missing."""
    by, reason = form.one("by"), form.one("reason")
    faults = [
        Fault(name, words)
        for name, value, words in (
            ("reason", reason, "say why, in a few words"),
            ("by", by, "say who you are"),
        )
        if not value
    ]
    if len(by) > LONGEST_NAME:
        faults.append(Fault("by", f"is longer than {LONGEST_NAME} letters"))
    if faults:
        raise InputError(*faults)
    return Signed(by, reason)


def name_of(request: Request) -> str:
    """The name that this browser gave last, to be offered again."""
    return unquote(request.cookies.get(_COOKIE, ""))[:LONGEST_NAME]


def keep_name(response: Response, name: str) -> None:
    """Have the browser remember the name, for this program only."""
    response.set_cookie(
        _COOKIE, quote(name), max_age=_A_YEAR, httponly=True, samesite="strict", path="/"
    )
