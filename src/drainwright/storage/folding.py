"""Words and keys as the store compares them: the same on both databases.

Databases disagree about case, accents and order, so that all of it is done here.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

# letters that do not come apart into a plain letter and an accent
_PLAIN = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h"}
)
_WORD = re.compile(r"[^\W_]+")
_DIGITS = re.compile(r"[0-9]+")
LAST = "\U0010ffff"
"""Sorts behind every character that a folded word can hold."""


def fold(text: str) -> str:
    """Text without case and accents: `Élm Straße` is `elm strasse`."""
    if text.isascii():
        return text.lower()
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return bare.casefold().translate(_PLAIN)


def words(text: str) -> list[str]:
    """The folded words of a text, in its order."""
    return _WORD.findall(fold(text))


def prefixes(asked: str) -> list[str]:
    """What a search looks for: each word as typed, in one piece, `L-12` as `l12`."""
    return ["".join(words(one)) for one in asked.split() if words(one)]


def index_words(texts: Iterable[str]) -> set[str]:
    """The words a document is found by: `O’Brien` as `o`, `brien` and `obrien`."""
    return {word for text in texts for one in text.split() for word in _found_by(one)}


@lru_cache(maxsize=65536)  # the same remarks, streets and names stand in document after document
def _found_by(one: str) -> tuple[str, ...]:
    return (*words(one), *prefixes(one))


def sort_key(key: str) -> str:
    """A text whose plain order is the natural order of keys: L-2 before L-10."""
    return _DIGITS.sub(_counted, fold(key))


def _counted(digits: re.Match[str]) -> str:
    number = digits[0].lstrip("0")
    return f"{len(number):03}{number}"


def street_key(street: str) -> str:
    """A street as filters compare it."""
    return " ".join(words(street))
