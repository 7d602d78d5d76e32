"""Forms as browsers send them, files that came from elsewhere, and limits of size."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from drainwright.errors import InputError
from drainwright.web.desk import assets
from drainwright.web.forms import SentFile, SentForm, read_form, signed
from drainwright.web.guard import LARGEST_BODY, largest

ROOT = Path(__file__).resolve().parents[2]
MULTIPART = "multipart/form-data; boundary=xx"


def part(head: str, content: bytes) -> bytes:
    return b"--xx\r\nContent-Disposition: form-data; " + head.encode() + b"\r\n\r\n" + content


def test_fields_and_files_come_out_as_they_went_in() -> None:
    body = b"\r\n".join(
        [
            part('name="reason"', "the owner’s list".encode()),
            part('name="file"; filename="list ½.csv"\r\nContent-Type: text/csv', b"a,b\r\n1,2\r\n"),
            part('name="file"; filename="C:\\\\lists\\\\two.csv"', b""),
            b"--xx--\r\n",
        ]
    )
    form = read_form(MULTIPART, body)
    assert form.one("reason") == "the owner’s list"
    assert form.files["file"][0] == SentFile("list ½.csv", b"a,b\r\n1,2\r\n")
    assert form.files["file"][1].name == "two.csv"
    assert form.file("other") is None


@given(st.binary(max_size=400))
@settings(max_examples=60)
def test_any_content_of_a_file_is_kept_byte_by_byte(content: bytes) -> None:
    # a browser chooses a boundary that is not in the content
    content = content.replace(b"--xx", b"")
    body = part('name="f"; filename="a"', content) + b"\r\n--xx--\r\n"
    assert read_form(MULTIPART, body).files["f"][0].content == content


@pytest.mark.parametrize(
    ("media", "body"),
    [
        ("multipart/form-data", b"x"),
        (MULTIPART, b"--xx\r\nContent-Disposition: form-data; name=a\r\n\r\nhalf of it"),
        (MULTIPART, b"--xx\r\nno head\r\n--xx--"),
        (MULTIPART, part('name="a"', b"\xff\xfe") + b"\r\n--xx--"),
        ("text/plain", b"a=1"),
        ("application/x-www-form-urlencoded", b"a=%ff"),
        ("application/x-www-form-urlencoded", b"a=1&" * 6000),
    ],
)
def test_what_is_no_form_is_told(media: str, body: bytes) -> None:
    with pytest.raises(InputError):
        read_form(media, body)


def test_who_saves_says_why() -> None:
    with pytest.raises(InputError) as told:
        signed(SentForm({"reason": (" ",)}))
    assert {fault.name for fault in told.value.faults} == {"by", "reason"}


def test_only_addresses_that_take_files_take_much(client: TestClient) -> None:
    assert largest("/read/preview") == 64 * 1024 * 1024
    assert largest("/specification") == LARGEST_BODY
    answer = client.post("/specification", content=iter([b"a" * 10]))
    assert answer.status_code == 411


def test_files_of_others_are_those_the_decision_names() -> None:
    text = (ROOT / "docs/decisions/0027-htmx-and-leaflet.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([\w.]+)` \|.*?(?:`(LICENSES/[\w.-]+)` )?\| `([0-9a-f]{64})` \|$",
                      text, re.MULTILINE)  # fmt: skip
    assert {name for name, _, _ in rows} == {"htmx.min.js", "leaflet.js", "leaflet.css"}
    for name, license_file, sha256 in rows:
        assert hashlib.sha256(assets()[name].content).hexdigest() == sha256
        assert not license_file or (ROOT / license_file).is_file()
