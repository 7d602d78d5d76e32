"""What a file is by what it holds: an exchange text of surveys, or a table."""

from __future__ import annotations

import re

SURVEY_TEXT = "survey text"
_MARK = re.compile(rb"^\s*#[A-C]\d*=", re.MULTILINE)


def is_survey_text(data: bytes) -> bool:
    """Whether the bytes are an exchange text of EN 13508-2."""
    head = data[:4096].lstrip(b"\xef\xbb\xbf\xff\xfe\x00")
    plain = head.replace(b"\x00", b"")
    first = next((line for line in plain.splitlines() if line.strip()), b"")
    return bool(_MARK.match(first))
